using RootCellar.Ledger;
using RootCellar.Lots;
using RootCellar.Tests.Lots;
using static RootCellar.Tests.Lots.Cellar;

namespace RootCellar.Tests.Charts;

/// <summary>A lot's past against what the keeper said when it was the present.</summary>
public class LotHistoryTests
{
    private static DateTimeOffset Day(double day) => Start.AddDays(day);

    private static async Task<Cellar> WithAirAsync(double days)
    {
        var cellar = await WithRoomsAsync();
        await cellar.AirAsync(CuringRoom, Start, Day(days), t => (13 + Math.Sin(t.Hour / 4.0), 92), lux: 0);
        await cellar.AirAsync(StoreRoom, Start, Day(days), t => (5 + (0.5 * Math.Sin(t.Hour / 4.0)), 90));
        return cellar;
    }

    private static LotView Lot(params IReadOnlyList<BinView> bins) => Books.Lot("l", Day(0.4), bins, variety: "Kennebec");

    private static LotHistory Past(Cellar cellar) =>
        new(cellar.Keeper, cellar.Record, () => cellar.Book, Microsoft.Extensions.Logging.Abstractions.NullLogger<LotHistory>.Instance);

    private static LotSample At(LotPast past, double day) => past.Samples.MinBy(s => Math.Abs((s.At - Day(day)).TotalMinutes))!;

    [Fact]
    public async Task What_is_told_of_a_day_gone_by_is_what_was_said_on_that_day()
    {
        await using var cellar = await WithAirAsync(40);
        var bin = Books.Bin("c-1", Day(0.5), 22.7, (CuringRoom, Day(0.5)), (StoreRoom, Day(14)));
        cellar.Book = Books.Of(Lot(bin));
        var said = new Dictionary<double, BinEstimate>();
        foreach (double day in (double[])[3, 10, 20]) said[day] = (await cellar.AtAsync(Day(day))).Bins["c-1"];
        var weighed = bin.Weighed(Day(25), 21.6);
        cellar.Book = Books.Of(Lot(weighed));
        said[30] = (await cellar.AtAsync(Day(30))).Bins["c-1"];

        var past = Past(cellar).Of(cellar.Book.Lots["l"], null, Start, Day(30), TimeSpan.FromDays(1))!;
        foreach (var (day, was) in said)
        {
            var sample = At(past, day);
            sample.At.Should().Be(was.At, "day {0}", day);
            sample.Kg.Should().Be(was.Kg, "day {0}", day);
            sample.HealedDays.Should().Be(was.HealedDays);
            sample.Stage.Should().Be(was.Stage);
            sample.Shrink.Should().Be(was.Shrink, "day {0}", day);
            sample.RestUsed!.Value.Value.Should().BeApproximately(was.RestUsed!.Value.Value, 1e-9);
        }

        var (before, after) = (At(past, 24).Kg, At(past, 26).Kg);
        (after.High - after.Low).Should().BeLessThan(0.7 * (before.High - before.Low), "the scale narrows it");
        At(past, 26).Kg.Value.Should().BeApproximately(21.6, 0.1);
    }

    [Fact]
    public async Task Bins_are_added_up_while_they_hold_something()
    {
        await using var cellar = await WithAirAsync(20);
        var first = Books.Bin("c-1", Day(0.5), 20, (CuringRoom, Day(0.5)));
        var second = Books.Bin("c-2", Day(2.5), 10, (CuringRoom, Day(2.5)))
            .Out(Day(9.5), 10, "sold") with
        { EmptiedAt = Day(9.5), Grams = 0 };
        cellar.Book = Books.Of(Lot(first, second));
        await cellar.AtAsync(Day(15));
        var history = Past(cellar);
        var past = history.Of(cellar.Book.Lots["l"], null, Start, Day(15), TimeSpan.FromDays(1))!;
        (At(past, 2).Bins, At(past, 5).Bins, At(past, 12).Bins).Should().Be((1, 2, 1));
        (At(past, 2).BookKg, At(past, 5).BookKg, At(past, 12).BookKg).Should().Be((20, 30, 20));
        At(past, 5).Kg.Value.Should().BeInRange(28, 30);
        history.Of(cellar.Book.Lots["l"], second, Start, Day(15), TimeSpan.FromDays(1))!.Samples.Select(s => s.At.Date).Should()
            .OnlyContain(d => d >= Day(2).Date && d <= Day(10).Date);
    }

    [Fact]
    public async Task Air_that_comes_late_changes_the_past_that_was_told()
    {
        await using var cellar = await WithRoomsAsync();
        await cellar.AirAsync(CuringRoom, Start, Day(5), 13, 94);
        await cellar.AirAsync(CuringRoom, Day(7), Day(12), 13, 94);
        cellar.Book = Books.Of(Lot(Books.Bin("c-1", Day(0.5), 20, (CuringRoom, Day(0.5)))));
        await cellar.AtAsync(Day(11));
        var history = Past(cellar);
        var dark = history.Of(cellar.Book.Lots["l"], null, Start, Day(11), TimeSpan.FromDays(1))!;
        At(dark, 9).DarkHours.Should().BeApproximately(47.5, 0.1);
        await cellar.AirAsync(CuringRoom, Day(5), Day(7), 20, 94);
        await cellar.AtAsync(Day(11.01));
        var lit = history.Of(cellar.Book.Lots["l"], null, Start, Day(11), TimeSpan.FromDays(1))!;
        At(lit, 9).DarkHours.Should().Be(0);
        At(lit, 9).HealedDays.Should().BeGreaterThan(At(dark, 9).HealedDays + 0.5);
        At(lit, 4).Kg.Should().Be(At(dark, 4).Kg, "before it nothing changed");
    }

    [Fact]
    public async Task A_season_of_many_bins_is_told_at_once()
    {
        await using var cellar = await WithAirAsync(240);
        var bins = Enumerable.Range(1, 24)
            .Select(i => Books.Bin($"c-{i}", Day(0.5 + (i / 100.0)), 20, (CuringRoom, Day(0.5)), (StoreRoom, Day(12 + (i % 4))))).ToList();
        cellar.Book = Books.Of(Lot(bins));
        await cellar.AtAsync(Day(239.9));
        var history = Past(cellar);
        var lot = cellar.Book.Lots["l"];
        var past = history.Of(lot, null, Start, Day(240), TimeSpan.FromDays(1))!;
        past.Samples.Count.Should().BeInRange(239, 242);
        int known = history.Known;
        history.Of(lot, null, Start, Day(240), TimeSpan.FromDays(1))!.Samples.Should().Equal(past.Samples);
        history.Known.Should().Be(known, "nothing is folded twice");
    }
}
