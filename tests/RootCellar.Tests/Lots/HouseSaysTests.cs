using RootCellar.Ledger;
using RootCellar.Lots;
using RootCellar.Science.Keeping;
using static RootCellar.Tests.Lots.Cellar;

namespace RootCellar.Tests.Lots;

/// <summary>A house that has weighed some lots knows more of the next one.</summary>
public sealed class HouseSaysTests
{
    private static DateTimeOffset Day(double day) => Start.AddDays(day);

    private static BinView Bin(string id) => Books.Bin(id, Start, 20, (StoreRoom, Start));

    /// <summary>A bin that loses more than is usual, seen three times.</summary>
    private static BinView Drying(string id) =>
        Bin(id).Weighed(Start, 20, tare: null).Weighed(Day(20), 19.3).Weighed(Day(40), 18.9).Weighed(Day(55), 18.6);

    [Fact]
    public async Task A_lot_that_was_never_weighed_goes_by_the_others_of_its_crop_and_is_surer_for_it()
    {
        await using var cellar = await WhatToDoTests.StoredAsync();
        cellar.Book = Books.Of(Books.Lot("x", Start, [Bin("x-1")]));
        var alone = (await cellar.AtAsync(Day(60))).Bins["x-1"];
        alone.TaughtBy.Should().Be((0, 0));

        cellar.Book = Books.Of(
            [Books.Lot("x", Start, [Bin("x-1")]), .. "abcd".Select(l => Books.Lot($"{l}", Start, [Drying($"{l}-1")]))]);
        var views = await cellar.Keeper.AdvanceAsync(TestContext.Current.CancellationToken);
        var known = views.Bins["x-1"];
        known.TaughtBy.Own.Should().Be(0);
        known.TaughtBy.Others.Should().BeGreaterThanOrEqualTo(12);
        known.WaterMultiplier.Value.Should().BeGreaterThan(1.3 * alone.WaterMultiplier.Value, "the house dries fast");
        (known.WaterMultiplier.High / known.WaterMultiplier.Low).Should()
            .BeLessThan(0.8 * alone.WaterMultiplier.High / alone.WaterMultiplier.Low);
        known.Kg.Value.Should().BeLessThan(alone.Kg.Value);

        // A weighed lot goes by what the others had said before its own first weigh-in: nothing, here.
        views.Bins["a-1"].TaughtBy.Own.Should().BeGreaterThanOrEqualTo(3);
        cellar.Replay().Agree.Should().BeTrue();
    }

    [Fact]
    public async Task Lots_of_another_crop_say_nothing_of_it()
    {
        await using var cellar = await WhatToDoTests.StoredAsync();
        cellar.Book = Books.Of([Books.Lot("x", Start, [Bin("x-1")], "carrot"), Books.Lot("a", Start, [Drying("a-1")])]);
        (await cellar.AtAsync(Day(60))).Bins["x-1"].TaughtBy.Should().Be((0, 0));
    }

    [Fact]
    public async Task What_others_come_to_say_changes_nothing_of_what_was_said_before()
    {
        await using var cellar = await WhatToDoTests.StoredAsync();
        cellar.Book = Books.Of([Books.Lot("x", Start, [Bin("x-1")]), Books.Lot("a", Start, [Drying("a-1")])]);
        await cellar.AtAsync(Day(60));
        var learned = HouseSays.Of(cellar.Book, l => l.Id == "x" ? [] :
            [new LotSays(TimeStep.Of(Day(20)), 0.5, 20, 1), new LotSays(TimeStep.Of(Day(40)), 0.8, 60, 2)]);
        var lot = cellar.Book.Lots["x"];
        var prior = LotPrior.Of(Science.Crops.CropTable.Default.Find("potato")!);
        var (before, then, after) = (learned.Of(lot, prior, TimeStep.Of(Day(19))), learned.Of(lot, prior, TimeStep.Of(Day(25))),
            learned.Of(lot, prior, TimeStep.Of(Day(41))));
        before.Median.Should().BeApproximately(1, 1e-9);
        before.Factor.Should().BeApproximately(prior.WaterFactor, 1e-9);
        then.Median.Should().BeInRange(1.1, Math.Exp(0.5));
        after.Median.Should().BeGreaterThan(then.Median);
        after.Factor.Should().BeLessThan(then.Factor).And.BeGreaterThan(Math.Sqrt(prior.WaterFactor), "a lot is not the house");
        learned.Changes(lot).Should().Equal(TimeStep.Of(Day(20)), TimeStep.Of(Day(40)));
        learned.Of(cellar.Book.Lots["a"], prior, TimeStep.Of(Day(41))).WeighIns.Should().Be(0, "no lot tells itself");
    }

    /// <summary>The two-level normal by hand: one other lot.</summary>
    [Fact]
    public async Task One_other_lot_is_weighed_against_the_prior_as_bayes_has_it()
    {
        await using var cellar = await WhatToDoTests.StoredAsync();
        cellar.Book = Books.Of([Books.Lot("x", Start, [Bin("x-1")]), Books.Lot("a", Start, [Drying("a-1")])]);
        var said = HouseSays.Of(cellar.Book, l => l.Id == "x" ? [] : [new LotSays(TimeStep.Of(Day(20)), 0.6, 25, 1)]);
        var prior = LotPrior.Of(Science.Crops.CropTable.Default.Find("potato")!);
        double variance = Math.Pow(Math.Log(prior.WaterFactor) / 1.6448536269514722, 2), house = variance / 2, own = variance / 2;
        double seen = own + (1 / 25.0), left = 1 / ((1 / house) + (1 / seen));
        var of = said.Of(cellar.Book.Lots["x"], prior, TimeStep.Of(Day(30)));
        of.Median.Should().BeApproximately(Math.Exp(left / seen * 0.6), 1e-9);
        of.Factor.Should().BeApproximately(Math.Exp(1.6448536269514722 * Math.Sqrt(own + left)), 1e-9);
    }

    [Fact]
    public async Task Lots_that_lie_far_apart_say_less_of_the_next_one_than_lots_that_agree()
    {
        await using var cellar = await WhatToDoTests.StoredAsync();
        cellar.Book = Books.Of([Books.Lot("x", Start, [Bin("x-1")]), .. "abcdefgh".Select(l => Books.Lot($"{l}", Start, [Drying($"{l}-1")]))]);
        var prior = LotPrior.Of(Science.Crops.CropTable.Default.Find("potato")!);
        HousePrior Of(double apart) => HouseSays.Of(cellar.Book, l => l.Id == "x"
                ? [] : [new LotSays(TimeStep.Of(Day(20)), 0.3 + ((l.Id[0] % 2 == 0 ? apart : -apart)), 100, 3)])
            .Of(cellar.Book.Lots["x"], prior, TimeStep.Of(Day(30)));
        Of(0.9).Factor.Should().BeGreaterThan(1.5 * Of(0.05).Factor);
        Of(0.05).Factor.Should().BeLessThan(0.8 * prior.WaterFactor);
        Of(0.05).Median.Should().BeApproximately(Math.Exp(0.3), 0.06);
    }

    [Fact]
    public async Task As_long_as_nobody_was_weighed_the_house_is_the_same_one_and_what_is_kept_by_it_stays_good()
    {
        await using var cellar = await WhatToDoTests.StoredAsync();
        cellar.Book = Books.Of([Books.Lot("x", Start, [Bin("x-1")]), Books.Lot("a", Start, [Drying("a-1")])]);
        var house = (await cellar.AtAsync(Day(60))).House;
        (await cellar.AtAsync(Day(61))).House.Should().BeSameAs(house);
        cellar.Book = Books.Of([Books.Lot("x", Start, [Bin("x-1").Weighed(Day(60.5), 19)]), Books.Lot("a", Start, [Drying("a-1")])]);
        (await cellar.AtAsync(Day(62))).House.Should().NotBeSameAs(house);
    }
}
