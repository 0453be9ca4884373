using Microsoft.Data.Sqlite;
using Microsoft.Extensions.DependencyInjection;
using Microsoft.Extensions.Diagnostics.HealthChecks;
using RootCellar.Diagnostics;
using RootCellar.Monitoring;
using RootCellar.Places;
using RootCellar.Storage;
using RootCellar.Tests.Pages;
using RootCellar.Tests.Storage;
using RootCellar.Watch;

namespace RootCellar.Tests.Households;

/// <summary>Writes that nobody waits for, on a record that does not take them: said, counted, tried again.</summary>
public sealed class BrokenRecordTests
{
    [Fact]
    public async Task Air_that_the_table_did_not_take_is_there_once_it_does()
    {
        await using var farm = await Farm.WithCellarAsync();
        await farm.GoAsync(6, 5);
        Outside(farm, "ALTER TABLE air RENAME TO broken");

        await farm.GoAsync(20, 5);
        await farm.Store.WriteAsync(_ => { });
        farm.Failed.Recent.Should().ContainSingle().Which.Should()
            .Match<WorkFailure>(f => f.What == "keeping the air of a place" && f.Failing && f.Count > 1);
        (await farm.Failed.CheckHealthAsync(new HealthCheckContext(), TestContext.Current.CancellationToken)).Status.Should()
            .Be(HealthStatus.Degraded);
        farm.Store.Problem.Should().BeNull("one table's fault is not the disk's");

        Outside(farm, "ALTER TABLE broken RENAME TO air");
        await Sample.UntilAsync(() =>
        {
            farm.Time.Advance(TimeSpan.FromSeconds(30));
            return farm.Failed.Recent is [{ Failing: false }];
        });
        var kept = Air(farm);
        kept.Should().BeInAscendingOrder().And.OnlyHaveUniqueItems();
        kept.Zip(kept.Skip(1), (a, b) => b - a).Should().OnlyContain(gap => gap <= 5 * 60_000, "no five minutes are missing");
        kept.Count.Should().BeGreaterThanOrEqualTo(5);
    }

    [Fact]
    public async Task Air_of_the_time_of_a_refusing_disk_is_there_once_it_takes_writes_again()
    {
        await using var farm = await Farm.WithCellarAsync();
        await farm.GoAsync(6, 5);
        Outside(farm, "CREATE TRIGGER refuse BEFORE INSERT ON reading BEGIN SELECT RAISE(ABORT, 'the disk refuses'); END");

        for (var i = 0; i < 20; i++)
        {
            await farm.HintAsync("rootcellar/cellar/door", """{"temperature_c":5,"humidity_pct":92}""");
            for (var second = 0; second < 60; second++) farm.Time.Advance(TimeSpan.FromSeconds(1));
            await farm.AskAsync(_ => true);
        }

        farm.Failed.Recent.Should().Contain(f => f.What == "writing to the record" && f.Failing);
        var before = Air(farm);

        Outside(farm, "DROP TRIGGER refuse");
        await Sample.UntilAsync(() =>
        {
            farm.Time.Advance(TimeSpan.FromSeconds(11));
            return farm.Store.Problem is null;
        });
        await farm.Store.WriteAsync(_ => { });
        Air(farm).Count.Should().BeGreaterThanOrEqualTo(before.Count + 3);
        farm.Failed.Recent.Should().NotContain(f => f.Failing);
    }

    [Fact]
    public async Task An_alarm_that_its_table_does_not_take_is_told_all_the_same_and_written_later()
    {
        await using var farm = await Farm.WithCellarAsync(Farm.AtOnce());
        await farm.SayAsync("rootcellar/cellar/door", """{"temperature_c":5,"humidity_pct":92}""");
        await farm.SettledAsync();
        Outside(farm, "ALTER TABLE alarm RENAME TO broken");

        await farm.SayAsync("rootcellar/cellar/door", """{"temperature_c":15,"humidity_pct":92}""");
        await Sample.UntilAsync(() => farm.Channel.Taken.Count > 0);
        await Sample.UntilAsync(() => farm.Failed.Recent is [{ Failing: true }]);
        farm.Time.Advance(TimeSpan.FromMinutes(1));

        Outside(farm, "ALTER TABLE broken RENAME TO alarm");
        await Sample.UntilAsync(() =>
        {
            farm.Time.Advance(TimeSpan.FromSeconds(11));
            return farm.Store.Read(AlarmRows.Open).Count > 0 && farm.Failed.Recent.All(f => !f.Failing);
        });
    }

    [Fact]
    public async Task What_is_written_later_never_covers_what_is_newer()
    {
        using var folder = new TempFolder();
        var time = new HouseTime(Sample.At);
        await using var failed = new FailedWork(time, Microsoft.Extensions.Logging.Abstractions.NullLogger<FailedWork>.Instance);
        await using var store = folder.Open(time, failed: failed);
        var broken = true;
        await store.WriteSoonAsync(new SoonWrite("row", "row", c => Set(c, "old")));
        await store.WriteSoonAsync(new SoonWrite("other", "other", c => Meta.Set(c, "other", "kept")));
        await store.WriteAsync(_ => { });
        failed.Recent.Should().ContainSingle();

        broken = false;
        await store.WriteSoonAsync(new SoonWrite("row", "row", c => Set(c, "new")));
        await store.WriteAsync(_ => { });
        failed.Recent.Should().OnlyContain(f => !f.Failing);
        time.Advance(TimeSpan.FromMinutes(1));
        await store.WriteAsync(_ => { });
        store.Read(c => Meta.Get(c, "row")).Should().Be("new");
        store.Read(c => Meta.Get(c, "other")).Should().Be("kept");

        void Set(SqliteConnection c, string value)
        {
            if (broken) throw new InvalidOperationException("a bug");
            Meta.Set(c, "row", value);
        }
    }

    /// <summary>A bug in the writer must not end all writing.</summary>
    [Fact]
    public async Task A_writer_that_cannot_begin_says_so_and_goes_on_later()
    {
        using var folder = new TempFolder();
        var time = new HouseTime(Sample.At);
        await using var store = folder.Open(time);
        await FluentActions.Awaiting(() => store.WriteAsync(c => c.Execute("COMMIT"))).Should().ThrowAsync<Exception>();
        await Sample.UntilAsync(() =>
        {
            time.Advance(TimeSpan.FromSeconds(11));
            return store.Problem is null;
        });
        await store.WriteAsync(c => Meta.Set(c, "row", "kept"));
        store.Read(c => Meta.Get(c, "row")).Should().Be("kept");
    }

    [Fact]
    public async Task Health_and_metrics_of_the_running_service_say_it()
    {
        await using var site = await Site.OpenAsync();
        using (var other = new SqliteConnection($"Data Source={site.Store.Folder}/{StoreFile.Name};Pooling=False"))
        {
            other.Open();
            other.Execute("ALTER TABLE air RENAME TO broken");
        }

        var air = new PlaceAir("cellar", Sample.At, 5, 92, null, null, null, null, null, null, AirQuality.Good);
        await site.Store.WriteSoonAsync(new SoonWrite("air cellar", "keeping the air of a place", c => PlaceRows.SaveAir(c, air)));
        await site.Store.WriteAsync(_ => { });

        var report = await site.Services.GetRequiredService<HealthCheckService>().CheckHealthAsync(TestContext.Current.CancellationToken);
        report.Entries["work"].Status.Should().Be(HealthStatus.Degraded);
        (await site.WordsAsync("/")).Should().Contain("keeping the record");
        var figures = await site.ReadAsync("/metrics");
        figures.Should().MatchRegex("""rootcellar_work_failed_total\{[^}]*what="keeping the air of a place"[^}]*\} [1-9]""");
        figures.Should().MatchRegex("""rootcellar_writes_failed_total\{reason="write"\} [1-9]""").And.Contain(
            "rootcellar_unsynced_age_seconds").And.Contain("rootcellar_writes_waiting_age_seconds");
    }

    private static List<long> Air(Farm farm) => farm.Store.Read(
        c => c.Query("SELECT at_ms FROM air ORDER BY at_ms", row => row.GetInt64(0)));

    private static void Outside(Farm farm, string sql)
    {
        using var other = new SqliteConnection($"Data Source={farm.Folder.File};Pooling=False");
        other.Open();
        // Renaming back while the program goes on is for SQLite's old way: the new one looks through every trigger.
        other.Execute("PRAGMA busy_timeout=5000; PRAGMA legacy_alter_table=ON");
        other.Execute(sql);
    }
}
