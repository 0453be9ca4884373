using RootCellar.Ledger;
using RootCellar.Lots;
using RootCellar.Science.Keeping;
using static RootCellar.Tests.Lots.Cellar;

namespace RootCellar.Tests.Lots;

/// <summary>A house that has weighed some lots knows more of the next one: what it is, where it stands, how it lies.</summary>
public sealed class HouseSaysTests
{
    private const double Z90 = 1.6448536269514722;

    private static readonly LotPrior Potato = LotPrior.Of(Science.Crops.CropTable.Default.Find("potato")!);

    private static DateTimeOffset Day(double day) => Start.AddDays(day);

    private static BinView Bin(string id) => Books.Bin(id, Start, 20, (StoreRoom, Start));

    /// <summary>A bin that loses more than is usual, seen three times.</summary>
    private static BinView Drying(string id) =>
        Bin(id).Weighed(Start, 20, tare: null).Weighed(Day(20), 19.3).Weighed(Day(40), 18.9).Weighed(Day(55), 18.6);

    private static IReadOnlyList<LossTerm> Stood(string place = StoreRoom, string? lies = null, double exponent = 0.5) =>
        LossTerms.OfBin(exponent, lies, PlaceShares.In(place));

    private static WaterTaught Of(HouseSays house, LotView lot, double day) => new(
        0, Potato, LossTerms.OfLot(lot, Potato), LossTerms.Own(lot, Potato), house.At(TimeStep.Of(Day(day))), Own: null);

    private static BinSays Says(double day, double logMean, double precision, int weighIns, IReadOnlyList<LossTerm>? stood = null) =>
        new(TimeStep.Of(Day(day)), logMean, precision, weighIns, stood ?? Stood());

    [Fact]
    public async Task A_lot_that_was_never_weighed_goes_by_the_others_of_its_crop_and_is_surer_for_it()
    {
        await using var cellar = await WhatToDoTests.StoredAsync();
        cellar.Book = Books.Of(Books.Lot("x", Start, [Bin("x-1")]));
        var alone = (await cellar.AtAsync(Day(60))).Bins["x-1"];
        alone.LearnedFrom.Should().Be(new LearnedFrom(0, 0, 0, 0));

        cellar.Book = Books.Of(
            [Books.Lot("x", Start, [Bin("x-1")]), .. "abcd".Select(l => Books.Lot($"{l}", Start, [Drying($"{l}-1")]))]);
        var views = await cellar.Keeper.AdvanceAsync(TestContext.Current.CancellationToken);
        var known = views.Bins["x-1"];
        known.LearnedFrom.Own.Should().Be(0);
        known.LearnedFrom.Others.Should().BeGreaterThanOrEqualTo(12);
        known.LearnedFrom.Place.Should().Be(known.LearnedFrom.Others, "they stood there too");
        known.WaterMultiplier.Value.Should().BeGreaterThan(1.3 * alone.WaterMultiplier.Value, "the house dries fast");
        (known.WaterMultiplier.High / known.WaterMultiplier.Low).Should()
            .BeLessThan(0.8 * alone.WaterMultiplier.High / alone.WaterMultiplier.Low);
        known.Kg.Value.Should().BeLessThan(alone.Kg.Value);

        // A weighed lot goes by its own weigh-ins, and by what the others had said before the first of them: nothing, here.
        views.Bins["a-1"].LearnedFrom.Own.Should().BeGreaterThanOrEqualTo(3);
        views.Bins["a-1"].LearnedFrom.Others.Should().Be(0);
        cellar.Replay().Agree.Should().BeTrue();
    }

    [Fact]
    public async Task Lots_of_another_crop_tell_of_the_place_alone()
    {
        await using var cellar = await WhatToDoTests.StoredAsync();
        var x = Books.Lot("x", Start, [Bin("x-1")], "carrot");
        cellar.Book = Books.Of(x);
        var alone = (await cellar.AtAsync(Day(60))).Bins["x-1"];
        cellar.Book = Books.Of([x, .. "abcd".Select(l => Books.Lot($"{l}", Start, [Drying($"{l}-1")]))]);
        var told = (await cellar.Keeper.AdvanceAsync(TestContext.Current.CancellationToken)).Bins["x-1"];
        (told.LearnedFrom.Others, told.LearnedFrom.Place).Should().Be((0, 16));
        told.WaterMultiplier.Value.Should().BeGreaterThan(1.05 * alone.WaterMultiplier.Value, "the air there may be drier than is read");
    }

    [Fact]
    public void What_others_come_to_say_changes_nothing_of_what_was_said_before()
    {
        var (x, a) = (Books.Lot("x", Start, [Bin("x-1")]), Books.Lot("a", Start, [Drying("a-1")]));
        var house = HouseSays.Of(Books.Of(x, a), l => l.Id == "x" ? [] : [[Says(20, 0.3, 20, 1), Says(40, 0.4, 60, 2)]]);
        var (before, then, after) = (Of(house, x, 19).Before(Stood()), Of(house, x, 25).Before(Stood()), Of(house, x, 41).Before(Stood()));
        before.Median.Should().BeApproximately(1, 1e-9);
        before.Factor.Should().BeInRange(Potato.WaterFactor, 1.1 * Potato.WaterFactor, "how far the sensor is off comes on top");
        then.Median.Should().BeInRange(1.1, Math.Exp(0.3));
        after.Median.Should().BeGreaterThan(then.Median);
        after.Factor.Should().BeLessThan(then.Factor).And.BeGreaterThan(Math.Sqrt(Potato.WaterFactor), "a lot is not the house");
        house.Changes.Should().Equal(TimeStep.Of(Day(20)), TimeStep.Of(Day(40)));
    }

    /// <summary>One weighed bin: the normal of what it shares with the next, by hand.</summary>
    [Fact]
    public void One_other_bin_is_weighed_against_the_prior_as_bayes_has_it()
    {
        var (x, a) = (Books.Lot("x", Start, [Bin("x-1")]), Books.Lot("a", Start, [Drying("a-1")]));
        var house = HouseSays.Of(Books.Of(x, a), l => l.Id == "x" ? [] : [[Says(20, 0.1, 25, 1)]]);
        double shared = LossTerms.OfLot(x, Potato).Concat(Stood()).Sum(t => t.Share * t.Share * t.Variance), own = LossTerms.Own(x, Potato);
        var known = house.At(TimeStep.Of(Day(30)));
        double scale = known.OwnScale;
        var (median, factor) = Of(house, x, 30).Before(Stood());
        // Little was said of how far lots lie apart, so that the six scales of it differ little in what they make of the rest.
        double seen = (scale * own) + (1 / 25.0) + (ScaleBelief.LossShare * ScaleBelief.LossShare);
        Math.Log(median).Should().BeApproximately(shared / (shared + seen) * 0.1, 0.004);
        Math.Pow(Math.Log(factor) / Z90, 2).Should().BeApproximately((scale * own) + (shared * seen / (shared + seen)), 0.004);
    }

    [Fact]
    public void Lots_that_lie_far_apart_say_less_of_the_next_one_than_lots_that_agree()
    {
        var x = Books.Lot("x", Start, [Bin("x-1")]);
        var book = Books.Of([x, .. "abcdefgh".Select(l => Books.Lot($"{l}", Start, [Drying($"{l}-1")]))]);
        (double Median, double Factor) Told(double apart) => Of(HouseSays.Of(book, l => l.Id == "x"
                ? [] : [[Says(20, 0.3 + (l.Id[0] % 2 == 0 ? apart : -apart), 100, 3)]]), x, 30).Before(Stood());
        Told(0.9).Factor.Should().BeGreaterThan(1.5 * Told(0.05).Factor);
        Told(0.05).Factor.Should().BeLessThan(0.8 * Potato.WaterFactor);
        Told(0.05).Median.Should().BeInRange(Math.Exp(0.2), Math.Exp(0.3));
    }

    /// <summary>Four lots at twice the usual and four at the usual, told apart by one thing alone.</summary>
    [Theory]
    [InlineData("place")]
    [InlineData("variety")]
    [InlineData("lies")]
    [InlineData("season")]
    public void What_weighed_lots_have_in_common_is_told_of_the_next_that_has_it_too(string level)
    {
        LotView Lot(string id, bool other) => Books.Lot(
            id, level == "season" && other ? Start.AddYears(-1) : Start, [Bin($"{id}-1")],
            variety: level == "variety" && other ? "Kennebec" : "Yukon Gold");
        IReadOnlyList<LossTerm> There(bool other) => Stood(
            level == "place" && other ? "other-cellar" : StoreRoom, level == "lies" && other ? "heap" : "crate");
        var (x, y) = (Lot("x", other: true), Lot("y", other: false));
        var house = HouseSays.Of(Books.Of([x, y, .. "abcd".Select(l => Lot($"{l}", true)), .. "efgh".Select(l => Lot($"{l}", false))]), l =>
            l.Id is "x" or "y" ? [] : [[Says(20, l.Id[0] <= 'd' ? Math.Log(2) : 0, 100, 7, There(l.Id[0] <= 'd'))]]);
        double told = Of(house, x, 30).Before(There(true)).Median / Of(house, y, 30).Before(There(false)).Median;
        told.Should().BeInRange(1.15, 2, "part of it may be chance, and part of it the lots' own");
    }

    /// <summary>What was learned of a lot in one place is surer there than where it comes to stand next.</summary>
    [Fact]
    public async Task A_weighed_lot_that_is_moved_takes_its_own_part_along_and_leaves_the_sensors_behind()
    {
        async Task<(BinEstimate Stays, BinEstimate Moved)> ToldAsync(bool isDryHere)
        {
            await using var cellar = await WhatToDoTests.StoredAsync();
            await cellar.AirAsync(CuringRoom, Start, Day(100), 5, 92);
            BinView Here(string id) => Books.Bin(id, Start, 20, (StoreRoom, Start));
            BinView There(string id) => Books.Bin(id, Start, 20, (CuringRoom, Start));
            BinView Weighed(BinView bin, bool dry) => dry
                ? bin.Weighed(Start, 20).Weighed(Day(20), 19.3).Weighed(Day(40), 18.9).Weighed(Day(55), 18.6)
                : bin.Weighed(Start, 20).Weighed(Day(20), 19.7).Weighed(Day(40), 19.6).Weighed(Day(55), 19.5);
            var moved = Books.Bin("m-1", Start, 20, (StoreRoom, Start), (CuringRoom, Day(56)));
            cellar.Book = Books.Of(
            [
                Books.Lot("m", Start, [Weighed(moved, true), Weighed(Here("m-2"), true)]),
                .. isDryHere
                    ? "abcd".Select(l => Books.Lot($"{l}", Start, [Weighed(Here($"{l}-1"), true)]))
                        .Concat("efgh".Select(l => Books.Lot($"{l}", Start, [Weighed(There($"{l}-1"), false)])))
                    : [],
            ]);
            var views = await cellar.AtAsync(Day(90));
            cellar.Replay().Agree.Should().BeTrue();
            return (views.Bins["m-2"], views.Bins["m-1"]);
        }

        var alone = await ToldAsync(isDryHere: false);
        double Left((BinEstimate Stays, BinEstimate Moved) of) => of.Moved.WaterMultiplier.Value / of.Stays.WaterMultiplier.Value;
        Left(alone).Should().BeInRange(0.85, 0.99, "a part of what it lost may have been the first room's sensor");
        double Width(BinEstimate bin) => bin.WaterMultiplier.High / bin.WaterMultiplier.Low;
        Width(alone.Moved).Should().BeGreaterThan(1.1 * Width(alone.Stays));
        Left(await ToldAsync(isDryHere: true)).Should().BeLessThan(0.9 * Left(alone), "others that stood in both tell the rooms apart");
    }

    /// <summary>What is new is taken in day by day; a service that starts anew works all of it out at once.</summary>
    [Fact]
    public async Task What_was_learned_day_by_day_is_what_is_learned_at_once()
    {
        await using var cellar = await WhatToDoTests.StoredAsync();
        var (x, a, b) = (Bin("x-1"), Bin("a-1").Weighed(Start, 20), Bin("b-1").Weighed(Start, 20));
        (double Day, double Kg)[] seen = [(20, 19.3), (40, 18.9), (55, 18.6)];
        foreach (var (day, kg) in seen)
        {
            // The one is weighed, the others follow; on another day the other.
            a = day < 50 ? a.Weighed(Day(day), kg) : a;
            b = b.Weighed(Day(day + 3), kg);
            cellar.Book = Books.Of([Books.Lot("x", Start, [x]), Books.Lot("a", Start, [a]), Books.Lot("b", Start, [b])]);
            await cellar.AtAsync(Day(day + 2));
            await cellar.AtAsync(Day(day + 4));
        }

        var grown = (await cellar.AtAsync(Day(61))).Bins;
        var anew = (await cellar.RestartAsync()).Bins;
        foreach (var bin in new[] { "x-1", "a-1", "b-1" })
        {
            anew[bin].WaterMultiplier.Should().Be(grown[bin].WaterMultiplier, bin);
            anew[bin].Kg.Should().Be(grown[bin].Kg, bin);
            anew[bin].LearnedFrom.Should().Be(grown[bin].LearnedFrom, bin);
        }
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
