using Microsoft.Data.Sqlite;
using Microsoft.Extensions.Logging.Abstractions;
using Microsoft.Extensions.Time.Testing;
using RootCellar.Monitoring;
using RootCellar.Readings;
using RootCellar.Storage;

namespace RootCellar.Tests.Storage;

public sealed class RefusingDiskTests : IDisposable
{
    private readonly string folder = Directory.CreateTempSubdirectory("rootcellar-refusing-").FullName;

    public void Dispose() => Directory.Delete(folder, recursive: true);

    /// <summary>More than the writer's batch and its queue together: alarms are judged by the thread that appends.</summary>
    [Fact(Timeout = 60_000)]
    public async Task A_disk_that_refuses_holds_nobody_up_and_gets_everything_later()
    {
        const int many = 30_000;
        var time = new FakeTimeProvider(new DateTimeOffset(2026, 10, 1, 12, 0, 0, TimeSpan.Zero));
        await using (var store = Store.Open(folder, new KeepOptions(), time, NullLogger<Store>.Instance))
        {
            Outside("CREATE TRIGGER refuse BEFORE INSERT ON reading BEGIN SELECT RAISE(ABORT, 'the disk refuses'); END");
            await AppendAsync(store, many, time).WaitAsync(TimeSpan.FromSeconds(30), TestContext.Current.CancellationToken);
            store.Problem.Should().Contain("the disk refuses");

            Outside("DROP TRIGGER refuse");
            time.Advance(TimeSpan.FromSeconds(10));
        }

        Outside("SELECT count(*) FROM reading").Should().Be((long)many);
    }

    private static async Task AppendAsync(Store store, int many, TimeProvider time)
    {
        for (var i = 0; i < many; i++)
        {
            var reading = new Reading("cellar/s1", Quantity.Temperature, 5, time.GetUtcNow(), time.GetUtcNow(), TimeSource.Arrival,
                Quality.Good, null);
            await store.AppendAsync([new StoredReading(1, reading)], urgent: false);
        }
    }

    private object? Outside(string sql)
    {
        using var connection = new SqliteConnection($"Data Source={Path.Combine(folder, StoreFile.Name)};Pooling=False");
        connection.Open();
        return connection.Scalar(sql);
    }
}
