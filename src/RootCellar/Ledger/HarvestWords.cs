using RootCellar.Household;
using RootCellar.Ledger.Events;
using RootCellar.Science.Crops;
using RootCellar.Science.Keeping;

namespace RootCellar.Ledger;

/// <summary>The words that are each crop's own: how it comes in, what is asked of it, what closes as it cures. By the crop table.</summary>
internal static class HarvestWords
{
    /// <summary>What is asked at harvest where the table does not know the crop.</summary>
    private static readonly HarvestSign[] AskedOfAny = [HarvestSign.Rain, HarvestSign.RotSeen];

    /// <summary>"Dug", "Picked": that it came in. Null: a crop the table does not know.</summary>
    public static string Done(Harvest? way) => way switch
    {
        Harvest.Dug => Strings.LogDug,
        Harvest.Lifted => Strings.LogLifted,
        Harvest.Pulled => Strings.LogPulled,
        Harvest.Cut => Strings.LogCut,
        Harvest.Picked => Strings.LogPicked,
        Harvest.Gathered => Strings.LogGathered,
        _ => Strings.LogHarvested,
    };

    public static string Done(Crop? crop) => Done(crop?.Harvest);

    /// <summary>"dug 3 Oct".</summary>
    public static string DoneOn(Crop? crop, string day) => Strings.HarvestedOn.With(Done(crop).ToLowerInvariant(), day);

    /// <summary>"Dug on", beside the field for the day.</summary>
    public static string On(Harvest? way) => Strings.AskHarvestedOn.With(Done(way));

    /// <summary>"How much was dug?"</summary>
    public static string HowMuch(Harvest? way) => Strings.AskHarvested.With(Done(way).ToLowerInvariant());

    /// <summary>"Dig": what to do.</summary>
    public static string Do(Harvest? way) => way switch
    {
        Harvest.Dug => Strings.DigRow,
        Harvest.Lifted => Strings.LiftRow,
        Harvest.Pulled => Strings.PullRow,
        Harvest.Cut => Strings.CutRow,
        Harvest.Picked => Strings.PickRow,
        Harvest.Gathered => Strings.GatherRow,
        _ => Strings.HarvestRow,
    };

    /// <summary>How the crops of a household come in: all in one way, or dug, if any is. Null: in several other ways.</summary>
    public static Harvest? Of(IEnumerable<Crop?> crops)
    {
        var ways = crops.Select(c => c?.Harvest).Distinct().ToList();
        return ways.Count == 0 || ways.Contains(Harvest.Dug) ? Harvest.Dug : ways.Count == 1 ? ways[0] : null;
    }

    /// <summary>Over the form.</summary>
    public static string Heading(Harvest? way) => way == Harvest.Dug ? Strings.DigARow : Strings.HarvestOne.With(Do(way));

    /// <summary>What its form asks, as the book writes it.</summary>
    public static IReadOnlyList<string> Asks(Crop? crop) => [.. (crop?.Asks ?? AskedOfAny).Select(Slug.Of)];

    public static bool Asks(Crop? crop, HarvestSign sign) => (crop?.Asks ?? AskedOfAny).Contains(sign);

    /// <summary>For what it is culled, as the book writes it; of a crop the table does not know, all there is.</summary>
    public static IReadOnlyList<string> CullReasons(Crop? crop) => crop is null ? TakenOut.Reasons : [.. crop.Cull.Select(Slug.Of)];

    /// <summary>How it can look. Only what greens is asked about green.</summary>
    public static IEnumerable<string> Looks(Crop? crop) =>
        Appearance.Looks.Where(look => look != "green" || crop is null or { GreensInLight: true });

    /// <summary>What closes as it cures: its skins, necks or rind.</summary>
    public static string Closes(CuringRule rule) => rule switch
    {
        CuringRule.Drying => Strings.Necks,
        CuringRule.Rind => Strings.Rind,
        _ => Strings.Skins,
    };

    /// <summary>"skins open".</summary>
    public static string ClosesIs(CuringRule rule, string stage) => Strings.HarvestedOn.With(Closes(rule).ToLowerInvariant(), stage);

    /// <summary>How far that is.</summary>
    public static string Stage(HealingStage stage, CuringRule rule) => stage switch
    {
        HealingStage.Healed => Strings.StageHealed,
        HealingStage.Adequate => Strings.StageAdequate,
        HealingStage.Sealed when rule == CuringRule.Drying => Strings.StageNecksClosing,
        HealingStage.Sealed when rule == CuringRule.Rind => Strings.StageRindHardening,
        HealingStage.Sealed => Strings.StageSealed,
        _ when rule == CuringRule.Rind => Strings.StageRindSoft,
        _ => Strings.StageOpen,
    };

    /// <summary>What has been moved already is not called fit to move.</summary>
    public static string Stage(HealingStage stage, CuringRule rule, bool inCuring) => stage == HealingStage.Adequate && !inCuring
        ? Strings.StageAdequateMoved : Stage(stage, rule);

    /// <summary>What stands beside the jars it is canned into.</summary>
    public static string CannedHint(Crop? crop) => crop?.Canned switch
    {
        CanningProcess.Fruit => Strings.CannedHintFruit,
        CanningProcess.Pickle => Strings.CannedHintPickle,
        CanningProcess.Pressure => Strings.CannedHint,
        _ => Strings.CannedHintAny,
    };
}
