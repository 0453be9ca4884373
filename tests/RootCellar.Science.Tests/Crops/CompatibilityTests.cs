using CsCheck;
using RootCellar.Science.Crops;

namespace RootCellar.Science.Tests.Crops;

public sealed class CompatibilityTests
{
    private static readonly Gen<Crop[]> AnyCrops = Gen.Int[0, CropTable.Default.Crops.Count - 1].Select(i => CropTable.Default.Crops[i]).Array[0, 8];

    [Theory]
    // AIB 410: apples make carrots bitter. AH-66: cabbage yellows in ethylene, potatoes come out of rest.
    [InlineData("apple", "carrot", ConflictKind.Ethylene, Severity.Never, "Carrot, topped turns bitter")]
    [InlineData("cabbage", "pear", ConflictKind.Ethylene, Severity.Never, "yellows")]
    [InlineData("potato", "apple", ConflictKind.Ethylene, Severity.Serious, "sprouts sooner")]
    [InlineData("apple", "pear", ConflictKind.Ethylene, Severity.Minor, "each hastens the other")]
    // AIB 410: turnips and rutabagas taint. AH-66 1986: apples and pears take up odours, and taste of earth beside potatoes.
    [InlineData("apple", "turnip", ConflictKind.Odour, Severity.Serious, "The smell of Turnip gets into Apple.")]
    [InlineData("pear", "onion", ConflictKind.Odour, Severity.Serious, "The smell of Onion, dry gets into Pear, European.")]
    [InlineData("apple", "potato", ConflictKind.Odour, Severity.Minor, "The smell of Potato gets into Apple.")]
    // Bands: onion 65-75 %, roots from 90 %; sweet potato from 55 F, potato to 45 F; squash from 50 F.
    [InlineData("onion", "beet", ConflictKind.Humidity, Severity.Serious, "15 % apart")]
    [InlineData("sweet-potato", "potato", ConflictKind.Temperature, Severity.Never, "5.6 C (10 F) apart; chilling injures Sweet potato below 12 C")]
    [InlineData("potato", "winter-squash", ConflictKind.Temperature, Severity.Serious, "2.8 C (5 F) apart")]
    public void Known_bad_neighbours_are_told_apart(string a, string b, ConflictKind kind, Severity severity, string says)
    {
        var conflict = Check(a, b).Should().ContainSingle(found => found.Kind == kind).Subject;
        conflict.Severity.Should().Be(severity);
        conflict.What.Should().Contain(says);
        conflict.WhatToDo.Should().NotBeNullOrWhiteSpace();
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
        conflicts[0].WhatToDo.Should().StartWith("Another room for Apple");
        conflicts[1].WhatToDo.Should().Be("As for the ethylene of Apple: another room, or a closed, vented box for it.");
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
            return Compatibility.Check(crops).SequenceEqual(Compatibility.Check(reversed)) && Compatibility.Check(crops).SequenceEqual(Compatibility.Check(sorted));
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

    private static IReadOnlyList<Conflict> Check(params string[] ids) => Compatibility.Check([.. ids.Select(id => CropTable.Default.Find(id)!)]);
}
