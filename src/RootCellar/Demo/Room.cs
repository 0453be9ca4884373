using RootCellar.Science.Air;

namespace RootCellar.Demo;

/// <summary>
/// What a room is built of and holds. Figures of the demo's rooms are assumed; a row below names its source where it has one.
/// </summary>
internal sealed record RoomShape
{
    public required double VolumeM3 { get; init; }

    /// <summary>Walls, roof and door to the outdoor air, W/K.</summary>
    public required double OutdoorWPerK { get; init; }

    /// <summary>Floor and buried walls to the ground, W/K. The ground is so large that it keeps its temperature.</summary>
    public required double GroundWPerK { get; init; }

    public required double GroundC { get; init; }

    /// <summary>Leaks with everything shut.</summary>
    public required double AirChangesPerHour { get; init; }

    public required double ProduceKg { get; init; }

    /// <summary>Between the room's air and the middle of the produce. With the produce's heat capacity it makes the pulp's lag.</summary>
    public required double ProduceWPerK { get; init; }

    /// <summary>
    /// Share of the Becker and Fricke (1996) respiration rate of potato, which fits freshly dug tubers; about half that once cured
    /// (assumed).
    /// </summary>
    public double RespirationShare { get; init; } = 1;

    /// <summary>
    /// kg/(kg s Pa). Sastry, Baird and Buffington (1978): potato uncured 158e-12 to 171e-12, average 44e-12, carrot 1207e-12.
    /// </summary>
    public required double TranspirationKgPerKgSPa { get; init; }

    /// <summary>Damp floor and walls, at ground temperature: kg/(s Pa), in both directions, so cold wet rock also dries the air.</summary>
    public required double DampKgPerSPa { get; init; }

    /// <summary>Sun taken in by roof and windows: as if this much level ground lay inside.</summary>
    public double SunM2 { get; init; }
}

/// <summary>The room at one moment. Water that fell out of the air is kept apart; the CO2 share is by volume.</summary>
internal readonly record struct RoomState(double AirC, double PulpC, double VapourKg, double CondensedKg, double Co2Ppm)
{
    public double VapourPa(RoomShape shape) => VapourKg * MoistAir.WaterGasConstant * (AirC + Saturation.ZeroCelsiusK) / shape.VolumeM3;

    public double RelativeHumidityPercent(RoomShape shape) => 100 * VapourPa(shape) / Saturation.OverWaterPa(AirC);
}

/// <summary>What crossed the room's bounds in one step, into the room: J and kg.</summary>
internal readonly record struct RoomFlows(
    double OutdoorJ,
    double GroundJ,
    double SunJ,
    double LampJ,
    double RespirationJ,
    double AirChangeKg,
    double DampKg,
    double TranspirationKg);

/// <summary>What is done to a room: the weather, doors and lamps.</summary>
internal readonly record struct RoomDrive(OutdoorAir Outdoor, double ExtraAirChangesPerHour = 0, double LampW = 0);

/// <summary>
/// Heat and water of one room with well-mixed air. Each step is solved implicitly, so it is stable whatever the room is
/// built of, and the flows it reports are exactly what its state changed by.
/// </summary>
/// <remarks>
/// Left out, assumed small beside the rest: latent heat (the damp floor takes it from the ground), the warming of the
/// produce through its own evaporation, and the change of air density with temperature.
/// </remarks>
internal static class Room
{
    public const double ProduceHeatJPerKgK = 3600;
    public const double AirHeatJPerM3K = 1.2 * 1005;
    public const double OutdoorCo2Ppm = 425;
    public static readonly TimeSpan LongestStep = TimeSpan.FromMinutes(1);

    public static RoomState Start(RoomShape shape, double airC, double relativeHumidityPercent) =>
        new(airC, airC, VapourKg(shape, airC, MoistAir.VapourPressurePa(airC, relativeHumidityPercent)), 0, 900);

    public static (RoomState State, RoomFlows Flows) Step(RoomShape shape, RoomState was, RoomDrive drive, TimeSpan step)
    {
        if (step <= TimeSpan.Zero || step > LongestStep)
            throw new ArgumentOutOfRangeException(nameof(step), step, "A step is at most a minute.");

        var seconds = step.TotalSeconds;
        var airPerSecond = (shape.AirChangesPerHour + drive.ExtraAirChangesPerHour) * shape.VolumeM3 / 3600;
        var outdoorWPerK = shape.OutdoorWPerK + airPerSecond * AirHeatJPerM3K;
        var sunW = shape.SunM2 * drive.Outdoor.SunWPerM2;
        var airJPerK = shape.VolumeM3 * AirHeatJPerM3K;

        // Air and produce are solved together: a handful of potatoes in a draught would swing if one waited for the other.
        var produceJPerK = shape.ProduceKg * ProduceHeatJPerKgK;
        var contactJPerK = shape.ProduceKg > 0 ? seconds * shape.ProduceWPerK : 0;
        var respirationJ = seconds * shape.ProduceKg * RespirationWPerKg(was.PulpC) * shape.RespirationShare;
        var bothJPerK = produceJPerK + contactJPerK;
        var (share, aloneC) = bothJPerK > 0 ? (contactJPerK / bothJPerK, (produceJPerK * was.PulpC + respirationJ) / bothJPerK) : (0, 0);
        var airC = (airJPerK * was.AirC + contactJPerK * aloneC
                + seconds * (outdoorWPerK * drive.Outdoor.TemperatureC + shape.GroundWPerK * shape.GroundC + sunW + drive.LampW))
            / (airJPerK + seconds * (outdoorWPerK + shape.GroundWPerK) + contactJPerK * (1 - share));
        var pulpC = shape.ProduceKg > 0 ? aloneC + share * airC : airC;

        var produceKgPerSPa = shape.ProduceKg * shape.TranspirationKgPerKgSPa;
        var gas = MoistAir.WaterGasConstant * (airC + Saturation.ZeroCelsiusK);
        var (damp, pulp) = (Saturation.OverWaterPa(shape.GroundC), Saturation.OverWaterPa(pulpC));
        var open = airPerSecond / gas;
        var vapourKg = (was.VapourKg + seconds * (open * drive.Outdoor.VapourPa + shape.DampKgPerSPa * damp + produceKgPerSPa * pulp))
            / (1 + seconds * (open + shape.DampKgPerSPa + produceKgPerSPa) * gas / shape.VolumeM3);
        var vapourPa = vapourKg * gas / shape.VolumeM3;
        var fallenKg = Math.Max(0, vapourKg - VapourKg(shape, airC, Saturation.OverWaterPa(airC)));

        var state = new RoomState(airC, pulpC, vapourKg - fallenKg, was.CondensedKg + fallenKg,
            Co2(shape, was, pulpC, airPerSecond, seconds));
        return (state, new RoomFlows(
            seconds * outdoorWPerK * (drive.Outdoor.TemperatureC - airC),
            seconds * shape.GroundWPerK * (shape.GroundC - airC),
            seconds * sunW,
            seconds * drive.LampW,
            respirationJ,
            seconds * open * (drive.Outdoor.VapourPa - vapourPa),
            seconds * shape.DampKgPerSPa * (damp - vapourPa),
            seconds * produceKgPerSPa * (pulp - vapourPa)));
    }

    /// <summary>Heat held by air and produce, J above 0 C.</summary>
    public static double HeatJ(RoomShape shape, RoomState state) =>
        shape.VolumeM3 * AirHeatJPerM3K * state.AirC + shape.ProduceKg * ProduceHeatJPerKgK * state.PulpC;

    /// <summary>
    /// Potato, mg CO2/(kg h) = f (1.8 t + 32)^g with f = 1.709e-2, g = 1.769, at 10.7 J per mg: Becker and Fricke (1996),
    /// International Journal of HVAC&amp;R Research 2:122, as used by the ASHRAE Refrigeration handbook; digits from memory.
    /// </summary>
    public static double RespirationWPerKg(double pulpC) => Co2MgPerKgHour(pulpC) * 10.7 / 3600;

    private static double Co2MgPerKgHour(double pulpC) => 1.709e-2 * Math.Pow(Math.Max(0, 1.8 * pulpC + 32), 1.769);

    // 1 mg of CO2 is about 0.54 ml at cellar temperature.
    private static double Co2(RoomShape shape, RoomState was, double pulpC, double airPerSecond, double seconds)
    {
        var ppmPerSecond = shape.ProduceKg * shape.RespirationShare * Co2MgPerKgHour(pulpC) / 3600 * 0.54 / shape.VolumeM3;
        var share = airPerSecond / shape.VolumeM3;
        return (was.Co2Ppm + seconds * (ppmPerSecond + share * OutdoorCo2Ppm)) / (1 + seconds * share);
    }

    private static double VapourKg(RoomShape shape, double airC, double vapourPa) =>
        vapourPa * shape.VolumeM3 / (MoistAir.WaterGasConstant * (airC + Saturation.ZeroCelsiusK));
}
