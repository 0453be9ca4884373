using System.Globalization;
using System.Text.Json;
using RootCellar.Household;
using RootCellar.Ledger.Events;

namespace RootCellar.Ledger;

/// <summary>
/// Dates as people and programs give them. A year that no crop can have is refused whoever insists; one to come, or long gone, is asked
/// about: a date field makes year 26 of "26", and a slip of one digit makes 1975 of 2025. What is in the book already is read as it stands.
/// </summary>
internal static class GivenDates
{
    /// <summary>The first year an entry can be of (assumed: nobody keeps older crops, and clocks without a battery begin there).</summary>
    public const int FirstYear = 1970;

    /// <summary>The last year an entry can be of (assumed).</summary>
    public const int LastYear = 2100;

    /// <summary>
    /// Further back than this before it is written down, or further ahead for an order, a date is asked about (assumed: crops keep a year).
    /// </summary>
    public const int AskAfterYears = 2;

    private const string Due = "due";

    private static readonly string[] Names = ["at", "rightAt", .. EventKinds.All.SelectMany(k => k.Dates).Distinct(StringComparer.Ordinal)];

    /// <summary>What is wrong with a date of an event as it was sent; null where every one of them can be.</summary>
    /// <param name="fields">The event with all its fields.</param>
    public static Question? Impossible(JsonElement fields)
    {
        foreach (var field in Names)
        {
            if (Day(fields, field, null, out var text) is { } day && Impossible(field, text, day.Year) is { } refused) return refused;
        }

        return null;
    }

    /// <summary>The same for one moment.</summary>
    public static Question? Impossible(string field, DateTimeOffset at) =>
        Impossible(field, at.UtcDateTime.ToString("yyyy-MM-dd", CultureInfo.InvariantCulture), at.UtcDateTime.Year);

    /// <summary>
    /// A date that is to be asked about, by the code of the question; null where all are near enough to when it was written down.
    /// </summary>
    /// <param name="kind">Of what kind the event is: a correction may have the dates of any.</param>
    /// <param name="fields">The fields of the event, corrected.</param>
    /// <param name="at">When it happened.</param>
    /// <param name="written">When the last word on it was written down.</param>
    /// <param name="calendar">Whose days they are.</param>
    public static (string Code, string Field, DateOnly Day)? Doubtful(
        EventKind kind, JsonElement fields, DateTimeOffset at, DateTimeOffset written, HouseholdCalendar calendar)
    {
        var today = calendar.DayOf(written);
        var longAgo = today.AddYears(-AskAfterYears);
        var then = calendar.DayOf(at);
        if (then > today) return (QuestionCode.Future, "at", then);
        if (then < longAgo) return (QuestionCode.LongAgo, "at", then);
        foreach (var field in kind == Correction.Event ? Names : kind.Dates)
        {
            if (Day(fields, field, calendar, out _) is not { } day) continue;
            if (field == Due && day > today.AddYears(AskAfterYears)) return (QuestionCode.FarOff, field, day);
            if (field is Due or "at") continue;
            if (day > today) return (QuestionCode.Future, field, day);
            if (day < longAgo) return (QuestionCode.LongAgo, field, day);
        }

        return null;
    }

    /// <summary>The question in English.</summary>
    public static Question Ask((string Code, string Field, DateOnly Day) doubtful)
    {
        var day = doubtful.Day.ToString("yyyy-MM-dd", CultureInfo.InvariantCulture);
        var text = doubtful.Code switch
        {
            QuestionCode.LongAgo =>
                $"{doubtful.Field}: {day} is more than {AskAfterYears} years before it was written down. Is the year right?",
            QuestionCode.FarOff => $"{doubtful.Field}: {day} is more than {AskAfterYears} years away. Is the year right?",
            _ => $"{doubtful.Field}: {day} is in the future. Is the date right?",
        };
        return Question.Of(doubtful.Code, text, new { field = doubtful.Field, day, years = AskAfterYears });
    }

    private static Question? Impossible(string field, string text, int year) => year is >= FirstYear and <= LastYear
        ? null
        : Question.Of(
            QuestionCode.Unreadable,
            $"{field}: '{text}' is of the year {year}, which cannot be; right would be one of {FirstYear} to {LastYear}, such as \"2026-10-03\".",
            new { refusal = Refusal.Year, field, given = text, year, first = FirstYear, last = LastYear });

    /// <summary>
    /// A date of an event: a day as it is written, a moment as the day it lies in; without a calendar that of UTC, in which the record
    /// keeps it: the first hours of 1970 east of Greenwich are none it can read again.
    /// </summary>
    private static DateOnly? Day(JsonElement fields, string field, HouseholdCalendar? calendar, out string text)
    {
        text = "";
        if (!fields.TryGetProperty(field, out var value) || value.ValueKind != JsonValueKind.String) return null;
        text = value.GetString()!.Trim();
        if (HouseholdCalendar.TryDay(text, out var day)) return day;
        if (!DateTimeOffset.TryParse(text, CultureInfo.InvariantCulture, DateTimeStyles.AssumeUniversal, out var at)) return null;
        return calendar?.DayOf(at) ?? DateOnly.FromDateTime(at.UtcDateTime);
    }
}
