using RootCellar.Household;
using RootCellar.Ledger.Events;
using RootCellar.Science.Crops;

namespace RootCellar.Ledger;

/// <summary>What can be logged, and the words for it.</summary>
internal static class LogKinds
{
    private static readonly string[] Volumes = ["bushel", "peck", "quart", "sack"];

    private const double SackOfKg = 25;

    private static readonly string[] Metric = ["g", "sack", "zentner"];

    private static readonly Dictionary<EventKind, (Func<string> Name, Func<string>? Ask)> Words = new()
    {
        [Events.Dug.Event] = (() => Strings.LogHarvested, () => Strings.AskDug),
        [Filled.Event] = (() => Strings.LogFilled, () => Strings.AskFilled),
        [Weighed.Event] = (() => Strings.LogWeighed, () => Strings.AskWeighed),
        [Moved.Event] = (() => Strings.LogMoved, null),
        [TakenOut.Culled] = (() => Strings.LogCulled, () => Strings.AskCulled),
        [TakenOut.Sold] = (() => Strings.LogSold, () => Strings.AskSold),
        [TakenOut.Eaten] = (() => Strings.LogEaten, () => Strings.AskEaten),
        [TakenOut.Canned] = (() => Strings.LogCanned, () => Strings.AskCanned),
        [TakenOut.Given] = (() => Strings.LogGiven, () => Strings.AskGiven),
        [TakenOut.Planted] = (() => Strings.LogPlanted, () => Strings.AskPlanted),
        [Sprouts.Event] = (() => Strings.LogSprouts, null),
        [Appearance.Event] = (() => Strings.LogCondition, null),
        [Sorted.Event] = (() => Strings.LogSorted, null),
        [Promised.Event] = (() => Strings.LogPromised, () => Strings.AskPromised),
        [RowPlanted.Event] = (() => Strings.LogRowPlanted, null),
        [VinesDead.Event] = (() => Strings.LogVinesDead, null),
    };

    /// <summary>What may happen to a bin of a crop: what does not sprout is not asked about sprouts, what is no food is not eaten.</summary>
    /// <param name="crop">Null: the table does not know it, and anything may.</param>
    public static IEnumerable<EventKind> OfBinWith(Crop? crop) => OfBin.Where(what => crop is null
        || !((what == Sprouts.Event && crop.Sprouts == SproutKind.None)
            || (what == TakenOut.Canned && crop is { Canned: null, Definition: null })
            || (what == TakenOut.Eaten && !crop.Food)));

    /// <summary>What happens to a bin, the most usual first.</summary>
    public static IReadOnlyList<EventKind> OfBin { get; } =
    [
        Weighed.Event, Moved.Event, TakenOut.Culled, TakenOut.Sold, TakenOut.Eaten, TakenOut.Canned, TakenOut.Given, TakenOut.Planted,
        Sprouts.Event, Appearance.Event, Sorted.Event,
    ];

    /// <summary>The kind of a name that is written down in the form of the bins; null where there is none such.</summary>
    public static EventKind? Known(string what) => EventKinds.Find(what) is { } kind && HasForm(kind) && !IsOfRow(kind) ? kind : null;

    public static bool IsOfRow(EventKind what) => what == RowPlanted.Event || what == VinesDead.Event;

    /// <summary>Whether an entry can be put right in a form of its own.</summary>
    public static bool HasForm(EventKind what) => Words.ContainsKey(what);

    /// <summary>Whether it happens to a bin that holds something.</summary>
    public static bool NeedsBin(EventKind what) => OfBin.Contains(what);

    /// <summary>Whether it can be for an order: what was culled is for nobody.</summary>
    public static bool MayBeOrdered(EventKind what) => IsWayOut(what) && what != TakenOut.Culled;

    public static bool IsWayOut(EventKind what) => TakenOut.Kinds.Contains(what);

    /// <summary>What its amount may be counted in; the household's unit of weight first.</summary>
    public static IReadOnlyList<string> Units(EventKind what, Show show) =>
        what == Weighed.Event || what == Sorted.Event ? [show.WeightUnit]
        : what == TakenOut.Canned ? [show.WeightUnit, .. show.Pounds ? [] : new[] { "g" }, "quart", "pint"]
        : [show.WeightUnit, .. show.Pounds ? Volumes : Metric, .. show.CrateKg is null ? [] : new[] { "crate" }];

    /// <summary>
    /// What one of a unit holds in this household, where it is the household's own and no table's: its crate, and a sack of 25 kg beside
    /// kilograms (common practice).
    /// </summary>
    public static Factor? Own(string unit, Show show) => unit switch
    {
        "crate" when show.CrateKg is { } kg => new Factor(kg, "a crate of the household"),
        "sack" when !show.Pounds => new Factor(SackOfKg, "a sack of 25 kg, common practice"),
        _ => null,
    };

    public static string Name(EventKind what) => what == CropDescribed.Event ? Strings.LogCropDescribed
        : Words.TryGetValue(what, out var words) ? words.Name() : what.Name;

    /// <summary>What is asked of the person.</summary>
    public static string Ask(EventKind what) => Words[what].Ask?.Invoke() ?? Strings.AskDug;

    /// <summary>A way out, as balances name it.</summary>
    public static string Way(string goes) => TakenOut.CulledAs(goes) is { } reason
        ? Strings.EntryLine.With(Name(TakenOut.Culled), Choice(reason))
        : EventKinds.Find(goes) is { } kind ? Name(kind) : goes;

    public static string Choice(string word) => word switch
    {
        "rot" => Strings.WordRot,
        "green" => Strings.WordGreen,
        "sprouted" => Strings.WordSprouted,
        "damage" => Strings.WordDamage,
        "frost" => Strings.WordFrost,
        "pests" => Strings.WordPests,
        "scald" => Strings.WordScald,
        "bitter-pit" => Strings.WordBitterPit,
        "breakdown" => Strings.WordBreakdown,
        "wasps" => Strings.WordWasps,
        "neck-rot" => Strings.WordNeckRot,
        "split" => Strings.WordSplit,
        "woody" => Strings.WordWoody,
        "chilled" => Strings.WordChilled,
        "weevils" => Strings.WordWeevils,
        "rancid" => Strings.WordRancid,
        "other" => Strings.WordOther,
        "none" => Strings.WordNone,
        "few" => Strings.WordFew,
        "half" => Strings.WordHalf,
        "most" => Strings.WordMost,
        "dry" => Strings.WordDry,
        "wet" => Strings.WordWet,
        "soft" => Strings.WordSoft,
        "shrivelled" => Strings.WordShrivelled,
        "mould" => Strings.WordMould,
        "set" => Strings.WordSet,
        "tender" => Strings.WordTender,
        "scuffed" => Strings.WordScuffed,
        "cut" => Strings.WordCut,
        "wet-soil" => Strings.WordWetSoil,
        "rain" => Strings.WordRain,
        "late-blight" => Strings.WordLateBlight,
        "rot-seen" => Strings.WordRotSeen,
        "early" => Strings.WordEarly,
        "mid" => Strings.WordMid,
        "late" => Strings.WordLate,
        "died" => Strings.WordDied,
        "mown" => Strings.WordMown,
        "pulled" => Strings.WordPulled,
        _ => word,
    };

    /// <summary>How produce lies in a bin.</summary>
    public static string Lies(string way) => way switch
    {
        "layer" => Strings.LiesLayer,
        "crate" => Strings.LiesCrate,
        "sack" => Strings.LiesSack,
        "bin" => Strings.LiesBin,
        "heap" => Strings.LiesHeap,
        "sand" => Strings.LiesSand,
        _ => way,
    };

    /// <summary>A unit, of several or of one.</summary>
    /// <param name="kg">What one of it holds, where that is known: sacks differ.</param>
    public static string Unit(string unit, EventKind? what = null, bool one = false, double? kg = null) => unit switch
    {
        "lb" => Strings.UnitPounds,
        "kg" => Strings.UnitKilograms,
        "g" => Strings.UnitGrams,
        "crate" => one ? Strings.UnitCrate : Strings.UnitCrates,
        "zentner" => Strings.UnitZentner,
        "bushel" => one ? Strings.UnitBushel : Strings.UnitBushels,
        "peck" => one ? Strings.UnitPeck : Strings.UnitPecks,
        // A dry quart is no canning quart.
        "quart" when what == TakenOut.Canned => one ? Strings.UnitQuartJar : Strings.UnitQuartJars,
        "quart" => one ? Strings.UnitQuart : Strings.UnitQuarts,
        "pint" when what == TakenOut.Canned => one ? Strings.UnitPintJar : Strings.UnitPintJars,
        "pint" => one ? Strings.UnitPint : Strings.UnitPints,
        "sack" when kg == SackOfKg => one ? Strings.UnitSackKg : Strings.UnitSacksKg,
        "sack" or "bag" => one ? Strings.UnitSack : Strings.UnitSacks,
        _ => unit,
    };
}
