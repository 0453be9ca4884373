using System.Collections.Frozen;
using System.Text.Json;
using System.Text.Json.Serialization;
using RootCellar.Household;
using RootCellar.Ledger.Events;
using RootCellar.Science.Crops;

namespace RootCellar.Ledger;

/// <summary>
/// A lot as the book has it. Grams are whole so that sums close exactly; whatever is given in kg is rounded once, when it is read.
/// </summary>
/// <param name="DugOn">The day it was dug.</param>
/// <param name="DugAt">The hour its keeping begins: when it was dug, or the noon of that day where only the day is known.</param>
/// <param name="Skin">set, tender, scuffed or cut; null where nobody said.</param>
/// <param name="Flags">What was seen at digging: wet-soil, rain, late-blight, rot-seen.</param>
/// <param name="DugGrams">What was weighed at digging; null where nobody did: then what went into bins is what was dug.</param>
/// <param name="Bins">Its bins in the order they were filled, with those that are empty; a bin filled again is there once for each
/// filling.</param>
internal sealed record LotView(
    string Id,
    string Crop,
    string? Variety,
    string? Row,
    DateOnly? PlantedOn,
    DateOnly DugOn,
    DateTimeOffset DugAt,
    string? Skin,
    IReadOnlyList<string> Flags,
    double? PulpC,
    long? DugGrams,
    IReadOnlyList<BinView> Bins,
    Balance Balance,
    IReadOnlyList<long> Entries)
{
    /// <summary>Its crop as the household's table has it; null where it does not: it is known to the book only.</summary>
    [JsonIgnore]
    public Crop? Known { get; init; } = CropTable.Default.Find(Crop);

    public double? DugKg => DugGrams / 1000.0;
}

/// <summary>Where a bin stood and from when; until the next stay or the end of the bin.</summary>
internal sealed record Stay(string? Place, DateTimeOffset From);

/// <summary>A weigh-in. <see cref="BookKg"/> is what the book had before it.</summary>
internal sealed record Weighing(long Entry, DateTimeOffset At, double NetKg, double ResolutionKg, double? GrossKg, double? TareKg,
    double BookKg, bool Checked = false);

/// <summary>Sprouts as they were seen. Share: none, few, half, most.</summary>
internal sealed record SproutsSeen(long Entry, DateTimeOffset At, string Share, double? LengthMm)
{
    /// <summary>The share of a bin in which somebody looked and saw none.</summary>
    public const string None = "none";
}

/// <summary>How the bin looked. What: dry, wet, soft, shrivelled, green, mould.</summary>
internal sealed record ConditionSeen(long Entry, DateTimeOffset At, string What);

/// <summary>
/// What changed the weight of a bin by the book. Grams are above 0 in, below 0 out. Kind: filled, sorted, shrink, or the reason of a way
/// out.
/// </summary>
internal sealed record MassStep(long Entry, DateTimeOffset At, string Kind, long Grams)
{
    /// <summary>
    /// What a weigh-in, a sorting or an emptied bin showed to be missing; above 0 where it showed more than the book had.
    /// </summary>
    public const string Shrink = "shrink";

    public bool IsShrink => Kind == Shrink;

    public bool IsSorted => Kind == Sorted.Name;

    /// <summary>Taken out of the bin for good, for whatever reason.</summary>
    public bool IsOut => !IsShrink && !IsSorted && Kind != Filled.Name;
}

/// <summary>One filling of a bin. A crate that is emptied and filled again is a second one with the same id.</summary>
/// <param name="Place">Where it stands, or stood at the end.</param>
/// <param name="Grams">By the book: filled, less what went out, set anew by each weigh-in.</param>
/// <param name="FilledGrams">All that went in.</param>
/// <param name="EmptiedAt">When the last of it went; null while there is something.</param>
/// <param name="ByMeasure">Whether what went in was measured by volume, not weighed.</param>
internal sealed record BinView(
    string Id,
    string Lot,
    string? Grade,
    string? Place,
    DateTimeOffset FilledAt,
    long Grams,
    long FilledGrams,
    DateTimeOffset? EmptiedAt,
    bool ByMeasure,
    IReadOnlyList<Stay> Stays,
    IReadOnlyList<Weighing> Weighings,
    IReadOnlyList<SproutsSeen> SproutsSeen,
    IReadOnlyList<ConditionSeen> Conditions,
    IReadOnlyList<MassStep> Steps,
    IReadOnlyList<long> Entries)
{
    public double BookKg => Grams / 1000.0;

    /// <summary>How it lies there: one of <see cref="Filled.Ways"/>; null where nobody said.</summary>
    public string? Lies { get; init; }

    /// <summary>What one piece weighs, about.</summary>
    public double? PieceKg { get; init; }

    /// <summary>The empty bin's weight as it was taken off when it was filled.</summary>
    public double? TareKg { get; init; }
}

/// <summary>One planting of a row. The same row planted again, next year, is a second one with the same name.</summary>
/// <param name="Entry">The entry of its planting.</param>
/// <param name="Maturity">early, mid or late by the grower's word; null where nobody said.</param>
/// <param name="MaturityDays">Days to maturity as packet or seed list give them; null where nobody said.</param>
/// <param name="Lot">What its lot is to be called; null where nobody said.</param>
/// <param name="VinesDeadOn">When its vines died; null while they live, as far as the book knows.</param>
/// <param name="How">died, mown, pulled or frost; null where nobody said.</param>
/// <param name="Lots">The lots dug from it, in the order of digging.</param>
/// <param name="DugGrams">What was dug from it as weighed then, or else as filled into bins.</param>
/// <param name="Ended">The row was planted again after it.</param>
internal sealed record RowView(
    string Row,
    long Entry,
    string Crop,
    string? Variety,
    DateOnly PlantedOn,
    string? Maturity,
    int? MaturityDays,
    double? LengthM,
    string? Lot,
    DateOnly? VinesDeadOn,
    string? How,
    IReadOnlyList<string> Lots,
    DateTimeOffset? LastDugAt,
    long DugGrams,
    bool Ended,
    IReadOnlyList<long> Entries)
{
    /// <summary>Its crop as the household's table has it; null where it does not.</summary>
    [JsonIgnore]
    public Crop? Known { get; init; } = CropTable.Default.Find(Crop);

    public double? KgPerMetre => DugGrams > 0 ? DugGrams / 1000.0 / LengthM : null;
}

/// <summary>A way out. Reason: sold, canned, eaten, given, planted, or culled-rot, culled-green and so on.</summary>
internal sealed record WayOut(long Entry, DateTimeOffset At, string Bin, string Lot, string Reason, long Grams, string? Order);

/// <summary>One line of an order: what was promised of a crop and grade and what of it has gone out under its name.</summary>
internal sealed record Promise(long Entry, string Order, string Crop, string? Grade, long Grams, DateOnly? Due, DateTimeOffset At,
    long GoneGrams)
{
    public long OpenGrams => Math.Max(0, Grams - GoneGrams);
}

/// <summary>
/// Where everything dug of a lot is, in whole grams: <c>Dug + Found = OnHand + Loose + the sum of Outs + Shrink</c>, always.
/// Shrink is what weigh-ins, sortings and emptied bins showed to be missing, below 0 where they showed more than the book had.
/// Loose is dug and in no bin yet; found is what came into bins beyond the weight of the field.
/// </summary>
internal sealed record Balance(long DugGrams, long OnHandGrams, long LooseGrams, long ShrinkGrams, IReadOnlyDictionary<string,
    long> OutGrams)
{
    public long Outs => OutGrams.Values.Sum();

    public long FoundGrams { get; init; }

    /// <summary>What does not add up; 0.</summary>
    public long Gap => DugGrams + FoundGrams - OnHandGrams - LooseGrams - ShrinkGrams - Outs;
}

/// <summary>Something the book doubts about an entry. Hard: it cannot be counted at all.</summary>
internal sealed record Doubt(long Entry, Question Question, bool Hard)
{
    public Doubt(long entry, string code, string text, bool Hard, object? figures = null)
        : this(entry, Question.Of(code, text, figures), Hard)
    {
    }

    public string Code => Question.Code;
}

/// <summary>An entry as it stands now: with its corrections in it.</summary>
/// <param name="Written">As it was written.</param>
/// <param name="Event">What happened, as corrected; null for a correction, and where the fields make no sense.</param>
/// <param name="Counts">Whether it is part of the balances: not taken back and not waiting to be checked.</param>
/// <param name="At">When it happened, as corrected.</param>
/// <param name="Fields">Its fields, as corrected; of an entry without corrections its own.</param>
/// <param name="Lot">The lot it is about, as far as the book knows.</param>
/// <param name="Void">Taken back by a correction.</param>
/// <param name="Question">What is still to be checked about it.</param>
internal sealed record Standing(
    [property: JsonIgnore] Recorded Written, [property: JsonIgnore] LedgerEvent? Event, DateTimeOffset At, JsonElement Fields, string? Lot,
    bool Counts, bool Void,
    Question? Question, IReadOnlyList<long> CorrectedBy)
{
    public LedgerEntry Entry => Written.Entry;

    /// <summary>Every bin it names, or named before it was corrected.</summary>
    public IEnumerable<string> Bins() => (Event?.Bins() ?? []).Union(Written.Event?.Bins() ?? [], StringComparer.Ordinal);
}

/// <summary>
/// What all entries come to, as corrected, in the order of when they happened (and of writing within the same moment). Never changes;
/// safe from any thread. <see cref="Entries"/> are in the order of writing.
/// </summary>
internal sealed record Book(
    FrozenDictionary<string, LotView> Lots,
    FrozenDictionary<string, BinView> Bins,
    IReadOnlyList<BinView> AllBins,
    IReadOnlyList<Promise> Orders,
    IReadOnlyList<WayOut> Outs,
    IReadOnlyList<Standing> Entries,
    IReadOnlyList<Doubt> Doubts,
    IReadOnlyList<RowView> Rows)
{
    public static readonly Book Empty = new(
        FrozenDictionary<string, LotView>.Empty, FrozenDictionary<string, BinView>.Empty, [], [], [], [], [], []);

    // Worked out for the first who asks, once.
    private readonly Lazy<ILookup<string, Standing>> byBin = new(() =>
        Entries.SelectMany(s => s.Bins(), (s, bin) => (s, bin)).ToLookup(n => n.bin, n => n.s, StringComparer.Ordinal));

    private readonly Lazy<ILookup<string?, Standing>> byLot = new(() => Entries.ToLookup(s => s.Lot, StringComparer.Ordinal));

    /// <summary>Whose days its days are.</summary>
    public HouseholdCalendar Calendar { get; init; } = HouseholdCalendar.Utc;

    /// <summary>The crops the household knows.</summary>
    public CropTable Crops { get; init; } = CropTable.Default;

    /// <summary>The last planting of a row; null where nobody planted it.</summary>
    public RowView? Row(string name) => Rows.LastOrDefault(r => r.Row == name);

    /// <summary>An entry by its number; null where there is none.</summary>
    public Standing? Find(long id) => Index(id) is var i and >= 0 ? Entries[i] : null;

    /// <summary>Places where a bin ever stood.</summary>
    public IReadOnlySet<string> PlacesUsed() =>
        AllBins.SelectMany(b => b.Stays).Select(s => s.Place).OfType<string>().ToHashSet(StringComparer.Ordinal);

    /// <summary>The crops of the bins that are not empty, by place.</summary>
    public IReadOnlyDictionary<string, IReadOnlyList<string>> CropsByPlace() => AllBins
        .Where(b => b.EmptiedAt is null && b.Place is not null)
        .GroupBy(b => b.Place!, StringComparer.Ordinal)
        .ToDictionary(
            g => g.Key,
            IReadOnlyList<string> (g) =>
                [.. g.Select(b => Lots[b.Lot].Crop).Distinct(StringComparer.Ordinal).Order(StringComparer.Ordinal)],
            StringComparer.Ordinal);

    /// <summary>The bins that stand at a place and are not empty.</summary>
    public IReadOnlyList<string> BinsAt(string place) => [.. AllBins.Where(b => b.EmptiedAt is null && b.Place == place).Select(b => b.Id)];

    /// <summary>The entries that name a bin now or did when they were written; corrections are not among them.</summary>
    public IEnumerable<Standing> OfBin(string bin) => byBin.Value[bin];

    /// <summary>The same of a lot, as far as the book knows whose they are.</summary>
    public IEnumerable<Standing> OfLot(string lot) => byLot.Value[lot];

    private int Index(long id)
    {
        int low = 0, high = Entries.Count - 1;
        while (low <= high)
        {
            var middle = (low + high) / 2;
            var there = Entries[middle].Entry.Id;
            if (there == id) return middle;
            if (there < id) low = middle + 1;
            else high = middle - 1;
        }

        return -1;
    }
}
