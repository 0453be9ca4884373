using System.Text.Json;
using RootCellar.Household;
using RootCellar.Ledger;
using RootCellar.Lots;
using RootCellar.Places;
using RootCellar.Report;
using RootCellar.Tests.Lots;
using RootCellar.Watch;

namespace RootCellar.Tests.Report;

/// <summary>A cellar with a book made of events as people send them, and the figures of its weeks.</summary>
internal static class Weeks
{
    public static readonly TimeZoneInfo Chicago = TimeZoneInfo.FindSystemTimeZoneById("America/Chicago");

    public static Book Book(string events)
    {
        using var document = JsonDocument.Parse(events);
        var now = new DateTimeOffset(2026, 6, 1, 0, 0, 0, TimeSpan.Zero);
        long id = 0;
        return BookBuilder.Build(
        [
            .. document.RootElement.EnumerateArray().Select(
                e => EventReader.Read(e.Clone(), now, out var wrong) ?? throw new InvalidOperationException(wrong))
                .Select(e => Recorded.Of(new LedgerEntry(++id, e.Event, e.At!.Value, e.At.Value, "test", e.Note, e.Body, null, e.Of))),
        ], HouseholdCalendar.Utc);
    }

    public static WeekFigures Of(Cellar cellar, string week, TimeZoneInfo? zone = null, DateTimeOffset? upTo = null)
    {
        var asked = Week.Named(week, zone ?? TimeZoneInfo.Utc)!;
        return cellar.Record.Read(c => WeekFigures.Of(c, cellar.Book, asked, upTo ?? asked.To, new WatchOptions()));
    }

    /// <summary>What ideal air is taken to be for potatoes in store.</summary>
    public static (double C, double Percent) Ideal
    {
        get
        {
            var air = PlaceAirRecord.BandMiddle(Science.Crops.CropTable.Default.Find("potato")!, Purpose.Storage);
            return (air.TemperatureC, air.RelativeHumidityPercent);
        }
    }
}
