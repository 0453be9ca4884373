using Microsoft.Data.Sqlite;
using RootCellar.Entry;
using RootCellar.Household;
using RootCellar.Report;
using RootCellar.Storage;

namespace RootCellar.Api;

/// <summary>A date that is coming.</summary>
/// <param name="Id">The same as long as it is about the same, however its date moves.</param>
/// <param name="Kind">move, order, weigh-in, sprouts, lasts-until or report.</param>
/// <param name="On">The household's day; what is due already is due today.</param>
/// <param name="What">In the household's language.</param>
/// <param name="About">What more is known of it; null where that is all.</param>
internal sealed record CalendarShape(string Id, string Kind, DateOnly On, string What, string? About)
{
    public static CalendarShape Of(ComingDate date) => new(
        date.Id,
        date.Kind switch
        {
            ComingKind.Move => "move",
            ComingKind.Order => "order",
            ComingKind.WeighIn => "weigh-in",
            ComingKind.Sprouts => "sprouts",
            ComingKind.LastsUntil => "lasts-until",
            _ => "report",
        },
        date.On, date.What, date.About.Length == 0 ? null : date.About);
}

/// <summary>What is coming, for programs and for the calendar of a phone.</summary>
internal static class CalendarApi
{
    public static void Map(RouteGroupBuilder api) => api.MapGet("/calendar", (ComingDates dates, Languages languages) =>
            languages.Household.Say(() => dates.Now.Select(CalendarShape.Of).ToList()))
        .WithName("listCalendar")
        .WithSummary("Dates that are coming, by day: fit to move, orders due, a weigh-in asked for, first sprouts, until when lots last, the weekly report.");

    /// <summary>Opened by its address alone, as the link in a mail is, and bounded as strangers are.</summary>
    public static void MapFile(WebApplication app) => app.MapGet("/calendar/{secret}.ics", File).AllowAnonymous().ExcludeFromDescription();

    private static IResult File(string secret, Store store, ComingDates dates, Languages languages, TimeProvider time, HttpContext context)
    {
        // The address is the key: no cache keeps what it opened.
        context.Response.Headers.CacheControl = "no-store";
        string? mark;
        try
        {
            mark = store.Read(c => CalendarLink.Opened(c, secret));
        }
        catch (SqliteException)
        {
            // A calendar that is told "not there" would be thrown away by the phone.
            return Results.StatusCode(StatusCodes.Status503ServiceUnavailable);
        }

        if (mark is null) return Results.NotFound();
        return Results.Text(languages.Household.Say(() => CalendarFile.Of(dates.Now, mark, time.GetUtcNow())), CalendarFile.MediaType);
    }
}
