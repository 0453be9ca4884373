using RootCellar.Science.Crops;
using RootCellar.Science.Keeping;

namespace RootCellar.Science.Tests.Crops;

public sealed class CropTraitsTests
{
    public static TheoryData<string> Ids => [.. CropTable.Default.Crops.Select(crop => crop.Id)];

    [Theory, MemberData(nameof(Ids))]
    public void Every_crop_says_how_it_loses_water_and_breathes_with_a_source_each(string id)
    {
        var crop = CropTable.Default.Find(id)!;
        crop.Transpiration.Value.Should().BeInRange(10, 7000);
        crop.Respiration.Points.Should().BeInAscendingOrder(point => point.TemperatureC);
        foreach (string source in new[] { crop.Transpiration.Source, crop.VapourPressureLowering.Source, crop.Respiration.Source,
            crop.Odours.Source })
            source.Should().NotBeNullOrWhiteSpace();
        crop.Sources.Should().Contain(crop.Respiration.Source).And.Contain(crop.Odours.Source);
        crop.Sources.Should().Contain(crop.Shriveled.Source);
        if (crop.EthyleneSensitivity >= EthyleneLevel.Moderate)
            crop.EthyleneEffect.Should().NotBeNull("whoever is told of a conflict wants to know what happens");
    }

    [Theory, MemberData(nameof(Ids))]
    public void What_is_assumed_as_another_crop_is_that_crop_of_the_table(string id)
    {
        var crop = CropTable.Default.Find(id)!;
        AssumedAs(crop.Shriveled.Source)?.Shriveled.Value.Should().Be(crop.Shriveled.Value);
        AssumedAs(crop.Transpiration.Source)?.Transpiration.Value.Should().Be(crop.Transpiration.Value);
        AssumedAs(crop.Spread.Source)?.Spread.Value.Should().Be(crop.Spread.Value);
        if (crop.Early is { } early && AssumedAs(early.Source)?.Early is { } other)
            early.Should().Be(other with { Source = early.Source });
        AssumedAs(crop.VapourPressureLowering.Source)?.VapourPressureLowering.Value.Should().Be(crop.VapourPressureLowering.Value);
        AssumedAs(crop.Respiration.Source)?.Respiration.Points.Should().Equal(crop.Respiration.Points);
        if (crop.Thermal is { } thermal)
            AssumedAs(thermal.Source)?.Thermal!.SpecificHeatKJPerKgK.Should().Be(thermal.SpecificHeatKJPerKgK);

        static Crop? AssumedAs(string source)
        {
            string[] words = source.Split([' ', ',', ';'], StringSplitOptions.RemoveEmptyEntries);
            if (words is not ["assumed", "as", var first, ..])
                return null;
            var found = (words.Length > 3 ? CropTable.Default.Find($"{first} {words[3]}") : null) ?? CropTable.Default.Find(first);
            return found ?? throw new InvalidOperationException($"\"{source}\" names no crop.");
        }
    }

    [Theory, MemberData(nameof(Ids))]
    public void The_words_of_a_crop_agree_with_each_other(string id)
    {
        var crop = CropTable.Default.Find(id)!;
        crop.Cull.Should().EndWith(CullReason.Other).And.OnlyHaveUniqueItems();
        crop.Cull.Contains(CullReason.Sprouted).Should().Be(crop.Sprouts != SproutKind.None && crop.Food && crop.Id != "leek"
            && crop.Id != "kohlrabi", "what sprouts is culled for it, but for two whose sprouting is bolting, and for what is planted");
        crop.Cull.Contains(CullReason.Green).Should().Be(crop.GreensInLight || crop.Id == "seed-potato");
        crop.Cull.Contains(CullReason.Chilled).Should().Be(crop.ChillingBelowC is not null && crop.Id != "potato");
        crop.Asks.Contains(HarvestSign.Skin).Should().Be(crop.Curing?.Rule == CuringRule.Potato, "only potatoes set skins");
        crop.Asks.Contains(HarvestSign.LateBlight).Should().Be(crop.Curing?.Rule == CuringRule.Potato);
        (crop.Sprouts == SproutKind.Poisonous).Should().Be(crop.GreensInLight, "it is the greening kind whose sprouts hold poisons");
        if (crop.Canning.Count > 0) crop.Canned.Should().NotBeNull("a quantity needs its caution");
        if (!crop.Food) crop.Canned.Should().BeNull();
        if (crop.Harvest is Harvest.Picked or Harvest.Cut or Harvest.Gathered) crop.Asks.Should().NotContain(HarvestSign.WetSoil);
    }

    [Theory]
    [InlineData("apple", CanningProcess.Fruit, "process of its own kind")]
    [InlineData("potato", CanningProcess.Pressure, "tested pressure process")]
    [InlineData("cabbage", CanningProcess.Pickle, "pickle it only by a tested recipe")]
    public void Every_kind_of_canning_has_its_caution(string id, CanningProcess process, string says)
    {
        CropTable.Default.Find(id)!.Canned.Should().Be(process);
        CanningYield.CautionOf(process).Should().Contain(says).And.Contain("USDA or NCHFP");
    }

    [Theory, MemberData(nameof(Ids))]
    public void Vapour_pressure_lowering_agrees_with_the_freezing_point(string id)
    {
        // Raoult: ice and solution share a vapour pressure at the freezing point, so lowering is e_ice/e_water there,
        // about 1 - 0.0097 a degree (IAPWS R14-08 over IF97 near 0 C). The published figures, from memory to 0.01,
        // fall short of that by up to 0.0133 (shallot as onion): they lower the pressure more than the freezing point tells.
        var crop = CropTable.Default.Find(id)!;
        double byFreezing = 1 + (0.0097 * crop.FreezingPointC);
        crop.VapourPressureLowering.Value.Should().BeApproximately(byFreezing, 0.0134);
    }

    [Theory, MemberData(nameof(Ids))]
    public void Specific_heat_agrees_with_the_water_in_it(string id)
    {
        // Siebel 1892, as in the ASHRAE chapter on thermal properties of foods: 0.84 + 3.35 w kJ/(kg K) above freezing. It leaves
        // out what dry matter adds beyond 0.84, so tables stand a little above it.
        var crop = CropTable.Default.Find(id)!;
        if (crop.Thermal is { } thermal)
            (thermal.SpecificHeatKJPerKgK - (0.84 + (3.35 * thermal.WaterPercent / 100))).Should().BeInRange(0, 0.4);
    }

    [Theory]
    [InlineData("beet", 0, 5)]
    [InlineData("beet", 5, 11)]
    [InlineData("beet", 2.5, 8)]
    [InlineData("beet", -1, 5)]
    [InlineData("beet", 30, 120)]
    [InlineData("beet", 25, 90)]
    [InlineData("beet", 40, 240)]
    [InlineData("potato", 0, 4)]
    [InlineData("potato", 7.5, 5.75)]
    public void Respiration_is_straight_between_points_flat_below_and_doubles_every_ten_degrees_above(
        string id, double temperatureC, double rate) =>
        CropTable.Default.Find(id)!.Respiration.At(temperatureC).Should().Be(rate);

    [Theory, InlineData(-5.1), InlineData(45.1), InlineData(double.NaN)]
    public void Respiration_outside_its_range_is_refused(double temperatureC) =>
        FluentActions.Invoking(() => CropTable.Default.Find("beet")!.Respiration.At(temperatureC)).Should()
            .Throw<ArgumentOutOfRangeException>();

    [Theory]
    [InlineData("potato", 20, 13)]
    [InlineData("carrot", 17.5, 11)]
    [InlineData("beet", 21, 13.5)]
    [InlineData("apple", 19, 12.25)]
    public void Canning_quantities_are_the_guides(string id, double sevenQuarts, double ninePints)
    {
        // USDA AIB 539; white potato by the 2015 revision.
        var first = CropTable.Default.Find(id)!.Canning[0];
        first.PoundsPer7LiquidQuarts.Should().Be(sevenQuarts);
        first.PoundsPer9LiquidPints.Should().Be(ninePints);
    }

    [Fact]
    public void Quarts_and_pints_of_one_food_agree()
    {
        // 7 quarts are 14 pints, so 9 pints take 9/14 of the weight; the guide rounds to quarter pounds and half pounds.
        foreach (var item in CropTable.Default.Crops.SelectMany(crop => crop.Canning))
            item.PoundsPer9LiquidPints.Should().BeApproximately(item.PoundsPer7LiquidQuarts * 9 / 14, 0.3, item.As);
    }

    [Fact]
    public void The_potatos_canning_figure_names_its_edition_and_the_old_value() =>
        CropTable.Default.Find("potato")!.Canning.Single().Source.Should().Contain("2015").And.Contain("35").And.Contain("22 1/2");

    [Fact]
    public void Dry_measure_is_the_handbooks()
    {
        // NIST Handbook 44, Appendix C: bushel 2150.42 cubic inches = 35.239 L, dry quart 67.2006 cubic inches = 1.1012 L,
        // liquid quart 57.75 cubic inches = 0.94635 L.
        DryMeasure.BushelLitres.Should().BeApproximately(35.23907, 0.000005);
        DryMeasure.DryQuartLitres.Should().BeApproximately(1.101221, 0.0000005);
        DryMeasure.LiquidQuartLitres.Should().BeApproximately(0.9463529, 0.00000005);
        DryMeasure.LiquidQuartsPerDryQuart.Should().BeApproximately(1.16365, 0.000005);
    }

    [Fact]
    public void A_bushel_of_potatoes_is_60_pounds_and_its_parts_follow()
    {
        double pounds = CropTable.Default.Find("potato")!.BushelKg!.Value / 0.45359237;
        pounds.Should().BeApproximately(60, 1e-9);
        (pounds / DryMeasure.PecksPerBushel).Should().BeApproximately(15, 1e-9);
        (pounds / DryMeasure.DryQuartsPerBushel).Should().BeApproximately(1.875, 1e-9);
    }
}
