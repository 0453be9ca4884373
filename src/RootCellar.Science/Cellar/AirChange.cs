using RootCellar.Science.Air;

namespace RootCellar.Science.Cellar;

/// <summary>One reading of a gas, or of absolute humidity, while it falls back after a disturbance.</summary>
/// <param name="Hours">Since any moment, h.</param>
/// <param name="Value">ppm or g/m3: any unit, so long as the resting level is in the same.</param>
public readonly record struct DecayReading(double Hours, double Value);

/// <summary>Why no air change can be had from the readings.</summary>
public enum AirChangeDoubt
{
    /// <summary>There is an estimate.</summary>
    None,

    /// <summary>Fewer readings than <see cref="AirChange.FewestReadings"/> that stand clear of the resting level, or all of one moment.</summary>
    TooFew,

    /// <summary>The room starts at its resting level (inside equals outside): nothing to decay.</summary>
    NothingToDecay,

    /// <summary>The excess does not fall, or not clearly: the interval reaches nought.</summary>
    NoDecay,
}

/// <summary>Air changes per hour with a 90 % interval, or why there are none.</summary>
/// <param name="PerHour">1/h; null with a doubt, and then null in <paramref name="Low"/> and <paramref name="High"/> too.</param>
/// <param name="Low">Low end of the interval, 1/h.</param>
/// <param name="High">High end, 1/h.</param>
/// <param name="Readings">Readings used.</param>
/// <param name="Doubt">Why there is no figure.</param>
public sealed record AirChangeEstimate(double? PerHour, double? Low, double? High, int Readings, AirChangeDoubt Doubt);

/// <summary>Air changes of a closed room, from readings. Constant leakage and perfect mixing; a vent opened midway spoils it.</summary>
public static class AirChange
{
    /// <summary>Fewest readings for a slope with an interval (assumed).</summary>
    public const int FewestReadings = 5;

    /// <summary>
    /// From the decay of an excess: ln(C - C_rest) falls by n per hour (tracer decay, ASTM E741, from memory); slope by least
    /// squares, 90 % interval by Student's t with independent errors. Readings a minute apart share their errors, and
    /// the true interval is wider.
    /// </summary>
    /// <param name="readings">In order of time.</param>
    /// <param name="restingLevel">What it falls to: the level before the disturbance (with lots breathing that is above outside air), or outside air in an empty room. Its own error is not in the interval.</param>
    /// <param name="leastExcess">Readings from the first that is less than this above rest are left out: there noise is all there is. About the sensor's accuracy: 50 ppm, 0.2 g/m3.</param>
    /// <exception cref="ArgumentOutOfRangeException">A figure that is not finite, a least excess that is not above nought.</exception>
    /// <exception cref="ArgumentException">Readings out of order.</exception>
    public static AirChangeEstimate FromDecay(IReadOnlyList<DecayReading> readings, double restingLevel, double leastExcess)
    {
        ArgumentNullException.ThrowIfNull(readings);
        Require.Within(restingLevel, -1e6, 1e6, nameof(restingLevel));
        Require.Within(leastExcess, 1e-9, 1e6, nameof(leastExcess));
        int used = 0;
        double meanHours = 0;
        double meanLog = 0;
        for (int i = 0; i < readings.Count; i++)
        {
            Require.Within(readings[i].Hours, -1e9, 1e9, nameof(readings));
            Require.Within(readings[i].Value, -1e6, 1e6, nameof(readings));
            if (i > 0 && readings[i].Hours < readings[i - 1].Hours)
                throw new ArgumentException("The readings must be in order of time.", nameof(readings));
            if (used == i && readings[i].Value - restingLevel >= leastExcess)
            {
                used++;
                meanHours += (readings[i].Hours - meanHours) / used;
                meanLog += (Excess(readings[i], restingLevel) - meanLog) / used;
            }
        }

        if (used == 0 && readings.Count > 0)
            return None(used, AirChangeDoubt.NothingToDecay);
        if (used < FewestReadings || readings[used - 1].Hours <= readings[0].Hours)
            return None(used, AirChangeDoubt.TooFew);

        double spread = 0;
        double together = 0;
        for (int i = 0; i < used; i++)
        {
            double hours = readings[i].Hours - meanHours;
            spread += hours * hours;
            together += hours * (Excess(readings[i], restingLevel) - meanLog);
        }

        double perHour = -together / spread;
        double squares = 0;
        for (int i = 0; i < used; i++)
        {
            double off = Excess(readings[i], restingLevel) - meanLog + perHour * (readings[i].Hours - meanHours);
            squares += off * off;
        }

        double half = Student95(used - 2) * Math.Sqrt(squares / (used - 2) / spread);
        return perHour - half > 0
            ? new AirChangeEstimate(perHour, perHour - half, perHour + half, used, AirChangeDoubt.None)
            : None(used, AirChangeDoubt.NoDecay);
    }

    /// <summary>
    /// From a steady level and a known source: n = R M/(V (C - C_out)), 1/h, with R in mL/(kg h), V in m3 and C in ppm, since a
    /// ppm of a m3 is a mL (mass balance, derived). The ends: source off by a factor either way, and both levels by their accuracy.
    /// Null where inside is not clear of outside by the two accuracies.
    /// </summary>
    /// <param name="mlCo2PerKgHour">Carbon dioxide the lots give off, mL/(kg h), above 0.</param>
    /// <param name="produceKg">Mass of the lots, kg.</param>
    /// <param name="airM3">Air in the room, m3.</param>
    /// <param name="insidePpm">Steady level in the room, ppm.</param>
    /// <param name="outsidePpm">Level outside, ppm.</param>
    /// <param name="sourceFactor">How well the source is known, a factor of 1 or more; 2 is the spread of published respiration of potatoes.</param>
    /// <param name="accuracyPpm">Accuracy of each level, ppm.</param>
    public static Interval? FromSteadySource(
        double mlCo2PerKgHour,
        double produceKg,
        double airM3,
        double insidePpm,
        double outsidePpm = GasBalance.OutsidePpm,
        double sourceFactor = 2,
        double accuracyPpm = 50)
    {
        Require.Within(mlCo2PerKgHour, 1e-6, 1000, nameof(mlCo2PerKgHour));
        Require.Within(produceKg, 1e-3, 1e8, nameof(produceKg));
        Require.Within(airM3, 0.1, 1e6, nameof(airM3));
        Require.Within(insidePpm, 0, 1e6, nameof(insidePpm));
        Require.Within(outsidePpm, 0, 1e6, nameof(outsidePpm));
        Require.Within(sourceFactor, 1, 100, nameof(sourceFactor));
        Require.Within(accuracyPpm, 0, 1e5, nameof(accuracyPpm));
        double excess = insidePpm - outsidePpm;
        double doubt = 2 * accuracyPpm;
        if (excess <= doubt)
            return null;
        double perHourPpm = mlCo2PerKgHour * produceKg / airM3;
        return new Interval(perHourPpm / sourceFactor / (excess + doubt), perHourPpm / excess, perHourPpm * sourceFactor / (excess - doubt));
    }

    private static double Excess(DecayReading reading, double restingLevel) => Portable.Log(reading.Value - restingLevel);

    private static AirChangeEstimate None(int used, AirChangeDoubt doubt) => new(null, null, null, used, doubt);

    /// <summary>
    /// 95 % quantile of Student's t: Abramowitz and Stegun 26.7.5 (Cornish-Fisher) from the normal quantile 1.644854; within
    /// 0.1 % of the table from 3 degrees of freedom up.
    /// </summary>
    internal static double Student95(int freedom)
    {
        const double Z = 1.6448536269514722;
        const double Z2 = Z * Z;
        double v = freedom;
        const double G1 = (Z2 + 1) * Z / 4;
        const double G2 = ((5 * Z2 + 16) * Z2 + 3) * Z / 96;
        const double G3 = (((3 * Z2 + 19) * Z2 + 17) * Z2 - 15) * Z / 384;
        const double G4 = ((((79 * Z2 + 776) * Z2 + 1482) * Z2 - 1920) * Z2 - 945) * Z / 92160;
        return Z + (G1 + (G2 + (G3 + G4 / v) / v) / v) / v;
    }
}
