using RootCellar.Advice;
using RootCellar.Household;
using RootCellar.Monitoring;
using RootCellar.Places;
using RootCellar.Tell;
using RootCellar.Watch;

namespace RootCellar.Pages;

/// <summary>One measured or derived figure of a place.</summary>
/// <param name="Stands">Where it is against the band, in words.</param>
/// <param name="Sure">What the sensor's accuracy leaves of it.</param>
internal sealed record Figure(string Name, string Value, string? Stands = null, bool Outside = false, string? Sure = null,
    bool Main = false);

/// <summary>
/// A place as pages show it: <see cref="Room"/> is what is wrong with its air, <see cref="Alarms"/> any other. <see cref="Level"/> only
/// colours what <see cref="Verdict"/> says.
/// </summary>
internal sealed record PlaceCard(
    PlaceView View,
    string Level,
    string Mark,
    string Verdict,
    RoomCard? Room,
    IReadOnlyList<AlarmCard> Alarms,
    IReadOnlyList<ToDoLine> Jobs,
    IReadOnlyList<Figure> Figures,
    string Heard);

/// <summary>Makes the cards of places.</summary>
internal sealed class PlaceCards(Show show, AlarmWords words, JudgementWords judgement)
{
    public PlaceCard Of(PlaceView view, ToDoList toDo)
    {
        IReadOnlyList<ToDoLine> jobs = [.. toDo.Lines.Where(l => l.Place == view.Place.Id && l.Bins.Count > 0)];
        var (level, mark, verdict) = Verdict(view, jobs.Count);
        return new PlaceCard(
            view,
            level,
            mark,
            verdict,
            words.Room(view, "/#place-" + view.Place.Id),
            words.Others(view, "/#place-" + view.Place.Id),
            jobs,
            [.. Figures(view)],
            Heard(view));
    }

    private (string Level, string Mark, string Verdict) Verdict(PlaceView view, int jobs)
    {
        var raised = view.Alarms.Count(a => a is { State: AlarmState.Unacknowledged });
        if (raised > 0) return ("raised", "!", Strings.VerdictRaised.With(raised));
        var clamp = view.Band is { FrostOnly: true };
        if (clamp && view.Air?.ColdestProduce is null) return ("known", "~", Strings.VerdictClampNoProbe);
        if (view.Air is null or { Quality: AirQuality.None })
            return ("unknown", "?", view.Sensors.Count == 0 ? Strings.VerdictNoSensor : Strings.VerdictNothing);
        if (!view.Keeps) return ("past", "–", Strings.VerdictOutdoors);

        var findings = view.Judgement.Findings;
        if (view.Alarms.Any(a => a.Active))
            return findings.Count > 0 && findings.All(f => !f.Calls)
                ? ("known", "~", Strings.VerdictReturning) : ("known", "✓", Strings.VerdictKnown);
        if (view.Band is null) return ("unknown", "?", view.Emptied ? Strings.VerdictEmptied : Strings.VerdictNoBand);
        if (findings.Count > 0) return ("known", "~", judgement.Whole(view.Judgement, show.Now));

        // Over, but nobody has said that they saw it.
        if (view.Alarms.Any(a => a.State == AlarmState.ReturnedUnacknowledged)) return ("well", "✓", Strings.VerdictWellAgain);
        if (clamp) return ("well", "✓", Strings.VerdictClamp);
        return ("well", "✓", jobs == 0 ? Strings.VerdictWell : Strings.VerdictAirRight.With(jobs));
    }

    private IEnumerable<Figure> Figures(PlaceView view)
    {
        if (view.Air is not { } air || air.Quality == AirQuality.None) yield break;
        var band = view.Band is { FrostOnly: false } held ? held.Air : null;
        if (air.TemperatureC is { } t)
        {
            yield return new Figure(
                Strings.Temperature,
                show.Temperature(t),
                band is null ? null : show.Against(t, band.TemperatureLowC, band.TemperatureHighC, temperature: true),
                band is not null && (t < band.TemperatureLowC || t > band.TemperatureHighC),
                Main: true);
        }

        // One sensor's air is its own coldest.
        if (view.Sensors.Count > 1 && air.Coldest is { Sensor: { } coldest } spot)
        {
            yield return new Figure(Strings.ColdestSpot, show.Temperature(spot.TemperatureC),
                Sure: (spot.InProduce ? Strings.InProduceBy : Strings.InAirBy).With(NameOf(view, coldest)));
        }

        if (air.RelativeHumidityPercent is { } rh)
        {
            yield return new Figure(
                Strings.Humidity,
                air.HumidityAtLeastPercent is { } least ? Strings.AtLeast.With(Show.Humidity(least)) : Show.Humidity(rh),
                band is null ? null : show.Against(rh, band.HumidityLowPercent, band.HumidityHighPercent, temperature: false),
                band is not null && (rh < band.HumidityLowPercent || rh > band.HumidityHighPercent),
                Main: true);
        }

        if (air.PulpC is { } pulp)
        {
            yield return new Figure(
                Strings.Pulp,
                show.Temperature(pulp),
                air.DewPointC is { } dp && (air.ColdestPulpC ?? pulp) < dp ? Strings.WaterSettles : null,
                air.DewPointC is { } d && (air.ColdestPulpC ?? pulp) < d);
        }

        if (air.DewPointC is { } dew)
        {
            yield return new Figure(Strings.DewPoint, show.Temperature(dew),
                Sure: air is { TemperatureC: { } dt, RelativeHumidityPercent: { } drh } ? show.DewPointBetween(dt, drh) : null);
        }

        if (air.VapourPressureDeficitPa is { } deficit)
        {
            yield return new Figure(Strings.Deficit, Show.Pascal(deficit),
                Sure: air is { TemperatureC: { } vt, RelativeHumidityPercent: { } vrh } ? Show.Deficit(vt, vrh) : null);
        }

        if (air.LightLux is { } light)
        {
            var bright = view.Band?.LightLimitLux is { } limit && light > limit;
            yield return new Figure(Strings.Light, Show.Light(light), bright ? Strings.NotDark : view.Band?.LightLimitLux is null ? null
                : Strings.Dark, bright);
        }

        if (air.Co2Ppm is { } co2) yield return new Figure(Strings.Co2, Show.Co2(co2), Strings.NotASafetyInstrument);
    }

    private static string NameOf(PlaceView view, string key) => view.Sensors.FirstOrDefault(s => s.Key == key)?.Name
        ?? key[(key.LastIndexOf('/') + 1)..];

    private string Heard(PlaceView view)
    {
        var last = view.Sensors.Max(s => s.LastArrival);
        if (last is not { } at) return view.Sensors.Count == 0 ? Strings.NoSensorHere : Strings.NeverHeard;
        var heard = view.Sensors.Count(s => !s.Silent && s.LastArrival is not null);
        var reading = Strings.LastReading.With(show.Age(at), heard, view.Sensors.Count);
        return (view.Air?.Quality ?? AirQuality.None) switch
        {
            AirQuality.Good or AirQuality.AtTop => reading,
            AirQuality.Thin => reading + " " + Strings.AirThin,
            _ => reading + " " + Strings.AirNone,
        };
    }
}
