namespace RootCellar.Storage;

/// <summary>What the household set up, and how the last backup went; kept beside the record.</summary>
internal sealed record BackupSetUp
{
    public string? Folder { get; init; }

    /// <summary>Somebody said that it may lie on the record's own card.</summary>
    public bool SameCard { get; init; }

    /// <summary>Since when it goes to this folder.</summary>
    public DateTimeOffset? Since { get; init; }

    public LastBackup? Last { get; init; }
}

/// <summary>The last backup that was made and read back.</summary>
/// <param name="Day">The day whose backup it is.</param>
/// <param name="Folder">Where it lies: another folder has none yet.</param>
internal sealed record LastBackup(
    DateTimeOffset At, DateOnly Day, string Folder, string File, long Bytes, long Entries, long Readings, DateTimeOffset? LastReading);

/// <summary>What keeps the backup from being made.</summary>
internal enum BackupTrouble
{
    None,

    /// <summary>The folder is not there: the stick is out, or not mounted.</summary>
    FolderMissing,

    /// <summary>The folder lies on the record's own card, and nobody said that it may: for instance because the stick is out.</summary>
    OnRecordsCard,

    NotWritten,

    Full,

    RecordUnread,

    /// <summary>What was written does not read back: a stick that fails.</summary>
    CopyBad,
}

/// <summary>How the backup stands.</summary>
/// <param name="Folder">Where it goes; null while nothing is set up.</param>
/// <param name="ByInstaller">It was set in the file or the environment.</param>
/// <param name="OnRecordsCard">Record and backups lie on one card, as somebody said they may.</param>
/// <param name="Next">When the next one is due.</param>
/// <param name="Detail">What the system said to the trouble, or how much room is wanted.</param>
/// <param name="Copies">Backups of this record in the folder; null where the folder cannot be read.</param>
/// <param name="Old">The last one is more than <see cref="Backups.OldAfter"/> ago, or there is none since the folder was set.</param>
internal sealed record BackupStanding(
    string? Folder, bool ByInstaller, bool OnRecordsCard, DateTimeOffset? Next, LastBackup? Last, BackupTrouble Trouble, string? Detail,
    int? Copies, bool Old)
{
    public static readonly BackupStanding Off = new(null, false, false, null, null, BackupTrouble.None, null, null, false);

    /// <summary>Somebody has to see to it.</summary>
    public bool CallsForSomeone => Folder is not null && (Old || Trouble != BackupTrouble.None);
}

/// <summary>Why a folder cannot be taken.</summary>
internal enum FolderRefusal
{
    /// <summary>Set in the file or the environment, which wins.</summary>
    ByInstaller,

    NoPath,
    NotThere,

    /// <summary>It is the record's own folder.</summary>
    DataFolder,

    OnRecordsCard,
    NotWritten,

    /// <summary>The choice could not be kept.</summary>
    NotSaved,
}
