using RootCellar.Ledger;
using RootCellar.Lots;
using RootCellar.Storage;

namespace RootCellar.Report;

/// <summary>Reports for pages and API. The last few are kept: of a running week one an hour, of any until the book or the past air changes.</summary>
internal sealed class ReportDesk
{
    private const int Most = 4;

    private readonly Lock one = new();
    private readonly List<(string Week, long Hour, Book Book, MadeReport Made)> kept = [];
    private readonly Store store;
    private readonly ReportMaker maker;
    private readonly LedgerDoor door;
    private readonly TimeProvider time;

    public ReportDesk(Store store, ReportMaker maker, LedgerDoor door, LotKeeper keeper, TimeProvider time)
    {
        (this.store, this.maker, this.door, this.time) = (store, maker, door, time);
        keeper.PastChanged += (_, _) =>
        {
            lock (one) kept.Clear();
        };
    }

    public TimeZoneInfo Zone => maker.Words.Zone;

    public Week LastWhole => Week.LastWhole(time.GetUtcNow(), Zone);

    public Week Running => Week.Of(time.GetUtcNow(), Zone);

    /// <summary>The report of a week, its charts as the pages draw them; null of one that has not begun.</summary>
    public MadeReport? Of(Week week)
    {
        var upTo = time.GetUtcNow() - ReportClock.Behind;
        if (week.From >= upTo) return null;
        var book = door.Book;
        long hour = Cells.Of(upTo < week.To ? upTo : week.To) / Cells.PerHour;
        lock (one)
        {
            foreach (var k in kept)
            {
                if (k.Week == week.Name && k.Hour == hour && ReferenceEquals(k.Book, book)) return k.Made;
            }

            var made = store.Read(c => maker.Make(c, book, week, upTo, (chart, figures) => Address(chart, figures)));
            if (kept.Count == Most) kept.RemoveAt(0);
            kept.Add((week.Name, hour, book, made));
            return made;
        }
    }

    private static string Address(ReportChart chart, WeekFigures figures) => chart.Place is { } place
        ? $"/charts/places/{Uri.EscapeDataString(place)}/{chart.Figure}.svg?from={Utc(figures.Week.From)}&to={Utc(figures.UpTo)}"
        : $"/charts/report/{figures.Week.Name}/{chart.Figure}.svg?lot={Uri.EscapeDataString(chart.Lot!)}&to={Utc(figures.UpTo)}";

    private static string Utc(DateTimeOffset at) => at.UtcDateTime.ToString("yyyy-MM-ddTHH:mm:ssZ", System.Globalization.CultureInfo.InvariantCulture);
}
