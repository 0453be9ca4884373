using RootCellar.Household;

namespace RootCellar.Ledger;

/// <summary>What can be logged, and the words for it.</summary>
internal static class LogKinds
{
    private static readonly string[] Volumes = ["bushel", "peck", "quart", "sack"];

    /// <summary>What happens to a bin, the most usual first.</summary>
    public static IReadOnlyList<string> OfBin { get; } =
        ["weighed", "moved", "culled", "sold", "eaten", "canned", "given", "planted", "sprouts-seen", "condition-seen", "sorted"];

    public static IReadOnlyList<string> Reasons { get; } = ["rot", "green", "sprouted", "damage", "frost", "pests", "other"];

    public static IReadOnlyList<string> Shares { get; } = ["none", "few", "half", "most"];

    public static IReadOnlyList<string> Conditions { get; } = ["dry", "wet", "soft", "shrivelled", "green", "mould"];

    public static IReadOnlyList<string> Skins { get; } = ["set", "tender", "scuffed", "cut"];

    public static IReadOnlyList<string> Flags { get; } = ["wet-soil", "rain", "late-blight", "rot-seen"];

    /// <summary>Whether it is written down in the form of the bins.</summary>
    public static bool IsKnown(string what) => what is "dug" or "filled" or "promised" || OfBin.Contains(what);

    public static bool IsOfRow(string what) => what is "row-planted" or "vines-dead";

    /// <summary>Whether an entry can be put right in a form of its own.</summary>
    public static bool HasForm(string what) => IsKnown(what) || IsOfRow(what);

    /// <summary>Whether it happens to a bin that holds something.</summary>
    public static bool NeedsBin(string what) => OfBin.Contains(what);

    public static bool IsWayOut(string what) => what is "culled" or "sold" or "eaten" or "canned" or "given" or "planted";

    /// <summary>What its amount may be counted in; the household's unit of weight first.</summary>
    public static IReadOnlyList<string> Units(string what, Show show) => what switch
    {
        "weighed" or "sorted" => [show.WeightUnit],
        "canned" => [show.WeightUnit, "quart", "pint"],
        _ => [show.WeightUnit, .. Volumes],
    };

    public static string Name(string what) => what switch
    {
        "dug" => Strings.LogDug,
        "filled" => Strings.LogFilled,
        "weighed" => Strings.LogWeighed,
        "moved" => Strings.LogMoved,
        "culled" => Strings.LogCulled,
        "sold" => Strings.LogSold,
        "eaten" => Strings.LogEaten,
        "canned" => Strings.LogCanned,
        "given" => Strings.LogGiven,
        "planted" => Strings.LogPlanted,
        "sprouts-seen" => Strings.LogSprouts,
        "condition-seen" => Strings.LogCondition,
        "sorted" => Strings.LogSorted,
        "promised" => Strings.LogPromised,
        "row-planted" => Strings.LogRowPlanted,
        "vines-dead" => Strings.LogVinesDead,
        _ => what,
    };

    /// <summary>What is asked of the person.</summary>
    public static string Ask(string what) => what switch
    {
        "weighed" => Strings.AskWeighed,
        "culled" => Strings.AskCulled,
        "sold" => Strings.AskSold,
        "eaten" => Strings.AskEaten,
        "canned" => Strings.AskCanned,
        "given" => Strings.AskGiven,
        "planted" => Strings.AskPlanted,
        "filled" => Strings.AskFilled,
        "promised" => Strings.AskPromised,
        _ => Strings.AskDug,
    };

    public static string Choice(string word) => word switch
    {
        "rot" => Strings.WordRot,
        "green" => Strings.WordGreen,
        "sprouted" => Strings.WordSprouted,
        "damage" => Strings.WordDamage,
        "frost" => Strings.WordFrost,
        "pests" => Strings.WordPests,
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

    public static string Unit(string unit, string what) => unit switch
    {
        "lb" => Strings.UnitPounds,
        "kg" => Strings.UnitKilograms,
        "bushel" => Strings.UnitBushels,
        "peck" => Strings.UnitPecks,
        // A dry quart is no canning quart.
        "quart" => what == "canned" ? Strings.UnitQuartJars : Strings.UnitQuarts,
        "pint" => what == "canned" ? Strings.UnitPintJars : Strings.UnitPints,
        "sack" or "bag" => Strings.UnitSacks,
        _ => unit,
    };
}
