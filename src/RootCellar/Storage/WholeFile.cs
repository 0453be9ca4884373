using System.Runtime.InteropServices;

namespace RootCellar.Storage;

/// <summary>
/// Writes a small file so that after a power cut it is there whole, old or new: beside it first, synced, then renamed over it, and the folder
/// synced, which holds the name. Only its owner may read it.
/// </summary>
internal static class WholeFile
{
    /// <exception cref="IOException">It could not be written; what was there before stands.</exception>
    /// <exception cref="UnauthorizedAccessException">The folder may not be written.</exception>
    public static void Write(string file, Action<Stream> write)
    {
        var fresh = file + ".new";
        // Left by a start that was killed: its rights might be others.
        File.Delete(fresh);
        var how = new FileStreamOptions { Mode = FileMode.CreateNew, Access = FileAccess.Write };
        if (!OperatingSystem.IsWindows()) how.UnixCreateMode = UnixFileMode.UserRead | UnixFileMode.UserWrite;
        using (var stream = new FileStream(fresh, how))
        {
            write(stream);
            stream.Flush(flushToDisk: true);
        }

        File.Move(fresh, file, overwrite: true);
        SyncFolder(Path.GetDirectoryName(Path.GetFullPath(file))!);
    }

    // .NET opens no folders; a file system that cannot sync one loses at worst the newest name.
    private static void SyncFolder(string folder)
    {
        if (OperatingSystem.IsWindows()) return;
        var descriptor = Open(folder, 0);
        if (descriptor < 0) return;
        Sync(descriptor);
        Close(descriptor);
    }

    [DllImport("libc", EntryPoint = "open", CharSet = CharSet.Ansi, BestFitMapping = false, ThrowOnUnmappableChar = true)]
    [DefaultDllImportSearchPaths(DllImportSearchPath.SafeDirectories)]
    private static extern int Open([MarshalAs(UnmanagedType.LPUTF8Str)] string path, int flags);

    [DllImport("libc", EntryPoint = "fsync")]
    [DefaultDllImportSearchPaths(DllImportSearchPath.SafeDirectories)]
    private static extern int Sync(int descriptor);

    [DllImport("libc", EntryPoint = "close")]
    [DefaultDllImportSearchPaths(DllImportSearchPath.SafeDirectories)]
    private static extern int Close(int descriptor);
}
