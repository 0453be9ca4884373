using RootCellar.Storage;

namespace RootCellar.Tests.Storage;

public sealed class DataFolderLockTests : IDisposable
{
    private static readonly DateTimeOffset Since = new(2026, 11, 28, 16, 20, 0, TimeSpan.Zero);
    private readonly TempFolder folder = new();

    public void Dispose() => folder.Dispose();

    [Fact]
    public void A_folder_is_one_process_s_until_it_lets_go_and_the_next_is_told_whose_it_is()
    {
        using (var held = DataFolderLock.Take(folder.Path, "run", Since))
        {
            held.Held.Should().BeTrue();
            held.Answers("http://localhost:8080");
            var second = () => DataFolderLock.Take(folder.Path, "import", Since.AddHours(1));
            var thrown = second.Should().Throw<DataFolderInUseException>().Which;
            thrown.Message.Should().Be(
                $"the data folder {folder.Path} is in use by 'rootcellar run' (process {Environment.ProcessId} on {Environment.MachineName}, since 2026-11-28 16:20Z). "
                + "Stop the service first (systemctl stop rootcellar), or give another folder with --data DIR; nothing was changed.");
            thrown.Holder.Should()
                .Be(new DataFolderHolder("run", Environment.ProcessId, Environment.MachineName, Since, "http://localhost:8080"));
            // Asking did not take it away.
            second.Should().Throw<DataFolderInUseException>();
        }

        using var next = DataFolderLock.TryTake(folder.Path, "import", Since, out var holder);
        next!.Held.Should().BeTrue();
        holder.Should().Be(new DataFolderHolder("import", Environment.ProcessId, Environment.MachineName, Since));
        DataFolderLock.TryTake(folder.Path, "run", Since, out var import).Should().BeNull();
        import!.IsService.Should().BeFalse();
    }

    [Theory]
    [InlineData("")]
    [InlineData("{\"command\":\"run\",\"process\":4711,\"machine\":\"cellar\",\"since\":\"2026-11-28T16:20:00+00:00\"}")]
    [InlineData("not JSON at all")]
    public void A_file_left_behind_by_a_process_that_was_killed_means_nothing(string left)
    {
        File.WriteAllText(System.IO.Path.Combine(folder.Path, DataFolderLock.Name), left);
        using var held = DataFolderLock.Take(folder.Path, "run", Since);
        held.Held.Should().BeTrue();
    }

    [Fact]
    public void Whoever_holds_it_without_words_is_still_not_pushed_aside()
    {
        using var wordless = new FileStream(System.IO.Path.Combine(folder.Path, DataFolderLock.Name), FileMode.Create, FileAccess.ReadWrite,
            FileShare.None);
        var second = () => DataFolderLock.Take(folder.Path, "run", Since);
        second.Should().Throw<DataFolderInUseException>().WithMessage("*is in use by another rootcellar. Wait until that has ended*");
    }
}
