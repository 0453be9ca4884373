using RootCellar.Household;
using RootCellar.Storage;

namespace RootCellar.Pages;

/// <summary>Says how the backup stands.</summary>
internal sealed class BackupWords(Show show)
{
    /// <summary>The line under the jobs of a calm day.</summary>
    public string Last(BackupStanding now) => Strings.BackupLast.With(show.Time(now.Last!.At))
        + (now.OnRecordsCard ? " " + Strings.BackupSameCardShort : "");

    /// <summary>Why somebody has to see to it, and what to do.</summary>
    public string Why(BackupStanding now)
    {
        var last = now.Last is { } made ? Strings.BackupLast.With(show.Time(made.At)) : Strings.BackupNever;
        return now.Trouble == BackupTrouble.None ? $"{last} {Strings.BackupOldDo}" : $"{Trouble(now)} {last}";
    }

    /// <summary>What keeps it from being made, and what to do.</summary>
    public static string Trouble(BackupStanding now) => now.Trouble switch
    {
        BackupTrouble.FolderMissing => Strings.BackupMissing.With(now.Folder),
        BackupTrouble.OnRecordsCard => Strings.BackupOnCard.With(now.Folder),
        BackupTrouble.Full => Strings.BackupFull.With(now.Folder),
        BackupTrouble.RecordUnread => Strings.BackupUnread,
        BackupTrouble.CopyBad => Strings.BackupBad.With(now.Folder),
        BackupTrouble.NotWritten => Strings.BackupNotWritten.With(now.Folder),
        _ => "",
    };

    public static string Refusal(FolderRefusal refusal, string? folder, string? detail) => refusal switch
    {
        FolderRefusal.ByInstaller => Strings.BackupInFile,
        FolderRefusal.NoPath => Strings.BackupNoPath.With(folder),
        FolderRefusal.NotThere => Strings.BackupNotThere.With(folder),
        FolderRefusal.DataFolder => Strings.BackupDataFolder.With(folder),
        FolderRefusal.OnRecordsCard => Strings.BackupAskCard.With(folder),
        FolderRefusal.NotSaved => Strings.NotSaved.With(detail),
        _ => Strings.BackupCannotWrite.With(folder, detail),
    };

    public static string Size(long bytes) => bytes < 10_000_000
        ? $"{Units.Number(bytes / 1e6, "0.0")}\u00A0MB"
        : bytes < 1_000_000_000 ? $"{Units.Number(bytes / 1e6, "0")}\u00A0MB" : $"{Units.Number(bytes / 1e9, "0.0")}\u00A0GB";
}
