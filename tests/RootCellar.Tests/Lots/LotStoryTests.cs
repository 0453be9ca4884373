using RootCellar.Lots;
using RootCellar.Readings;
using RootCellar.Science.Keeping;
using static RootCellar.Tests.Lots.Cellar;

namespace RootCellar.Tests.Lots;

/// <summary>A lot from digging to the store, as the keeper follows it.</summary>
public sealed class LotStoryTests
{
    private static DateTimeOffset Day(double day) => Start.AddDays(day);

    private static async Task<Cellar> CuredAndStoredAsync(int days = 40)
    {
        var cellar = await WithRoomsAsync();
        await cellar.AirAsync(CuringRoom, Start, Day(days), 13, 94);
        await cellar.AirAsync(StoreRoom, Start, Day(days), 5, 92);
        return cellar;
    }

    [Fact]
    public async Task A_lot_is_dug_cured_told_to_be_fit_and_moved()
    {
        await using var cellar = await CuredAndStoredAsync();
        var bin = Books.Bin("c-1", Day(0.5), 22.7, (CuringRoom, Day(0.5)));
        cellar.Book = Books.Of(Books.Lot("kennebec-row-4", Day(0.4), [bin], variety: "Kennebec"));

        var early = (await cellar.AtAsync(Day(3))).Bins["c-1"];
        early.FitNow.Should().BeFalse();
        early.Advice.Code.Should().Be("none");
        early.FitToMove!.Likely.Should().BeAfter(Day(4)).And.BeBefore(Day(20));
        early.FitToMove.Early.Should().BeBefore(early.FitToMove.Likely!.Value);
        early.FitToMove.Late.Should().BeAfter(early.FitToMove.Likely.Value);
        early.Advice.Text.Should().Contain("fit to move about");

        var fit = await cellar.AtAsync(Day(14));
        fit.Bins["c-1"].Stage.Should().BeOneOf(HealingStage.Adequate, HealingStage.Healed);
        fit.Bins["c-1"].Advice.Should().Match<BinAdvice>(a => a.Code == "move" && a.Urgency == Urgency.Soon);
        fit.MoveNow.Select(b => b.Bin).Should().Equal("c-1");
        // The day it was foretold on day 3 is the day it came: the air did not change.
        cellar.Time.GetUtcNow().Should().BeAfter(early.FitToMove.Likely.Value);

        cellar.Book = Books.Of(
            Books.Lot("kennebec-row-4", Day(0.4), [Books.Bin("c-1", Day(0.5), 22.7, (CuringRoom, Day(0.5)), (StoreRoom, Day(14.2)))],
                variety: "Kennebec"));
        var moved = await cellar.AtAsync(Day(30));
        moved.MoveNow.Should().BeEmpty();
        moved.Bins["c-1"].PulpC.Should().BeApproximately(5.2, 0.1);
        moved.Bins["c-1"].Kg.Value.Should().BeLessThan(fit.Bins["c-1"].Kg.Value);
        moved.Bins["c-1"].Kg.Low.Should().BeLessThan(moved.Bins["c-1"].Kg.Value);
        moved.Bins["c-1"].RestUsed!.Value.Value.Should().BeInRange(0.1, 0.5);
        moved.Bins["c-1"].Peeping!.Likely.Should().BeAfter(Day(60));
        moved.Bins["c-1"].DarkHours.Should().Be(0);
        cellar.Announcements.Latest.Should().Contain(a => a.Topic == "rootcellar/out/lots/kennebec-row-4");
    }

    [Fact]
    public async Task What_the_keeper_comes_to_piece_by_piece_is_what_the_fold_comes_to_at_once()
    {
        await using var cellar = await CuredAndStoredAsync(3);
        cellar.Book = Books.Of(Books.Lot("l", Start, [Books.Bin("c-1", Day(0.5), 20, (CuringRoom, Day(0.5)))]));
        for (int hour = 1; hour <= 40; hour++) await cellar.AtAsync(Start.AddHours(hour) + TimeSpan.FromMinutes(7 * hour % 60));
        var stepped = cellar.Keeper.Views.Bins["c-1"];

        var lot = LotState.Dug(LotPrior.Of(Science.Crops.CropTable.Default.Find("potato")!).Middle());
        double leftAtFilling = 1;
        for (var at = Start; at < stepped.At; at += TimeSpan.FromMinutes(5))
        {
            if (at == Day(0.5)) leftAtFilling = 1 - lot.Lost;
            lot = LotState.Advance(lot, new LotAir(13, 94), 1.0 / 12);
        }

        stepped.HealedDays.Should().Be(lot.HealedDays);
        stepped.PulpC.Should().Be(lot.PulpC);
        stepped.Shrink.Percent.Should().BeApproximately(100 * (1 - ((1 - lot.Lost) / leftAtFilling)), 0.01);
    }

    [Fact]
    public async Task Late_air_replays_from_its_hour()
    {
        await using var cellar = await WithRoomsAsync();
        await cellar.AirAsync(CuringRoom, Start, Day(4), 13, 94);
        await cellar.AirAsync(CuringRoom, Day(5), Day(8), 13, 94);
        cellar.Book = Books.Of(Books.Lot("l", Start, [Books.Bin("c-1", Start, 20, (CuringRoom, Start))]));
        for (double day = 1; day <= 7.9; day += 0.25) await cellar.AtAsync(Day(day));
        var dark = cellar.Keeper.Views.Bins["c-1"];
        dark.DarkHours.Should().BeApproximately(23.5, 0.2, "the hole less what the last row speaks for");

        long folded = cellar.Keeper.Folded;
        await cellar.AirAsync(CuringRoom, Day(4), Day(5), 19, 90);
        var known = (await cellar.Keeper.AdvanceAsync(TestContext.Current.CancellationToken)).Bins["c-1"];
        known.DarkHours.Should().Be(0);
        known.HealedDays.Should().BeGreaterThan(dark.HealedDays);
        (cellar.Keeper.Folded - folded).Should().BeInRange(
            3 * TimeStep.PerDay, 5 * TimeStep.PerDay, "it goes back to the last state before the hole, not to the digging");
        var fresh = (await cellar.RestartAsync(withKept: false)).Bins["c-1"];
        fresh.HealedDays.Should().Be(known.HealedDays);
        fresh.Kg.Should().Be(known.Kg);
        cellar.Replay().Agree.Should().BeTrue();
    }

    [Fact]
    public async Task A_correction_of_a_move_replays_from_the_hour_it_changes()
    {
        await using var cellar = await CuredAndStoredAsync();
        BinSpec(14);
        for (double day = 1; day <= 30; day += 0.5) await cellar.AtAsync(Day(day));
        var before = cellar.Keeper.Views.Bins["c-1"];

        BinSpec(28);
        long folded = cellar.Keeper.Folded;
        var after = (await cellar.Keeper.AdvanceAsync(TestContext.Current.CancellationToken)).Bins["c-1"];
        after.HealedDays.Should().BeGreaterThan(before.HealedDays);
        // Thinned states lie eight days apart at most.
        (cellar.Keeper.Folded - folded).Should().BeLessThan(24 * TimeStep.PerDay);
        (await cellar.RestartAsync(withKept: false)).Bins["c-1"].HealedDays.Should().Be(after.HealedDays);

        // Correcting the correction comes back to the same bits.
        BinSpec(14);
        (await cellar.Keeper.AdvanceAsync(TestContext.Current.CancellationToken)).Bins["c-1"].HealedDays.Should().Be(before.HealedDays);
        cellar.Replay().Agree.Should().BeTrue();

        void BinSpec(double moved) => cellar.Book = Books.Of(
            Books.Lot("l", Start, [Books.Bin("c-1", Start, 20, (CuringRoom, Start), (StoreRoom, Day(moved)))]));
    }

    [Fact]
    public async Task Dark_hours_widen_the_interval_and_are_said()
    {
        await using var lit = await WithRoomsAsync();
        await using var dark = await WithRoomsAsync();
        await lit.AirAsync(StoreRoom, Start, Day(60), 5, 85);
        await dark.AirAsync(StoreRoom, Start, Day(20), 5, 85);
        // Weighed when filled: otherwise the filling's own error is most of the interval.
        lit.Book = dark.Book = Books.Of(Books.Lot("l", Start, [Books.Bin("c-1", Start, 20, (StoreRoom, Start)).Weighed(Start, 20)]));

        var known = (await lit.AtAsync(Day(60))).Bins["c-1"];
        var guessed = (await dark.AtAsync(Day(60))).Bins["c-1"];
        guessed.Kg.Value.Should()
            .BeApproximately(known.Kg.Value, 1e-6, "the assumed air is that of the last known day, which it went on being");
        await using var darker = await WithRoomsAsync();
        await darker.AirAsync(StoreRoom, Start, Day(2), 5, 85);
        darker.Book = lit.Book;
        // Part of the loss is early loss, which no air changes: the air is the smaller part of the width.
        Width(guessed).Should().BeGreaterThan(1.02 * Width(known));
        Width((await darker.AtAsync(Day(60))).Bins["c-1"]).Should().BeGreaterThan(1.05 * Width(guessed), "the longer the dark, the wider");
        (guessed.RestUsed!.Value.High - guessed.RestUsed.Value.Low).Should()
            .BeGreaterThan(1.02 * (known.RestUsed!.Value.High - known.RestUsed.Value.Low));
        guessed.DarkHours.Should().BeApproximately(40 * 24, 1);
        guessed.Said.Should().Contain(s => s.Contains("nobody measured the air", StringComparison.Ordinal));
        known.Said.Should().BeEmpty();
        guessed.Advice.Code.Should().Be("dark");

        static double Width(BinEstimate bin) => bin.Kg.High - bin.Kg.Low;
    }

    [Fact]
    public async Task Where_nothing_was_ever_measured_the_middle_of_the_band_stands_in()
    {
        await using var cellar = await WithRoomsAsync();
        cellar.Book = Books.Of(Books.Lot("l", Start, [Books.Bin("c-1", Start, 20, (StoreRoom, Start))]));
        var bin = (await cellar.AtAsync(Day(10))).Bins["c-1"];
        var band = Science.Crops.CropTable.Default.Find("potato")!.Storage;
        bin.PulpC.Should().BeApproximately((band.TemperatureLowC + band.TemperatureHighC) / 2, 0.3);
        bin.DarkSharePercent.Should().Be(100);
    }

    [Fact]
    public async Task Less_than_half_an_hour_without_a_row_is_not_dark()
    {
        await using var cellar = await WithRoomsAsync();
        for (int i = 0; i < 48; i++) await cellar.AirAsync(StoreRoom, Start.AddMinutes(30 * i), Start.AddMinutes((30 * i) + 1), 5, 90);
        cellar.Book = Books.Of(Books.Lot("l", Start, [Books.Bin("c-1", Start, 20, (StoreRoom, Start))]));
        (await cellar.AtAsync(Day(1))).Bins["c-1"].DarkHours.Should().Be(0);
    }
}
