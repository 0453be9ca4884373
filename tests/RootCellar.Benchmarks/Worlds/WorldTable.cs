using System.Text;

namespace RootCellar.Benchmarks.Worlds;

/// <summary>What came of a world.</summary>
/// <param name="Surprising">Weigh-ins far outside of what the program said just before.</param>
/// <param name="RightHeld">Of those a person said were right, how many lie within the interval of the next midnight.</param>
internal sealed record WorldResult(WorldPlan Plan, IReadOnlyList<Judged> Judged, int Weighings, int Surprising, int RightHeld, int Right)
{
    /// <summary>The most any figure changed by what came to be known later, kg; null where nobody looked.</summary>
    public double? LaterKg { get; init; }

    /// <summary>With what came of another seed.</summary>
    public WorldResult With(WorldResult more) => this with
    {
        Judged = [.. Judged, .. more.Judged],
        Weighings = Weighings + more.Weighings,
        Surprising = Surprising + more.Surprising,
        RightHeld = RightHeld + more.RightHeld,
        Right = Right + more.Right,
        LaterKg = LaterKg is { } one && more.LaterKg is { } other ? Math.Max(one, other) : null,
    };

    /// <summary>Of potatoes; the others are told apart.</summary>
    public WorldScore? Score(Func<Judged, bool> which) =>
        WorldScore.Of(Judged.Where(j => j.Bin.Lot.Crop == TrueCrop.Potato && which(j)));
}

/// <summary>Figures of worlds in words and in a table.</summary>
internal static class WorldTable
{
    private static readonly (string Name, Func<Judged, bool> Which)[] Groups =
    [
        ("all bin-days", _ => true),
        ("never weighed, nor their lots", j => j.Bin.Weighings == 0 && Alone(j)),
        ("never weighed, others of the lot", j => j.Bin.Weighings == 0 && !Alone(j)),
        ("weighed 3 times", j => j.Bin.Weighings == 3),
        ("weighed 7 times", j => j.Bin.Weighings == 7),
        ("just before a weigh-in", BeforeNext),
        ("  before the first", j => BeforeNext(j) && j.DaysSince is null),
        ("1 to 7 days after the last", j => AfterLast(j, 1, 7)),
        ("8 to 21 days after the last", j => AfterLast(j, 8, 21)),
        ("22 days and more", j => AfterLast(j, 22, int.MaxValue)),
    ];

    public static void Say(WorldResult result, string took)
    {
        Console.WriteLine($"{result.Plan.Name} ({result.Plan.What}), {took}");
        Console.WriteLine($"{"",36}  bin-days  held %   +-  truth below/above %  off %  median signed %  width %  pinball");
        foreach (var (name, which) in Groups) Line(name, result.Score(which));
        if (result.Score(j => j.Bin.IsUnknowable(j.Day)) is { } unknowable)
        {
            Line("taken out unseen, not weighed since", unknowable);
            Line("all but those", result.Score(j => !j.Bin.IsUnknowable(j.Day)));
        }

        foreach (var crop in result.Judged.Where(j => j.Bin.Lot.Crop != TrueCrop.Potato).GroupBy(j => j.Bin.Lot.Crop.Id))
        {
            foreach (var group in crop.GroupBy(j => j.Bin.Weighings).OrderBy(g => g.Key))
                Line($"{crop.Key}, weighed {group.Key} times", WorldScore.Of(group));
        }

        Console.WriteLine($"  {result.Weighings} weigh-ins, {result.Surprising} surprising; {result.Right} of them said to be right, "
            + $"{result.RightHeld} within the interval a day later");
        if (result.LaterKg is { } later) Console.WriteLine($"  by what was known later figures change by at most {later * 1000:0} g");
        Console.WriteLine();
    }

    /// <summary>As it stands in docs/science/worlds.md.</summary>
    public static string Of(IReadOnlyList<WorldResult> results)
    {
        var table = new StringBuilder()
            .Append("| world | held, all | 0 weighings, lot never | 0, lot weighed | 3 | 7 | just before a weigh-in ")
            .AppendLine("| 1-7 d after the last | 8-21 | 22+ | off by | width | pinball | surprising; right, held |")
            .AppendLine("|---|--:|--:|--:|--:|--:|--:|--:|--:|--:|--:|--:|--:|--:|");
        foreach (var result in results)
        {
            var all = result.Score(_ => true)!;
            string wanted = all.IsWanted ? "" : "**";
            table.Append($"| {result.Plan.Name} | {wanted}{all.HeldPercent:0.0}{wanted} +-{all.ErrorPercent:0} |");
            foreach (var (_, which) in Groups.Skip(1).Where(g => g.Name[0] != ' '))
                table.Append($" {result.Score(which)?.HeldPercent:0} |");
            table.Append($" {all.MedianError:0.00} | {all.Width:0.0} | {all.Pinball:0.000} ")
                .AppendLine($"| {result.Surprising} of {result.Weighings}; {result.RightHeld} of {result.Right} |");
        }

        return table.ToString();
    }

    private static void Line(string name, WorldScore? score)
    {
        if (score is null) return;
        Console.WriteLine(
            $"  {name,-36}{score.Count,8}{score.HeldPercent,8:0.0}{score.ErrorPercent,5:0}{score.Below,12:0.0}/{score.Above,-8:0.0}"
            + $"{score.MedianError,6:0.00}{score.MedianSigned,17:+0.00;-0.00;0.00}{score.Width,9:0.00}{score.Pinball,9:0.000}");
    }

    private static bool Alone(Judged j) => !j.Bin.Lot.IsWeighed;

    private static bool BeforeNext(Judged j) => j.DaysToNext == 0;

    private static bool AfterLast(Judged j, int from, int to) => j.DaysToNext is null && j.DaysSince >= from && j.DaysSince <= to;
}
