using CsCheck;
using RootCellar.Science.Air;
using RootCellar.Science.Cellar;

namespace RootCellar.Science.Tests.Cellar;

public sealed class VentTests
{
    private const double Potato = -0.8;

    private static readonly Gen<(double T, double Rh)> Airs = Gen.Select(Gen.Double[-35, 42], Gen.Double[0.5, 100]);
    private static readonly Gen<(double T, double Rh)> CellarAirs = Gen.Select(Gen.Double[-10, 20], Gen.Double[40, 100]);

    /// <summary>docs/science/cellar.md, example 1.</summary>
    [Fact]
    public void Worked_example_half_an_hour_at_60_m3_per_hour()
    {
        double perHour = RoomAir.AirChangesPerHour(60, 30);
        RoomAir.FreshShare(perHour * 0.5).Should().BeApproximately(0.63212, 1e-5);
        var advice = Ask(6, 92, 3, 80, 6.5, hours: 0.5, perHour: perHour);
        advice.After.Air.HumidityRatio.Should().BeApproximately(0.0043271, 1e-7);
        advice.After.Air.TemperatureC.Should().BeApproximately(4.106, 1e-3);
        advice.After.Air.RelativeHumidityPercent.Should().BeApproximately(85.42, 0.01);
        advice.After.FogGramsPerKg.Should().Be(0);
        advice.AfterDewMarginC.Should().BeApproximately(6.5 - 1.882, 1e-3);
        advice.OutsideDewMarginC.Should().BeApproximately(6.5 + 0.107, 1e-3);
        advice.DeficitBeforePa.Should().BeApproximately(107.7, 0.1);
        advice.DeficitAfterPa.Should().BeApproximately(268.1, 0.1);
        advice.LongestHours.Should().BeNull();
        advice.Verdict.Should().Be(VentVerdict.Open);
        advice.Reasons.Should().Equal(VentReason.OutsideColder, VentReason.DriesProduceFaster);
    }

    [Theory]
    [InlineData(6, 92, 3, 80, 6.5, null, VentVerdict.Open, VentReason.OutsideColder)]
    [InlineData(6, 92, 0.0, 80, 6.5, null, VentVerdict.WaitFreezing, VentReason.IncomingCouldFreeze)]
    [InlineData(6, 92, 0.19, 80, 6.5, null, VentVerdict.WaitFreezing, VentReason.IncomingCouldFreeze)]
    [InlineData(6, 92, 0.21, 80, 6.5, null, VentVerdict.OpenBriefly, VentReason.OutsideMuchColder)]
    [InlineData(6, 92, 5.0, 104, 6.2, null, VentVerdict.OpenBriefly, VentReason.OutsideColder)]
    [InlineData(6, 92, 1.5, 80, 6.5, null, VentVerdict.OpenBriefly, VentReason.OutsideMuchColder)]
    [InlineData(2, 92, 1.5, 80, 6.5, null, VentVerdict.WaitChill, VentReason.RoomTooCold)]
    [InlineData(6, 92, 6.0, 70, 6.5, null, VentVerdict.OpenBriefly, VentReason.OutsideBarelyColder)]
    [InlineData(6, 92, 5.4, 99, 6.0, null, VentVerdict.OpenBriefly, VentReason.OutsideBarelyColder)]
    [InlineData(6, 92, 5.5, 100, 6.51, null, VentVerdict.Open, VentReason.OutsideColder)]
    [InlineData(6, 92, 9, 50, 6.5, null, VentVerdict.WaitWarm, VentReason.OutsideNotColder)]
    [InlineData(6, 92, 15, 90, 6.5, null, VentVerdict.WaitWet, VentReason.IncomingWets)]
    [InlineData(6, 92, 6.5, 100, 6.5, null, VentVerdict.WaitWet, VentReason.IncomingWets)]
    [InlineData(6, 92, 3, 80, 6.5, 7.0, VentVerdict.NoNeed, VentReason.ColdEnough)]
    [InlineData(8, 98, 3, 80, 6.5, 7.0, VentVerdict.OpenBriefly, VentReason.DriesWetProduce)]
    [InlineData(8, 98, 9, 50, 6.5, null, VentVerdict.OpenBriefly, VentReason.DriesWetProduce)]
    [InlineData(8, 98, -2, 80, 6.5, 7.0, VentVerdict.WaitFreezing, VentReason.IncomingCouldFreeze)]
    public void Verdict_and_its_first_reason(
        double insideC, double insidePercent, double outsideC, double outsidePercent, double pulpC, double? wantedC, VentVerdict verdict, VentReason first)
    {
        var advice = Ask(insideC, insidePercent, outsideC, outsidePercent, pulpC, wantedC: wantedC);
        advice.Verdict.Should().Be(verdict);
        advice.Reasons[0].Should().Be(first);
    }

    [Fact]
    public void Much_colder_air_may_come_in_until_the_mix_is_4_C_below_the_produce()
    {
        var advice = Ask(6, 92, 1.5, 80, 6.5, hours: 2);
        advice.LongestHours!.Value.Should().BeApproximately(0.752, 1e-3, "-ln((2.5 - 1.5)/(6 - 1.5))/2");
        Ask(6, 92, 1.5, 80, 6.5, hours: advice.LongestHours.Value).After.Air.TemperatureC.Should().BeApproximately(2.5, 0.05);
    }

    [Fact]
    public void A_damp_warm_room_that_meets_cold_air_makes_fog()
    {
        var advice = Ask(12, 98, 1, 95, 12, hours: 0.3);
        advice.After.FogGramsPerKg.Should().BeGreaterThan(0);
        advice.After.Air.RelativeHumidityPercent.Should().BeApproximately(100, 1e-6);
        advice.Reasons.Should().Contain(VentReason.MixFogs);
    }

    [Fact]
    public void Water_and_heat_after_mixing_are_what_went_in() =>
        Gen.Select(Airs, Airs, Gen.Double[0, 1], Gen.Double[80_000, 103_000]).Sample(drawn =>
        {
            var ((inC, inPercent), (outC, outPercent), share, pressure) = drawn;
            var inside = MoistAir.At(inC, inPercent, pressure);
            var outside = MoistAir.At(outC, outPercent, pressure);
            var blend = RoomAir.Blend(inside, outside, share);
            double water = (1 - share) * inside.HumidityRatio + share * outside.HumidityRatio;
            double heat = (1 - share) * inside.EnthalpyJoulesPerKilogram + share * outside.EnthalpyJoulesPerKilogram;
            return Math.Abs(blend.Air.HumidityRatio + blend.FogGramsPerKg / 1000 - water) < 1e-9
                && Math.Abs(RoomAir.EnthalpyWithFogJoulesPerKilogram(blend) - heat) < 1e-2
                && blend.Air.RelativeHumidityPercent <= 100 && blend.FogGramsPerKg >= 0;
        });

    [Fact]
    public void Long_venting_ends_with_the_air_outside() => Gen.Select(CellarAirs, CellarAirs).Sample(drawn =>
    {
        var after = RoomAir.Blend(At(drawn.Item1), At(drawn.Item2), RoomAir.FreshShare(40)).Air;
        return Math.Abs(after.TemperatureC - drawn.Item2.T) < 1e-9 && Math.Abs(after.RelativeHumidityPercent - drawn.Item2.Rh) < 1e-6;
    });

    [Fact]
    public void More_venting_brings_the_air_nearer_to_outside() =>
        Gen.Select(CellarAirs, CellarAirs, Gen.Double[0, 3], Gen.Double[0, 3]).Sample(drawn =>
        {
            var (inside, outside, one, other) = drawn;
            var less = RoomAir.Blend(At(inside), At(outside), RoomAir.FreshShare(Math.Min(one, other)));
            var more = RoomAir.Blend(At(inside), At(outside), RoomAir.FreshShare(Math.Max(one, other)));
            // Fog warms the air as it falls out, so only clear air moves one way.
            return less.FogGramsPerKg > 0 || more.FogGramsPerKg > 0
                || Math.Abs(more.Air.TemperatureC - outside.T) <= Math.Abs(less.Air.TemperatureC - outside.T) + 1e-9;
        });

    [Fact]
    public void Temperature_mixes_nearly_as_dry_air_does() =>
        Gen.Select(CellarAirs, CellarAirs, Gen.Double[0, 1]).Sample(drawn =>
        {
            var (inside, outside, share) = drawn;
            var blend = RoomAir.Blend(At(inside), At(outside), share);
            return blend.FogGramsPerKg > 0 || Math.Abs(blend.Air.TemperatureC - ((1 - share) * inside.T + share * outside.T)) < 0.1;
        });

    [Fact]
    public void Never_opens_to_air_that_wets_or_could_freeze() =>
        Gen.Select(CellarAirs, Airs, Gen.Double[0, 15], Gen.Double[0.01, 20], Gen.Double[0, 24]).Sample(drawn =>
        {
            var (inside, outside, pulp, perHour, hours) = drawn;
            var advice = Vent.Ask(new VentQuestion(At(inside), At(outside), pulp, Potato, perHour, hours));
            bool opens = advice.Verdict is VentVerdict.Open or VentVerdict.OpenBriefly;
            bool harms = outside.T <= Potato + Vent.FreezingGuardC || advice.OutsideDewMarginC <= 0;
            return !(opens && harms) && (advice.Verdict != VentVerdict.Open || (pulp - outside.T is >= 1 and <= 4 && advice.OutsideDewMarginC >= 1));
        });

    [Fact]
    public void Every_verdict_and_reason_has_words_and_none_calls_anything_safe()
    {
        string[] words =
        [
            .. Enum.GetValues<VentVerdict>().Select(VentAdvice.Words),
            .. Enum.GetValues<VentReason>().Select(VentAdvice.Words),
            .. Enum.GetValues<RoomCautionLevel>().Select(RoomCaution.Words),
        ];
        words.Should().OnlyHaveUniqueItems().And.NotContain(text => string.IsNullOrWhiteSpace(text));
        words.Select(text => text.Replace("Not a safety instrument", "", StringComparison.Ordinal))
            .Should().NotContain(text => text.Contains("safe", StringComparison.OrdinalIgnoreCase));
    }

    [Fact]
    public void Airs_of_different_pressure_are_refused()
    {
        var act = () => Vent.Ask(new VentQuestion(MoistAir.At(5, 90), MoistAir.At(3, 90, 95_000), 6, Potato, 1, 1));
        act.Should().Throw<ArgumentException>().WithMessage("*pressure*");
    }

    [Fact]
    public void An_impossible_figure_is_refused_by_name()
    {
        var act = () => Ask(6, 92, 3, 80, double.NaN);
        act.Should().Throw<ArgumentOutOfRangeException>().WithParameterName("ColdestPulpC");
    }

    private static AirState At((double T, double Rh) air) => MoistAir.At(air.T, air.Rh);

    private static VentAdvice Ask(
        double insideC, double insidePercent, double outsideC, double outsidePercent, double pulpC, double hours = 0.5, double perHour = 2, double? wantedC = null) =>
        Vent.Ask(new VentQuestion(MoistAir.At(insideC, insidePercent), MoistAir.At(outsideC, outsidePercent), pulpC, Potato, perHour, hours, wantedC));
}
