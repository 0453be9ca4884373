using RootCellar.Ledger.Events;
using RootCellar.Science.Crops;

namespace RootCellar.Ledger;

/// <summary>A lot while the book is being made.</summary>
internal sealed class WorkingLot(Dug dug, DugWhen when)
{
    private LotView? view;

    /// <summary>Its first digging.</summary>
    public Dug Dug => dug;

    public DugWhen When => when;

    public long? DugGrams { get; set; } = dug.Amount?.Grams;

    public long FilledGrams { get; set; }

    public long ShrinkGrams { get; set; }

    public SortedDictionary<string, long> OutGrams { get; } = new(StringComparer.Ordinal);

    public List<WorkingBin> Bins { get; } = [];

    public List<long> Entries { get; } = [];

    /// <summary>The row it was first dug from; null where nobody wrote its planting down.</summary>
    public WorkingRow? Row { get; set; }

    public LotView View(CropTable crops) => view ??= Made(crops);

    private LotView Made(CropTable crops)
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
            Dug.Lot, Dug.Crop, Dug.Variety ?? Row?.Planted.Variety, Dug.Row, Dug.PlantedOn ?? Row?.PlantedOn, When.On, When.At, Dug.Skin,
            Dug.Flags ?? [], Dug.PulpC, DugGrams, bins, balance, [.. Entries])
        {
            Known = crops.Find(Dug.Crop),
        };
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

    public string? Lies { get; set; }

    public double? PieceKg { get; set; }

    public double? TareKg { get; set; }

    public List<Stay> Stays { get; } = [new(place, at)];

    public List<Weighing> Weighings { get; } = [];

    public List<SproutsSeen> SproutsSeen { get; } = [];

    public List<ConditionSeen> Conditions { get; } = [];

    public List<MassStep> Steps { get; } = [];

    public List<long> Entries { get; } = [];

    /// <summary>
    /// How much more than the book a measured volume may weigh: bushels are legal weights, not this crop's (assumed 15 %).
    /// </summary>
    public long VolumeSlackGrams => ByMeasure && Weighings.Count == 0 ? FilledGrams * 15 / 100 : 0;

    public void Step(long entry, DateTimeOffset when, string kind, long grams)
    {
        if (grams == 0) return;
        Grams += grams;
        if (grams > 0 && kind is Filled.Name or Sorted.Name) FilledGrams += grams;
        Steps.Add(new MassStep(entry, when, kind, grams));
    }

    /// <summary>What is missing (above 0) or too much is shrink of the lot.</summary>
    public void Shrink(long entry, DateTimeOffset when, long grams)
    {
        Step(entry, when, MassStep.Shrink, -grams);
        Lot.ShrinkGrams += grams;
    }

    public void Touch(long entry, DateTimeOffset when)
    {
        Entries.Add(entry);
        EmptiedAt = Grams > 0 ? null : EmptiedAt ?? when;
    }

    public BinView View() => view ??= new BinView(
        Id, Lot.Dug.Lot, Grade, Place, FilledAt, Grams, FilledGrams, EmptiedAt, ByMeasure, [.. Stays], [.. Weighings], [.. SproutsSeen],
        [.. Conditions], [.. Steps], [.. Entries])
    {
        Lies = Lies,
        PieceKg = PieceKg,
        TareKg = TareKg,
    };
}

/// <summary>A line of an order while the book is being made.</summary>
internal sealed class WorkingPromise(long entry, DateTimeOffset at, Promised promised)
{
    public Promised Promised => promised;

    public long Gone { get; set; }

    public Promise View() =>
        new(entry, promised.Order, promised.Crop, promised.Grade, promised.Amount.Grams!.Value, promised.Due, at, Gone);
}
