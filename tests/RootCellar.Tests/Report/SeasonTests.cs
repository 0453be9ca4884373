using System.Globalization;
using RootCellar.Lots;
using RootCellar.Places;
using RootCellar.Report;
using RootCellar.Storage;
using RootCellar.Tests.Lots;
using RootCellar.Watch;

namespace RootCellar.Tests.Report;

/// <summary>
/// Two hundred lots from digging to spring whose truth is known: the weekly report against it. The same seed gives the same season;
/// ROOTCELLAR_SEASON_SEED tries another. Figures of seven seeds are in docs/science/scale.md.
/// </summary>
public class SeasonTests(ITestOutputHelper output)
{
    private const int Lots = 200;
    private const int Weeks = 30;

    // A Monday.
    private static readonly DateTimeOffset Start = new(2025, 9, 1, 0, 0, 0, TimeSpan.Zero);

    private static int Seed =>
        int.TryParse(Environment.GetEnvironmentVariable("ROOTCELLAR_SEASON_SEED"), CultureInfo.InvariantCulture, out int seed)
            ? seed : 20250901;

    [Fact]
    public async Task The_report_of_a_season_keeps_its_word_about_what_was_lost()
    {
        var end = Start.AddDays(7 * Weeks);
        var chance = new SeasonChance(Seed);
        var air = new SeasonAir(Start, end, chance);
        List<SeasonLot> lots = [.. Enumerable.Range(0, Lots).Select(i => new SeasonLot(i, air, chance, Start, end))];
        foreach (var lot in lots) lot.Live(end);
        await using var cellar = new Cellar();
        await SetUpAsync(cellar, air, end);
        cellar.Book = Report.Weeks.Book(
            $"[{string.Join(',', lots.SelectMany(l => l.Written).OrderBy(w => w.At).Select(w => w.Event.ToJsonString()))}]");

        var named = lots.ToDictionary(l => l.Name, StringComparer.Ordinal);
        var ledgers = lots.ToDictionary(l => l.Name, l => SeasonLedger.Of(l.Written, Start, Weeks), StringComparer.Ordinal);
        var told = new List<Told>();
        var courses = new TrajectoryCache(trustKept: false);
        for (int w = 0; w < Weeks; w++)
        {
            var week = Week.Of(Start.AddDays(7 * w), TimeZoneInfo.Utc);
            var figures = cellar.Record.Read(c => WeekFigures.Of(c, cellar.Book, week, week.To, new WatchOptions(), courses));
            _ = courses.TakeNew();
            foreach (var lot in figures.Lots)
            {
                Closes(lot, ledgers[lot.Lot][w], $"{lot.Lot} in {week.Name}");
                var truth = named[lot.Lot];
                if (lot.Estimate.ShrinkKg is { } shrink && truth.LostKg[w] > 0)
                    told.Add(new Told(truth, w, shrink.Low, shrink.Value, shrink.High, truth.LostKg[w], lot.Estimate.EndKg!.Value,
                        truth.LeftKg[w]));
            }
        }

        double held = Say("all", told);
        var byScale = told.GroupBy(t => t.Lot.Weighed).OrderBy(g => g.Key).ToList();
        foreach (var group in byScale) Say($"weighed {group.Key}".ToLowerInvariant(), group);
        foreach (var group in told.GroupBy(t => t.Lot.Crop)) Say(group.Key, group);
        foreach (var group in told.GroupBy(t => t.Week / 6)) Say($"weeks {(6 * group.Key) + 1} to {(6 * group.Key) + 6}", group);
        foreach (var group in told.GroupBy(t => t.Lot.ByMeasure)) Say(group.Key ? "filled by the bushel" : "filled by the scale", group);

        told.Count.Should().BeGreaterThan(5000);
        held.Should().BeInRange(85, 95, "the interval says 90 %");
        byScale.Select(Off).Should().BeInDescendingOrder("who weighs more often knows more of the loss");
        byScale.Select(g => g.Average(t => Math.Abs(t.Left.Value - t.TrulyLeft))).Should().BeInDescendingOrder("and of what is left");
        Off(byScale[^1]).Should().BeLessThan(Off(byScale[0]) / 2);
    }

    private static double Off(IEnumerable<Told> told) => told.Sum(t => Math.Abs(t.Value - t.Truth)) / told.Sum(t => t.Truth);

    private static void Closes(LotWeek told, LedgerWeek ledger, string which)
    {
        told.Book.StartGrams.Should().Be(ledger.Start, which);
        told.Book.InGrams.Should().Be(ledger.In, which);
        told.Book.Outs.Should().BeEquivalentTo(ledger.Outs, which);
        told.Book.ShrinkGrams.Should().Be(ledger.Shrink, which);
        told.Book.EndGrams.Should().Be(ledger.End, which);
        var e = told.Estimate;
        (e.StartGrams + e.InGrams - e.OutGrams - e.ShrinkGrams + e.SetRightGrams).Should().Be(e.EndGrams, which);
    }

    internal static async Task SetUpAsync(Cellar cellar, SeasonAir air, DateTimeOffset end)
    {
        await cellar.Record.WriteAsync(c =>
        {
            foreach (string place in SeasonAir.Places)
                PlaceRows.Save(c, new Place(place, place, place == Cellar.CuringRoom ? Purpose.Curing : Purpose.Storage, 30, ["potato"]));
        });
        foreach (string place in SeasonAir.Places) await cellar.AirAsync(place, Start, end, at => air.Recorded(place, at));
        await cellar.Record.WriteAsync(c =>
        {
            c.Execute(
                "DELETE FROM air WHERE place = $place AND at_ms >= $from AND at_ms < $to",
                ("$place", SeasonAir.DryCellar), ("$from", SeasonAir.SilentFrom.ToUnixTimeMilliseconds()),
                ("$to", SeasonAir.SilentTo.ToUnixTimeMilliseconds()));
        });
    }

    private double Say(string what, IEnumerable<Told> group)
    {
        var told = group.ToList();
        double Percent(Func<Told, bool> of) => 100.0 * told.Count(of) / told.Count;
        output.WriteLine(string.Create(
            CultureInfo.InvariantCulture,
            $"{what}: {told.Count} lot-weeks; shrink held {Percent(t => t.Held):0.0} % (less than said {Percent(t => t.Truth < t.Low):0.0}, more {Percent(t => t.Truth > t.High):0.0}), off by {100 * Off(told):0.0} % of it, interval {told.Average(t => (t.High - t.Low) / t.Value):0.00} of it wide; weight left held {Percent(t => t.WeightHeld):0.0} %, off by {1000 * told.Average(t => Math.Abs(t.Left.Value - t.TrulyLeft)):0} g"));
        return Percent(t => t.Held);
    }

    private sealed record Told(SeasonLot Lot, int Week, double Low, double Value, double High, double Truth, Science.Air.Interval Left,
        double TrulyLeft)
    {
        public bool Held => Truth >= Low && Truth <= High;

        public bool WeightHeld => TrulyLeft >= Left.Low && TrulyLeft <= Left.High;
    }
}
