using RootCellar.Entry;
using RootCellar.Storage;

namespace RootCellar.Api;

/// <summary>The last backup that was made and read back.</summary>
internal sealed record LastBackupShape(DateTimeOffset At, string File, long Bytes, long Entries, long Readings, DateTimeOffset? LastReading);

/// <summary>How the backup stands.</summary>
/// <param name="Folder">Null while nothing is set up.</param>
/// <param name="SetBy">Who set it up: file (the installer's settings, which win) or page (also by this API); null while nothing is.</param>
/// <param name="SameCard">Record and backups lie on one card.</param>
/// <param name="Old">The last one is more than three days ago.</param>
/// <param name="Trouble">folder-missing, on-records-card, not-written, full, record-unread or copy-bad; null while all is well.</param>
/// <param name="Copies">Backups of this record in the folder; null where it cannot be read.</param>
internal sealed record BackupShape(
    string? Folder, string? SetBy, bool SameCard, DateTimeOffset? Next, LastBackupShape? Last, bool Old, string? Trouble, string? Detail,
    int? Copies)
{
    public static BackupShape Of(BackupStanding now) => new(
        now.Folder, now.Folder is null ? null : now.ByInstaller ? "file" : "page", now.OnRecordsCard, now.Next,
        now.Last is { } l ? new LastBackupShape(l.At, l.File, l.Bytes, l.Entries, l.Readings, l.LastReading) : null, now.Old,
        now.Trouble switch
        {
            BackupTrouble.None => null,
            BackupTrouble.FolderMissing => "folder-missing",
            BackupTrouble.OnRecordsCard => "on-records-card",
            BackupTrouble.Full => "full",
            BackupTrouble.RecordUnread => "record-unread",
            BackupTrouble.CopyBad => "copy-bad",
            _ => "not-written",
        },
        now.Detail, now.Copies);
}

/// <summary>Where backups go from now on: a whole path, or null for nowhere.</summary>
/// <param name="SameCard">It may lie on the record's own card.</param>
internal sealed record BackupBody(string? Folder = null, bool SameCard = false);

/// <summary>The nightly backup.</summary>
internal static class BackupApi
{
    public static void Map(RouteGroupBuilder group)
    {
        group.WithMetadata(new HouseholdOnly());
        group.MapGet("", (Backups backups) => BackupShape.Of(backups.Now))
            .WithName("getBackup").WithSummary("Where the nightly backup goes, and how the last one went.");
        group.MapPut("", Put).WithName("setUpBackup").WithSummary("Sets where backups go; the first one is made within a minute.")
            .Produces<BackupShape>().ProducesProblem(StatusCodes.Status409Conflict);
        group.MapPost("", MakeAsync).WithName("backUpNow").WithSummary("Makes a backup now and answers once it is read back.")
            .Produces<BackupShape>().ProducesProblem(StatusCodes.Status409Conflict);
    }

    private static IResult Put(BackupBody body, Backups backups) => backups.Set(body.Folder, body.SameCard, out var detail) switch
    {
        null => Results.Ok(BackupShape.Of(backups.Now)),
        FolderRefusal.ByInstaller => Results.Problem(
            "The service's settings (Backup:Folder) say where it goes, and they win: change it there.",
            statusCode: StatusCodes.Status409Conflict),
        FolderRefusal.NoPath => ApiRoutes.Wrong($"folder: '{body.Folder}' is not a whole path. Right: /media/stick/rootcellar."),
        FolderRefusal.NotThere => ApiRoutes.Wrong($"folder: there is no '{body.Folder}', nor the folder above it. Is the stick in?"),
        FolderRefusal.DataFolder => ApiRoutes.Wrong("folder: that is the record's own folder. Right: another one, best on a stick."),
        FolderRefusal.OnRecordsCard => ApiRoutes.Wrong(
            $"folder: '{body.Folder}' lies on the record's own card, which takes both with it when it fails. Give one on a stick, or sameCard: true."),
        FolderRefusal.NotSaved => ApiRoutes.NotKept(detail),
        _ => ApiRoutes.Wrong($"folder: '{body.Folder}' cannot be written: {detail}"),
    };

    private static async Task<IResult> MakeAsync(Backups backups, CancellationToken cancellationToken)
    {
        if (backups.Now.Folder is null)
            return Results.Problem("Nothing is set up: PUT /api/backup with a folder first.", statusCode: StatusCodes.Status409Conflict);
        var now = await backups.MakeAsync(CancellationToken.None).WaitAsync(cancellationToken);
        return now.Trouble == BackupTrouble.None ? Results.Ok(BackupShape.Of(now))
            : Results.Problem($"No backup was made ({BackupShape.Of(now).Trouble}): {now.Detail ?? now.Folder}",
                statusCode: StatusCodes.Status503ServiceUnavailable);
    }
}
