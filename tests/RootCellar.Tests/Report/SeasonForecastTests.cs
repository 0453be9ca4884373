using System.Globalization;
using RootCellar.Ledger;
using RootCellar.Lots;
using RootCellar.Places;
using RootCellar.Tests.Lots;

namespace RootCellar.Tests.Report;

/// <summary>
/// What is foretold of a lot holds as the season goes on: a date given later lies within the interval given earlier, nine times in ten.
/// Potatoes of named varieties and of none, cured, moved to one of two cellars, half of them looked into. ROOTCELLAR_SEASON_SEED tries
/// another season.
/// </summary>
public class SeasonForecastTests(ITestOutputHelper output)
{
    private const int Weeks = 30;
    private static readonly string?[] Varieties = [null, "Kennebec", "Russet Burbank", "Yukon Gold"];
    private static readonly DateTimeOffset Start = new(2025, 9, 1, 0, 0, 0, TimeSpan.Zero);

    private static int Seed =>
        int.TryParse(Environment.GetEnvironmentVariable("ROOTCELLAR_SEASON_SEED"), CultureInfo.InvariantCulture, out int seed)
            ? seed : 20250901;

    [Fact]
    public async Task A_date_foretold_later_lies_within_the_interval_foretold_earlier()
    {
        var end = Start.AddDays(7 * Weeks);
        var chance = new SeasonChance(Seed);
        var air = new SeasonAir(Start, end, chance);
        // Of twenty numbers twelve are potatoes.
        List<SeasonLot> lots = [.. Enumerable.Range(0, 200).Where(i => i / 4 % 5 < 3)
            .Select((i, n) => new SeasonLot(i, air, chance, Start, end, Varieties[n / 4 % Varieties.Length]))];
        foreach (var lot in lots) lot.Live(end);
        await using var cellar = new Cellar();
        await SeasonTests.SetUpAsync(cellar, air, end);
        var written = lots.SelectMany(l => l.Written).OrderBy(w => w.At).Select(w => w.Event.ToJsonString());
        var book = Report.Weeks.Book($"[{string.Join(',', written)}]");
        var foretold = new Dictionary<string, List<Foretold>>(StringComparer.Ordinal);
        cellar.Record.Read(c =>
        {
            var courses = new TrajectoryCache(trustKept: false);
            courses.Use(c);
            var estimating = new Estimating(courses);
            var places = PlaceRows.All(c);
            for (int week = 1; week < Weeks; week++)
            {
                var at = Start.AddDays(7 * week);
                foreach (var (id, bin) in estimating.At(BookBuilder.Then(book, at), places, TimeStep.Of(at)).Bins)
                {
                    bin.Way.Moves.Should().Be(bin.Place == Cellar.CuringRoom, "only what is being cured is thought to move");
                    Note($"{id} fit", bin, bin.FitToMove);
                    Note($"{id} peeping", bin, bin.Peeping);
                    Note($"{id} sprouted", bin, bin.Sprouted);
                }

                _ = courses.TakeNew();

                void Note(string what, BinEstimate bin, When? when)
                {
                    if (when is null) return;
                    if (!foretold.TryGetValue(what, out var list)) foretold.Add(what, list = []);
                    // Reached is reached: it is counted once, against all that was foretold of it.
                    if (list.Count == 0 || list[^1].At < list[^1].Date)
                        list.Add(new Foretold(at, when, bin.InCuring, bin.Variety, bin.SproutsSeen
                            && what.EndsWith("peeping", StringComparison.Ordinal)));
                }
            }

            return 0;
        });

        var pairs = foretold
            .SelectMany(f => f.Value.SelectMany((early, i) => f.Value.Skip(i + 1)
                .Select(late => new Pair(f.Key.Split(' ')[1], early, late))))
            .Where(p => p.IsKnown)
            .ToList();
        var sprouting = pairs.Where(p => p.What != "fit").ToList();
        double held = Say("all", pairs);
        foreach (var g in pairs.GroupBy(p => p.What)) Say(g.Key, g);
        foreach (var g in sprouting.GroupBy(p => (p.Earlier.InCuring, p.Later.InCuring)))
            Say($"sprouting, foretold {Room(g.Key.Item1)}, then {Room(g.Key.Item2)}", g);
        foreach (var g in sprouting.GroupBy(p => p.Earlier.Variety ?? "no variety")) Say(g.Key, g);
        foreach (var g in pairs.GroupBy(p => (int)(p.Later.At - p.Earlier.At).TotalDays / 28).OrderBy(g => g.Key))
            Say($"{4 * g.Key} to {(4 * g.Key) + 3} weeks apart", g);
        double next = Say(
            "sprouting, foretold in the curing room, then within eight weeks",
            sprouting.Where(p => p.Earlier.InCuring && p.Later.At - p.Earlier.At <= TimeSpan.FromDays(56)));
        pairs.Count.Should().BeGreaterThan(10_000);
        held.Should().BeGreaterThan(90, "the interval says nine in ten");
        next.Should().BeGreaterThan(90, "the move into the cellar is no surprise");

        static string Room(bool curing) => curing ? "in the curing room" : "in the cellar";
    }

    private double Say(string what, IEnumerable<Pair> of)
    {
        var pairs = of.ToList();
        double held = Percent(p => !p.TooEarly && !p.TooLate), later = Percent(p => p.TooLate);
        double moved = pairs.Average(p => Math.Abs((p.Later.Date - p.Earlier.Date).TotalDays));
        double wide = pairs.Where(p => p.Earlier.When.Late is not null)
            .Average(p => (p.Earlier.When.Late!.Value - p.Earlier.When.Early!.Value).TotalDays);
        output.WriteLine(string.Create(
            CultureInfo.InvariantCulture,
            $"{what}: {pairs.Count} pairs, held {held:0.0} % (later than said {later:0.0}), moved by {moved:0.0} d, interval {wide:0} d wide"));
        return held;

        double Percent(Func<Pair, bool> which) => 100.0 * pairs.Count(which) / pairs.Count;
    }

    /// <param name="Seen">Somebody saw sprouts: nobody knows how long they had been there.</param>
    private sealed record Foretold(DateTimeOffset At, When When, bool InCuring, string? Variety, bool Seen)
    {
        /// <summary>The likely date; where it lies beyond what is looked ahead, the end of that: it is no earlier.</summary>
        public DateTimeOffset Date => When.Likely ?? At.AddDays(Ahead.Days);

        /// <summary>It is no earlier than this: what is reached was not a week ago.</summary>
        public DateTimeOffset Least => Seen ? DateTimeOffset.MinValue : Date <= At ? At.AddDays(-7) : Date;
    }

    private sealed record Pair(string What, Foretold Earlier, Foretold Later)
    {
        /// <summary>Whether a date was foretold at all, and the later one is near enough to be held against it.</summary>
        public bool IsKnown => Earlier.When.Likely > Earlier.At && (Later.When.Likely is not null || TooLate || Earlier.When.Late is null);

        public bool TooEarly => Later.Date < Earlier.When.Early;

        /// <summary>What has no late end may be as late as it will.</summary>
        public bool TooLate => Later.Least > Earlier.When.Late;
    }
}
