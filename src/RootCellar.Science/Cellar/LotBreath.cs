using RootCellar.Science.Air;

namespace RootCellar.Science.Cellar;

/// <summary>Respiration inferred at one time.</summary>
/// <param name="Hours">Since any moment, h.</param>
/// <param name="MlCo2PerKgHour">Respiration, mL/(kg h) (<see cref="GasBalance.RespirationMlPerKgHour"/>).</param>
/// <param name="PulpC">Temperature of the produce, C.</param>
public readonly record struct BreathReading(double Hours, double MlCo2PerKgHour, double PulpC);

/// <summary>What a lot's breath says against its own past.</summary>
public enum BreathVerdict
{
    /// <summary>Too little history for a baseline, or too little of the last 48 h.</summary>
    NotKnown,

    /// <summary>No more than 1.5 times its own baseline throughout the last 48 h. Not a finding that the lot is sound.</summary>
    AsBefore,

    /// <summary>Above 1.5 times now, not yet for 48 h.</summary>
    Raised,

    /// <summary>Above 1.5 times for 48 h: look at the lot.</summary>
    Inspect,
}

/// <summary>The lot's breath against its own baseline.</summary>
/// <param name="Verdict">What to do.</param>
/// <param name="Ratio">Last reading over the baseline, both brought to one temperature; null where not known.</param>
/// <param name="BaselineMlPerKgHour">Baseline at <paramref name="ReferenceC"/>, mL/(kg h); null where not known.</param>
/// <param name="ReferenceC">Temperature both were brought to: that of the last reading, C.</param>
public sealed record BreathFinding(BreathVerdict Verdict, double? Ratio, double? BaselineMlPerKgHour, double? ReferenceC);

/// <summary>
/// Rot breathes too. No published level of carbon dioxide tells a rotting lot from a badly aired one (none was found), so a lot
/// is held against its own past: respiration over the baseline of the week before, at one temperature.
/// </summary>
public static class LotBreath
{
    /// <summary>Respiration doubles with 10 C (a usual figure; the doubling itself is assumed). Not below about 3 C, where potatoes breathe faster in the cold.</summary>
    public const double Q10 = 2;

    /// <summary>Ratio above which to look at the lot (assumed).</summary>
    public const double InspectRatio = 1.5;

    /// <summary>For so long, h (assumed).</summary>
    public const double InspectHours = 48;

    /// <summary>Length of the baseline, h: the week before the last 48 h (assumed).</summary>
    public const double BaselineHours = 168;

    /// <summary>Fewest readings of the baseline, and of the last 48 h (assumed).</summary>
    public const int FewestReadings = 6;

    /// <summary>Respiration brought to another temperature: R Q10^((to - from)/10).</summary>
    public static double AtTemperature(double mlCo2PerKgHour, double fromC, double toC)
    {
        Require.Within(fromC, -5, 45, nameof(fromC));
        Require.Within(toC, -5, 45, nameof(toC));
        return mlCo2PerKgHour * Portable.Pow(Q10, (toC - fromC) / 10);
    }

    /// <summary>
    /// Judges the last 48 h against the median of the 168 h before them (rule assumed). Sprouting, a fresh delivery, or a wound
    /// raise respiration too: a person looks, and decides. Known only where both stretches have readings enough, the
    /// baseline spans half its length and the last 48 h three quarters of theirs.
    /// </summary>
    /// <param name="readings">In order of time; any number.</param>
    /// <exception cref="ArgumentException">Readings out of order.</exception>
    public static BreathFinding Judge(IReadOnlyList<BreathReading> readings)
    {
        ArgumentNullException.ThrowIfNull(readings);
        for (int i = 1; i < readings.Count; i++)
        {
            if (!(readings[i].Hours >= readings[i - 1].Hours))
                throw new ArgumentException("The readings must be in order of time.", nameof(readings));
        }

        if (readings.Count == 0)
            return new BreathFinding(BreathVerdict.NotKnown, null, null, null);
        var last = readings[^1];
        double recentFrom = last.Hours - InspectHours;
        BreathReading[] recent = [.. readings.Where(reading => reading.Hours >= recentFrom)];
        BreathReading[] earlier = [.. readings.Where(reading => reading.Hours < recentFrom && reading.Hours >= recentFrom - BaselineHours)];
        if (!Spans(recent, 0.75 * InspectHours) || !Spans(earlier, 0.5 * BaselineHours))
            return new BreathFinding(BreathVerdict.NotKnown, null, null, null);
        double baseline = Median([.. earlier.Select(reading => AtTemperature(reading.MlCo2PerKgHour, reading.PulpC, last.PulpC))]);
        if (baseline <= 0)
            return new BreathFinding(BreathVerdict.NotKnown, null, null, null);

        bool[] raised = [.. recent.Select(reading => AtTemperature(reading.MlCo2PerKgHour, reading.PulpC, last.PulpC) > InspectRatio * baseline)];
        var verdict = raised.All(above => above) ? BreathVerdict.Inspect
            : raised[^1] ? BreathVerdict.Raised
            : BreathVerdict.AsBefore;
        return new BreathFinding(verdict, last.MlCo2PerKgHour / baseline, baseline, last.PulpC);
    }

    private static bool Spans(BreathReading[] readings, double hours) =>
        readings.Length >= FewestReadings && readings[^1].Hours - readings[0].Hours >= hours;

    private static double Median(double[] values)
    {
        Array.Sort(values);
        int middle = values.Length / 2;
        return values.Length % 2 == 1 ? values[middle] : (values[middle - 1] + values[middle]) / 2;
    }
}
