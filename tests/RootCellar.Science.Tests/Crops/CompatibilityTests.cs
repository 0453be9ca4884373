using CsCheck;
using RootCellar.Science.Crops;

namespace RootCellar.Science.Tests.Crops;

public sealed class CompatibilityTests
{
    private static readonly Gen<Crop[]> AnyCrops = Gen.Int[0, CropTable.Default.Crops.Count - 1]
        .Select(i => CropTable.Default.Crops[i]).Array[0, 8];

    [Theory]
    // AIB 410: apples make carrots bitter. AH-66: cabbage yellows in ethylene, potatoes come out of rest.
    [InlineData("apple", "carrot", ConflictKind.Ethylene, Severity.Never, "apple")]
    [InlineData("cabbage", "pear", ConflictKind.Ethylene, Severity.Never, "pear")]
    [InlineData("potato", "apple", ConflictKind.Ethylene, Severity.Serious, "apple")]
    [InlineData("apple", "pear", ConflictKind.Ethylene, Severity.Minor, "apple")]
    // AIB 410: turnips and rutabagas taint. AH-66 1986: apples and pears take up odours, and taste of earth beside potatoes.
    [InlineData("apple", "turnip", ConflictKind.Odour, Severity.Serious, "turnip")]
    [InlineData("pear", "onion", ConflictKind.Odour, Severity.Serious, "onion")]
    [InlineData("apple", "potato", ConflictKind.Odour, Severity.Minor, "potato")]
    // Bands: onion 65-75 %, roots from 90 %; sweet potato from 55 F, potato to 45 F; squash from 50 F.
    [InlineData("onion", "beet", ConflictKind.Humidity, Severity.Serious, "onion", 15)]
    [InlineData("sweet-potato", "potato", ConflictKind.Temperature, Severity.Never, "potato", 5.6)]
    [InlineData("potato", "winter-squash", ConflictKind.Temperature, Severity.Serious, "potato", 2.8)]
    public void Known_bad_neighbours_are_told_apart(string a, string b, ConflictKind kind, Severity severity, string first, double gap = 0)
    {
        var conflict = Check(a, b).Should().ContainSingle(found => found.Kind == kind).Subject;
        conflict.Severity.Should().Be(severity);
        conflict.First.Id.Should().Be(first, "it is the colder, the drier or the one that gives off what the other minds");
        conflict.Second.Id.Should().Be(first == a ? b : a);
        conflict.Gap.Should().BeApproximately(gap, 0.05);
    }

    [Theory]
    [InlineData("carrot", "beet")]
    [InlineData("onion", "garlic")]
    [InlineData("potato", "beet")]
    [InlineData("winter-squash", "pumpkin")]
    [InlineData("cabbage", "carrot")]
    public void Good_neighbours_have_nothing_against_each_other(string a, string b) => Check(a, b).Should().BeEmpty();

    [Fact]
    public void Smell_one_way_and_ethylene_the_other_are_not_given_contrary_advice()
    {
        var conflicts = Check("apple", "carrot");
        conflicts.Select(conflict => conflict.Kind).Should().Equal(ConflictKind.Ethylene, ConflictKind.Odour);
        conflicts.Select(conflict => conflict.First.Id).Should().Equal("apple", "carrot");
        conflicts[1].EthyleneBack.Should().BeTrue("smell wants the apples upwind, ethylene downwind");
    }

    [Fact]
    public void A_crop_is_in_no_conflict_with_itself_however_often_it_is_named()
    {
        foreach (var crop in CropTable.Default.Crops)
            Compatibility.Check([crop, crop]).Should().BeEmpty(crop.Id);
        Check("apple", "carrot", "apple").Should().Equal(Check("carrot", "apple"));
    }

    [Fact]
    public void The_order_the_crops_are_named_in_changes_nothing() =>
        AnyCrops.Sample(crops =>
        {
            Crop[] reversed = [.. crops.Reverse()];
            Crop[] sorted = [.. crops.OrderByDescending(crop => crop.Name, StringComparer.Ordinal)];
            return Compatibility.Check(crops).SequenceEqual(Compatibility.Check(reversed)) && Compatibility.Check(crops)
                .SequenceEqual(Compatibility.Check(sorted));
        });

    [Fact]
    public void A_room_has_just_the_conflicts_of_its_pairs_the_worst_first() =>
        AnyCrops.Sample(crops =>
        {
            var all = Compatibility.Check(crops);
            var pairs = crops.SelectMany(a => crops.Select(b => (A: a, B: b)))
                .Where(pair => string.CompareOrdinal(pair.A.Id, pair.B.Id) < 0)
                .Distinct()
                .SelectMany(pair => Compatibility.Check([pair.A, pair.B]));
            return all.Zip(all.Skip(1)).All(two => two.First.Severity >= two.Second.Severity)
                && all.Count == pairs.Count()
                && all.ToHashSet().SetEquals(pairs);
        });

    [Fact]
    public void There_is_a_common_band_exactly_where_no_band_is_in_conflict() =>
        AnyCrops.Where(crops => crops.Length > 0).Sample(crops =>
        {
            bool bands = Compatibility.Check(crops).Any(conflict => conflict.Kind is ConflictKind.Temperature or ConflictKind.Humidity);
            return Compatibility.Common(crops) is null == bands;
        });

    [Fact]
    public void The_common_band_of_potato_and_apple_is_where_theirs_overlap()
    {
        var band = Compatibility.Common([CropTable.Default.Find("potato")!, CropTable.Default.Find("apple")!])!;
        band.TemperatureLowC.Should().BeApproximately(3.33, 0.005);
        band.TemperatureHighC.Should().BeApproximately(4.44, 0.005);
        band.HumidityLowPercent.Should().Be(90);
        band.HumidityHighPercent.Should().Be(95);
        Compatibility.Common([]).Should().BeNull();
    }

    [Theory]
    [InlineData(0, null)]
    [InlineData(0.1, Severity.Minor)]
    [InlineData(2, Severity.Minor)]
    [InlineData(2.1, Severity.Serious)]
    [InlineData(5, Severity.Serious)]
    [InlineData(5.1, Severity.Never)]
    public void Degrees_between_two_bands_are_bearable_to_2_and_forbid_a_room_from_5(double gap, Severity? severity)
    {
        var warm = Beet with { Id = "warm", Storage = Beet.Storage with { TemperatureLowC = 4 + gap, TemperatureHighC = 12 } };
        var cold = Beet with { Id = "cold", Storage = Beet.Storage with { TemperatureLowC = 0, TemperatureHighC = 4 } };
        Compatibility.Check([warm, cold]).Select(conflict => (Severity?)conflict.Severity).SingleOrDefault().Should().Be(severity);
        // A band is a common one as long as the two touch.
        (Compatibility.Common([warm, cold]) is null).Should().Be(severity is not null);
    }

    [Theory]
    [InlineData(0, null)]
    [InlineData(5, Severity.Minor)]
    [InlineData(5.1, Severity.Serious)]
    [InlineData(40, Severity.Serious)]
    public void Humidity_alone_never_forbids_a_room(double gap, Severity? severity)
    {
        var damp = Beet with { Id = "damp", Storage = Beet.Storage with { HumidityLowPercent = 55 + gap, HumidityHighPercent = 100 } };
        var dry = Beet with { Id = "dry", Storage = Beet.Storage with { HumidityLowPercent = 40, HumidityHighPercent = 55 } };
        Compatibility.Check([damp, dry]).Select(conflict => (Severity?)conflict.Severity).SingleOrDefault().Should().Be(severity);
        (Compatibility.Common([damp, dry]) is null).Should().Be(severity is not null);
    }

    [Theory]
    [InlineData(EthyleneLevel.VeryHigh, EthyleneLevel.VeryHigh, Severity.Never)]
    [InlineData(EthyleneLevel.High, EthyleneLevel.High, Severity.Never)]
    [InlineData(EthyleneLevel.High, EthyleneLevel.Moderate, Severity.Serious)]
    [InlineData(EthyleneLevel.Moderate, EthyleneLevel.High, Severity.Serious)]
    [InlineData(EthyleneLevel.Moderate, EthyleneLevel.Moderate, Severity.Minor)]
    [InlineData(EthyleneLevel.Low, EthyleneLevel.High, Severity.Minor)]
    [InlineData(EthyleneLevel.Low, EthyleneLevel.Moderate, null)]
    [InlineData(EthyleneLevel.VeryLow, EthyleneLevel.VeryHigh, null)]
    [InlineData(EthyleneLevel.VeryHigh, EthyleneLevel.Low, null)]
    public void Ethylene_matters_by_what_is_given_off_and_how_much_it_is_minded(
        EthyleneLevel makes, EthyleneLevel minds, Severity? severity)
    {
        var maker = Beet with { Id = "from", EthyleneProduction = makes, EthyleneSensitivity = EthyleneLevel.VeryLow };
        var to = Beet with { Id = "to", EthyleneProduction = EthyleneLevel.VeryLow, EthyleneSensitivity = minds };
        foreach (var pair in (Crop[][])[[maker, to], [to, maker with { Id = "z" }]])
            Compatibility.Check(pair).Select(conflict => (Severity?)conflict.Severity).SingleOrDefault().Should().Be(severity);
    }

    [Theory]
    [InlineData(EthyleneLevel.High, EthyleneLevel.High, Severity.Minor)]
    [InlineData(EthyleneLevel.High, EthyleneLevel.Moderate, Severity.Minor)]
    [InlineData(EthyleneLevel.Low, EthyleneLevel.High, null)]
    public void What_makes_plenty_itself_loses_little_by_a_neighbours(EthyleneLevel makes, EthyleneLevel minds, Severity? severity)
    {
        var maker = Beet with { Id = "from", EthyleneProduction = makes, EthyleneSensitivity = EthyleneLevel.VeryLow };
        var to = Beet with { Id = "to", EthyleneProduction = EthyleneLevel.High, EthyleneSensitivity = minds };
        Compatibility.Check([maker, to]).Select(conflict => (Severity?)conflict.Severity).SingleOrDefault().Should().Be(severity);
    }

    [Theory]
    [InlineData(OdourLevel.Strong, OdourLevel.Strong, Severity.Serious)]
    [InlineData(OdourLevel.Strong, OdourLevel.Some, Severity.Minor)]
    [InlineData(OdourLevel.Some, OdourLevel.Strong, Severity.Minor)]
    [InlineData(OdourLevel.Some, OdourLevel.Some, null)]
    [InlineData(OdourLevel.Strong, OdourLevel.None, null)]
    [InlineData(OdourLevel.None, OdourLevel.Strong, null)]
    public void Smell_matters_where_one_end_of_it_is_strong(OdourLevel gives, OdourLevel takes, Severity? severity)
    {
        var maker = Beet with { Id = "from", Odours = new Odours(gives, OdourLevel.None, "test") };
        var to = Beet with { Id = "to", Odours = new Odours(OdourLevel.None, takes, "test") };
        Compatibility.Check([maker, to]).Select(conflict => (Severity?)conflict.Severity).SingleOrDefault().Should().Be(severity);
    }

    [Fact]
    public void Of_two_that_harm_each_other_the_worse_is_told()
    {
        var some = Beet with { Id = "a", EthyleneProduction = EthyleneLevel.Moderate, EthyleneSensitivity = EthyleneLevel.High };
        var much = Beet with { Id = "b", EthyleneProduction = EthyleneLevel.High, EthyleneSensitivity = EthyleneLevel.Moderate };
        // A makes b lose little, for b makes plenty itself; b's forbids the room to a.
        var conflict = Compatibility.Check([some, much with { EthyleneSensitivity = EthyleneLevel.High }]).Single();
        (conflict.Severity, conflict.Mutual, conflict.First, conflict.Second.Id).Should().Be((Severity.Never, true, some, "b"));
        Compatibility.Check([some with { Id = "z" }, much]).Single().Severity.Should().Be(Severity.Never);
        Compatibility.Check([some, some with { Id = "c", EthyleneSensitivity = EthyleneLevel.Moderate }]).Single().Severity.Should()
            .Be(Severity.Serious);
    }

    [Fact]
    public void A_smell_one_way_only_is_not_mutual_and_of_two_alike_the_first_is_told()
    {
        var smells = Beet with { Id = "a", Odours = new Odours(OdourLevel.Strong, OdourLevel.Strong, "test") };
        var takes = Beet with { Id = "b", Odours = new Odours(OdourLevel.None, OdourLevel.Strong, "test") };
        Compatibility.Check([smells, takes]).Single().Mutual.Should().BeFalse();
        Compatibility.Check([takes, smells]).Single().First.Id.Should().Be("a");
        var both = Compatibility.Check([smells, smells with { Id = "b" }]).Single();
        (both.First.Id, both.Mutual).Should().Be(("a", true));
    }

    [Fact]
    public void Conflicts_as_bad_as_each_other_stand_in_the_order_of_ids_and_kinds()
    {
        var smells = Beet with { Odours = new Odours(OdourLevel.Strong, OdourLevel.Strong, "test") };
        var crops = new[] { "d", "b", "a", "c" }.Select(id => smells with { Id = id }).ToList();
        Compatibility.Check(crops).Select(c => c.A.Id + c.B.Id).Should().Equal("ab", "ac", "ad", "bc", "bd", "cd");
        var warm = smells with { Id = "w", Storage = Beet.Storage with { TemperatureLowC = 8, TemperatureHighC = 12 } };
        var cold = smells with { Id = "k", Storage = Beet.Storage with { TemperatureLowC = 0, TemperatureHighC = 4 } };
        Compatibility.Check([warm, cold]).Select(c => c.Kind).Should().Equal(ConflictKind.Temperature, ConflictKind.Odour);
    }

    [Fact]
    public void Of_two_that_taint_each_other_the_stronger_smell_is_told_and_the_other_is_not_forgotten()
    {
        var weak = Beet with { Id = "a", Name = "Weak", Odours = new Odours(OdourLevel.Some, OdourLevel.Strong, "test") };
        var strong = Beet with { Id = "b", Name = "Strong", Odours = new Odours(OdourLevel.Strong, OdourLevel.Strong, "test") };
        var conflict = Compatibility.Check([weak, strong]).Single();
        conflict.Severity.Should().Be(Severity.Serious);
        (conflict.First, conflict.Second, conflict.Mutual, conflict.EthyleneBack).Should().Be((strong, weak, true, false));
    }

    private static readonly Crop Beet = CropTable.Default.Find("beet")! with
    {
        Aliases = [],
        EthyleneProduction = EthyleneLevel.VeryLow,
        EthyleneSensitivity = EthyleneLevel.VeryLow,
        Odours = new Odours(OdourLevel.None, OdourLevel.None, "test"),
        Chilling = null,
    };

    private static IReadOnlyList<Conflict> Check(params string[] ids) =>
        Compatibility.Check([.. ids.Select(id => CropTable.Default.Find(id)!)]);
}
