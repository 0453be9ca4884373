using System.Globalization;
using System.Text.Json;
using Microsoft.Data.Sqlite;
using RootCellar.Household;
using RootCellar.Ledger;
using RootCellar.Lots;
using RootCellar.Places;
using RootCellar.Readings;
using RootCellar.Storage;
using RootCellar.Watch;

namespace RootCellar.Report;

/// <summary>
/// Reports for pages and API. The last few are kept: of a running week one an hour, of any until something changes that happened before its
/// end. What is written down of later days is no part of a week gone by, so logging leaves its report as it is.
/// </summary>
internal sealed class ReportDesk
{
    private const int Most = 4;

    private readonly Lock one = new();
    private readonly List<CachedReport> kept = [];
    private readonly Store store;
    private readonly ReportMaker maker;
    private readonly LedgerDoor door;
    private readonly TimeProvider time;
    private long changes;

    public ReportDesk(Store store, ReportMaker maker, LedgerDoor door, LotKeeper keeper, TimeProvider time)
    {
        (this.store, this.maker, this.door, this.time) = (store, maker, door, time);
        keeper.PastChanged += (_, change) => Forget(TimeStep.At(change.Cell));
        door.BookChanged += (_, change) => Forget(change.FromWhen);
    }

    /// <param name="Hour">Of a running week: the hour it was told in.</param>
    /// <param name="Fingerprint">Places, sensors and alarms as they were when it was made.</param>
    /// <param name="Spoken">The language it is in.</param>
    private sealed record CachedReport(string Week, long Hour, DateTimeOffset Until, string Fingerprint, CultureInfo Spoken, MadeReport Made);

    public TimeZoneInfo Zone => maker.Words.Zone;

    public Week LastWhole => Week.LastWhole(time.GetUtcNow(), Zone);

    public Week Running => Week.Of(time.GetUtcNow(), Zone);

    /// <summary>The report of a week, its charts as the pages draw them; null of one that has not begun.</summary>
    public MadeReport? Of(Week week)
    {
        var upTo = time.GetUtcNow() - ReportClock.Behind;
        if (week.From >= upTo) return null;
        var until = WeekFigures.Until(week, upTo);
        long hour = TimeStep.Of(until) / TimeStep.PerHour;
        var print = store.Read(c => Fingerprint(c, week, until));
        var spoken = CultureInfo.CurrentUICulture;
        long before;
        lock (one)
        {
            if (kept.Find(k => k.Week == week.Name && k.Hour == hour && k.Fingerprint == print && k.Spoken.Equals(spoken)) is { } known) return known.Made;
            before = changes;
        }

        // Never with the lock held: the book tells of its changes while it is written.
        var made = store.Read(c => maker.Make(c, door.Book, week, upTo, Address, page: true));
        lock (one)
        {
            // Something of the past changed meanwhile: it is answered once, as it was, and not kept.
            if (changes != before) return made;
            kept.RemoveAll(k => k.Week == week.Name && k.Spoken.Equals(spoken));
            if (kept.Count == Most) kept.RemoveAt(0);
            kept.Add(new CachedReport(week.Name, hour, until, print, spoken, made));
        }

        return made;
    }

    /// <summary>Whether a report of the week is kept.</summary>
    public bool Has(Week week)
    {
        lock (one) return kept.Exists(k => k.Week == week.Name);
    }

    private void Forget(DateTimeOffset from)
    {
        lock (one)
        {
            changes++;
            kept.RemoveAll(k => k.Until > from);
        }
    }

    private static string Address(ReportChart chart, WeekFigures figures) =>
        $"/charts/report/{figures.Week.Name}/{chart.Figure}.svg?{(chart.Place is { } place ? $"place={Uri.EscapeDataString(place)}&" : chart.Lot is { } lot ? $"lot={Uri.EscapeDataString(lot)}&" : "")}to={Utc(figures.UpTo)}";

    /// <summary>What a report says besides book and air, few and quickly read.</summary>
    private static string Fingerprint(SqliteConnection connection, Week week, DateTimeOffset until) => JsonSerializer.Serialize(
        new
        {
            Places = PlaceRows.All(connection),
            Sensors = SensorRows.All(connection).Select(s => new { s.Key, s.Name, s.Place }),
            Alarms = AlarmRows.Between(connection, week.From, until),
            Sent = ReportRows.IsSent(connection, week.Name),
        },
        JsonRules.Options);

    private static string Utc(DateTimeOffset at) =>
        at.UtcDateTime.ToString("yyyy-MM-ddTHH:mm:ssZ", CultureInfo.InvariantCulture);
}
