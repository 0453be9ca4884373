using Microsoft.Data.Sqlite;
using RootCellar.Readings;
using RootCellar.Storage;

namespace RootCellar.Tests.Storage;

public sealed class StoreTests : IDisposable
{
    private readonly TempFolder folder = new();
    private readonly HouseTime time = new(Sample.At);

    public void Dispose() => folder.Dispose();

    [Fact]
    public async Task Readings_wait_for_the_batch_and_no_longer()
    {
        await using var store = folder.Open(time);
        await store.AppendAsync([Sample.Reading(1)], urgent: false);
        await store.AppendAsync([Sample.Reading(2)], urgent: false);
        await Sample.UntilAsync(() => time.Armed > 0);
        time.Advance(TimeSpan.FromSeconds(9.9));
        store.Count().Should().Be(0);
        time.Advance(TimeSpan.FromSeconds(0.2));
        await Sample.UntilAsync(() => store.Count() == 2);
        store.Written.Should().Be(2);
    }

    [Fact]
    public async Task Closing_writes_what_waits()
    {
        await using (var store = folder.Open(time)) await store.AppendAsync([Sample.Reading(1), Sample.Reading(2)], urgent: false);
        await using var again = folder.Open(time);
        again.Count().Should().Be(2);
    }

    [Fact]
    public async Task Urgent_is_on_disk_at_return_and_takes_what_came_before_it_along()
    {
        await using var store = folder.Open(time);
        await store.AppendAsync([Sample.Reading(1)], urgent: false);
        await store.AppendAsync([Sample.Reading(2)], urgent: true);
        using var other = new SqliteConnection($"Data Source={folder.File};Mode=ReadOnly;Pooling=False");
        other.Open();
        other.Scalar("SELECT count(*) FROM reading").Should().Be(2L);
        await (await store.QueueUrgentAsync([Sample.Reading(3)]));
        other.Scalar("SELECT count(*) FROM reading").Should().Be(3L);
    }

    [Fact]
    public async Task Work_is_done_in_the_order_given_and_one_that_fails_undoes_only_itself()
    {
        await using var store = folder.Open(time);
        var order = new List<int>();
        var first = store.WriteAsync(c => Note(c, 1));
        var bad = store.WriteAsync(c =>
        {
            Note(c, 2);
            c.Execute("INSERT INTO meta (key, value) VALUES ('n1', NULL)");
        });
        var wrong = store.WriteAsync(_ => throw new InvalidOperationException("a bug"));
        var last = store.WriteAsync(c => Note(c, 3));
        await first;
        await last;
        await FluentActions.Awaiting(() => bad).Should().ThrowAsync<SqliteException>();
        await FluentActions.Awaiting(() => wrong).Should().ThrowAsync<InvalidOperationException>();
        order.Should().Equal(1, 2, 3);
        store.Text("SELECT key FROM meta WHERE key LIKE 'n%' ORDER BY key").Should().Be("n1 n3");

        void Note(SqliteConnection c, int n)
        {
            order.Add(n);
            Meta.Set(c, $"n{n}", "x");
        }
    }

    [Fact]
    public async Task A_repeat_by_device_time_changes_nothing_and_two_arrivals_in_one_millisecond_both_stand()
    {
        await using (var store = folder.Open(time))
        {
            for (var i = 0; i < 3; i++) await store.AppendAsync([Sample.Reading(1, source: TimeSource.Device)], urgent: true);
            await store.AppendAsync([Sample.Reading(2, source: TimeSource.Device)], urgent: true);
            store.Count().Should().Be(2);
            for (var i = 0; i < 3; i++) await store.AppendAsync([Sample.Reading(1)], urgent: true);
            store.Count().Should().Be(5);
        }

        await using var again = folder.Open(time);
        await again.AppendAsync([Sample.Reading(1), Sample.Reading(1, source: TimeSource.Device)], urgent: true);
        again.Count().Should().Be(6);
    }

    [Fact]
    public async Task What_is_kept_is_what_was_measured()
    {
        await using var store = folder.Open(time);
        StoredReading[] all =
        [
            Sample.Reading(double.NaN, quality: Quality.NotFinite),
            Sample.Reading(double.PositiveInfinity, quality: Quality.NotFinite, quantity: Quantity.Light),
            Sample.Reading(0.1 + 0.2, source: TimeSource.Device, quantity: Quantity.Weight),
            Sample.Reading(85, quality: Quality.KnownFault, source: TimeSource.ArrivalForBadDeviceTime, quantity: Quantity.Pulp),
        ];
        await store.WriteAsync(c => SensorRows.Save(c, new SensorRow(1, "cellar/door", null, "cellar", null, Sample.At, null)));
        await store.AppendAsync(all, urgent: true);
        store.Read(c => SensorRows.Since(c, Sample.At).ToList()).Should().BeEquivalentTo(all);
        store.Text("SELECT value FROM reading WHERE quality = 1 AND quantity = 1").Should().Be("NULL");
    }

    [Fact]
    public async Task A_full_disk_fails_what_is_urgent_holds_readings_and_writes_them_when_there_is_room()
    {
        await using var store = folder.Open(time);
        await store.FillAsync();
        var many = Enumerable.Range(0, 3_000).Select(i => Sample.Reading(i, Sample.At.AddSeconds(i))).ToArray();
        var refused = await FluentActions.Awaiting(() => store.AppendAsync(many, urgent: true).AsTask()).Should()
            .ThrowAsync<StoreProblemException>();
        refused.Which.Message.Should().Contain("is full").And.Contain(folder.File);
        refused.Which.InnerException.Should().BeOfType<SqliteException>().Which.SqliteErrorCode.Should().Be(13);
        store.Problem.Should().Be(refused.Which.Message);
        await store.AppendAsync([Sample.Reading(-1)], urgent: false);
        store.Count().Should().Be(0);
        var written = store.Written;

        folder.MakeRoom();
        await Sample.UntilAsync(() =>
        {
            time.Advance(TimeSpan.FromSeconds(11));
            return store.Problem is null;
        });
        store.Count().Should().Be(3_001);
        store.Dropped.Should().Be(0);
        store.Written.Should().BeGreaterThan(written);
    }

    [Fact]
    public async Task However_much_is_held_the_store_goes_on_taking_and_refusing()
    {
        await using var store = folder.Open(time);
        await store.FillAsync();
        var one = Enumerable.Range(0, 1_000).Select(i => Sample.Reading(i, Sample.At.AddSeconds(i))).ToArray();
        await FluentActions.Awaiting(() => store.AppendAsync(one, urgent: true).AsTask()).Should().ThrowAsync<StoreProblemException>();

        // More than one transaction takes and more than the queue holds: nobody who appends may be left waiting.
        for (var i = 0; i < 30_000; i++) await store.AppendAsync([Sample.Reading(i, Sample.At.AddDays(1).AddSeconds(i))], urgent: false);
        await FluentActions.Awaiting(() => store.WriteAsync(c => Meta.Set(c, "x", new string('x', 100_000)))).Should()
            .ThrowAsync<StoreProblemException>();

        folder.MakeRoom();
        await Sample.UntilAsync(() =>
        {
            time.Advance(TimeSpan.FromSeconds(11));
            return store.Problem is null;
        });
        store.Count().Should().Be(31_000);
        await store.WriteAsync(c => Meta.Set(c, "x", "y"));
        store.Dropped.Should().Be(0);
    }
}
