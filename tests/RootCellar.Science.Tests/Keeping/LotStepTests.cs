using RootCellar.Science.Air;
using RootCellar.Science.Crops;
using RootCellar.Science.Keeping;

namespace RootCellar.Science.Tests.Keeping;

/// <summary>What steps add, worked out by hand from the law of each figure, in air and pulp that stay as they are.</summary>
public sealed class LotStepTests
{
    private const double PerHour = 3600e-12;

    private static readonly Crop Potato = CropTable.Default.Find("potato")!;
    private static readonly Crop Carrot = CropTable.Default.Find("carrot")!;

    [Fact]
    public void Age_and_light_add_up()
    {
        // Half of full light at 500 lx, all of it counted at 20 C.
        var lot = LotState.Dug(new LotTraits(Potato)).Advance(new LotAir(20, 95, 20, 500), 10);
        lot.LightHours.Should().Be(5);
        lot = lot.Advance(new LotAir(20, 95, 20, 500), 4);
        lot.LightHours.Should().Be(7);
        lot.AgeDays.Should().BeApproximately(14 / 24.0, 1e-9);
        LotState.Dug(new LotTraits(Carrot)).Advance(new LotAir(20, 95, 20, 500), 10).LightHours.Should().Be(0);
    }

    [Fact]
    public void Cold_and_freezing_hours_are_those_below_the_edge()
    {
        // Potato: chilling below 38 F (3.3 C), freezing below -0.8 C.
        var lot = LotState.Dug(new LotTraits(Potato)).Advance(new LotAir(2, 95, 2), 10);
        (lot.ColdHours, lot.FreezingHours).Should().Be((10, 0));
        lot = lot.Advance(new LotAir(-2, 95, -2), 4).Advance(new LotAir(-2, 95, -2), 2).Advance(new LotAir(8, 95, 8), 5);
        (lot.ColdHours, lot.FreezingHours).Should().Be((16, 6));
        LotState.Dug(new LotTraits(Carrot)).Advance(new LotAir(1, 95, 1), 10).ColdHours.Should().Be(0, "nothing chills a carrot");
    }

    [Fact]
    public void Cold_makes_a_potato_sweet_and_warmth_takes_half_of_it_back_in_a_week()
    {
        var cold = Hold(LotState.Dug(new LotTraits(Potato)), 5.2, 48);
        cold.SweetDegreeDays.Should().BeApproximately(4, 1e-9);
        Hold(LotState.Dug(new LotTraits(Potato, SkinState.Tender)), 5.2, 24).SweetDegreeDays.Should().BeApproximately(4.8, 1e-9);
        Hold(cold, 7.2, 24).SweetDegreeDays.Should().BeApproximately(4, 1e-9);
        Hold(cold, 12.9, 24).SweetDegreeDays.Should().BeApproximately(4, 1e-9);
        Hold(cold, 14.5, 7 * 24).SweetDegreeDays.Should().BeApproximately(4 * Math.Sqrt(0.5), 1e-6);
        Hold(cold, 20, 7 * 24).SweetDegreeDays.Should().BeApproximately(2, 1e-6);
        Hold(LotState.Dug(new LotTraits(Carrot)), 5.2, 24).SweetDegreeDays.Should().Be(0);
    }

    [Fact]
    public void Rest_is_used_up_and_then_sprouts_grow_half_as_fast_in_the_light_of_15_lux()
    {
        var dug = LotState.Dug(new LotTraits(Potato, restDaysAt10C: 10));
        Hold(dug, 10, 5 * 24).RestUsed.Should().BeApproximately(0.5, 1e-9);
        Hold(dug, 20, 2 * 24).RestUsed.Should().BeApproximately(0.45, 1e-9, "2.25 times as fast for 10 C");
        var peeping = Hold(dug, 10, 10.5 * 24);
        (peeping.RestUsed, peeping.SproutMm).Should().Be((1, peeping.SproutMm));
        peeping.SproutMm.Should().BeApproximately(0.2, 1e-9, "0.05 mm a day for each of 8 degrees over 2 C, half a day");
        (Hold(peeping, 10, 24).SproutMm - peeping.SproutMm).Should().BeApproximately(0.4, 1e-9);
        (Hold(peeping, 10, 24, lux: 15).SproutMm - peeping.SproutMm).Should().BeApproximately(0.2, 1e-9);
        (Hold(peeping, 10, 24, lux: 2.5).SproutMm - peeping.SproutMm).Should().BeApproximately(0.4, 1e-9);
        (Hold(peeping, 10, 24, lux: 90).SproutMm - peeping.SproutMm).Should().BeApproximately(0.02, 1e-9);
        Hold(LotState.Dug(new LotTraits(Potato)), 10, 24).Should().Match<LotState>(s => s.RestUsed == 0 && s.SproutMm == 0);
    }

    [Fact]
    public void Breath_is_the_tables_and_two_and_a_half_times_it_when_fresh()
    {
        // In air that takes no water. Carrot: 20 mg at 5 C, 31 at 10 C; of the CO2 12 parts of 44 are carbon.
        var carrot = Carrot with { Early = null };
        Hold(LotState.Dug(new LotTraits(carrot)), 7.5, 24, humidity: 100).Breathed.Should().BeApproximately(24 * 12 / 44.0 * 25.5e-6, 1e-7);
        Hold(LotState.Dug(new LotTraits(carrot, breathMultiplier: 2)), 7.5, 24, humidity: 100).Breathed.Should()
            .BeApproximately(24 * 12 / 44.0 * 51e-6, 1e-7);
        var fresh = Hold(LotState.Dug(new LotTraits(Potato)), 10, 24, humidity: 100);
        fresh.Breathed.Should().BeApproximately(24 * 12 / 44.0 * 6.5e-6 * 2.4477, 2e-7, "what has dried away meanwhile no longer breathes");
        var rested = Hold(fresh, 10, 41 * 24, humidity: 100);
        (Hold(rested, 10, 24, humidity: 100).Breathed - rested.Breathed).Should()
            .BeApproximately(24 * 12 / 44.0 * 6.5e-6 * 1.072 * (1 - rested.Lost), 1e-7);
        (Breath.FreshnessFactor(0), Breath.SproutFactor(1, 10), Breath.SproutFactor(1, 20), Breath.SproutFactor(0.5, 10)).Should()
            .Be((2.5, 1.75, 1.75, 1.375));
    }

    [Fact]
    public void Water_goes_through_the_skin_by_what_the_air_lacks()
    {
        // At 10 C and 80 % the air lacks a fifth of saturation; a carrot's own pressure is 1 % lower.
        var carrot = Carrot with { Early = null };
        var traits = new LotTraits(carrot);
        double lost = LotState.Dug(traits).Advance(new LotAir(10, 80, 10), 1).WaterLost;
        lost.Should().BeApproximately(traits.ClosedPerHourPa * 0.19 * Saturation.OverWaterPa(10), lost / 500);
        LotState.Dug(new LotTraits(carrot, waterMultiplier: 3)).Advance(new LotAir(10, 80, 10), 1).WaterLost.Should()
            .BeApproximately(3 * lost, lost / 100);
        Hold(LotState.Dug(new LotTraits(carrot, waterMultiplier: 900)), 25, 20 * 24, humidity: 20).WaterLost.Should()
            .BeInRange(0.5, 0.878, "no carrot gives more water than it holds");
        (WaterLoss.DrivePa(400, 1), WaterLoss.DrivePa(400, 0.5), WaterLoss.DrivePa(0, 0.5), WaterLoss.SproutFactor(1, 15)).Should()
            .Be((400, 200, 0, 1.5));
        WaterLoss.DrivePa(1600, 0.25).Should().BeApproximately(200, 1e-9);
    }

    [Fact]
    public void Traits_are_those_of_crop_skin_and_packing()
    {
        var crate = new LotTraits(Potato);
        crate.ClosedPerHourPa.Should().BeApproximately(25 * 0.74 * PerHour, 1e-15);
        crate.OpenPerHourPa.Should().BeApproximately((165 - 25) * 0.74 * PerHour, 1e-15);
        new LotTraits(Potato, packing: Packing.SingleLayer).ClosedPerHourPa.Should().BeApproximately(25 * PerHour, 1e-15);
        new LotTraits(Potato, packing: Packing.SingleLayer).OpenPerHourPa.Should().BeApproximately((165 - 25) * PerHour, 1e-15);
        new LotTraits(Potato, SkinState.Tender).OpenPerHourPa.Should().BeApproximately((2 * 165 - 25) * 0.74 * PerHour, 1e-15);
        new LotTraits(Potato, waterMultiplier: 2).ClosedPerHourPa.Should().BeApproximately(2 * crate.ClosedPerHourPa, 1e-15);
        new LotTraits(Potato, pieceGrams: 300).ClosedPerHourPa.Should().BeApproximately(crate.ClosedPerHourPa * Math.Pow(2, -0.29), 1e-15);
        var early = new[] { SkinState.Set, SkinState.Scuffed, SkinState.Tender, SkinState.Cut }
            .Select(s => new LotTraits(Potato, s).EarlyShare);
        early.Select(share => Math.Round(share * 100, 9)).Should().Equal(1.33, 1.98, 1.98, 2.48);
        new LotTraits(Potato, healingMultiplier: 2).HealingScaleDays.Should().Be(2 * WoundHealing.SealedDays);
        new LotTraits(CropTable.Default.Find("sweet-potato")!, healingMultiplier: 2).HealingScaleDays.Should().Be(6);
        new LotTraits(Carrot).HealingScaleDays.Should().Be(double.PositiveInfinity);
        (crate.WaterShare, crate.ChillingBelowC, new LotTraits(Carrot).ChillingBelowC).Should()
            .Be((0.79, (38 - 32) * 5.0 / 9, double.NegativeInfinity));
        crate.BreathPerHour(-20).Should().Be(crate.BreathPerHour(-5));
        crate.BreathPerHour(45).Should().BeApproximately(Breath.LossPerHour(Potato.Respiration.At(45)), 1e-12);
        crate.BreathPerHour(80).Should().Be(crate.BreathPerHour(45));
    }

    [Fact]
    public void Produce_follows_the_air_with_its_lag_and_doses_go_by_its_own_way()
    {
        var traits = new LotTraits(Potato);
        var (lag, own) = (traits.LagHours, traits.WarmerC);
        var lot = LotState.Dug(traits).Advance(new LotAir(6, 95), 0);
        lot.PulpC.Should().Be(6 + own, "the first air is its own temperature");
        double hours = Math.Min(48, lag);
        var cooled = lot.Advance(new LotAir(2, 95), hours);
        double left = Math.Exp(-hours / lag);
        cooled.PulpC.Should().BeApproximately(2 + own + 4 * left, 1e-4);
        cooled.SweetDegreeDays.Should().BeApproximately(((5.2 - own) * hours - 4 * lag * (1 - left)) / 24, 1e-4);
        lot.Advance(new LotAir(2, 95, 3), 1).PulpC.Should().Be(3, "a probe knows");
    }

    [Fact]
    public void A_slow_healer_is_as_far_as_its_own_days_say()
    {
        var lot = LotState.Dug(new LotTraits(Potato, healingMultiplier: 2));
        while (lot.Stage == HealingStage.Open) lot = lot.Advance(new LotAir(15, 95, 15), 0.25);
        lot.HealedDays.Should().BeApproximately(2 * WoundHealing.SealedDays, 0.03);
        WoundHealing.RatePerDay(15, 95, wet: false, co2Ppm: 20_000).Should().BeLessThan(WoundHealing.RatePerDay(15, 95, wet: false, 400));
        WoundHealing.RatePerDay(15, 60, wet: false).Should().BeLessThan(WoundHealing.RatePerDay(15, 95, wet: false));
    }

    [Fact]
    public void Figures_written_down_make_the_same_state_again()
    {
        var traits = new LotTraits(Potato, restDaysAt10C: 3);
        var lot = Hold(LotState.Dug(traits), 10, 5 * 24, lux: 100).Advance(new LotAir(25, 99, 5), 1).Advance(new LotAir(-2, 90, -2), 6.5)
            .Advance(new LotAir(2, 90, 2), 1).Advance(new LotAir(25, 99, 5), 3);
        var figures = new double[LotState.FigureNames.Count];
        lot.CopyTo(figures);
        figures.Should().OnlyHaveUniqueItems("every figure is something else, and none is nought").And.NotContain(0);
        LotState.From(traits, figures).Should().Be(lot);
        FluentActions.Invoking(() => LotState.From(traits, figures.AsSpan(1))).Should().Throw<ArgumentException>()
            .WithMessage("There must be 14*");
        FluentActions.Invoking(() => lot.CopyTo(new double[3])).Should().Throw<ArgumentException>();
    }

    [Theory]
    [InlineData(120, 10, 107.5)]
    [InlineData(10, 10, 5)]
    public void Rest_at_10_C_is_the_days_to_sprouts_less_those_the_sprouts_took(double days, double heldAt, double rest) =>
        Dormancy.RestDaysAt10C(days, heldAt).Should().BeApproximately(rest, 1e-9);

    [Theory]
    [InlineData(0.9, 10)]
    [InlineData(2001, 10)]
    [InlineData(100, 2.4)]
    [InlineData(100, 31.1)]
    public void Rest_that_no_potato_has_is_refused(double days, double heldAt) =>
        FluentActions.Invoking(() => Dormancy.RestDaysAt10C(days, heldAt)).Should().Throw<ArgumentOutOfRangeException>();

    [Fact]
    public void Four_of_five_are_sprouted_at_5_mm_and_sprouts_grow_from_2_to_17_C()
    {
        Dormancy.ShareSprouted(5).Should().BeApproximately(0.8, 1e-9);
        Dormancy.ShareSprouted(10).Should().BeApproximately(0.956, 0.001);
        Dormancy.ShareSprouted(0).Should().Be(0);
        new[] { 1.0, 2, 10, 17, 25 }.Select(c => Math.Round(Dormancy.SproutMmPerDay(c), 9)).Should().Equal(0, 0, 0.4, 0.75, 0.75);
    }

    [Fact]
    public void Water_counts_from_the_start_once_it_has_lasted_more_than_half_an_hour()
    {
        (Wetness.CountedHours(0, 0.5), Wetness.CountedHours(0.5, 1), Wetness.CountedHours(1, 3)).Should().Be((0, 1, 2));
        (Wetness.Level(-0.1, 0.5), Wetness.Level(-0.1, 0.6), Wetness.Level(0, 9), Wetness.Level(0.9, 0, 95), Wetness.Level(1, 0)).Should()
            .Be((WetnessLevel.Wetting, WetnessLevel.Wet, WetnessLevel.Caution, WetnessLevel.Caution, WetnessLevel.Dry));
    }

    [Theory]
    [InlineData(7.1, DiggingPulp.TooCold)]
    [InlineData(7.2, DiggingPulp.Cool)]
    [InlineData(10, DiggingPulp.Best)]
    [InlineData(16, DiggingPulp.Best)]
    [InlineData(18.3, DiggingPulp.Warm)]
    [InlineData(18.4, DiggingPulp.TooWarm)]
    public void Pulp_at_digging_has_its_edges(double pulp, DiggingPulp expected) => RotRisk.AtDigging(pulp).Should().Be(expected);

    [Theory]
    [InlineData(RotSigns.None, "Nothing from the field speaks for rot: cure as usual, and still")]
    [InlineData(RotSigns.RotSeen, "Something from the field speaks for rot: dry it with moving air for a couple of days before curing")]
    [InlineData(RotSigns.RotSeen | RotSigns.RainAtDigging,
        "Something from the field speaks for rot: dry it with moving air for a couple of weeks before")]
    [InlineData(RotSigns.LateBlight, "High rot risk: dry it with moving air for a couple of days, skip the warm damp curing")]
    [InlineData(RotSigns.FieldFrost, "High rot risk: skip the warm damp curing")]
    [InlineData(RotSigns.RotSeen | RotSigns.RainAtDigging | RotSigns.SaturatedSoil,
        "High rot risk: keep the room dry with air moving, perhaps for more than two months, skip")]
    public void What_the_field_says_of_rot(RotSigns signs, string begins) => RotRisk.Words(signs).Should().StartWith(begins);

    [Theory]
    [InlineData(CuringRule.SweetPotato, RotSigns.RotSeen, "dry it with moving air for a couple of days before curing")]
    [InlineData(CuringRule.None, RotSigns.None, "Nothing from the field speaks for rot")]
    [InlineData(CuringRule.None, RotSigns.RotSeen | RotSigns.RainAtDigging, "store only what is sound and dry outside, use it before the others, and look")]
    [InlineData(CuringRule.Rind, RotSigns.RotSeen, "use it before the others, and look")]
    [InlineData(CuringRule.Drying, RotSigns.RotSeen, "dry it longer than usual in moving air, and look")]
    [InlineData(CuringRule.None, RotSigns.RotSeen | RotSigns.RainAtDigging | RotSigns.SaturatedSoil, "High rot risk: use or sell it early, and look")]
    public void A_crop_that_is_not_cured_warm_and_damp_is_not_dried_for_weeks_nor_told_to_skip_it(CuringRule cures, RotSigns signs, string says)
    {
        RotRisk.Words(signs, cures).Should().Contain(says);
        if (!RotRisk.HealsInDampAir(cures)) RotRisk.Words(signs, cures).Should().NotContainAny("warm damp curing", "weeks before");
    }

    [Theory]
    [InlineData(0.9, "for about 54 minutes:")]
    [InlineData(0.95, "for about an hour:")]
    [InlineData(1.5, "for about 2 hours:")]
    [InlineData(71.4, "for about 71 hours:")]
    [InlineData(72, "for about 3 days:")]
    public void Time_is_said_in_minutes_hours_and_days(double hours, string says) => Wetness.Words(-1, hours).Should().Contain(says);

    [Fact]
    public void Words_of_light_cold_and_water_begin_where_they_are_true()
    {
        Greening.Words(0.4).Should().StartWith("Hardly any light");
        Greening.Words(0.5).Should().StartWith("This lot has had 1 hours' worth");
        Greening.Words(double.NaN).Should().StartWith("Hardly any light");
        Wetness.Words(2, 0).Should().Be("The coldest produce is 3.6 F (2 C) above the dew point: no water forms on it.");
        Wetness.Words(double.NaN, 0).Should().StartWith("Whether water forms on the produce is not known");
        Cold.Words(Potato, 3, 12).Should()
            .Be("Potato at 37.4 F (3 C) is below the 38 F (3.3 C) where chilling begins: do not leave it so.");
        Cold.Words(Potato, 3, 13).Should().StartWith("Potato at 37.4 F (3 C), 13 hours below 38 F (3.3 C): cold this long can harm it");
        Cold.Words(Potato, 4, 13).Should().Be("Potato at 39.2 F (4 C) is not too cold.");
        Cold.Words(Potato, Potato.ChillingBelowC!.Value, 13).Should().EndWith("is not too cold.");
    }

    private static LotState Hold(LotState lot, double pulp, double hours, double humidity = 95, double lux = 0)
    {
        for (; hours > 0; hours -= 24) lot = lot.Advance(new LotAir(pulp, humidity, pulp, lux), Math.Min(24, hours));
        return lot;
    }
}
