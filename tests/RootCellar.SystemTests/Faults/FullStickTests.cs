using Microsoft.Data.Sqlite;
using RootCellar.SystemTests.Running;

namespace RootCellar.SystemTests.Faults;

/// <summary>A backup onto a stick that takes no more: the stick is named, not the record's disk, and nothing half is left on it.</summary>
public sealed class FullStickTests
{
    [Theory]
    [InlineData("full", "is full: the copy takes about")]
    [InlineData("read-only", "could not be written")]
    public async Task The_stick_is_named_and_no_half_file_is_left(string how, string expected)
    {
        await using var service = await RunningService.StartAsync();
        await service.StopAsync();
        await using (var connection = new SqliteConnection(
            new SqliteConnectionStringBuilder { DataSource = service.RecordPath, Pooling = false }.ToString()))
        {
            await connection.OpenAsync(TestContext.Current.CancellationToken);
            using var command = connection.CreateCommand();
            command.CommandText = "INSERT INTO meta (key, value) VALUES ('ballast', hex(randomblob(2000000)))";
            command.ExecuteNonQuery();
        }

        await using var stick = await RamDisk.MountAsync(1);
        if (how == "read-only") await stick.RemountAsync("ro");
        await service.StartAsync();
        var copy = Path.Combine(stick.Path, "copy.db");

        var said = await BuiltProgram.RunAsync("backup", copy, "--data", service.Data);

        said.Exit.Should().Be(2, said.ToString());
        said.Out.Should().BeEmpty();
        said.Error.Trim().Should().Contain(copy).And.Contain(expected).And.NotContain(service.Data).And.NotContain("\n").And.NotContain(
            ".part is");
        Directory.GetFileSystemEntries(stick.Path).Should().BeEmpty();
        (await service.ReadinessAsync()).Status.Should().Be(200);
    }
}
