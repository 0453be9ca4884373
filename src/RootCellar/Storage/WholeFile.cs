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
        if (!OperatingSystem.IsWindows()) Libc.SyncFolder(Path.GetDirectoryName(Path.GetFullPath(file))!);
    }
}
