using RootCellar.Science.Crops;
using RootCellar.Science.Keeping;

namespace RootCellar.Science.Tests.Keeping;

public sealed class LotPriorTests
{
    private static readonly Crop Potato = CropTable.Default.Find("potato")!;
    private static readonly Crop Carrot = CropTable.Default.Find("carrot")!;

    [Fact]
    public void A_potato_rests_and_other_crops_are_known_worse()
    {
        LotPrior.Of(Potato).Should().Match<LotPrior>(
            lot => lot.Rest == RestPrior.Unknown && lot.WaterFactor == 2 && lot.Packing == Packing.Crate);
        LotPrior.Of(Carrot).Should().Match<LotPrior>(lot => lot.Rest == null && lot.WaterFactor == WaterLoss.OtherCropFactor);
        LotPrior.Of(Carrot).Middle().RestDaysAt10C.Should().Be(double.NaN);
    }

    [Fact]
    public void A_varietys_rest_has_the_spread_of_its_published_days()
    {
        // Alpine Russet: 165 days at 45 F, 25 % to either side from season to season.
        var rest = RestPrior.Of(VarietyTable.Default.Find("Alpine Russet")!);
        rest.Should().Be(new RestPrior(165, DormancyPrior.ReferenceC, rest.Factor, CuredFirst: true));
        rest.Factor.Should().BeApproximately(Math.Sqrt(1.25 / 0.75), 1e-12);
    }

    [Theory]
    [InlineData(10, 120)]
    [InlineData(7.2, 150)]
    public void Held_as_it_was_a_lot_is_sprouted_on_the_day_it_was(double heldAtC, double days)
    {
        // Without curing first: the figure stands for one temperature from the first day on, with what its own breath adds.
        var lot = LotPrior.Of(Potato) with { Rest = new RestPrior(days, heldAtC) };
        var sprouted = Outlook.Run(lot, [AirSpan.Hold(heldAtC, 95, days + 30)]).Milestones.Single(
            milestone => milestone.What == Milestone.Sprouted);
        sprouted.Likely.Should().BeApproximately(days, 0.5);
    }

    [Fact]
    public void A_lot_that_is_cured_first_has_more_rest_in_it_than_one_put_straight_into_the_cold()
    {
        double At10(bool cured) => (LotPrior.Of(Potato) with { Rest = new RestPrior(140, 5, CuredFirst: cured) }).Middle().RestDaysAt10C;
        At10(cured: true).Should().BeGreaterThan(At10(cured: false) * 1.1);
        (LotPrior.Of(Potato) with { Rest = new RestPrior(1, 30, CuredFirst: true) }).Middle().RestDaysAt10C.Should()
            .BeGreaterThanOrEqualTo(1, "at least a day");
    }

    /// <summary>Sprouts of 5 mm take ten days at 12 C; what comes before them is rest.</summary>
    [Fact]
    public void Rest_of_a_lot_that_is_cured_first_counts_two_weeks_at_12_8_C_and_a_cooling_of_half_a_degree_F_a_day()
    {
        double layer = PackingTraits.Of(Packing.SingleLayer).WarmerC;
        double F(double c) => Dormancy.TemperatureFactor(c);
        double Rest(double days, double warmer = 0) => (LotPrior.Of(Potato) with
        {
            Packing = warmer > 0 ? Packing.Crate : Packing.SingleLayer,
            Rest = new RestPrior(days, 12 - (warmer > 0 ? warmer : layer), CuredFirst: true),
        }).Middle().RestDaysAt10C;

        Rest(20).Should().BeApproximately(10 * F(12.8 + layer), 1e-9);
        Rest(20.5).Should().BeApproximately(10.5 * F(12.8 + layer), 1e-9);
        double crate = PackingTraits.Of(Packing.Crate).WarmerC;
        Rest(20, crate).Should().BeApproximately(10 * F(12.8 + crate), 1e-9);
        // From the fifteenth day on it cools by 0.2778 C a day, until it is at 12 C.
        double cooling = Enumerable.Range(0, 16).Sum(d => F(Math.Max(12, 12.8 + layer - (d + 0.5) / 3.6)));
        Rest(40).Should().BeApproximately(14 * F(12.8 + layer) + cooling, 1e-9);
    }

    [Fact]
    public void Nine_members_in_ten_lie_within_the_factors_and_their_middle_is_the_middle()
    {
        var lot = LotPrior.Of(Potato);
        double[] healing = [.. Enumerable.Range(0, LotPrior.Members).Select(i => lot.Member(i).HealingMultiplier).Order()];
        healing.Count(m => m is >= 1 / WoundHealing.StageFactor and <= WoundHealing.StageFactor).Should().BeInRange(56, 58);
        Math.Sqrt(healing[31] * healing[32]).Should().BeApproximately(lot.Middle().HealingMultiplier, 1e-9);
        foreach (int index in (int[])[-1, LotPrior.Members])
            FluentActions.Invoking(() => lot.Member(index)).Should().Throw<ArgumentOutOfRangeException>().WithParameterName("index");
    }

    public static TheoryData<string, double, double, double> Ranges => new()
    {
        { "restDaysAt10C", 1e-3, 1e5, 1e-4 },
        { "restQ10", 1, 10, 0.1 },
        { "sproutMmPerDegreeDay", 1e-4, 10, 1e-5 },
        { "pieceGrams", 20, 1000, 1 },
    };

    [Theory]
    [MemberData(nameof(Ranges))]
    public void What_no_lot_can_be_is_refused_by_name(string name, double low, double high, double beyond)
    {
        LotTraits Of(double value) => name switch
        {
            "restDaysAt10C" => new LotTraits(Potato, restDaysAt10C: value),
            "restQ10" => new LotTraits(Potato, restQ10: value),
            "sproutMmPerDegreeDay" => new LotTraits(Potato, sproutMmPerDegreeDay: value),
            _ => new LotTraits(Potato, pieceGrams: value),
        };
        Of(low).Crop.Should().Be(Potato);
        Of(high).Crop.Should().Be(Potato);
        foreach (double value in (double[])[low - beyond, high + beyond])
            FluentActions.Invoking(() => Of(value)).Should().Throw<ArgumentOutOfRangeException>().WithParameterName(name);
    }

    [Theory]
    [InlineData(0, 1, 1, "waterMultiplier")]
    [InlineData(1, -1, 1, "breathMultiplier")]
    [InlineData(1, 1, 1000, "healingMultiplier")]
    [InlineData(double.NaN, 1, 1, "waterMultiplier")]
    public void A_multiplier_is_above_nought_and_below_a_thousand(double water, double breath, double healing, string name) =>
        FluentActions.Invoking(() => new LotTraits(Potato, waterMultiplier: water, breathMultiplier: breath, healingMultiplier: healing))
            .Should().Throw<ArgumentOutOfRangeException>().WithParameterName(name)
                .WithMessage("A multiplier must be above 0 and below 1,000.*");

    [Fact]
    public void Big_tubers_lose_less_than_small_ones_and_a_reference_one_as_one_of_unknown_size()
    {
        double Lost(double grams) => LotState.Dug(new LotTraits(Potato, pieceGrams: grams)).Advance(new LotAir(10, 80), 48).WaterLost;
        Lost(WaterLoss.ReferenceTuberGrams).Should().Be(Lost(double.NaN));
        Lost(300).Should().BeLessThan(Lost(150));
        Lost(50).Should().BeGreaterThan(Lost(150));
    }

    [Fact]
    public void Sweet_potatoes_close_their_skin_as_they_cure_and_carrots_do_not()
    {
        static double Rate(string id, double curedAtC)
        {
            var lot = LotState.Dug(new LotTraits(CropTable.Default.Find(id)!, packing: Packing.SingleLayer));
            for (int day = 0; day < 14; day++) lot = lot.Advance(new LotAir(curedAtC, 90), 24);
            // A day for the produce to take on the store's temperature, and one that is looked at.
            lot = lot.Advance(new LotAir(14, 85), 24);
            var after = lot.Advance(new LotAir(14, 85), 24);
            return (after.WaterLost - lot.WaterLost) / (1 - lot.Lost);
        }

        // 2 to 5 % a month uncured against 1 to 2 % cured (North Carolina growers), 2.6 times in the middle; a little is cured at 14 C too.
        (Rate("sweet-potato", 12) / Rate("sweet-potato", 29)).Should().BeInRange(2, 2.6);
        Rate("carrot", 29).Should().BeApproximately(Rate("carrot", 12), 0.01 * Rate("carrot", 12));
    }
}
