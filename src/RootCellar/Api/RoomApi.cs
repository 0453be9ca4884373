using System.ComponentModel;
using RootCellar.Advice;
using RootCellar.Household;
using RootCellar.Lots;
using RootCellar.Monitoring;
using RootCellar.Places;
using RootCellar.Science.Air;
using RootCellar.Science.Cellar;

namespace RootCellar.Api;

/// <summary>What one room does, by its own response: the figures of its page.</summary>
internal static class RoomApi
{
    public static void Map(RouteGroupBuilder group) => group.MapGet("{place}/room", Of)
        .WithName("readRoom").WithSummary("What the room would do: vent opened now, water on the floor, a load of warm crop, the breathing of what is in it.")
        .Produces<RoomFiguresShape>();

    private static IResult Of(
        string place,
        [Description("Of a load of warm crop: its weight, kg.")] double? kg,
        [Description("Of a load of warm crop: the temperature inside it, C; 24 where not said.")] double? celsius,
        Pipeline pipeline,
        RoomSums sums,
        LotKeeper lots)
    {
        if (pipeline.Snapshot.Place(place) is not { } view) return ApiRoutes.Missing($"There is no place '{place}'.");
        if (view.Place.Purpose == Purpose.Outdoors) return ApiRoutes.Missing($"'{place}' is outdoors: it is no room.");
        if (!RoomSums.CanBe(kg ?? 1, celsius ?? RoomSums.UsualLoadC))
        {
            return ApiRoutes.Wrong(
                $"kg, celsius: a load is over 0 up to {RoomSums.MostKg} kg, at {RoomSums.ColdestLoadC} to {RoomSums.WarmestLoadC} C. "
                + "Right: kg=180&celsius=24.");
        }

        LoadAsked? asked = kg is null && celsius is null ? null : new LoadAsked(kg, celsius ?? RoomSums.UsualLoadC);
        return Results.Ok(RoomFiguresShape.Of(view.Place.Id, sums.Of(view.Judgement, view.Band, lots.Views, asked)));
    }
}

/// <summary>How well the room is known; a doubt says why a part is assumed, null that it was learned.</summary>
internal sealed record RoomKnownShape(
    double Hours, RoomDoubt? HeatDoubt, RangeShape ShareAtOnce, RangeShape ShareInTheLongRun, RangeShape SlowHours,
    RoomDoubt? LeakDoubt, RangeShape AirChangesPerHour, RangeShape VapourReturnPerHour,
    RoomDoubt? OpeningDoubt, int Openings, RangeShape OpeningShare, RangeShape OpeningMinutes)
{
    public static RoomKnownShape Of(RoomResponse r) => new(
        Math.Round(r.Hours, 1), r.Heat.Doubt, RangeShape.Of(r.Heat.AtOnce), RangeShape.Of(r.Heat.InTheLongRun),
        RangeShape.Of(r.Heat.SlowHours, 1), r.Leak.Doubt, RangeShape.Of(r.Leak.ChangesPerHour), RangeShape.Of(r.Leak.ReturnPerHour),
        r.Opening.Doubt, r.Opening.Times, RangeShape.Of(r.Opening.Share), RangeShape.Of(r.Opening.Minutes, 1));
}

/// <summary>Null: it does not come about, or not in the time looked ahead.</summary>
internal sealed record TimeTakenShape(double? Soonest, double? Expected, double? Latest)
{
    public static TimeTakenShape? Of(TimeTaken? t) => t is null ? null : new(Round(t.Soonest), Round(t.Expected), Round(t.Latest));

    private static double? Round(double? value) => value is { } v ? Math.Round(v, 1) : null;
}

internal sealed record AiredShape(double Minutes, double TemperatureC, double RelativeHumidityPercent, double PulpC, bool Wets);

internal sealed record RoomDoorShape(DoorSays Says, double? UntilC, TimeTakenShape? Minutes, AiredShape? After, string Source)
{
    public static RoomDoorShape Of(DoorFigures d) => new(
        d.Says, d.UntilC is { } until ? Math.Round(until, 2) : null, TimeTakenShape.Of(d.Until),
        d.After is { } a
            ? new AiredShape(a.Minutes, Math.Round(a.AirC, 1), Math.Round(a.AirPercent), Math.Round(a.PulpC, 1), a.Wets) : null,
        Strings.RoomSourceDoor);
}

internal sealed record RoomFloorShape(FloorSays Says, double? ToPercent, RangeShape? LitresPerDay, string Source)
{
    public static RoomFloorShape Of(FloorFigures f) =>
        new(f.Says, f.ToPercent, f.LitresPerDay is { } l ? RangeShape.Of(l, 2) : null, Strings.RoomSourceFloor);
}

internal sealed record RoomLoadShape(
    string Crop, double TemperatureC, double BandHighC, RangeShape? KgPerDay, bool TooWarmNow, double? Kg, double? HeatMegajoules,
    double? BreathWatts, TimeTakenShape? HoursToBand, RangeShape? WarmestAirC, string Source)
{
    public static RoomLoadShape? Of(LoadFigures? l) => l is null ? null : new(
        l.Crop, l.TemperatureC, Math.Round(l.HighC, 2), l.KgPerDay is { } kg ? RangeShape.Of(kg, 0) : null, l.TooWarmNow, l.Kg,
        l.HeatMegajoules is { } heat ? Math.Round(heat, 1) : null, l.BreathWatts is { } watts ? Math.Round(watts, 1) : null,
        TimeTakenShape.Of(l.Hours), l.WarmestAirC is { } c ? RangeShape.Of(c, 1) : null, Strings.RoomSourceLoad);
}

internal sealed record RoomBreathShape(
    double Kg, double Co2GramsPerHour, double FromPpm, bool Measured, RangeShape? SteadyPpm, bool ReadsMore, double LimitPpm,
    TimeTakenShape? HoursToLimit, string Source, string Caution)
{
    public static RoomBreathShape? Of(BreathFigures? b) => b is null ? null : new(
        Math.Round(b.Kg, 1), Math.Round(b.GramsPerHour, 2), Math.Round(b.FromPpm), b.Measured,
        b.SteadyPpm is { } ppm ? RangeShape.Of(ppm, 0) : null, b.ReadsMore, RoomCaution.WorkingDayPpm, TimeTakenShape.Of(b.HoursToLimit),
        Strings.RoomSourceBreath, Strings.RoomAirCaution);
}

/// <summary>What depends on the volume is null where that is not known; load and breath are null where there is nothing to say.</summary>
internal sealed record RoomFiguresShape(
    string Place, double? VolumeM3, RoomKnownShape Known, RoomDoorShape Door, RoomFloorShape Floor, RoomLoadShape? Load,
    RoomBreathShape? Breath)
{
    public static RoomFiguresShape Of(string place, RoomFigures f) => new(
        place, f.VolumeM3, RoomKnownShape.Of(f.Response), RoomDoorShape.Of(f.Door), RoomFloorShape.Of(f.Floor), RoomLoadShape.Of(f.Load),
        RoomBreathShape.Of(f.Breath));
}
