using Microsoft.Data.Sqlite;
using Microsoft.Extensions.Logging.Abstractions;
using RootCellar.Ledger;
using RootCellar.Lots;
using RootCellar.Places;
using RootCellar.Readings;
using RootCellar.Storage;
using RootCellar.Tests.Storage;

namespace RootCellar.Tests.Lots;

/// <summary>A record on disk with rooms and their air, a book, and the keeper of the lots, on fake time.</summary>
internal sealed class Cellar : IAsyncDisposable
{
    public static readonly DateTimeOffset Start = new(2025, 9, 20, 0, 0, 0, TimeSpan.Zero);

    public const string CuringRoom = "curing-room";
    public const string StoreRoom = "root-cellar";

    private Store store;

    public Cellar()
    {
        store = Folder.Open(Time);
        Keeper = Make();
    }

    public TempFolder Folder { get; } = new();

    public HouseTime Time { get; } = new(Start);

    public Announcements Announcements { get; } = new();

    public LotKeeper Keeper { get; private set; }

    public Book Book { get; set; } = Book.Empty;

    public Store Record => store;

    public static async Task<Cellar> WithRoomsAsync()
    {
        var cellar = new Cellar();
        await cellar.store.WriteAsync(c =>
        {
            PlaceRows.Save(c, new Place(CuringRoom, "Curing room", Purpose.Curing, 30, ["potato"]));
            PlaceRows.Save(c, new Place(StoreRoom, "Root cellar", Purpose.Storage, 30, ["potato"]));
        });
        return cellar;
    }

    /// <summary>Air of a place every five minutes, [from, to).</summary>
    public Task AirAsync(string place, DateTimeOffset from, DateTimeOffset to, Func<DateTimeOffset, (double C, double Percent)> air,
        double? pulp = null, double? lux = null) => store.WriteAsync(c =>
    {
        using var insert = c.Command(
            "INSERT OR REPLACE INTO air (place, at_ms, temperature_c, humidity_pct, pulp_c, light_lx, quality) VALUES ($place, $at, $t, $rh, $pulp, $lux, 0)");
        insert.Parameters.AddWithValue("$place", place);
        var at = insert.Parameters.Add("$at", SqliteType.Integer);
        var t = insert.Parameters.Add("$t", SqliteType.Real);
        var rh = insert.Parameters.Add("$rh", SqliteType.Real);
        insert.Parameters.AddWithValue("$pulp", pulp ?? (object)DBNull.Value);
        insert.Parameters.AddWithValue("$lux", lux ?? (object)DBNull.Value);
        insert.Prepare();
        for (var when = from; when < to; when += TimeSpan.FromMinutes(5))
        {
            (double temperature, double humidity) = air(when);
            (at.Value, t.Value, rh.Value) = (when.ToUnixTimeMilliseconds(), temperature, humidity);
            insert.ExecuteNonQuery();
        }
    });

    public Task AirAsync(string place, DateTimeOffset from, DateTimeOffset to, double c, double percent, double? pulp = null) =>
        AirAsync(place, from, to, _ => (c, percent), pulp);

    /// <summary>Goes to a moment and brings the lots up to it.</summary>
    public async Task<LotViews> AtAsync(DateTimeOffset when)
    {
        // A minute on: what is to be known by then has been written.
        Time.Advance(when + TimeSpan.FromMinutes(1) - Time.GetUtcNow());
        return await Keeper.AdvanceAsync(TestContext.Current.CancellationToken);
    }

    /// <summary>The service starts again, with the kept states or without any.</summary>
    public async Task<LotViews> RestartAsync(bool withKept = true)
    {
        Keeper.Dispose();
        await store.DisposeAsync();
        store = Folder.Open(Time);
        if (!withKept) await store.WriteAsync(c => { c.Execute("DELETE FROM lot_snapshot"); });
        Keeper = Make();
        return await Keeper.AdvanceAsync(TestContext.Current.CancellationToken);
    }

    public ReplayReport Replay() => store.Read(c => Replaying.Run(c, Book));

    public async ValueTask DisposeAsync()
    {
        Keeper.Dispose();
        await store.DisposeAsync();
        Folder.Dispose();
    }

    private LotKeeper Make() => new(store, () => Book, Announcements, Time, NullLogger<LotKeeper>.Instance);
}
