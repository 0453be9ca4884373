using CsCheck;
using RootCellar.Advice;
using RootCellar.Demo;
using RootCellar.Monitoring;
using RootCellar.Science.Air;

namespace RootCellar.Tests.Demo;

public class RoomTests
{
    private static readonly TimeSpan Minute = TimeSpan.FromMinutes(1);

    private static readonly Gen<RoomShape> Shapes =
        from volume in Gen.Double[5, 200]
        from walls in Gen.Double[0, 200]
        from ground in Gen.Double[0, 200]
        from groundC in Gen.Double[2, 18]
        from changes in Gen.Double[0, 10]
        from produce in Gen.Double[1, 3000]
        from contact in Gen.Double[1, 300]
        from damp in Gen.Double[0, 1e-6]
        select new RoomShape
        {
            VolumeM3 = volume,
            OutdoorWPerK = walls,
            GroundWPerK = ground,
            GroundC = groundC,
            AirChangesPerHour = changes,
            ProduceKg = produce,
            ProduceWPerK = contact,
            TranspirationKgPerKgSPa = 60e-12,
            DampKgPerSPa = damp,
            SunM2 = 0.3,
        };

    private static readonly Gen<RoomDrive> Drives =
        from temperature in Gen.Double[-10, 35]
        from humidity in Gen.Double[10, 100]
        from sun in Gen.Double[0, 900]
        from door in Gen.Double[0, 40]
        from lamp in Gen.Double[0, 100]
        select new RoomDrive(new OutdoorAir(temperature, MoistAir.VapourPressurePa(temperature, humidity), sun, 0), door, lamp);

    private static readonly Gen<(RoomShape Shape, RoomDrive[] Drives)> Cases = Gen.Select(Shapes, Drives.Array[1, 120]);

    [Fact]
    public void Heat_held_changes_by_exactly_what_crossed_the_bounds() => Cases.Sample(c =>
    {
        var start = Room.Start(c.Shape, 12, 80);
        var (state, crossed) = (start, 0.0);
        var moved = 0.0;
        foreach (var drive in c.Drives)
        {
            (state, var f) = Room.Step(c.Shape, state, drive, Minute);
            crossed += f.OutdoorJ + f.GroundJ + f.SunJ + f.LampJ + f.RespirationJ;
            moved += Math.Abs(f.OutdoorJ) + Math.Abs(f.GroundJ) + f.SunJ + f.LampJ + f.RespirationJ;
        }

        var held = Room.HeatJ(c.Shape, state) - Room.HeatJ(c.Shape, start);
        Math.Abs(held - crossed).Should().BeLessThan(1e-9 * (moved + Room.HeatJ(c.Shape, start)));
    });

    [Fact]
    public void Water_held_and_fallen_out_changes_by_exactly_what_crossed_the_bounds() => Cases.Sample(c =>
    {
        var start = Room.Start(c.Shape, 12, 80);
        var (state, crossed, moved) = (start, 0.0, 0.0);
        foreach (var drive in c.Drives)
        {
            (state, var f) = Room.Step(c.Shape, state, drive, Minute);
            crossed += f.AirChangeKg + f.DampKg + f.TranspirationKg;
            moved += Math.Abs(f.AirChangeKg) + Math.Abs(f.DampKg) + Math.Abs(f.TranspirationKg);
        }

        var held = state.VapourKg + state.CondensedKg - start.VapourKg - start.CondensedKg;
        Math.Abs(held - crossed).Should().BeLessThan(1e-9 * (moved + start.VapourKg));
    });

    [Fact]
    public void Air_is_never_more_than_saturated_and_never_outside_what_drives_it() => Cases.Sample(c =>
    {
        var dark = c.Drives.Select(d => d with { Outdoor = d.Outdoor with { SunWPerM2 = 0 }, LampW = 0 }).ToArray();
        var shape = c.Shape with { RespirationShare = 0 };
        var low = Math.Min(12, Math.Min(shape.GroundC, dark.Min(d => d.Outdoor.TemperatureC)));
        var high = Math.Max(12, Math.Max(shape.GroundC, dark.Max(d => d.Outdoor.TemperatureC)));
        var state = Room.Start(shape, 12, 80);
        foreach (var drive in dark)
        {
            state = Room.Step(shape, state, drive, Minute).State;
            if (state.RelativeHumidityPercent(shape) is < 0 or > 100 + 1e-9 || Outside(state.AirC) || Outside(state.PulpC))
                Assert.Fail($"{state} with {state.RelativeHumidityPercent(shape)} %, between {low} and {high} C");
        }

        bool Outside(double celsius) => celsius < low - 1e-9 || celsius > high + 1e-9;
    });

    /// <summary>
    /// A closed form to hold it against: a sealed room with only ground relaxes as exp(-t G / C) once the produce is tiny.
    /// </summary>
    [Fact]
    public void An_empty_room_relaxes_as_the_exponential_says()
    {
        var shape = Homestead.CellarShape with
        {
            ProduceKg = 0,
            ProduceWPerK = 0,
            OutdoorWPerK = 0,
            AirChangesPerHour = 0,
            GroundWPerK = 10,
            GroundC = 5.5
        };
        var state = Room.Start(shape, 15.5, 50);
        for (var s = 0; s < 3600; s++)
            state = Room.Step(shape, state, new RoomDrive(new OutdoorAir(20, 1000, 0, 0)), TimeSpan.FromSeconds(1)).State;
        var expected = 5.5 + 10 * Math.Exp(-3600 * 10 / (shape.VolumeM3 * Room.AirHeatJPerM3K));
        state.AirC.Should().BeApproximately(expected, 0.01);
    }

    [Fact]
    public void Pulp_follows_the_air_with_the_lag_of_its_mass()
    {
        // Air held at 20 C by a wide-open door: the pulp has come 1 - 1/e of the way after m c / G = 13.3 h.
        var shape = Homestead.CuringShape with { RespirationShare = 0, GroundWPerK = 0, OutdoorWPerK = 1e6, SunM2 = 0 };
        var state = Room.Start(shape, 12, 80);
        var minutes = (int)Math.Round(shape.ProduceKg * Room.ProduceHeatJPerKgK / shape.ProduceWPerK / 60);
        for (var m = 0; m < minutes; m++)
            state = Room.Step(shape, state, new RoomDrive(new OutdoorAir(20, 1000, 0, 0)), Minute).State;
        state.PulpC.Should().BeApproximately(20 - 8 / Math.E, 0.02);
    }

    /// <summary>
    /// ASHRAE Refrigeration, heat of respiration, mature White Rose potatoes at 5 C: 17.5 to 20.4 mW/kg; immature 34.9 (digits
    /// approximate, from memory). Becker and Fricke's fit is for the fresh ones.
    /// </summary>
    [Fact]
    public void Breath_is_that_of_fresh_potatoes() => (Room.RespirationWPerKg(5) * 1000).Should().BeApproximately(34.9, 3);

    [Fact]
    public void A_step_longer_than_a_minute_is_refused()
    {
        var step = () => Room.Step(Homestead.CellarShape, Room.Start(Homestead.CellarShape, 6, 93), default, TimeSpan.FromMinutes(2));
        step.Should().Throw<ArgumentOutOfRangeException>();
    }
}
