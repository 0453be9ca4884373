using RootCellar.Ledger;
using RootCellar.Lots;
using RootCellar.Places;
using RootCellar.Science.Keeping;
using static RootCellar.Tests.Lots.Cellar;

namespace RootCellar.Tests.Lots;

/// <summary>What the scale and the eye teach, and what is said across bins.</summary>
public sealed class WhatToDoTests
{
    private static DateTimeOffset Day(double day) => Start.AddDays(day);

    internal static async Task<Cellar> StoredAsync(double c = 5, double percent = 92, int days = 100)
    {
        var cellar = await WithRoomsAsync();
        await cellar.AirAsync(StoreRoom, Start, Day(days), c, percent);
        return cellar;
    }

    [Fact]
    public async Task Weighings_narrow_the_estimate_and_move_it_to_what_the_scale_says()
    {
        await using var cellar = await StoredAsync();
        var bin = Books.Bin("c-1", Start, 20, (StoreRoom, Start));
        cellar.Book = Books.Of(Books.Lot("l", Start, [bin]));
        async Task<double> LostAsync(double day) => 20 - (await cellar.AtAsync(Day(day))).Bins["c-1"].Kg.Value;
        var lost = (At20: await LostAsync(20), At40: await LostAsync(40), At55: await LostAsync(55));
        var unknown = (await cellar.AtAsync(Day(60))).Bins["c-1"];

        // The scale finds half as much again lost, three times.
        await using var weighed = await StoredAsync();
        weighed.Book = Books.Of(
            Books.Lot("l", Start,
                [bin.Weighed(Start, 20).Weighed(Day(20), 20 - (1.5 * lost.At20)).Weighed(Day(40), 20 - (1.5 * lost.At40))
                    .Weighed(Day(55), 20 - (1.5 * lost.At55))]));
        var known = (await weighed.AtAsync(Day(60))).Bins["c-1"];
        known.Questions.Should().BeEmpty();
        known.Kg.Value.Should().BeLessThan(unknown.Kg.Value);
        known.WaterMultiplier.Value.Should().BeGreaterThan(1.1);
        (known.WaterMultiplier.High / known.WaterMultiplier.Low).Should()
            .BeLessThan(0.8 * unknown.WaterMultiplier.High / unknown.WaterMultiplier.Low);
        (known.Kg.High - known.Kg.Low).Should().BeLessThan(0.5 * (unknown.Kg.High - unknown.Kg.Low));
    }

    [Fact]
    public async Task A_wild_weighing_is_asked_about_and_teaches_nothing_of_the_lot()
    {
        await using var cellar = await StoredAsync();
        var bin = Books.Bin("c-1", Start, 20, (StoreRoom, Start)).Weighed(Start, 20);
        cellar.Book = Books.Of(Books.Lot("l", Start, [bin]));
        var before = (await cellar.AtAsync(Day(50))).Bins["c-1"];
        cellar.Book = Books.Of(Books.Lot("l", Start, [bin.Weighed(Day(40), 43)]));
        var after = (await cellar.Keeper.AdvanceAsync(TestContext.Current.CancellationToken)).Bins["c-1"];
        after.Questions.Should().ContainSingle().Which.Asked.Words(pounds: false).Should().Contain("?");
        after.WaterMultiplier.Should().Be(before.WaterMultiplier);
        after.Kg.Value.Should().BeApproximately(before.Kg.Value, 0.02, "the middle stays");
        after.Kg.High.Should().BeGreaterThan(42, "it may be so");
    }

    [Fact]
    public async Task A_wild_weighing_that_somebody_has_checked_is_the_weight()
    {
        await using var cellar = await StoredAsync();
        var bin = Books.Bin("c-1", Start, 20, (StoreRoom, Start)).Weighed(Start, 20);
        cellar.Book = Books.Of(Books.Lot("l", Start, [bin.Weighed(Day(40), 15)]));
        var doubted = (await cellar.AtAsync(Day(50))).Bins["c-1"];
        doubted.Questions.Should().ContainSingle().Which.Asked.Kind.Should().Be(ScaleQuestionKind.TakenOut);
        doubted.Kg.Low.Should().BeLessThan(15.1);
        doubted.Kg.Value.Should().BeGreaterThan(19);

        cellar.Book = Books.Of(Books.Lot("l", Start, [bin.Weighed(Day(40), 15, check: true)]));
        var known = (await cellar.Keeper.AdvanceAsync(TestContext.Current.CancellationToken)).Bins["c-1"];
        known.Questions.Should().BeEmpty();
        known.Kg.Value.Should().BeInRange(14.7, 15.05);
        known.Kg.Low.Should().BeGreaterThan(14);

        // Two that agree, and nobody needs to be asked.
        cellar.Book = Books.Of(Books.Lot("l", Start, [bin.Weighed(Day(40), 15).Weighed(Day(43), 14.9)]));
        var agreed = (await cellar.Keeper.AdvanceAsync(TestContext.Current.CancellationToken)).Bins["c-1"];
        agreed.Questions.Should().BeEmpty();
        agreed.Kg.Value.Should().BeInRange(14.5, 15.2);
        cellar.Replay().Agree.Should().BeTrue();
    }

    [Fact]
    public async Task An_empty_weight_that_bins_have_in_common_is_less_sure_than_one_of_their_own()
    {
        await using var cellar = await StoredAsync();
        BinView Bin(string id, double tare) => Books.Bin(id, Start, 20, (StoreRoom, Start)).Weighed(Day(20), 19.7, tare: tare);
        cellar.Book = Books.Of(Books.Lot("l", Start, [Bin("c-1", 2.4), Bin("c-2", 2.5)]));
        var own = (await cellar.AtAsync(Day(20.1))).Bins["c-1"].Kg;
        cellar.Book = Books.Of(Books.Lot("l", Start, [Bin("c-1", 2.4), Bin("c-2", 2.4)]));
        var alike = (await cellar.Keeper.AdvanceAsync(TestContext.Current.CancellationToken)).Bins["c-1"].Kg;
        (alike.High - alike.Low).Should().BeGreaterThan(1.4 * (own.High - own.Low));
    }

    [Fact]
    public async Task What_is_taken_out_leaves_the_estimate_by_what_it_weighed()
    {
        await using var cellar = await StoredAsync();
        cellar.Book = Books.Of(Books.Lot("l", Start, [Books.Bin("c-1", Start, 20, (StoreRoom, Start)).Out(Day(30), 8, "sold")]));
        var bin = (await cellar.AtAsync(Day(60))).Bins["c-1"];
        bin.BookKg.Should().Be(12);
        bin.Kg.Value.Should().BeInRange(11, 12);
        bin.Kg.Low.Should().BeGreaterThan(0);
    }

    [Fact]
    public async Task Sprouts_seen_early_bring_the_peeping_nearer()
    {
        await using var cellar = await StoredAsync(8, 90);
        var bin = Books.Bin("c-1", Start, 20, (StoreRoom, Start));
        cellar.Book = Books.Of(Books.Lot("l", Start, [bin]));
        var expected = (await cellar.AtAsync(Day(60))).Bins["c-1"];
        cellar.Book = Books.Of(Books.Lot("l", Start, [bin.SawSprouts(Day(59), "few")]));
        var seen = (await cellar.AtAsync(Day(60.1))).Bins["c-1"];
        seen.RestUsed!.Value.Value.Should().BeGreaterThan(expected.RestUsed!.Value.Value + 0.1);
        seen.Peeping!.Likely.Should().BeBefore(expected.Peeping!.Likely!.Value);
        cellar.Replay().Agree.Should().BeTrue();
    }

    [Theory]
    [InlineData(-2.5, 90.0, null, null, "freezing")]
    [InlineData(5.0, 92.0, null, "soft", "rot-signs")]
    [InlineData(5.0, 92.0, null, null, "none")]
    [InlineData(5.0, 55.0, null, null, "dry-air")]
    [InlineData(5.0, 99.0, 3.0, null, "wet")]
    public async Task The_line_of_advice_is_the_most_urgent_one(double c, double percent, double? pulp, string? seen, string code)
    {
        await using var cellar = await WithRoomsAsync();
        await cellar.AirAsync(StoreRoom, Start, Day(30), c, percent, pulp);
        var bin = Books.Bin("c-1", Start, 20, (StoreRoom, Start));
        cellar.Book = Books.Of(Books.Lot("l", Start, [seen is null ? bin : bin.Saw(Day(20), seen)]));
        var advice = (await cellar.AtAsync(Day(30))).Bins["c-1"].Advice;
        advice.Code.Should().Be(code);
        advice.Text.Should().NotContain("safe").And.NotBeEmpty();
    }

    /// <summary>How dry a room is is said of the time that was measured, and of an hour nothing.</summary>
    [Theory]
    [InlineData(2, null)]
    [InlineData(24, "over 24 hours")]
    [InlineData(90, "over 3 days")]
    public async Task Dry_air_is_told_of_the_hours_it_was_measured(int hours, string? says)
    {
        await using var cellar = await WithRoomsAsync();
        await cellar.AirAsync(StoreRoom, Start, Day(26), 5, 55);
        await cellar.AirAsync(StoreRoom, Day(30).AddHours(-hours), Day(30), 5, 55);
        cellar.Book = Books.Of(Books.Lot("l", Start, [Books.Bin("c-1", Start, 20, (StoreRoom, Start))]));
        var advice = (await cellar.AtAsync(Day(30))).Bins["c-1"].Advice;
        if (says is null) advice.Code.Should().NotBe("dry-air");
        else advice.Text.Should().Contain(says);
    }

    [Fact]
    public async Task What_to_use_first_goes_by_what_would_be_lost_not_by_age()
    {
        await using var cellar = await StoredAsync();
        await cellar.Record.WriteAsync(c => PlaceRows.Save(c, new Place("shed", "Shed", Purpose.Storage, null, ["potato"])));
        await cellar.AirAsync("shed", Start, Day(100), 12, 60);
        cellar.Book = Books.Of(
            Books.Lot("old", Start, [Books.Bin("o-1", Start, 20, (StoreRoom, Start))]),
            Books.Lot("new", Day(20), [Books.Bin("n-1", Day(20), 20, ("shed", Day(20)))]));
        (await cellar.AtAsync(Day(60))).UseFirst.Select(b => b.Bin).Should().Equal("n-1", "o-1");
    }

    [Fact]
    public async Task Stock_is_what_is_expected_on_the_day_less_what_is_promised()
    {
        await using var cellar = await StoredAsync();
        var orders = new[]
        {
            new Promise(1, "inn", "potato", "table", 15_000, DateOnly.FromDateTime(Day(80).DateTime), Start, 0),
            new Promise(2, "school", "potato", null, 8_000, DateOnly.FromDateTime(Day(70).DateTime), Start, 0),
            new Promise(3, "fair", "potato", "table", 40_000, DateOnly.FromDateTime(Day(90).DateTime), Start, 5_000),
            new Promise(4, "garlic", "garlic", null, 1_000, null, Start, 0),
        };
        cellar.Book = Books.Of(
            orders, Books.Lot("l", Start,
                [Books.Bin("c-1", Start, 20, (StoreRoom, Start)), Books.Bin("c-2", Start, 15, (StoreRoom, Start)),
                    Books.Bin("s-1", Start, 10, (StoreRoom, Start)) with { Grade = "seed" }]));
        var views = await cellar.AtAsync(Day(60));

        var on = AcrossBins.On(cellar.Book, views, DateOnly.FromDateTime(Day(80).DateTime), AcrossBins.Promises(cellar.Book, views));
        var table = on.Lines.Single(l => l is { Crop: "potato", Grade: "table" });
        table.PromisedKg.Should().Be(50, "the fair is promised too, though it is due later");
        table.ExpectedKg.Value.Should().BeInRange(32, 35);
        table.ExpectedKg.Value.Should().BeLessThan(views.Bins["c-1"].Kg.Value + views.Bins["c-2"].Kg.Value);
        table.FreeKg.Should().BeApproximately(table.ExpectedKg.Value - 50, 1e-9);
        on.Crops.Single(l => l.Crop == "potato").PromisedKg.Should().Be(58);

        var plans = AcrossBins.Promises(cellar.Book, views);
        plans.Select(p => (p.Promise.Order, p.Answer)).Should()
            .Equal(("school", CanMeet.Yes), ("inn", CanMeet.Yes), ("fair", CanMeet.No), ("garlic", CanMeet.No));
        plans[0].Picks.Sum(p => p.Kg).Should().BeApproximately(8, 1e-9);
        // No kilogram is promised twice.
        plans.SelectMany(p => p.Picks).Where(p => p.Bin is "c-1" or "c-2").Sum(p => p.Kg).Should().BeLessThanOrEqualTo(35);
        plans.Single(p => p.Promise.Order == "fair").ShortKg.Should().BePositive();
    }

    [Theory]
    [InlineData(1.1, "No")]
    [InlineData(1.001, "No")]
    [InlineData(1, "Yes")]
    [InlineData(0.5, "Yes")]
    public void A_promise_of_more_than_there_is_cannot_be_met_and_what_is_short_is_said(double share, string answer)
    {
        // Bins nobody follows weigh what the book says, exactly.
        var promise = new Promise(1, "inn", "potato", "table", (long)Math.Round(35_000 * share), null, Start, 0);
        var book = Books.Of([promise],
            Books.Lot("l", Start, [Books.Bin("c-1", Start, 20, (StoreRoom, Start)), Books.Bin("c-2", Start, 15, (StoreRoom, Start))]));
        var plan = AcrossBins.Promises(book, LotViews.Nothing).Should().ContainSingle().Subject;
        plan.Answer.ToString().Should().Be(answer);
        plan.ShortKg.Should().BeApproximately(Math.Max(0, 35 * (share - 1)), 0.001);
        plan.Picks.Sum(p => p.Kg).Should().BeApproximately(35 * Math.Min(1, share), 0.001);
    }

    [Fact]
    public async Task Likely_is_between_the_low_end_and_what_is_expected_and_no_further()
    {
        await using var cellar = await StoredAsync();
        cellar.Book = Books.Of(Books.Lot("l", Start, [Books.Bin("c-1", Start, 20, (StoreRoom, Start))]));
        var views = await cellar.AtAsync(Day(60));
        var kg = views.Bins["c-1"].Kg;
        (kg.Value - kg.Low).Should().BeGreaterThan(0.01);
        Answer(kg.Low * 0.999).Should().Be(CanMeet.Yes);
        Answer((kg.Low + kg.Value) / 2).Should().Be(CanMeet.Likely);
        Answer(kg.Value * 1.002).Should().Be(CanMeet.No);
        Answer(kg.Value * 1.1).Should().Be(CanMeet.No);

        CanMeet Answer(double of) => AcrossBins.Promises(
            cellar.Book with { Orders = [new Promise(1, "inn", "potato", "table", (long)(of * 1000), null, Start, 0)] }, views)
                .Single().Answer;
    }
}
