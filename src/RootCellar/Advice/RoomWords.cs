using RootCellar.Household;
using RootCellar.Science;
using RootCellar.Science.Air;
using RootCellar.Science.Cellar;

namespace RootCellar.Advice;

/// <summary>What a room does, in the household's words and units, for the room's page.</summary>
internal sealed class RoomWords(Show show)
{
    private const double QuartLitres = 0.946352946;

    /// <summary>From what the room is known, and what of it is not.</summary>
    public static string Known(RoomResponse room)
    {
        if (room.Heat.Doubt is RoomDoubt.NoOutdoorAir) return Strings.RoomNoOutdoors;
        if (room.Heat.Doubt is RoomDoubt.TooFewHours) return Strings.RoomTooFewHours;
        var from = Strings.RoomLearnedFrom.With(Show.Span(TimeSpan.FromHours(room.Hours)));
        List<string> assumed = [];
        if (room.Heat.Doubt is not null) assumed.Add(Strings.RoomPartHeat);
        if (room.Leak.Doubt is not null) assumed.Add(Strings.RoomPartLeak);
        if (room.Opening.Doubt is not null) assumed.Add(Strings.RoomPartDoor);
        return assumed.Count == 0 ? from
            : assumed.Count == 3 ? Strings.RoomDoesNotTell
            : from + " " + Strings.RoomAssumed.With(string.Join("; ", assumed));
    }

    /// <returns>Null where nothing is said.</returns>
    public string? Door(DoorFigures door)
    {
        switch (door)
        {
            case { Says: DoorSays.WouldWet }: return Strings.RoomDoorWouldWet;
            case { Says: DoorSays.WouldFreeze }: return Strings.RoomDoorWouldFreeze;
            case { Says: DoorSays.NoHelp }: return Strings.RoomDoorNoHelp;
            case { Says: DoorSays.Open or DoorSays.IfOpened, After: { } after }:
                var then = (Degrees(after.AirC), Percent(after.AirPercent), Degrees(after.PulpC));
                var what = door.Says == DoorSays.IfOpened ? Strings.RoomDoorIfOpened.With(then.Item1, then.Item2, then.Item3)
                    : door is { UntilC: { } until, Until: { Expected: { } minutes } taken }
                        ? Strings.RoomDoorUntil.With(Degrees(until), Minutes(minutes), Between(taken, Minutes), then.Item3)
                    : door.UntilC is { } short_
                        ? Strings.RoomDoorNotUntil.With(Degrees(short_), then.Item1, then.Item2)
                    : Strings.RoomDoorOpen.With(then.Item1, then.Item2, then.Item3);
                return what + " " + (after.Wets ? Strings.RoomDoorMayWet : Strings.RoomDoorNotWet);
            default: return null;
        }
    }

    public string? Floor(FloorFigures floor) => floor.Says switch
    {
        FloorSays.KeptDry => Strings.RoomFloorDry,
        FloorSays.NoNeed => Strings.RoomFloorNoNeed.With(Percent(floor.ToPercent!.Value)),
        FloorSays.WouldWet => Strings.RoomFloorWouldWet.With(Percent(floor.ToPercent!.Value)),
        FloorSays.Put when floor.LitresPerDay is { } litres => Strings.RoomFloorPut.With(
            Percent(floor.ToPercent!.Value), Water(litres.Value), Between(Water(litres.Low), Water(litres.High))),
        FloorSays.Put => Strings.RoomFloorSize.With(Percent(floor.ToPercent!.Value)),
        _ => null,
    };

    public IEnumerable<string> Load(LoadFigures? load)
    {
        if (load is null) yield break;
        var crop = CropWords.Name(load.Crop);
        if (load.TooWarmNow) yield return Strings.RoomLoadTooWarm.With(Degrees(load.HighC));
        if (load.KgPerDay is { } kg)
        {
            yield return Strings.RoomLoadPerDay.With(
                show.Rough(kg.Value), crop, Degrees(load.TemperatureC), Degrees(load.HighC),
                Between(show.Rough(kg.Low), show.Rough(kg.High)));
        }

        if (load is not { Kg: { } asked, Hours: { } hours, WarmestAirC: { } warmest, HeatMegajoules: { } heat, BreathWatts: { } watts })
            yield break;
        var what = Strings.RoomLoadOf.With(show.Rough(asked), Degrees(load.TemperatureC));
        yield return hours.Expected is { } middle
            ? Strings.RoomLoadHours.With(what, Degrees(load.HighC), Hours(middle), Between(hours, Hours))
            : Strings.RoomLoadNever.With(what, Degrees(load.HighC));
        yield return (warmest.Value > load.HighC ? Strings.RoomLoadWarmsOver : Strings.RoomLoadWarms).With(
            Degrees(warmest.Value), Between(Degrees(warmest.Low), Degrees(warmest.High)), Degrees(load.HighC));
        yield return Strings.RoomLoadHeat.With(Units.Number(heat / 3.6, "0.#"), Units.Number(watts, "0"));
    }

    public IEnumerable<string> BreathOut(BreathFigures? breath)
    {
        if (breath is null) yield break;
        var grams = Units.Number(breath.GramsPerHour, breath.GramsPerHour < 10 ? "0.0" : "0");
        yield return Strings.RoomBreath.With(show.Rough(breath.Kg), grams);
        if (breath is { SteadyPpm: { } steady, HoursToLimit: { } hours })
        {
            var limit = Ppm(RoomCaution.WorkingDayPpm);
            var settles = Strings.RoomSettles.With(Ppm(steady.Value), Between(Ppm(steady.Low), Ppm(steady.High)));
            yield return hours switch
            {
                { Soonest: 0 } => Strings.RoomOverLimit.With(limit),
                _ when breath.ReadsMore => Strings.RoomReadsMore.With(Ppm(breath.FromPpm), Ppm(steady.High)),
                { Expected: { } middle } => Strings.RoomReaches.With(limit, Hours(middle), Between(hours, Hours)),
                { Soonest: { } soonest } => settles + " " + Strings.RoomMayReach.With(limit, Hours(soonest)),
                _ => settles,
            };
        }

        yield return Strings.RoomAirCaution;
    }

    private string Degrees(double celsius) => Units.Number(show.Degrees(celsius), "0") + "\u00A0" + show.TemperatureUnit;

    private static string Percent(double percent) => Units.Number(percent, "0") + "\u00A0%";

    private static string Ppm(double ppm) =>
        Units.Number(ppm >= 10_000 ? Math.Round(ppm / 1000) * 1000 : Math.Round(ppm / 100) * 100, "#,0") + "\u00A0ppm";

    // Cups are as fine as anybody pours.
    private string Water(double litres)
    {
        var (amount, unit) = show.Pounds ? (litres / QuartLitres, "qt") : (litres, "L");
        return Units.Number(amount < 10 ? Math.Max(0.25, Math.Round(amount * 4) / 4) : Math.Round(amount), "0.##") + "\u00A0" + unit;
    }

    private static string Minutes(double minutes) =>
        minutes >= 115 ? Hours(minutes / 60)
        : Strings.Minutes.With(minutes < 20 ? Math.Max(1, Math.Round(minutes)) : Math.Round(minutes / 5) * 5);

    private static string Hours(double hours) =>
        hours < 1.5 ? Minutes(hours * 60)
        : hours < 48 ? Strings.Hours.With(Math.Round(hours))
        : Strings.Days.With(Math.Round(hours / 24));

    private static string Between(TimeTaken taken, Func<double, string> say) => taken switch
    {
        { Soonest: { } soon, Latest: { } late } => Between(say(soon), say(late)),
        { Soonest: { } soon } => Strings.RoomOrNever.With(say(soon)),
        _ => Strings.RoomOrNever.With("?"),
    };

    /// <summary>The unit once, where both have the same.</summary>
    private static string Between(string low, string high)
    {
        if (low == high) return low;
        int lowUnit = low.LastIndexOf('\u00A0'), highUnit = high.LastIndexOf('\u00A0');
        var same = lowUnit > 0 && highUnit > 0 && low[lowUnit..] == high[highUnit..];
        return Strings.Range.With(same ? low[..lowUnit] : low, high);
    }
}
