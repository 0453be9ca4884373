using System.Globalization;
using System.Text;
using RootCellar.Science.Air;
using RootCellar.Science.Cellar;
using RootCellar.Science.Crops;

namespace RootCellar.Science.Tests.Cellar;

/// <summary>One figure of one simulated room: what it is there and what the program says after so many days of readings.</summary>
internal sealed record RoomScore(string Figure, double True, Interval Said, bool Learned)
{
    public double Apart => Math.Abs(Math.Log(Said.Value / True));

    public bool Within => True >= Said.Low * 0.999 && True <= Said.High * 1.001;
}

/// <summary>docs/science/room.md: the fit and the sums held against rooms whose truth is known and is not the program's own.</summary>
internal static class RoomFitPage
{
    public const int Rooms = 40;
    public const int Days = 10;
    private const double LoadC = 24;

    private static readonly Crop Potato = CropTable.Default.Find("potato")!;

    public static IReadOnlyList<RoomScore> Scores { get; } = [.. Enumerable.Range(1, Rooms).SelectMany(Of)];

    public static string Page()
    {
        var page = new StringBuilder("""
            # What one room does: how well it is learned

            Written by the tests (`RoomFitTests`); do not edit it by hand. How the figures are made is in [cellar.md](cellar.md).

            Forty invented rooms of 15 to 80 m3, ten days each, minute by minute, and the program given what cheap sensors would send: noise, an
            offset of up to half a degree and 3 %, steps of a tenth, a door opened twice a day. The rooms are not built as the program thinks rooms
            are: their walls are four layers that conduct, shelves hold more heat than the air, boards take up vapour. Each figure is then tried
            in the room itself.

            *Off by* is the middle error as a factor; *within* is how often the truth lies in the interval, which is meant to be nine times
            in ten.

            | figure | rooms | learned | off by | within |
            |---|--:|--:|--:|--:|

            """);
        foreach (var group in Scores.GroupBy(s => s.Figure))
        {
            double within = 100.0 * group.Count(s => s.Within) / group.Count();
            page.Append(CultureInfo.InvariantCulture,
                $"| {group.Key} | {group.Count()} | {group.Count(s => s.Learned)} | {Math.Exp(Median(group)):0.00} | {within:0} % |\n");
        }

        return page.Append("""

            What is not learned is assumed, with its wide interval. Litres hold once boards and walls had their fill.
            Sun on a roof, wind, a heater or a lamp are in none of these rooms: a real room is known less well than this.

            """).ToString();
    }

    public static double Median(IEnumerable<RoomScore> scores)
    {
        double[] apart = [.. scores.Select(s => s.Apart).Order()];
        return apart[apart.Length / 2];
    }

    private static IEnumerable<RoomScore> Of(int seed)
    {
        var room = new SimulatedRoom(seed);
        var fit = RoomFit.Of(room.Record(Days));
        yield return new RoomScore("air changes, door shut", room.ChangesPerHour, fit.Leak.ChangesPerHour, fit.Leak.Doubt is null);
        yield return new RoomScore("share of outdoors in the long run", room.InTheLongRun, fit.Heat.InTheLongRun, fit.Heat.Doubt is null);

        double leak = room.ChangesPerHour;
        var (inside, outside) = (Air(room.AirC, room.VapourPa), Air(room.OutC - (room.OutC > room.AirC ? -4 : 4), room.OutPa * 0.8));
        yield return Door(room, fit, inside, outside, 15);
        yield return Door(room, fit, inside, outside, 120);

        // From here on with steady air outdoors, so that what is tried is all that changes.
        room = room.Settled();
        inside = Air(room.AirC, room.VapourPa);

        // What holds 3 % more: tried with a constant trickle until nothing changes.
        double per = FloorWater.LitresPerDay(inside, Math.Min(99, inside.RelativeHumidityPercent + 3), room.VolumeM3, 1);
        if (Trickle(room) is { } litres)
        {
            yield return new RoomScore("litres a day for 3 % more", litres,
                new Interval(per * fit.Leak.ReturnPerHour.Low, per * fit.Leak.ReturnPerHour.Value, per * fit.Leak.ReturnPerHour.High),
                fit.Leak.Doubt is null);
        }

        double natural = room.AirC;
        var load = new WarmLoad(room.VolumeM3, natural, natural + 2, fit.Heat, Potato);
        double factor = load.Factor;
        double kg = load.KgPerDay(LoadC);
        yield return new RoomScore("kg of warm crop a day", Most(room, natural),
            new Interval(load.KgPerDay(LoadC, 1 / factor), kg, load.KgPerDay(LoadC, factor)), fit.Heat.Doubt is null);

        double ml = 5 * room.ProduceKg / GasBalance.MgPerMl(8), m3 = room.VolumeM3;
        var n = fit.Leak.ChangesPerHour;
        yield return new RoomScore("carbon dioxide over outdoors", ml / leak / m3,
            new Interval(ml / n.High / m3, ml / n.Value / m3, ml / n.Low / m3), fit.Leak.Doubt is null);
    }

    private static RoomScore Door(SimulatedRoom room, RoomResponse fit, AirState inside, AirState outside, int minutes)
    {
        // A door as they were opened: twelve changes an hour.
        var tried = room.Copy();
        tried.Outdoors(outside.TemperatureC, outside.VapourPressurePa);
        for (int m = 0; m < minutes; m++)
            tried.Step(m, 12, weather: false);
        double Way(double airC) => (airC - inside.TemperatureC) / (outside.TemperatureC - inside.TemperatureC);
        double Said(Interval share, double take, double tau) => Way(new Airing(inside, outside, inside.TemperatureC,
            fit with { Opening = new OpeningResponse(share with { Value = take }, new Interval(tau, tau, tau), 1, null) })
            .After(minutes).AirC);
        var (s, t) = (fit.Opening.Share, fit.Opening.Minutes);
        return new RoomScore($"way to outdoors after {minutes} min of open door", Way(tried.AirC),
            new Interval(Said(s, s.Low, t.High), Said(s, s.Value, t.Value), Said(s, s.High, t.Low)), fit.Opening.Doubt is null);
    }

    private static double? Trickle(SimulatedRoom room)
    {
        double Held(double litres)
        {
            var tried = room.Copy();
            for (int m = 0; m < 3 * 1440; m++)
                tried.Step(m, waterKgPerHour: litres / 24, weather: false);
            return 100 * tried.VapourPa / Saturation.OverWaterPa(tried.AirC);
        }

        double dry = Held(0), wanted = dry + 3;
        if (wanted > 98)
            return null;
        double low = 0, high = 200;
        for (int i = 0; i < 16; i++)
            (low, high) = Held((low + high) / 2) < wanted ? ((low + high) / 2, high) : (low, (low + high) / 2);
        return low;
    }

    // The most that may come in every day for a week with the air at most 2 C above what it is.
    private static double Most(SimulatedRoom room, double natural)
    {
        bool Fits(double kg)
        {
            var tried = room.Copy();
            List<double> loads = [];
            for (int m = 0; m < 7 * 1440; m++)
            {
                if (m % 1440 == 0)
                    loads.Add(LoadC);
                double watts = 0;
                for (int l = 0; l < loads.Count; l++)
                {
                    double given = kg * 3600 / (8 * 3600) * (loads[l] - tried.AirC);
                    double breath = kg * 0.05;
                    loads[l] += 60 * (breath - given) / (kg * 3600);
                    watts += given;
                }

                tried.Step(m, loadW: watts, weather: false);
                if (tried.AirC > natural + 2)
                    return false;
            }

            return true;
        }

        double low = 0, high = 4000;
        for (int i = 0; i < 12; i++)
            (low, high) = Fits((low + high) / 2) ? ((low + high) / 2, high) : (low, (low + high) / 2);
        return Math.Max(low, 1);
    }

    private static AirState Air(double c, double pa) => MoistAir.At(c, Math.Clamp(100 * pa / Saturation.OverWaterPa(c), 1, 100));
}
