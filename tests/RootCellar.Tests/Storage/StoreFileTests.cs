using Microsoft.Data.Sqlite;
using RootCellar.Entry;
using RootCellar.Places;
using RootCellar.Readings;
using RootCellar.Storage;
using RootCellar.Tell;
using RootCellar.Watch;

namespace RootCellar.Tests.Storage;

public sealed class StoreFileTests : IDisposable
{
    private readonly TempFolder folder = new();
    private readonly HouseTime time = new(Sample.At);

    public void Dispose() => folder.Dispose();

    [Fact]
    public async Task The_file_of_the_first_version_is_brought_forward_with_everything_in_it()
    {
        File.Copy(Path.Combine(AppContext.BaseDirectory, "Storage", "first-version.db"), folder.File);
        await using var store = folder.Open(time);
        store.AnyProblem.Should().BeNull();
        store.Text("PRAGMA user_version").Should().Be($"{StoreFile.CurrentVersion}");
        store.Text("PRAGMA journal_mode").Should().Be("wal");
        store.Read(PlaceRows.All).Should().ContainSingle().Which.Should()
            .BeEquivalentTo(new Place("cellar", "Cellar", Purpose.Storage, 22.5, ["potato", "carrot"]));
        store.Read(SensorRows.All).Should().Equal(new SensorRow(1, "cellar/door", "cellar", "cellar", "Door", Sample.At, 60));
        store.Text("SELECT count(*) FROM calibration").Should().Be("0");
        store.Read(c => SensorRows.Since(c, Sample.At).ToList()).Select(r => (r.Reading.Value, r.Reading.Quality, r.Reading.TimeSource))
            .Should().Equal((5.5, Quality.Good, TimeSource.Arrival), (85, Quality.KnownFault, TimeSource.Arrival),
                (double.NaN, Quality.NotFinite, TimeSource.Device));
        store.Text("SELECT count FROM rollup").Should().Be("5");
        store.Read(c => PlaceRows.Air(c, "cellar", Sample.At, Sample.At.AddHours(1))).Should().ContainSingle().Which.DewPointC.Should()
            .Be(4.3);
        store.Read(AlarmRows.Open).Should().ContainSingle().Which.Should()
            .Match<Alarm>(a => a.Rule == Rule.TooWarm && a.State == AlarmState.Unacknowledged && a.Active && a.Worst == 9.8);
        store.Read(AlarmRows.LastSequence).Should().Be(3);
        store.Read(ContactRows.All).Should().Equal(new Contact("c1", "Ann", "mail", "ann@example.org", "all"));
        store.Read(OutboxRows.Unsent).Should().ContainSingle().Which.Sms.Should().StartWith("CELLAR 49F");
        store.Read(Tokens.All).Should().Equal(new TokenView("siren", Sample.At));
        store.Read(c => Meta.Get(c, Meta.SetUpFinished)).Should().Be("yes");

        await store.AppendAsync([Sample.Reading(6)], urgent: true);
        store.Count().Should().Be(4);
    }

    [Fact]
    public async Task A_newer_file_is_refused_and_left_alone()
    {
        await using (folder.Open(time))
        {
        }

        Raw("PRAGMA user_version=99");
        FluentActions.Invoking(() => folder.Open(time)).Should().Throw<StoreProblemException>()
            .Which.Message.Should().Contain("newer rootcellar (schema 99").And.Contain(folder.File).And.Contain("nothing was changed");
        Raw($"PRAGMA user_version={StoreFile.CurrentVersion}");
        await using var again = folder.Open(time);
        again.AnyProblem.Should().BeNull();
    }

    [Fact]
    public async Task A_corrupt_file_is_left_as_it_is_and_the_service_runs_on_memory()
    {
        var rubbish = new byte[8192];
        Array.Fill(rubbish, (byte)'x');
        await File.WriteAllBytesAsync(folder.File, rubbish, TestContext.Current.CancellationToken);
        await using (var store = folder.Open(time))
        {
            store.StartProblem.Should().Contain("is damaged").And.Contain("restore FILE");
            store.AnyProblem.Should().Be(store.StartProblem);
            await store.AppendAsync([Sample.Reading(1)], urgent: true);
            store.Count().Should().Be(1);
        }

        (await File.ReadAllBytesAsync(folder.File, TestContext.Current.CancellationToken)).Should().Equal(rubbish);
    }

    [Fact]
    public async Task A_folder_that_is_not_there_is_said_to_be_so()
    {
        await using var store =
            Store.Open(Path.Combine(folder.Path, "gone"), new KeepOptions(), time,
                Microsoft.Extensions.Logging.Abstractions.NullLogger<Store>.Instance);
        store.StartProblem.Should().Contain("cannot be opened");
        await store.AppendAsync([Sample.Reading(1)], urgent: true);
        store.Count().Should().Be(1);
    }

    [Theory]
    [InlineData(8, "read-only")]
    [InlineData(10, "does not answer properly")]
    [InlineData(11, "is damaged")]
    [InlineData(13, "is full")]
    [InlineData(14, "cannot be opened")]
    [InlineData(26, "is damaged")]
    [InlineData(5, "cannot be used")]
    public void Each_refusal_has_its_words(int code, string expected) =>
        StoreFile.Explain(new SqliteException("x", code), "/data/rootcellar.db").Should()
            .Contain(expected).And.Contain("/data/rootcellar.db");

    private void Raw(string sql)
    {
        using var connection = new SqliteConnection($"Data Source={folder.File};Pooling=False");
        connection.Open();
        connection.Execute(sql);
    }
}
