using System.Globalization;
using RootCellar.Advice;
using RootCellar.Household;
using RootCellar.Pages;
using RootCellar.Places;
using RootCellar.Watch;

namespace RootCellar.Tell;

/// <summary>The text that comes though nothing is wrong, so that silence means something: what the air of each place is.</summary>
internal static class MorningFigures
{
    /// <param name="to">Who wants it.</param>
    /// <param name="day">Of which morning; with the contact it makes the text's id, so that it is sent once.</param>
    /// <param name="places">With their air as it is now.</param>
    /// <param name="alarms">How many are open.</param>
    /// <param name="scale">What temperatures are said in.</param>
    /// <param name="now">The moment.</param>
    public static Outgoing Of(Contact to, DateOnly day, IEnumerable<(Place Place, PlaceAir? Air)> places, int alarms, TemperatureScale scale,
        DateTimeOffset now)
    {
        var head = alarms == 0 ? Strings.WellNone : alarms == 1 ? Strings.WellOne : Strings.WellOpen.With(alarms);
        var said = places.OrderBy(p => p.Place.Purpose).ThenBy(p => p.Place.Name, NameOrder.Instance)
            .Select(p => (Short: (p.Place.ShortName ?? p.Place.Name).ToUpperInvariant(), p.Place.Name, Figures: Figures(p.Air, scale))).ToList();
        var sms = Gsm0338.WithAll(head, said.Select(s => $"{s.Short} {s.Figures}."));
        var body = string.Join('\n', (string[])[head, "", .. said.Select(s => $"{s.Name}: {s.Figures}"), "", Strings.WellWhy]);
        return new Outgoing(Id(to, day), null, to.Channel, to.Address, "low", Gsm0338.Fold(sms), Strings.WellSubject, body, now)
        { Language = to.Language };
    }

    public static string Id(Contact to, DateOnly day) => string.Create(CultureInfo.InvariantCulture, $"well-{to.Id}-{day:yyyy-MM-dd}");

    private static string Figures(PlaceAir? air, TemperatureScale scale)
    {
        List<string> said = [];
        if (air is { Quality: not AirQuality.None })
        {
            if (air.TemperatureC is { } c) said.Add(Wording.Figure(Measure.Air, c, scale));
            if (air.HumidityAtLeastPercent is { } least) said.Add(Strings.AtLeast.With(Wording.Figure(Measure.Humidity, least, scale)));
            else if (air.RelativeHumidityPercent is { } humidity) said.Add(Wording.Figure(Measure.Humidity, humidity, scale));
        }

        return said.Count > 0 ? string.Join(' ', said) : Strings.WellUnknown;
    }
}
