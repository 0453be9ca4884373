namespace RootCellar.Science.Air;

/// <summary>A reading put right.</summary>
/// <param name="Value">The corrected value, in the reading's unit; not held to 0..100 %, so that nothing is hidden.</param>
/// <param name="PlusOrMinus">How far it may be off, in that unit.</param>
/// <param name="Extrapolated">
/// True where the reading is beyond what the references vouch for: the correction is then held at that of the nearest
/// reading that they do vouch for, and <paramref name="PlusOrMinus"/> grows with the distance.
/// </param>
public readonly record struct Corrected(double Value, double PlusOrMinus, bool Extrapolated);

/// <summary>
/// What a sensor's readings must be changed by: corrected = <see cref="Slope"/> x reading + <see cref="Offset"/>, from
/// <see cref="From"/> to <see cref="To"/>. Made by <see cref="SensorCorrection.Fit"/>. Says what was so on the day of the check: a
/// humidity sensor moves on by a quarter to half a percent a year (makers' data sheets of the SHT3x and DHT22).
/// </summary>
/// <param name="Slope">Corrected units for each unit of reading; 1 for one reference.</param>
/// <param name="Offset">What is added after that, in the reading's unit.</param>
/// <param name="From">Lowest reading the references vouch for.</param>
/// <param name="To">Highest reading they vouch for.</param>
/// <param name="Low">The reference of the lower reading, or the only one.</param>
/// <param name="High">The reference of the higher reading; the same as <paramref name="Low"/> for one reference.</param>
/// <param name="OwnError">The sensor's own scatter and hysteresis, which no correction takes away, in the reading's unit.</param>
public sealed record Correction(double Slope, double Offset, double From, double To, Anchor Low, Anchor High, double OwnError)
{
    /// <summary>
    /// Gain error still possible where only one reference was taken, per unit of distance from it (assumed: 3 % in 60 % of range).
    /// </summary>
    private const double UnknownGain = 0.05;

    /// <summary>Error for each unit beyond the range: the largest slope error that a fit would take as possible.</summary>
    private const double BeyondGain = 0.2;

    /// <summary>A reading put right. Not a number stays so.</summary>
    /// <remarks>
    /// Plus or minus: of two references each weighs as the line weighs it, so that it is least between them and grows outside; of
    /// one, 5 % of the distance from it (assumed). The sensor's own error is added as a square, 0.2 for each unit beyond the range as it
    /// is.
    /// </remarks>
    public Corrected Apply(double reading)
    {
        double held = Math.Min(Math.Max(reading, From), To);
        double beyond = Math.Abs(reading - held);
        double ofReferences = Low == High ? Anchored(held) : Between(held);
        return new Corrected(
            reading + (Slope * held + Offset - held),
            Math.Sqrt(ofReferences * ofReferences + OwnError * OwnError) + BeyondGain * beyond,
            beyond > 0);
    }

    private double Anchored(double reading)
    {
        double gain = UnknownGain * (reading - Low.Reads);
        return Math.Sqrt(Low.PlusOrMinus * Low.PlusOrMinus + gain * gain);
    }

    private double Between(double reading)
    {
        double share = (reading - Low.Reads) / (High.Reads - Low.Reads);
        double low = (1 - share) * Low.PlusOrMinus;
        double high = share * High.PlusOrMinus;
        return Math.Sqrt(low * low + high * high);
    }
}

/// <summary>A reading of which the truth is known.</summary>
/// <param name="Reads">What the sensor read.</param>
/// <param name="PlusOrMinus">How well the truth and the reading are known together, in the reading's unit.</param>
public readonly record struct Anchor(double Reads, double PlusOrMinus);
