using Microsoft.Data.Sqlite;
using Microsoft.Extensions.Logging.Abstractions;
using Microsoft.Extensions.Time.Testing;
using RootCellar.Diagnostics;
using RootCellar.Readings;
using RootCellar.Storage;

namespace RootCellar.Tests.Storage;

/// <summary>A folder of its own for one test, taken away after it.</summary>
internal sealed class TempFolder : IDisposable
{
    public string Path { get; } = Directory.CreateTempSubdirectory("rootcellar-").FullName;

    public string File => System.IO.Path.Combine(Path, StoreFile.Name);

    public Store Open(TimeProvider time, double batchSeconds = 10, FailedWork? failed = null) =>
        Store.Open(Path, new KeepOptions { BatchSeconds = batchSeconds }, time, NullLogger<Store>.Instance, failed: failed);

    /// <summary>Frees pages in the full file, as a grower who deletes something does.</summary>
    public void MakeRoom()
    {
        using var other = new SqliteConnection($"Data Source={File};Pooling=False");
        other.Open();
        other.Execute("DELETE FROM meta WHERE key = 'ballast'");
    }

    public void Dispose()
    {
        // The copy of the set-up is written aside and moved into place: caught between the two, the folder is not empty yet.
        for (int attempt = 0; ; attempt++)
        {
            try
            {
                Directory.Delete(Path, recursive: true);
                return;
            }
            catch (IOException) when (attempt < 20)
            {
#pragma warning disable RS0030 // Tidying up after a test, in a constructor's opposite that cannot wait otherwise.
                Thread.Sleep(50);
#pragma warning restore RS0030
            }
        }
    }
}

internal static class Sample
{
    public static readonly DateTimeOffset At = new(2025, 10, 4, 6, 0, 0, TimeSpan.Zero);

    public static StoredReading Reading(
        double value, DateTimeOffset? at = null, Quantity quantity = Quantity.Temperature, TimeSource source = TimeSource.Arrival,
        Quality quality = Quality.Good, int sensor = 1) =>
        new(sensor, new Reading("cellar/door", quantity, value, at ?? At, at ?? At, source, quality, quality == Quality.Good ? null
            : "why"));

    public static int Count(this Store store) => store.Read(
        c => Convert.ToInt32(c.Scalar("SELECT count(*) FROM reading"), System.Globalization.CultureInfo.InvariantCulture));

    public static string Text(this Store store, string sql) =>
        store.Read(c => string.Join(" ", c.Query(sql, row => row.IsDBNull(0) ? "NULL" : row.GetValue(0).ToString()!)));

    /// <summary>Makes the real disk refusal of SQLite itself: not one page more than the file has now.</summary>
    public static Task FillAsync(this Store store) => store.WriteAsync(c =>
    {
        Meta.Set(c, "ballast", new string('x', 4_000_000));
        c.Execute($"PRAGMA max_page_count={c.Scalar("PRAGMA page_count")}");
    });

    /// <summary>Waits for what the writer does on its own thread; fake time has no part in it.</summary>
    public static async Task UntilAsync(Func<bool> holds)
    {
        using var patience = new CancellationTokenSource(TimeSpan.FromMinutes(3));
        while (!holds())
        {
            patience.Token.ThrowIfCancellationRequested();
            await Task.Delay(1, patience.Token);
        }
    }
}

/// <summary>Fake time whose wall clock can be set without the monotonic one noticing, and that counts what timers were armed.</summary>
internal sealed class HouseTime(DateTimeOffset start) : FakeTimeProvider(start)
{
    private int armed;
    private long looks;

    public TimeSpan Offset { get; set; }

    public int Armed => Volatile.Read(ref armed);

    public override DateTimeOffset GetUtcNow() => base.GetUtcNow() + Offset;

    /// <summary>What every look at the clock takes: a slow machine.</summary>
    public TimeSpan PerLook { get; init; }

    /// <summary>How often somebody looked at the clock.</summary>
    public long Looks => Interlocked.Read(ref looks);

    public override long GetTimestamp() => base.GetUtcNow().Ticks + (Interlocked.Increment(ref looks) * PerLook.Ticks);

    public override ITimer CreateTimer(TimerCallback callback, object? state, TimeSpan dueTime, TimeSpan period) =>
        new Counted(base.CreateTimer(callback, state, dueTime, period), () => Interlocked.Increment(ref armed));

    private sealed class Counted(ITimer inner, Action changed) : ITimer
    {
        public bool Change(TimeSpan dueTime, TimeSpan period)
        {
            var done = inner.Change(dueTime, period);
            changed();
            return done;
        }

        public void Dispose() => inner.Dispose();

        public ValueTask DisposeAsync() => inner.DisposeAsync();
    }
}
