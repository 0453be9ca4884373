using RootCellar.Science.Air;
using RootCellar.Science.Cellar;
using RootCellar.Science.Crops;

namespace RootCellar.Science.Tests.Cellar;

/// <summary>docs/science/cellar.md, examples 2, 3, 5 and 6, and what must hold of any room.</summary>
public sealed class RoomSumsTests
{
    private static readonly Crop Potato = CropTable.Default.Find("potato")!;
    private static readonly RoomResponse Known = new(
        200,
        new HeatResponse(new Interval(0.08, 0.1, 0.12), new Interval(0.2, 0.3, 0.45), new Interval(50, 72, 100), null),
        new AirLeak(new Interval(0.2, 0.25, 0.3), new Interval(0.4, 0.6, 0.9), null),
        new OpeningResponse(new Interval(0.3, 0.5, 0.7), new Interval(4, 6, 9), 5, null));

    [Fact]
    public void Worked_example_water_on_the_floor()
    {
        var air = MoistAir.At(5, 85);
        FloorWater.LitresAtOnce(air, 93, 28.89).Should().BeApproximately(0.0157, 1e-4);
        FloorWater.LitresPerDay(air, 93, 28.89, 0.6).Should().BeApproximately(24 * 0.6 * 0.0157, 2e-3);
        FloorWater.LitresPerDay(air, 80, 28.89, 0.6).Should().Be(0);
    }

    [Fact]
    public void Worked_example_carbon_dioxide()
    {
        GasBalance.AirM3(30, 1200).Should().BeApproximately(28.89, 0.01);
        GasBalance.SteadyPpm(2.7 * 1200, 28.89, 0.25).Should().BeApproximately(868.6, 0.1);
        GasBalance.AfterPpm(420, 4, 2.7 * 1200, 28.89, 0.25).Should().BeApproximately(703.6, 0.1);
        GasBalance.HoursTo(703.6, 420, 2.7 * 1200, 28.89, 0.25)!.Value.Should().BeApproximately(4, 0.01);
        GasBalance.HoursTo(5000, 420, 2.7 * 1200, 28.89, 0.25).Should().BeNull("the room settles below it");
        GasBalance.HoursTo(5000, 6000, 1, 28.89, 0.25).Should().Be(0);
        GasBalance.MgPerMl(20).Should().BeApproximately(1.83, 0.005);
    }

    /// <summary>What leaves a room by its air and what is left there is what was breathed out.</summary>
    [Fact]
    public void Gas_adds_up()
    {
        const double MlPerHour = 3000, M3 = 25, Changes = 0.4, Hours = 6;
        double left = 0, step = 1e-3;
        for (double t = step / 2; t < Hours; t += step)
            left += step * Changes * M3 * (GasBalance.AfterPpm(900, t, MlPerHour, M3, Changes) - GasBalance.OutsidePpm);
        double stayed = M3 * (GasBalance.AfterPpm(900, Hours, MlPerHour, M3, Changes) - 900);
        (left + stayed).Should().BeApproximately(MlPerHour * Hours, 0.1);
    }

    [Fact]
    public void Worked_example_a_door_opened()
    {
        var airing = new Airing(MoistAir.At(20, 70), MoistAir.At(8, 80), 19, Known);
        var half = airing.After(30);
        half.AirC.Should().BeApproximately(13.99, 0.01);
        half.AirPercent.Should().BeApproximately(61.6, 0.2);
        half.PulpC.Should().BeInRange(18.5, 18.9);
        half.Wets.Should().BeFalse();
        var (soonest, expected, latest) = airing.MinutesTo(15);
        expected.Should().BeApproximately(11, 1);
        soonest.Should().BeLessThan(expected!.Value);
        latest.Should().BeNull("where the air goes three tenths of the way, the walls would have to follow too far");
    }

    [Fact]
    public void An_open_door_brings_no_room_beyond_the_air_outside_and_the_crop_follows_last()
    {
        foreach (double outC in (double[])[-5, 2, 8, 14, 25])
        {
            var airing = new Airing(MoistAir.At(12, 90), MoistAir.At(outC, 70), 12, Known);
            double before = 0;
            for (double minutes = 0; minutes <= 720; minutes += 10)
            {
                var at = airing.After(minutes);
                double gone = (at.AirC - 12) / (outC - 12), crop = (at.PulpC - 12) / (outC - 12);
                gone.Should().BeInRange(before - 1e-9, 1);
                crop.Should().BeInRange(-1e-9, gone + 1e-9);
                before = gone;
            }
        }

        new Airing(MoistAir.At(12, 90), MoistAir.At(10, 70), 12, Known).MinutesTo(9).Expected.Should().BeNull("it is warmer than that out");
    }

    [Fact]
    public void Warm_damp_air_let_in_over_cold_crop_is_said_to_wet_it() =>
        new Airing(MoistAir.At(6, 90), MoistAir.At(18, 95), 5, Known).After(30).Wets.Should().BeTrue();

    [Fact]
    public void A_load_in_a_room_cools_to_the_band_and_its_heat_is_its_own()
    {
        var load = new WarmLoad(30, 8, 12, Known.Heat, Potato);
        var some = load.Of(200, 24);
        some.HeatMegajoules.Should().BeApproximately(200 * Potato.Thermal!.SpecificHeatKJPerKgK * 12 / 1000, 1e-9);
        some.Hours.Should().BeInRange(8, 40);
        some.WarmestAirC.Should().BeGreaterThan(8);
        var more = load.Of(800, 24);
        more.Hours.Should().BeGreaterThan(some.Hours!.Value);
        more.WarmestAirC.Should().BeGreaterThan(some.WarmestAirC);
        load.Of(200, 24, wallTimes: 2.5).WarmestAirC.Should().BeLessThan(some.WarmestAirC);
        load.Of(50_000, 24).Hours.Should().BeNull();
        load.Of(200, 10).Hours.Should().Be(0, "it is cool enough as it comes in");
    }

    [Fact]
    public void What_a_room_takes_a_day_is_the_most_that_stays_within_its_band()
    {
        var load = new WarmLoad(30, 8, 12, Known.Heat, Potato);
        double kg = load.KgPerDay(24);
        kg.Should().BeInRange(20, 2000);
        load.KgPerDay(30).Should().BeLessThan(kg);
        new WarmLoad(30, 11, 12, Known.Heat, Potato).KgPerDay(24).Should().BeLessThan(kg);
        new WarmLoad(30, 12, 12, Known.Heat, Potato).KgPerDay(24).Should().Be(0);
        load.KgPerDay(24, 2).Should().BeGreaterThan(load.KgPerDay(24, 0.5));
        load.Factor.Should().BeGreaterThan(WarmLoad.WallFactor);
    }
}
