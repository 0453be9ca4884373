using System.Text.RegularExpressions;
using Microsoft.Data.Sqlite;
using RootCellar.Household;

namespace RootCellar.Storage;

/// <summary>
/// The small files beside the record that make it the household's service: how texts go out, how topics are read, settings, templates,
/// languages, crops. A backup carries them in rows of <c>meta</c>, so that one file brings everything back.
/// </summary>
internal static partial class SideFiles
{
    private const string Prefix = "file:";

    /// <summary>No such file is longer; one that is was put there by mistake.</summary>
    private const long Longest = 2_000_000;

    /// <summary>What the service writes itself: it belongs to the record and comes back with it.</summary>
    private static readonly string[] Services = [DataFolder.Channels, DataFolder.Mappings, DataFolder.Backup, DataFolder.Household];

    /// <summary>What people write: on a machine that has its own, its own stays.</summary>
    private static readonly string[] Peoples = [DataFolder.Settings, DataFolder.OwnCrops];

    private static readonly string[] Folders = [DataFolder.Templates, Language.Folder];

    /// <summary>Puts them into a copy.</summary>
    public static void Add(SqliteConnection copy, string dataFolder)
    {
        // A record that somebody changed by hand is copied as it is, and said to be so.
        if (!Carries(copy)) return;
        Remove(copy);
        foreach (var name in Services.Concat(Peoples).Concat(Folders.SelectMany(f => In(dataFolder, f))))
        {
            var file = new FileInfo(Path.Combine(dataFolder, name));
            if (file is { Exists: true, Length: <= Longest }) Meta.Set(copy, Prefix + name, Convert.ToBase64String(File.ReadAllBytes(file.FullName)));
        }
    }

    /// <summary>What a copy carries, by name. Other names than ours, such as a path that leads elsewhere, are left out.</summary>
    public static IReadOnlyList<(string Name, byte[] Content)> In(SqliteConnection copy) => !Carries(copy) ? []
        : [.. copy.Query("SELECT key, value FROM meta WHERE key GLOB 'file:*' ORDER BY key", row => (row.GetString(0)[Prefix.Length..], row.GetString(1)))
            .Where(f => IsOurs(f.Item1)).Select(f => (f.Item1, Bytes(f.Item2)))];

    public static void Remove(SqliteConnection copy) => copy.Execute("DELETE FROM meta WHERE key GLOB 'file:*'");

    /// <summary>Puts them back beside a record.</summary>
    /// <param name="aside">Behind the name of a file that is replaced.</param>
    /// <returns>Those that are there now, and those that were left out because the folder has its own.</returns>
    public static (IReadOnlyList<string> Back, IReadOnlyList<string> LeftOut) PutBack(
        IReadOnlyList<(string Name, byte[] Content)> files, string dataFolder, string aside)
    {
        List<string> back = [], leftOut = [];
        foreach (var (name, content) in files)
        {
            var path = Path.Combine(dataFolder, name);
            if (File.Exists(path))
            {
                if (File.ReadAllBytes(path).AsSpan().SequenceEqual(content)) continue;
                if (!Services.Contains(name, StringComparer.Ordinal))
                {
                    leftOut.Add(name);
                    continue;
                }

                File.Move(path, path + aside, overwrite: true);
            }

            var folder = Path.GetDirectoryName(path)!;
            if (!Directory.Exists(folder))
            {
                Directory.CreateDirectory(folder);
                RecordCopy.BelongToFolder(folder);
            }

            DiskSync.WriteWhole(path, stream => stream.Write(content));
            RecordCopy.BelongToFolder(path);
            back.Add(name);
        }

        return (back, leftOut);
    }

    // A view or a table of another's making is not believed.
    private static bool Carries(SqliteConnection copy) => copy.Scalar("SELECT type FROM sqlite_schema WHERE name = 'meta'") is "table";

    private static IEnumerable<string> In(string dataFolder, string folder) => !Directory.Exists(Path.Combine(dataFolder, folder)) ? []
        : Directory.EnumerateFiles(Path.Combine(dataFolder, folder)).Select(f => $"{folder}/{Path.GetFileName(f)}").Where(IsOurs);

    private static bool IsOurs(string name) => Services.Contains(name, StringComparer.Ordinal) || Peoples.Contains(name, StringComparer.Ordinal)
        || Folders.Any(f => name.StartsWith(f + "/", StringComparison.Ordinal) && PlainName().IsMatch(name[(f.Length + 1)..]));

    private static byte[] Bytes(string text)
    {
        try
        {
            return Convert.FromBase64String(text);
        }
        catch (FormatException)
        {
            throw new StoreProblemException("a file that the backup carries cannot be read: it was not taken. Give another backup; nothing was changed.");
        }
    }

    // A file of this very folder, and none that is hidden.
    [GeneratedRegex("^[A-Za-z0-9_-][A-Za-z0-9._-]{0,99}$", RegexOptions.NonBacktracking)]
    private static partial Regex PlainName();
}
