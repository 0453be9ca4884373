using RootCellar.Places;
using RootCellar.Science.Cellar;
using RootCellar.Watch;

namespace RootCellar.Advice;

/// <summary>
/// The one judgement of a room: what is wrong, and one order of work for all of it. Pure. Door and vent are decided once
/// (<see cref="Door"/>), so that two findings can never ask for opposite things.
/// </summary>
internal static class PlaceJudge
{
    // Opened against warmth, the room is let come this share of its band inside the limit before it is shut (assumed).
    private const double ShareInside = 1.0 / 3;

    // Damp air is aired until it is so far inside its limit, % (assumed: the deadband).
    private const double PercentInside = 3;

    /// <param name="air">Null or without quality: nothing is known of now.</param>
    /// <param name="band">Null: nothing is judged there.</param>
    public static PlaceJudgement Of(Place place, PlaceAir? air, Band? band, IReadOnlyList<StandingLimit> standing, PlaceAir? outdoors)
    {
        var findings = standing.Where(s => s.Shown is { Value: not null, Limit: not null }).Select(Found).OrderByDescending(Weight)
            .ToList();
        var known = air is { Quality: not AirQuality.None };
        var order = new List<Step>();
        DecidingFact? decides = null;
        if (air is not null) decides = Decide(air, band, findings, known ? outdoors : null, order);
        return new PlaceJudgement(place, StateOf(findings, known, band), findings, order, decides, air, outdoors, band?.FreezingPointC);
    }

    /// <summary>What is left to do once some of it is over: what the room still asks for, and what an end asks for itself.</summary>
    public static IReadOnlyList<Step> AfterEnd(PlaceJudgement judgement, IEnumerable<(Rule Rule, Measure Measure)> over)
    {
        List<Step> order = [];
        var ended = over.ToList();
        if (ended.Exists(e => e.Rule == Rule.Co2High)) order.Add(new Step(StepKind.StillAirFirst));
        order.AddRange(judgement.Order);
        if (ended.Exists(e => e.Rule == Rule.FreezingNear)) order.Add(new Step(StepKind.LookForFrost));
        if (ended.Exists(e => e.Rule == Rule.TooWet && e.Measure == Measure.DewMargin)) order.Add(new Step(StepKind.LookForWet));
        if (order.Count == 0 && judgement.Findings.Count == 0 && ended.Exists(e => OfAir.Contains(e.Rule)))
            order.Add(new Step(StepKind.ShutIfOpen));
        return order;
    }

    /// <summary>An alarm as a finding, where only its own record is at hand.</summary>
    public static Finding? Found(Alarm a) => a is { Value: { } value, Limit: { } limit }
        ? new Finding(a.Rule, a.Active ? StandingState.Alarm : StandingState.Returning, a.Measure, value, limit, a.Worst, a.Sensor, a.Since,
            null, a.Id)
        : null;

    private static Finding Found(StandingLimit s) => new(
        s.Rule, s.State, s.Shown.Measure, s.Shown.Value!.Value, s.Shown.Limit!.Value, s.Worst, s.Shown.Sensor, s.Since, s.Until, s.Alarm);

    private static RoomState StateOf(List<Finding> findings, bool known, Band? band) =>
        findings.Any(f => f.State == StandingState.Alarm) ? RoomState.Alarm
        : findings.Any(f => f.State == StandingState.Pending) ? RoomState.Pending
        : findings.Count > 0 ? RoomState.Returning
        : known && band is not null ? RoomState.Fine : RoomState.Unknown;

    // What endangers people, then what cannot be undone, then what was beyond its limit longest.
    private static (bool Calls, AlarmPriority Priority, bool Gas, double Held) Weight(Finding f) =>
        (f.Calls, f.Priority, f.Rule == Rule.Co2High, -f.Since.UtcTicks);

    private static DecidingFact? Decide(PlaceAir air, Band? band, List<Finding> findings, PlaceAir? outdoors, List<Step> order)
    {
        var wrong = findings.Where(f => f.Calls).Select(f => f.Rule).ToHashSet();
        if (findings.Find(f => f.Rule == Rule.Co2High && f.Calls) is { } gas)
        {
            var level = RoomCaution.Of(Math.Clamp(gas.Value, 0, 1e6));
            if (level >= RoomCautionLevel.ShortTermLimit)
            {
                // Nothing else is asked of anyone who would have to go in for it.
                order.Add(new Step(level == RoomCautionLevel.ImmediatelyDangerous ? StepKind.StayOutAndCall : StepKind.StayOut));
                return null;
            }

            order.Add(new Step(StepKind.AirFirst));
        }

        var decides = band is not null && wrong.Overlaps(OfAir) ? AtTheDoor(air, band, wrong, outdoors, order) : null;
        if (wrong.Contains(Rule.LightInTheDark)) order.Add(new Step(StepKind.LampOff));
        if (wrong.Count == 0 && findings.Exists(f => OfAir.Contains(f.Rule))) order.Add(new Step(StepKind.ShutIfOpen));
        return decides;
    }

    private static readonly HashSet<Rule> OfAir = [Rule.TooWarm, Rule.TooCold, Rule.FreezingNear, Rule.TooDry, Rule.TooWet];

    private static DecidingFact? AtTheDoor(PlaceAir air, Band band, HashSet<Rule> wrong, PlaceAir? outdoors, List<Step> order)
    {
        var (warm, freezing) = (wrong.Contains(Rule.TooWarm), wrong.Contains(Rule.FreezingNear));
        var cold = freezing || wrong.Contains(Rule.TooCold);
        var airedFirst = order.Exists(s => s.Kind == StepKind.AirFirst);
        var outC = outdoors is { Quality: not AirQuality.None } ? outdoors.TemperatureC : null;
        var door = outC is null ? new Door(DoorAction.Leave) : Door.Of(air, outdoors!, band);
        List<Step> later = [];
        if (airedFirst || band.FrostOnly)
        {
            // The door is spoken for: it is opened for whoever goes in. A clamp has none.
        }
        else if (door.Action == DoorAction.Open)
        {
            order.Add(new Step(StepKind.Open));
            if (UntilWhen(band, wrong, warm, cold, outC!.Value) is { } until) later.Add(until);
        }
        else if (door.Action == DoorAction.Shut || cold)
        {
            order.Add(new Step(StepKind.KeepShut));
            if (door.WouldFreeze && warm) order.Add(new Step(StepKind.HeaterOff));
            else if (warm && outC is not null)
                later.AddRange([new Step(StepKind.OpenOnceUnder, Celsius: Door.OpenUnderC(air, band)), new Step(StepKind.ShutBySunup)]);
        }
        else if (warm || wrong.Contains(Rule.TooWet))
        {
            order.Add(new Step(StepKind.OpenIfUnder, Celsius: Door.OpenUnderC(air, band)));
        }

        InTheRoom(air, band, wrong, order);
        order.AddRange(later);
        if (outC is not { } c || !order.Exists(s => s.Kind is StepKind.Open or StepKind.KeepShut)) return null;
        return new DecidingFact(c, door.WouldWet ? true : null);
    }

    private static void InTheRoom(PlaceAir air, Band band, HashSet<Rule> wrong, List<Step> order)
    {
        var freezing = wrong.Contains(Rule.FreezingNear);
        var cold = freezing || wrong.Contains(Rule.TooCold);
        if (cold) order.Add(new Step(StepKind.CoverBins));
        if (freezing) order.Add(new Step(StepKind.DoNotMoveFrozen));
        if (wrong.Contains(Rule.TooWet))
        {
            var sweats = air.ColdestProduce is { } produce && air.DewPointC > produce.TemperatureC;
            order.Add(new Step(!sweats && band.KeptDry ? StepKind.SpreadOut : StepKind.FanOverBins));
        }
        else if (wrong.Contains(Rule.TooDry) && !freezing && Wettable(air, band))
        {
            order.Add(new Step(band.KeepsDryToo ? StepKind.CoverDamp : StepKind.WetFloor));
        }
    }

    // Not where the wanted humidity would leave the coldest produce within the margin of its dew point.
    internal static bool Wettable(PlaceAir air, Band band)
    {
        if (air.TemperatureC is not { } t || t is < -5 or > 45) return true;
        var pulp = Math.Clamp(air.ColdestProduce?.TemperatureC ?? t, -5, 45);
        return pulp >= t || FloorWater.HighestHumidityPercent(t, pulp) >= band.Air.HumidityLowPercent;
    }

    private static Step? UntilWhen(Band band, HashSet<Rule> wrong, bool warm, bool cold, double outC)
    {
        var (low, high) = (band.Air.TemperatureLowC, band.Air.TemperatureHighC);
        if (warm)
        {
            var until = high - ((high - low) * ShareInside);
            return outC < until ? new Step(StepKind.ShutAt, Celsius: until) : new Step(StepKind.ShutOnceWarmerOut);
        }

        if (cold) return outC > low ? new Step(StepKind.ShutAt, Celsius: Math.Min(outC, low + ((high - low) * ShareInside))) : null;
        if (wrong.Contains(Rule.TooWet))
            return new Step(StepKind.ShutAtHumidity, Percent: (band.KeptDry ? band.Air.HumidityHighPercent : 98) - PercentInside);
        return wrong.Contains(Rule.TooDry) ? new Step(StepKind.ShutAtHumidity, Percent: band.Air.HumidityLowPercent + PercentInside) : null;
    }
}
