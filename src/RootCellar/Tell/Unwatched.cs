using RootCellar.Advice;
using RootCellar.Household;
using RootCellar.Places;
using RootCellar.Readings;
using RootCellar.Watch;

namespace RootCellar.Tell;

/// <summary>A time in which nobody watched, because the service ended without being stopped: a power cut, a kill, a crash.</summary>
/// <param name="From">When it was last known to watch, to a minute.</param>
/// <param name="To">When it watched again.</param>
/// <param name="Settled">What the sensors kept of it has been waited for, and it was told.</param>
/// <param name="Places">What sensors that keep their readings say of it, by place; none where none does.</param>
internal sealed record Unwatched(DateTimeOffset From, DateTimeOffset To, bool Settled, IReadOnlyList<MeantimeAir> Places);

/// <summary>What the air of a place came to in such a time, by readings that came late; null where nothing says.</summary>
internal sealed record MeantimeAir(string Place, double? LowC, double? HighC, double? LowPercent, double? HighPercent)
{
    /// <summary>With one more reading of that time; what says nothing of the air changes nothing.</summary>
    public MeantimeAir With(Reading reading) => reading.Quantity switch
    {
        Quantity.Temperature => this with { LowC = Least(LowC, reading.Value), HighC = Most(HighC, reading.Value) },
        Quantity.Humidity => this with { LowPercent = Least(LowPercent, reading.Value), HighPercent = Most(HighPercent, reading.Value) },
        _ => this,
    };

    private static double Least(double? known, double value) => known is { } k && k < value ? k : value;

    private static double Most(double? known, double value) => known is { } k && k > value ? k : value;
}

/// <summary>What is said of such a time.</summary>
internal static class UnwatchedWords
{
    /// <summary>One text to one contact; its id makes that it is sent once.</summary>
    /// <param name="to">Who is told.</param>
    /// <param name="time">What is told of.</param>
    /// <param name="places">Those that are watched.</param>
    /// <param name="calendar">The household's.</param>
    /// <param name="scale">What temperatures are said in.</param>
    /// <param name="now">The moment.</param>
    public static Outgoing Text(Contact to, Unwatched time, IEnumerable<Place> places, HouseholdCalendar calendar, TemperatureScale scale,
        DateTimeOffset now)
    {
        var head = Head(time, calendar, now);
        var kept = Kept(time, places, scale);
        var sms = Gsm0338.WithAll(head, kept.Select(k => $"{(k.Place.ShortName ?? k.Place.Name).ToUpperInvariant()} {k.Figures}."), " " + Strings.UnwatchedDo);
        sms += " " + (kept.Count > 0 ? Strings.UnwatchedDo : Strings.UnwatchedNothing);
        var body = string.Join('\n', (string[])[
            head, "", .. kept.Select(k => $"{k.Place.Name}: {k.Figures}"), kept.Count > 0 ? Strings.UnwatchedKept : Strings.UnwatchedNothingKept,
            "", Strings.UnwatchedDo]);
        return new Outgoing(Id(to, time), null, to.Channel, to.Address, "high", Gsm0338.Fold(sms), Strings.UnwatchedSubject, body, now);
    }

    public static string Id(Contact to, Unwatched time) => $"unwatched-{to.Id}-{time.From.ToUnixTimeSeconds()}";

    /// <summary>From when to when, and how long that was.</summary>
    public static string Head(Unwatched time, HouseholdCalendar calendar, DateTimeOffset now) => Strings.UnwatchedHead.With(
        calendar.Hour(time.From, now), calendar.Hour(time.To, now), Wording.Duration(time.To - time.From));

    /// <summary>What sensors kept of it, for each place of which they did.</summary>
    public static IReadOnlyList<(Place Place, string Figures)> Kept(Unwatched time, IEnumerable<Place> places, TemperatureScale scale) =>
    [
        .. places.OrderBy(p => p.Purpose).ThenBy(p => p.Name, NameOrder.Instance)
            .Select(p => (Place: p, Figures: Figures(time.Places.FirstOrDefault(m => m.Place == p.Id), scale)))
            .Where(p => p.Figures.Length > 0),
    ];

    private static string Figures(MeantimeAir? air, TemperatureScale scale)
    {
        if (air is null) return "";
        List<string> said = [];
        if (air is { LowC: { } low, HighC: { } high }) said.Add(Span(Measure.Air, low, high, scale));
        if (air is { LowPercent: { } least, HighPercent: { } most }) said.Add(Span(Measure.Humidity, least, most, scale));
        return string.Join(", ", said);
    }

    private static string Span(Measure measure, double low, double high, TemperatureScale scale)
    {
        var (from, to) = (Wording.Figure(measure, low, scale), Wording.Figure(measure, high, scale));
        return from == to ? from : Strings.Range.With(from, to);
    }
}
