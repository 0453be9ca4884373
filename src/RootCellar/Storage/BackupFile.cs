using System.Globalization;
using System.Text.RegularExpressions;

namespace RootCellar.Storage;

/// <summary>
/// A nightly backup by its name, <c>rootcellar-3fa2c1-20261130-031000.db</c>: of which record, and when it was made by the household's clock.
/// The record's mark keeps apart what two cellars, or a new card and the one that failed, put on the same stick: none rotates away the other's.
/// </summary>
/// <param name="Record">The mark of the record, six hexadecimal digits.</param>
/// <param name="Made">The time on the wall.</param>
internal sealed partial record BackupFile(string Name, string Record, DateTime Made)
{
    private const string Stamp = "yyyyMMdd-HHmmss";

    private static string NameOf(string record, DateTimeOffset local) =>
        $"rootcellar-{record}-{local.ToString(Stamp, CultureInfo.InvariantCulture)}.db";

    /// <summary>Two within a second, or in the hour that a clock change repeats: the later one takes the next second that is free.</summary>
    public static string FreeNameIn(string folder, string record, DateTimeOffset local)
    {
        while (File.Exists(Path.Combine(folder, NameOf(record, local)))) local = local.AddSeconds(1);
        return NameOf(record, local);
    }

    /// <summary>Null where the name is not of a backup made by itself; such a file is never touched.</summary>
    public static BackupFile? Read(string name) =>
        Form().Match(name) is { Success: true } found
            && DateTime.TryParseExact(found.Groups["made"].Value, Stamp, CultureInfo.InvariantCulture, DateTimeStyles.None, out var made)
            ? new BackupFile(name, found.Groups["record"].Value, made) : null;

    /// <summary>All of a folder, whosever, the newest first.</summary>
    /// <exception cref="IOException">The folder is not there or cannot be read.</exception>
    public static IReadOnlyList<BackupFile> In(string folder) =>
        [.. Directory.EnumerateFiles(folder, "rootcellar-*.db").Select(f => Read(Path.GetFileName(f))).OfType<BackupFile>()
            .OrderByDescending(f => f.Made)];

    /// <summary>
    /// What may go: all but the newest of each of the last days, weeks (ISO 8601) and months that there are backups of. Counted in backups and
    /// not in days gone by, so that a clock that is a year wrong takes none away.
    /// </summary>
    /// <param name="all">Of one record, the newest first.</param>
    /// <param name="keep">How many of each.</param>
    public static IReadOnlyList<BackupFile> Superfluous(IReadOnlyList<BackupFile> all, BackupOptions keep)
    {
        var kept = Newest(f => f.Made.Date.Ticks, keep.Daily)
            .Concat(Newest(f => (ISOWeek.GetYear(f.Made) * 100L) + ISOWeek.GetWeekOfYear(f.Made), keep.Weekly))
            .Concat(Newest(f => (f.Made.Year * 100L) + f.Made.Month, keep.Monthly))
            .ToHashSet();
        return [.. all.Where(f => !kept.Contains(f))];

        IEnumerable<BackupFile> Newest(Func<BackupFile, long> span, int count) => all.GroupBy(span).Take(count).Select(g => g.First());
    }

    [GeneratedRegex("^rootcellar-(?<record>[0-9a-f]{6})-(?<made>[0-9]{8}-[0-9]{6})\\.db$", RegexOptions.ExplicitCapture | RegexOptions.NonBacktracking)]
    private static partial Regex Form();
}
