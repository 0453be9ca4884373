using RootCellar.Household;
using RootCellar.Monitoring;

namespace RootCellar.Storage;

/// <summary>The record is missing or empty, and what lies beside it says that there was one.</summary>
internal sealed class LostRecordException(string message) : StoreProblemException(message);

/// <summary>
/// Tells a first start from a record that was lost. To SQLite an empty file is a new one, and a log beside it rubbish to delete: it must
/// never be let near either, for the log may hold the last days.
/// </summary>
internal static class LostRecord
{
    private const long Nothing = 0;

    /// <exception cref="LostRecordException">There was a record, and it is gone: what is there, and what to do.</exception>
    public static void ThrowIfLost(string record)
    {
        var file = new FileInfo(record);
        if (file is { Exists: true, Length: > Nothing }) return;
        var folder = Path.GetDirectoryName(Path.GetFullPath(record))!;
        string[] signs = Directory.Exists(folder) ? [.. Signs(folder, file.Name).Order(StringComparer.Ordinal)] : [];
        if (signs.Length == 0) return;
        throw new LostRecordException(
            (file.Exists ? Strings.RecordEmpty : Strings.RecordLost).With(
                record, string.Join(", ", signs), $"{DataFolder.Settings}, {DataFolder.Templates}, {Language.Folder}", folder));
    }

    /// <summary>Files of no length say nothing: a first start that was cut off, or a full disk, leaves such.</summary>
    private static IEnumerable<string> Signs(string folder, string record)
    {
        foreach (var file in new DirectoryInfo(folder).EnumerateFiles().Where(f => f.Length > Nothing))
        {
            // The log and its index; a record that 'restore' set aside, which has its day behind the name.
            var rest = file.Name.StartsWith(record, StringComparison.Ordinal) ? file.Name[record.Length..] : "";
            if (rest is "-wal" or "-shm" || rest is ['.', '2', ..] || file.Name is DataFolder.SetUpCopy or DataFolder.EntryCopy)
                yield return file.Name;
        }

        var keys = new DirectoryInfo(Path.Combine(folder, DataFolder.Keys));
        if (keys.Exists && keys.EnumerateFiles().Any(f => f.Length > Nothing)) yield return DataFolder.Keys;
    }
}
