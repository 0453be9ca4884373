namespace RootCellar.SystemTests.Running;

/// <summary>A small file system of its own, which can be filled up or made read-only without harm to anyone; root only.</summary>
public sealed class RamDisk : IAsyncDisposable
{
    private readonly Scratch scratch = new();

    public string Path => scratch.Path;

    public static async Task<RamDisk> MountAsync(int megabytes)
    {
        Skips.Unless(Environment.UserName == "root" && Tool.Find("mount") is not null, "A small file system can be mounted by root only.");
        var disk = new RamDisk();
        var said = await Tool.RunAsync("mount", ["-t", "tmpfs", "-o", $"size={megabytes}m,mode=755", "tmpfs", disk.Path]);
        if (said.Exit == 0) return disk;
        disk.scratch.Dispose();
        Skips.Because($"mount does not work here: {said.Error.Trim()}");
        return disk;
    }

    public async Task RemountAsync(string options)
    {
        var said = await Tool.RunAsync("mount", ["-o", $"remount,{options}", Path]);
        said.Exit.Should().Be(0, said.ToString());
    }

    /// <summary>Writes until nothing more fits.</summary>
    public void FillUp()
    {
        var block = new byte[64 * 1024];
        using var file = new FileStream(System.IO.Path.Combine(Path, "filler"), FileMode.Append, FileAccess.Write, FileShare.Read,
            bufferSize: 0);
        for (var size = block.Length; size >= 1; size /= 16)
        {
            try
            {
                while (true) file.Write(block, 0, size);
            }
            catch (IOException)
            {
                // Full for blocks of this size.
            }
        }
    }

    public void MakeRoom() => File.Delete(System.IO.Path.Combine(Path, "filler"));

    public async ValueTask DisposeAsync()
    {
        // Lazily, so that a file somebody still holds cannot keep the mount for ever.
        var said = await Tool.RunAsync("umount", ["-l", Path]);
        scratch.Dispose();
        said.Exit.Should().Be(0, said.ToString());
    }
}
