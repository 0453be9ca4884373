namespace RootCellar.Ledger.Events;

/// <summary>A bin stood on the scale.</summary>
/// <param name="Amount">What the scale showed: with a tare the gross weight, else the net one.</param>
/// <param name="ResolutionKg">The step of the scale; null where nobody said.</param>
internal sealed record Weighed(string Bin, Amount Amount, double? TareKg = null, double? ResolutionKg = null) : BinEvent(Bin)
{
    public const string Name = "weighed";

    public static readonly EventKind Event = new(Name, Read);

    public override EventKind Kind() => Event;

    public override long? Grams() => Amount.Grams - Amount.GramsOf(TareKg ?? 0);

    /// <summary>Step of the scale, kg, as given or read off the figure.</summary>
    public double StepKg() => ScaleStep.Of(ResolutionKg, Amount);

    protected override bool Post(WorkingBook book, WorkingBin bin)
    {
        var net = Grams()!.Value;
        // What is only read off a figure is no excuse for a bin that grew.
        double before = bin.Weighings.Count > 0 ? bin.Weighings[^1].ResolutionKg : 0;
        var slack = Amount.GramsOf(Math.Max(ResolutionKg ?? ScaleStep.AssumedKg, before)) + bin.VolumeSlackGrams;
        if (net > bin.Grams + slack)
            book.Doubt(
                QuestionCode.TooHeavy, $"Bin {Bin} would weigh {Kg(net)}, and by the book it cannot be more than {Kg(bin.Grams)}"
                + $"{(TareKg is null ? "; is that with the empty bin, whose tareKg is missing" : "")}? Or is it another bin?",
                new { bin = Bin, weighsKg = net / 1000.0, holdsKg = bin.Grams / 1000.0, tareGiven = TareKg is not null });

        var step = StepKg();
        double? gross = TareKg is null ? null : Amount.Grams / 1000.0;
        bin.Weighings.Add(new Weighing(book.Id, book.At, net / 1000.0, step, gross, TareKg, bin.Grams / 1000.0, Checked));
        bin.Shrink(book.Id, book.At, bin.Grams - net);
        return book.Done(bin);
    }

    private static Weighed Read(FieldReader f)
    {
        var read = new Weighed(
            f.Name("bin"),
            f.Amount(zero: true),
            f.Number("tareKg", 0, 5_000, "the weight of the empty bin in kg"),
            f.Number("resolutionKg", 0.0001, 100, "the step of the scale in kg, such as 0.05"));
        if (read.Amount.ByVolume) f.Say("measure.unit: what is weighed is in kg, g, lb or oz.");
        if (read.TareKg * 1000 > read.Amount.Grams)
        {
            var full = read.Amount.Grams / 1000.0;
            f.Say($"tareKg: the empty bin ({read.TareKg:0.###} kg) cannot be heavier than the full one ({full:0.###} kg).");
        }

        return read;
    }
}
