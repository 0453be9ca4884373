using System.Collections.Immutable;

namespace RootCellar.Ledger;

/// <summary>How a lot stood: lists only grow, so their lengths are enough.</summary>
internal readonly record struct LotMark(long? DugGrams, long FilledGrams, long ShrinkGrams, ImmutableSortedDictionary<string, long> OutGrams, int Bins, int Entries, WorkingRow? Row);

/// <summary>How a bin stood: lists only grow, so their lengths are enough.</summary>
internal readonly record struct BinMark(
    string? Grade, long Grams, long FilledGrams, DateTimeOffset? EmptiedAt, bool ByMeasure, int Stays, int Weighings, int SproutsSeen, int Conditions, int Steps, int Entries);

/// <summary>A lot while the book is being made.</summary>
internal sealed class WorkingLot(Fact.Dug dug)
{
    private LotView? view;

    public Fact.Dug Dug { get; } = dug;

    public long? DugGrams { get; set; } = dug.Amount?.Grams;

    public long FilledGrams { get; set; }

    public long ShrinkGrams { get; set; }

    public ImmutableSortedDictionary<string, long> OutGrams { get; set; } = ImmutableSortedDictionary<string, long>.Empty.WithComparers(StringComparer.Ordinal);

    public List<WorkingBin> Bins { get; } = [];

    public List<long> Entries { get; } = [];

    /// <summary>The row it was first dug from; null where nobody wrote its planting down.</summary>
    public WorkingRow? Row { get; set; }

    /// <summary>To come back to; what changes it comes after a mark.</summary>
    public LotMark Mark()
    {
        view = null;
        return new LotMark(DugGrams, FilledGrams, ShrinkGrams, OutGrams, Bins.Count, Entries.Count, Row);
    }

    public void Back(in LotMark to)
    {
        view = null;
        (DugGrams, FilledGrams, ShrinkGrams, OutGrams) = (to.DugGrams, to.FilledGrams, to.ShrinkGrams, to.OutGrams);
        BookBuilder.Shorten(Bins, to.Bins);
        BookBuilder.Shorten(Entries, to.Entries);
        Row = to.Row;
    }

    public LotView View() => view ??= Made();

    private LotView Made()
    {
        var bins = Bins.ConvertAll(b => b.View());
        var dugGrams = DugGrams ?? FilledGrams;
        // A field weight is a rough one: more may come into the bins.
        var found = Math.Max(0, FilledGrams - dugGrams);
        var balance = new Balance(dugGrams, Bins.Sum(b => b.Grams), Math.Max(0, dugGrams - FilledGrams), ShrinkGrams, OutGrams)
        {
            FoundGrams = found,
        };
        return new LotView(
            Dug.Lot, Dug.Crop, Dug.Variety ?? Row?.Planted.Variety, Dug.Row, Dug.PlantedOn ?? Row?.Planted.PlantedOn, Dug.DugOn, Dug.DugAt, Dug.Skin, Dug.Flags, Dug.PulpC, DugGrams, bins, balance, [.. Entries]);
    }
}

/// <summary>One filling of a bin while the book is being made.</summary>
internal sealed class WorkingBin(string id, WorkingLot lot, string? grade, string? place, DateTimeOffset at)
{
    private BinView? view;

    public string Id => id;

    public WorkingLot Lot => lot;

    public string? Grade { get; set; } = grade;

    public DateTimeOffset FilledAt => at;

    public string? Place => Stays[^1].Place;

    public long Grams { get; private set; }

    public long FilledGrams { get; private set; }

    public DateTimeOffset? EmptiedAt { get; private set; }

    public bool ByMeasure { get; set; }

    public List<Stay> Stays { get; } = [new(place, at)];

    public List<Weighing> Weighings { get; } = [];

    public List<SproutsSeen> SproutsSeen { get; } = [];

    public List<ConditionSeen> Conditions { get; } = [];

    public List<MassStep> Steps { get; } = [];

    public List<long> Entries { get; } = [];

    /// <summary>How much more than the book a measured volume may weigh: bushels are legal weights, not this crop's (assumed 15 %).</summary>
    public long VolumeSlackGrams => ByMeasure && Weighings.Count == 0 ? FilledGrams * 15 / 100 : 0;

    public void Step(long entry, DateTimeOffset when, string kind, long grams)
    {
        if (grams == 0) return;
        Grams += grams;
        if (grams > 0 && kind is "filled" or "sorted") FilledGrams += grams;
        Steps.Add(new MassStep(entry, when, kind, grams));
    }

    /// <summary>What is missing (above 0) or too much is shrink of the lot.</summary>
    public void Shrink(long entry, DateTimeOffset when, long grams)
    {
        Step(entry, when, "shrink", -grams);
        Lot.ShrinkGrams += grams;
    }

    public void Touch(long entry, DateTimeOffset when)
    {
        Entries.Add(entry);
        EmptiedAt = Grams > 0 ? null : EmptiedAt ?? when;
    }

    /// <summary>To come back to; what changes it comes after a mark.</summary>
    public BinMark Mark()
    {
        view = null;
        return new BinMark(Grade, Grams, FilledGrams, EmptiedAt, ByMeasure, Stays.Count, Weighings.Count, SproutsSeen.Count, Conditions.Count, Steps.Count, Entries.Count);
    }

    public void Back(in BinMark to)
    {
        view = null;
        (Grade, Grams, FilledGrams, EmptiedAt, ByMeasure) = (to.Grade, to.Grams, to.FilledGrams, to.EmptiedAt, to.ByMeasure);
        BookBuilder.Shorten(Stays, to.Stays);
        BookBuilder.Shorten(Weighings, to.Weighings);
        BookBuilder.Shorten(SproutsSeen, to.SproutsSeen);
        BookBuilder.Shorten(Conditions, to.Conditions);
        BookBuilder.Shorten(Steps, to.Steps);
        BookBuilder.Shorten(Entries, to.Entries);
    }

    public BinView View() => view ??= new BinView(
        Id, Lot.Dug.Lot, Grade, Place, FilledAt, Grams, FilledGrams, EmptiedAt, ByMeasure, [.. Stays], [.. Weighings], [.. SproutsSeen], [.. Conditions], [.. Steps], [.. Entries]);
}

/// <summary>A line of an order while the book is being made.</summary>
internal sealed class WorkingPromise(long entry, DateTimeOffset at, Fact.Promised fact)
{
    private long gone;
    private Promise? view;

    public Fact.Promised Fact => fact;

    public long Gone
    {
        get => gone;
        set => (gone, view) = (value, null);
    }

    public Promise View() => view ??= new(entry, fact.Order, fact.Crop, fact.Grade, fact.Amount.Grams!.Value, fact.Due, at, Gone);
}
