using Microsoft.Data.Sqlite;
using RootCellar.Monitoring;
using RootCellar.Storage;
using RootCellar.Tests.Storage;
using RootCellar.Watch;

namespace RootCellar.Tests.Households;

public class RecordTests
{
    [Fact]
    public async Task A_retained_replay_is_never_a_reading()
    {
        await using var farm = await Farm.WithCellarAsync(Farm.AtOnce());
        await farm.HintAsync("rootcellar/cellar/door/temperature_c", "11.7", replay: true);
        await farm.SettledAsync();
        farm.Pipeline.Replays.Should().Be(1);
        (await farm.SeeAsync(s => s.Sensors)).Should().BeEmpty();
        farm.Store.Count().Should().Be(0);
    }

    [Fact]
    public async Task A_repeat_changes_nothing_also_after_a_restart()
    {
        await using var farm = await Farm.WithCellarAsync();
        await farm.SayAsync("rootcellar/cellar/door/temperature_c", "6");
        await farm.SayAsync("rootcellar/cellar/door/temperature_c", "6.1");
        await farm.SayAsync("rootcellar/cellar/door/temperature_c", "6", dup: true);
        await farm.RestartAsync(TimeSpan.FromMinutes(1));
        await farm.SayAsync("rootcellar/cellar/door/temperature_c", "6", dup: true);
        await farm.SayAsync("rootcellar/cellar/door/temperature_c", "6.1", dup: true);
        farm.Store.Count().Should().Be(2);
        (await farm.AskAsync(h => h.Repeats)).Should().Be(2);
        await farm.SayAsync("rootcellar/cellar/door/temperature_c", "6.2", dup: true);
        farm.Store.Count().Should().Be(3, "its first copy never came");
    }

    [Fact]
    public async Task Whoever_has_the_receipt_can_rely_on_the_text()
    {
        await using var farm = await Farm.WithCellarAsync(Farm.AtOnce());
        await farm.SayAsync("rootcellar/cellar/door/temperature_c", "11.7");
        farm.Texts.Should().ContainSingle().Which.Should().StartWith("CELLAR 3F too warm (53F) since ");
        farm.Store.Count().Should().Be(1);
        farm.Store.Text("SELECT state FROM alarm").Should().Be("unacknowledged");
    }

    [Fact]
    public async Task What_cannot_be_read_is_counted_and_its_first_bytes_kept()
    {
        await using var farm = await Farm.WithCellarAsync();
        await farm.SayAsync("rootcellar/cellar/door/temperature_c", "6");
        await farm.SayAsync("rootcellar/cellar/door/temperature_c", "un\nknown");
        (await farm.SeeAsync(s => s.Unreadable.Single())).FirstBytes.Should().Be("un·known");
        (await farm.SeeAsync(s => s.Sensors.Single().Unreadable)).Should().Be(1);
        farm.Store.Count().Should().Be(1);
    }

    [Fact]
    public async Task While_the_disk_refuses_alarms_are_told_and_all_is_written_when_there_is_room()
    {
        await using var farm = await Farm.WithCellarAsync(Farm.AtOnce());
        await farm.SayAsync("rootcellar/cellar/door/temperature_c", "7");
        await farm.Store.FillAsync();
        var big = $$"""[{{string.Join(',', Enumerable.Range(0, 1_000).Select(i => $$"""{"u":"lx","v":0,"t":{{-i}}}"""))}}]""";
        await FluentActions.Awaiting(() => farm.SayAsync("rootcellar/cellar/lamp", big)).Should()
            .ThrowAsync<StoreProblemException>("a receipt means kept");
        await farm.HintAsync("rootcellar/cellar/door/temperature_c", "11.7");
        await Sample.UntilAsync(() => farm.Channel.Taken.Count == 1);
        farm.Channel.Taken[0].Sms.Should().StartWith("CELLAR 3F too warm (53F)");
        farm.Texts.Should().BeEmpty();

        farm.Folder.MakeRoom();
        await Sample.UntilAsync(() =>
        {
            farm.Time.Advance(TimeSpan.FromSeconds(1));
            return farm.Texts.Count == 1 && farm.Store.Text("SELECT state FROM alarm") == "unacknowledged";
        });
        farm.Store.Count().Should().Be(1_002);
        farm.Channel.Taken.Should().HaveCount(1);
    }

    [Fact]
    public async Task A_record_damaged_in_the_middle_does_not_keep_the_watch_from_beginning()
    {
        await using var farm = await Farm.WithCellarAsync(Farm.AtOnce());
        await farm.SayAsync("rootcellar/cellar/door/temperature_c", "7");
        await farm.StopAsync();
        Damage(farm.Folder.File, "alarm", "contact", "outbox");
        await farm.StartAsync();
        await farm.HintAsync("rootcellar/cellar/door/temperature_c", "11.7");
        (await farm.SeeAsync(s => s.OpenAlarms)).Should().ContainSingle().Which.Rule.Should().Be(Rule.TooWarm);
        await Sample.UntilAsync(() => farm.Channel.Taken.Count == 1);
    }

    private static void Damage(string file, params string[] tables)
    {
        var pages = new List<long>();
        long size;
        using (var connection = new SqliteConnection($"Data Source={file};Pooling=False"))
        {
            connection.Open();
            connection.Execute("PRAGMA wal_checkpoint(TRUNCATE)");
            size = (long)connection.Scalar("PRAGMA page_size")!;
            foreach (var table in tables)
                pages.Add((long)connection.Scalar("SELECT rootpage FROM sqlite_master WHERE name = $name", ("$name", table))!);
        }

        using var stream = File.OpenWrite(file);
        foreach (var page in pages)
        {
            stream.Position = (page - 1) * size;
            stream.Write(Enumerable.Repeat((byte)0xEE, (int)size).ToArray());
        }
    }
}
