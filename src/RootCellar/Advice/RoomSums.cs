using RootCellar.Lots;
using RootCellar.Places;
using RootCellar.Science.Air;
using RootCellar.Science.Cellar;
using RootCellar.Science.Crops;
using RootCellar.Science.Keeping;
using RootCellar.Watch;
using Band = RootCellar.Watch.Band;

namespace RootCellar.Advice;

/// <summary>
/// The room's own sums beside the judgement: how long, how much, how far. They advise nothing by themselves: whether to open, to shut or
/// to wet the floor is the judgement's, and where it keeps people out no work in the room is put into figures.
/// </summary>
internal sealed class RoomSums(RoomsLearned rooms)
{
    /// <summary>A warm day's digging: 75 F (assumed).</summary>
    public const double UsualLoadC = 24;

    public const double MostKg = 100_000;
    public const double ColdestLoadC = -2;
    public const double WarmestLoadC = 45;

    // What an open door is told for, where nothing says when to shut it, min.
    private const double Look = 30;

    public static bool CanBe(double kg, double celsius) => kg is > 0 and <= MostKg && celsius is >= ColdestLoadC and <= WarmestLoadC;

    public RoomFigures Of(PlaceJudgement judgement, Band? band, LotViews lots, LoadAsked? asked)
    {
        var learned = rooms.Of(judgement.Place.Id, judgement.Outdoors?.Place);
        var response = learned.Response;
        IReadOnlyList<BinEstimate> bins = [.. lots.Bins.Values.Where(b => b.Place == judgement.Place.Id)];
        double? air = judgement.Place.VolumeM3 is { } m3 ? GasBalance.AirM3(m3, bins.Sum(b => b.Kg.Value)) : null;
        var (door, floor, load) = (new DoorFigures(DoorSays.Nothing), new FloorFigures(FloorSays.Nothing), (LoadFigures?)null);
        var keepsOut = judgement.Order.Any(s => s.Kind is StepKind.StayOut or StepKind.StayOutAndCall);
        if (band is not null && judgement.Air is { Quality: not AirQuality.None } now && !keepsOut)
        {
            door = DoorOf(judgement, now, band, response);
            floor = FloorOf(judgement, now, band, response, air);
            load = LoadOf(judgement, now, band, learned, asked, bins);
        }

        return new RoomFigures(response, judgement.Place.VolumeM3, door, floor, load, BreathOf(judgement, bins, response, air));
    }

    private static DoorFigures DoorOf(PlaceJudgement judgement, PlaceAir now, Band band, RoomResponse response)
    {
        if (judgement.Order.Any(s => s.Kind == StepKind.AirFirst)) return new DoorFigures(DoorSays.Nothing);
        if (judgement.Outdoors is not { Quality: not AirQuality.None } outdoors) return new DoorFigures(DoorSays.Nothing);
        var door = Door.Of(now, outdoors, band);
        var opens = judgement.Order.Any(s => s.Kind == StepKind.Open);
        if (door.WouldFreeze) return new DoorFigures(DoorSays.WouldFreeze);
        if (door.WouldWet) return new DoorFigures(DoorSays.WouldWet);
        if (Airs(now, outdoors) is not var (inside, outside)) return new DoorFigures(DoorSays.Nothing);
        if (judgement.Order.Any(s => s.Shuts)) return new DoorFigures(DoorSays.NoHelp);
        var airing = new Airing(inside, outside, now.ColdestProduce?.TemperatureC ?? inside.TemperatureC, response);
        var until = opens ? judgement.Order.FirstOrDefault(s => s.Kind == StepKind.ShutAt)?.Celsius : null;
        var taken = until is { } target ? airing.MinutesTo(target) : default;
        return new DoorFigures(
            opens ? DoorSays.Open : DoorSays.IfOpened,
            until,
            until is null ? null : new TimeTaken(taken.Soonest, taken.Expected, taken.Latest),
            airing.After(Look));
    }

    private static (AirState Inside, AirState Outside)? Airs(PlaceAir now, PlaceAir outdoors) =>
        State(now) is { } inside && State(outdoors) is { } outside ? (inside, outside) : null;

    // Where nobody measures humidity nothing is told of the air that comes: half of it would be invented.
    private static AirState? State(PlaceAir air) =>
        air is { TemperatureC: >= RoomAir.ColdestC and <= RoomAir.WarmestC and var t, RelativeHumidityPercent: { } rh }
            ? MoistAir.At(t, Math.Clamp(rh, MoistAir.LowestHumidityPercent, 100))
            : null;

    private static FloorFigures FloorOf(PlaceJudgement judgement, PlaceAir now, Band band, RoomResponse response, double? airM3)
    {
        if (State(now) is not { TemperatureC: >= 0 } inside) return new FloorFigures(FloorSays.Nothing);
        if (band.KeptDry || band.KeepsDryToo) return new FloorFigures(FloorSays.KeptDry);
        var wanted = band.Air.HumidityLowPercent;
        if (inside.RelativeHumidityPercent >= wanted) return new FloorFigures(FloorSays.NoNeed, wanted);
        if (!PlaceJudge.Wettable(now, band)) return new FloorFigures(FloorSays.WouldWet, wanted);
        // Too dry by the judgement without wet floor among its work: frost is dealt with first.
        if (judgement.Findings.Any(f => f.Calls && f.Rule is Rule.FreezingNear)) return new FloorFigures(FloorSays.Nothing);
        var rate = response.Leak.ReturnPerHour;
        return new FloorFigures(FloorSays.Put, wanted, airM3 is not { } m3 ? null : new Interval(
            FloorWater.LitresPerDay(inside, wanted, m3, rate.Low), FloorWater.LitresPerDay(inside, wanted, m3, rate.Value),
            FloorWater.LitresPerDay(inside, wanted, m3, rate.High)));
    }

    private static LoadFigures? LoadOf(PlaceJudgement judgement, PlaceAir now, Band band, RoomLearned learned, LoadAsked? asked,
        IReadOnlyList<BinEstimate> bins)
    {
        var kinds = judgement.Place.Crops.Select(c => bins.FirstOrDefault(b => b.Kind.Id == c)?.Kind ?? CropTable.Default.Find(c));
        if (kinds.FirstOrDefault(c => c is not null) is not { } crop) return null;
        var (loadC, highC) = (asked?.TemperatureC ?? UsualLoadC, band.Air.TemperatureHighC);
        var none = new LoadFigures(crop.Id, loadC, highC, null, false);
        if (now.TemperatureC is not { } air) return none;
        var natural = Math.Max(air, learned.MeanC ?? air);
        if (natural >= highC || judgement.Findings.Any(f => f.Calls && f.Rule == Rule.TooWarm)) return none with { TooWarmNow = true };
        if (judgement.Place.VolumeM3 is not { } m3 || natural < -5) return none;
        var load = new WarmLoad(m3, natural, highC, learned.Response.Heat, crop);
        var factor = load.Factor;
        var figures = none with
        {
            KgPerDay = loadC <= highC ? null
                : new Interval(load.KgPerDay(loadC, 1 / factor), load.KgPerDay(loadC), load.KgPerDay(loadC, factor)),
        };
        if (asked?.Kg is not { } kg) return figures;
        var (hard, middle, easy) = (load.Of(kg, loadC, 1 / factor), load.Of(kg, loadC), load.Of(kg, loadC, factor));
        return figures with
        {
            Kg = kg,
            HeatMegajoules = middle.HeatMegajoules,
            BreathWatts = middle.BreathWatts,
            Hours = new TimeTaken(easy.Hours, middle.Hours, hard.Hours),
            WarmestAirC = new Interval(easy.WarmestAirC, middle.WarmestAirC, hard.WarmestAirC),
        };
    }

    private static BreathFigures? BreathOf(PlaceJudgement judgement, IReadOnlyList<BinEstimate> bins, RoomResponse response, double? airM3)
    {
        double milligrams = 0, kg = 0;
        foreach (var bin in bins)
        {
            var crop = bin.Kind;
            var pulp = double.IsFinite(bin.PulpC) ? Math.Clamp(bin.PulpC, -5, 45) : 10;
            var fresh = bin.Rule == Science.Keeping.CuringRule.Potato
                ? Breath.FreshnessFactor(Math.Max(0, (bin.At - bin.DugAt).TotalDays)) : 1;
            (kg, milligrams) = (kg + bin.Kg.Value, milligrams + (bin.Kg.Value * crop.Respiration.At(pulp) * fresh));
        }

        if (kg <= 0) return null;
        var measured = judgement.Air is { Quality: not AirQuality.None } air ? air.Co2Ppm : null;
        var from = Math.Clamp(measured ?? GasBalance.OutsidePpm, 0, 1e6);
        var figures = new BreathFigures(kg, milligrams / 1000, from, measured is not null, null, null);
        if (airM3 is not { } m3) return figures;
        var ml = milligrams / GasBalance.MgPerMl(Math.Clamp(judgement.Air?.TemperatureC ?? 10, -40, 60));
        var (n, off) = (response.Leak.ChangesPerHour, GasBalance.BreathFactor);
        // Both doubts together by the root of the sum of squares of their logarithms.
        double Together(double leak) => Math.Exp(Math.Sqrt(Math.Pow(Math.Log(off), 2) + Math.Pow(Math.Log(leak), 2)));
        var (more, less) = (Together(n.Value / n.Low), Together(n.High / n.Value));
        double Steady(double times) => GasBalance.OutsidePpm + ((GasBalance.SteadyPpm(ml, m3, n.Value) - GasBalance.OutsidePpm) * times);
        double? Hours(double leak, double breath) => GasBalance.HoursTo(RoomCaution.WorkingDayPpm, from, ml * breath, m3, leak);
        return figures with
        {
            SteadyPpm = new Interval(Steady(1 / less), Steady(1), Steady(more)),
            HoursToLimit = new TimeTaken(Hours(n.Low, off), Hours(n.Value, 1), Hours(n.High, 1 / off)),
        };
    }
}
