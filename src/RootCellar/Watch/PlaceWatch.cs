using RootCellar.Places;
using RootCellar.Readings;

namespace RootCellar.Watch;

/// <summary>One place's air, held against the limits in force there.</summary>
internal sealed class PlaceWatch
{
    // Sensor error 0.5 C and a cold spot in the room: assumed. A DS18B20 or SHT3x is no better than that.
    public const double FreezingMarginC = 0.8;
    private const double FreezingDeadbandC = 0.3;

    // Air without a probe in the produce: 0.3 C above its dew point is about 98 % RH, where cheap sensors stop telling apart.
    private const double AirMarginC = 0.3;
    private const double DewDeadbandC = 0.5;
    private const double AirWetPercent = 98;

    // Assumed: below this a lamp is off; a fifth of the limit keeps dusk from ringing twice.
    private const double LightDeadbandShare = 0.2;
    private const double Co2DeadbandShare = 0.1;

    // The place air comes every 5 minutes. One that is older than two of them says nothing about now.
    private static readonly TimeSpan AirHolds = TimeSpan.FromMinutes(10);

    // Further ahead than this the air will not stay as it is (assumed), and no hour is said.
    private static readonly TimeSpan Foreseen = TimeSpan.FromHours(24);

    // What raised an alarm should also end it. A probe gone for this long is gone (assumed), and the other one decides.
    private static readonly TimeSpan ProbeGone = TimeSpan.FromHours(6);

    private readonly WatchOptions options;
    private readonly Limit freezing, cold, warm, dry, dew, damp, light, co2;
    private readonly Slot freezingSlot, coldSlot, warmSlot, drySlot, wetSlot, lightSlot, co2Slot;
    private readonly Dictionary<Limit, TimeSpan> preferredSeen = [];
    private readonly ColdestSensor coldest = new();
    private readonly Agreement agreement;
    private PlaceAir? air;
    private Band? band;
    private TimeSpan airAt;
    private bool dampLeads;

    public PlaceWatch(string place, WatchOptions options)
    {
        this.options = options;
        agreement = new Agreement(place, options);
        freezing = new Limit(Side.Below, FreezingDeadbandC, options.UrgentOnDelay, options.OffDelay);
        cold = new Limit(Side.Below, options.Temperature.DeadbandC, options.OnDelay, options.OffDelay);
        warm = new Limit(Side.Above, options.Temperature.DeadbandC, options.OnDelay, options.OffDelay);
        dry = new Limit(Side.Below, options.Humidity.DeadbandPercent, options.OnDelay, options.OffDelay);
        dew = new Limit(Side.Below, DewDeadbandC, options.OnDelay, options.OffDelay);
        damp = new Limit(Side.Above, options.Humidity.DeadbandPercent, options.OnDelay, options.OffDelay);
        light = new Limit(Side.Above, options.LightLux * LightDeadbandShare, options.OnDelay, options.OffDelay);
        co2 = new Limit(Side.Above, options.Co2Ppm * Co2DeadbandShare, options.UrgentOnDelay, options.OffDelay);
        freezingSlot = new Slot(Rule.FreezingNear, place, null, Side.Below);
        coldSlot = new Slot(Rule.TooCold, place, null, Side.Below);
        warmSlot = new Slot(Rule.TooWarm, place, null, Side.Above);
        drySlot = new Slot(Rule.TooDry, place, null, Side.Below);
        wetSlot = new Slot(Rule.TooWet, place, null, Side.Above);
        lightSlot = new Slot(Rule.LightInTheDark, place, null, Side.Above);
        co2Slot = new Slot(Rule.Co2High, place, null, Side.Above);
    }

    private IEnumerable<(Slot Slot, Limit[] Limits)> All =>
    [
        (freezingSlot, [freezing]), (coldSlot, [cold]), (warmSlot, [warm]), (drySlot, [dry]),
        (wetSlot, [dew, damp]), (lightSlot, [light]), (co2Slot, [co2]),
    ];

    /// <param name="unjudged">Why nothing is judged where there is no band.</param>
    public void Observe(PlaceAir newAir, Band? newBand, WhyEnded unjudged, AlarmBook book, Now now)
    {
        (air, band, airAt) = (newAir, newBand, now.Mono);
        if (band is null) WithdrawOfCrops(unjudged, book, now);
        Judge(newAir, book, now);
    }

    /// <summary>Between two air records the last one stands, so that a delay ends when it ends and not at the next record.</summary>
    public void Tick(AlarmBook book, Now now)
    {
        if (air is { Quality: not AirQuality.None } && now.Mono - airAt <= AirHolds)
        {
            Judge(air, book, now);
            return;
        }

        // Nobody sees the air: what it does meanwhile counts neither for an alarm nor for its end.
        foreach (var (_, limits) in All)
        {
            foreach (var limit in limits)
                limit.Observe(null, 0, now.Mono);
        }

        Settle(book, now, default, default, default, default, default, default);
        book.Settle(co2Slot, Condition.Of(co2, default), null, now);
        agreement.Observe(null, book, now);
    }

    /// <summary>A sensor left the place.</summary>
    public void Forget(string sensor, WhyEnded why, AlarmBook book, Now now)
    {
        coldest.Forget(sensor);
        agreement.Forget(sensor, why, book, now);
    }

    public bool Resume(Alarm alarm, AlarmBook book, Now now)
    {
        if (agreement.Resume(alarm, book, now))
            return true;

        foreach (var (slot, limits) in All)
        {
            if (slot.Rule != alarm.Rule)
                continue;

            book.Resume(slot, alarm, now);
            if (alarm.Rule == Rule.FreezingNear)
                coldest.Resume(alarm, now.Mono);
            dampLeads = alarm.Rule == Rule.TooWet ? alarm is { Measure: Measure.Humidity, Limit: < 90 } : dampLeads;
            if (alarm.Active)
                limits[alarm.Rule == Rule.TooWet && dampLeads ? 1 : 0].Resume(slot.Since);
            return true;
        }

        return false;
    }

    public void Withdraw(WhyEnded why, AlarmBook book, Now now)
    {
        WithdrawOfCrops(why, book, now);
        Withdraw(co2Slot, [co2], why, book, now);
    }

    // What is judged for the sake of crops; carbon dioxide is for people.
    private void WithdrawOfCrops(WhyEnded why, AlarmBook book, Now now)
    {
        foreach (var (slot, limits) in All.Where(a => a.Slot != co2Slot)) Withdraw(slot, limits, why, book, now);
        agreement.Withdraw(why, book, now);
    }

    private static void Withdraw(Slot slot, Limit[] limits, WhyEnded why, AlarmBook book, Now now)
    {
        foreach (var limit in limits) limit.Reset();
        book.Withdraw(slot, why, now);
    }

    /// <summary>Every limit of the air that is broken, on its way to an alarm, in alarm, or on its way back.</summary>
    public IEnumerable<StandingLimit> Standing(Now now)
    {
        foreach (var (slot, limits) in All)
        {
            if (slot.Last.Value is null || (slot.Rule == Rule.TooCold && freezing.Running)) continue;
            var running = limits.Where(limit => limit.Running).ToList();
            if (running.Count == 0) continue;
            var active = running.Any(limit => limit.Active);
            var lead = slot.Rule == Rule.TooWet && running.Count == 2 ? (dampLeads ? damp : dew) : running[0];
            var back = active && limits.All(limit => !limit.Running || !limit.Beyond);
            var returning = back && running.All(limit => limit.ReturningSince is not null);
            var left = back && !returning ? null : lead.Left;
            yield return new StandingLimit(
                slot.Rule,
                !active ? StandingState.Pending : back ? StandingState.Returning : StandingState.Alarm,
                slot.Last,
                slot.Worst,
                now.Wall - (now.Mono - lead.Since),
                left is { } span && span < Foreseen ? now.Wall + span : null,
                slot.Alarm is { Active: true } alarm ? alarm.Id : null);
        }
    }

    // How far the sensors that measure this may be off, going by the least sure.
    private static double SensorsOff(PlaceAir a, Measure measure)
    {
        var (quantity, otherwise) = measure switch
        {
            Measure.Pulp => (Quantity.Pulp, Agreement.SensorC),
            Measure.Air => (Quantity.Temperature, Agreement.SensorC),
            _ => (Quantity.Humidity, Agreement.SensorPercent),
        };
        return a.Sensors.Where(sensor => sensor.Quantity == quantity).Select(sensor => sensor.PlusOrMinus ?? otherwise)
            .DefaultIfEmpty(otherwise).Max();
    }

    private void Judge(PlaceAir a, AlarmBook book, Now now)
    {
        if (band is not null) Judge(a, band, book, now);
        // It is people that carbon dioxide endangers first, whatever stands there.
        co2.Observe(a.Co2Ppm, options.Co2Ppm, now.Mono);
        book.Settle(co2Slot, Condition.Of(co2, new Shown(Measure.Co2, a.Co2Ppm, options.Co2Ppm)), null, now);
    }

    private void Judge(PlaceAir a, Band b, AlarmBook book, Now now)
    {
        var mono = now.Mono;
        var pulp = a.ColdestProduce?.TemperatureC;

        var freezingLimit = b.FreezingPointC + FreezingMarginC;
        if (b.FrostOnly)
        {
            freezing.Observe(pulp, freezingLimit, mono);
            var inProduce = new Shown(Measure.Pulp, pulp, freezingLimit, a.ColdestProduce?.Sensor);
            book.Settle(freezingSlot, Condition.Of(freezing, inProduce), null, now);
            foreach (var (slot, limits) in All.Where(l => l.Slot != freezingSlot && l.Slot != co2Slot))
                Withdraw(slot, limits, WhyEnded.NotJudged, book, now);
            agreement.Withdraw(WhyEnded.NotJudged, book, now);
            return;
        }

        var near = coldest.Of(a, freezingLimit, freezing.Active, mono);
        freezing.Observe(near.Value, freezingLimit, mono);

        var low = Prefer(cold, a.TemperatureC, Measure.Air, pulp, Measure.Pulp, b.Limits.ColdC, mono);
        cold.Observe(low.Value, b.Limits.ColdC, mono, SensorsOff(a, low.Measure));

        var high = Prefer(warm, a.TemperatureC, Measure.Air, a.PulpC, Measure.Pulp, b.Limits.WarmC, mono);
        warm.Observe(high.Value, b.Limits.WarmC, mono, SensorsOff(a, high.Measure));

        dry.Observe(a.RelativeHumidityPercent, b.Limits.DryPercent, mono, SensorsOff(a, Measure.Humidity));
        var wet = Wet(a, b, pulp, mono);
        // The damp alarm ends here without the air's being drier, for by air alone nothing more is known of dew than that it may be.
        if (a.Quality == AirQuality.AtTop && pulp is null && dew.Active && !damp.Active)
            Withdraw(wetSlot, [dew, damp], WhyEnded.TopOfScale, book, now);

        if (b.LightLimitLux is { } lux)
            light.Observe(a.LightLux, lux, mono);
        else if (light.Running || lightSlot.Alarm is not null)
            Withdraw(lightSlot, [light], WhyEnded.NotJudged, book, now);

        Settle(
            book, now, near, low, high,
            new Shown(Measure.Humidity, a.RelativeHumidityPercent, b.Limits.DryPercent),
            wet,
            new Shown(Measure.Light, b.LightLimitLux is null ? null : a.LightLux, b.LightLimitLux));
        agreement.Observe(a, book, now);
    }

    private void Settle(AlarmBook book, Now now, Shown near, Shown low, Shown high, Shown humidity, Shown wet, Shown lit)
    {
        book.Settle(freezingSlot, Condition.Of(freezing, near), null, now);
        book.Settle(coldSlot, Condition.Of(cold, low), freezing.Active ? Rule.FreezingNear : null, now);
        book.Settle(warmSlot, Condition.Of(warm, high), null, now);
        book.Settle(drySlot, Condition.Of(dry, humidity), null, now);

        var lead = dampLeads ? damp : dew;
        var seen = Condition.Of(lead, wet) with
        {
            Running = dew.Running || damp.Running,
            Active = dew.Active || damp.Active,
            Beyond = (dew.Active && dew.Beyond) || (damp.Active && damp.Beyond),
        };
        book.Settle(wetSlot, seen, null, now);
        book.Settle(lightSlot, Condition.Of(light, lit), null, now);
    }

    private Shown Wet(PlaceAir a, Band b, double? pulp, TimeSpan mono)
    {
        // Of the top of the scale the air's own margin is not known.
        var ofAir = a.Quality == AirQuality.AtTop ? null : a.TemperatureC - a.DewPointC;
        var byPulp = Prefer(dew, pulp - a.DewPointC, Measure.DewMargin, ofAir, Measure.Humidity, 0, mono);
        dew.Observe(byPulp.Value, byPulp.Measure == Measure.Humidity ? AirMarginC : 0, mono);
        if (b.KeptDry)
            damp.Observe(a.RelativeHumidityPercent, b.Limits.WetPercent, mono, SensorsOff(a, Measure.Humidity));
        else
            damp.Reset();

        // Dew on the crop is worse than damp air, so it leads where both hold.
        if (dew.Active || damp.Active)
            dampLeads = !dew.Active;
        else if (wetSlot.Alarm is not { Active: true })
            dampLeads = !dew.Running && damp.Running;

        if (dampLeads)
            return new Shown(Measure.Humidity, a.RelativeHumidityPercent, b.Limits.WetPercent);

        return byPulp.Measure == Measure.Humidity
            ? new Shown(Measure.Humidity, byPulp.Value is null ? null : a.RelativeHumidityPercent, AirWetPercent)
            : byPulp with { Sensor = a.ColdestProduce?.Sensor };
    }

    private Shown Prefer(Limit limit, double? preferred, Measure measure, double? other, Measure otherMeasure, double at, TimeSpan mono)
    {
        if (preferred is not null)
        {
            preferredSeen[limit] = mono;
            return new Shown(measure, preferred, at);
        }

        var stillAwaited = limit.Active && preferredSeen.TryGetValue(limit, out var seen) && mono - seen < ProbeGone;
        return stillAwaited ? new Shown(measure, null, at) : new Shown(otherMeasure, other, at);
    }
}
