using RootCellar.Monitoring;

namespace RootCellar.Storage;

/// <summary>
/// What the service keeps is its user's alone: the record holds the sensor password, addresses and tokens. New files are so by the
/// process's umask (<see cref="Libc.KeepPrivate"/>); those of earlier versions, or put back by hand, are mended at each start.
/// </summary>
internal static class PrivateFiles
{
    private const UnixFileMode ForUser = UnixFileMode.UserRead | UnixFileMode.UserWrite;
    private const UnixFileMode ForOthers =
        UnixFileMode.GroupRead | UnixFileMode.GroupWrite | UnixFileMode.GroupExecute | UnixFileMode.OtherRead | UnixFileMode.OtherWrite | UnixFileMode.OtherExecute;

    /// <summary>What is the grower's in the folder. It keeps its mode: root may have written it for the service to read.</summary>
    private static readonly string[] Growers = [DataFolder.Settings, DataFolder.Templates];

    /// <summary>
    /// Takes the rights of others from the service's files in a data folder, and from the folder where it holds nothing else: a home folder
    /// or a share stays as it is.
    /// </summary>
    /// <returns>What others can still read, being somebody else's to change.</returns>
    public static IReadOnlyList<string> Mend(string folder)
    {
        if (OperatingSystem.IsWindows()) return [];
        var entries = new DirectoryInfo(folder).GetFileSystemInfos();
        var open = new List<string>();
        foreach (var entry in entries.Where(IsOurs))
        {
            if (entry is DirectoryInfo keys)
            {
                foreach (var file in keys.GetFiles()) Close(file, open);
            }

            Close(entry, open);
        }

        if (entries.All(e => IsOurs(e) || Growers.Contains(e.Name, StringComparer.Ordinal))) Close(new DirectoryInfo(folder), open);
        return open;
    }

    /// <summary>A file for its user alone, whatever mode it came with.</summary>
    public static void Close(string file)
    {
        if (!OperatingSystem.IsWindows()) File.SetUnixFileMode(file, ForUser);
    }

    private static bool IsOurs(FileSystemInfo entry) =>
        entry.LinkTarget is null
        && (entry.Name.StartsWith(StoreFile.Name, StringComparison.Ordinal)
            || entry.Name.StartsWith(DataFolder.SetUpCopy, StringComparison.Ordinal)
            || entry.Name.StartsWith(DataFolder.Channels, StringComparison.Ordinal)
            || entry.Name.StartsWith(DataFolder.Mappings, StringComparison.Ordinal)
            || entry.Name.StartsWith(DataFolder.Alive, StringComparison.Ordinal)
            || entry.Name.StartsWith(DataFolder.Clock, StringComparison.Ordinal)
            || entry.Name.StartsWith(DataFolder.Household, StringComparison.Ordinal)
            || entry.Name.StartsWith(DataFolder.Backup, StringComparison.Ordinal)
            || entry.Name.StartsWith(DataFolder.EntryCopy, StringComparison.Ordinal)
            || entry.Name is DataFolderLock.Name or DataFolder.Keys);

    private static void Close(FileSystemInfo entry, List<string> open)
    {
        if (OperatingSystem.IsWindows() || (entry.UnixFileMode & ForOthers) == UnixFileMode.None) return;
        try
        {
            entry.UnixFileMode &= ~ForOthers;
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException)
        {
            open.Add(entry.FullName);
        }
    }
}
