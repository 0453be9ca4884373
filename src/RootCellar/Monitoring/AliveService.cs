using RootCellar.Diagnostics;
using RootCellar.Storage;
using RootCellar.Tell;

namespace RootCellar.Monitoring;

/// <summary>What lies beside the record while the service runs, and says how it ended.</summary>
internal sealed record AliveNote
{
    /// <summary>It was stopped; otherwise its file's time is when it last watched.</summary>
    public bool Stopped { get; init; } = true;

    /// <summary>The last time nobody watched, to be shown and, where it is not settled, still to be told.</summary>
    public Unwatched? Last { get; init; }
}

/// <summary>
/// Sets the time of a small file every minute while readings are judged, so that the next start knows since when nobody watched. It lies beside
/// the record, not in it: a backup that is put back must not look like a power cut.
/// </summary>
internal sealed class AliveService(Pipeline pipeline, LiveState house, Store store, TimeProvider time, FailedWork failed) : BackgroundService
{
    private const string Noting = "noting that the service watches";
    private static readonly TimeSpan Every = TimeSpan.FromMinutes(1);

    private readonly KeptFile<AliveNote> file = new(store.Folder, DataFolder.Alive);
    private AliveNote note = new();

    private string FilePath => Path.Combine(store.Folder, DataFolder.Alive);

    public override Task StartAsync(CancellationToken cancellationToken)
    {
        // Before the watch begins, which owns what this changes.
        note = file.Read().Content;
        house.TakeUpWatch(note.Last, note.Stopped ? null : new DateTimeOffset(File.GetLastWriteTimeUtc(FilePath)));
        Write(note with { Stopped = false });
        return base.StartAsync(cancellationToken);
    }

    public override async Task StopAsync(CancellationToken cancellationToken)
    {
        await base.StopAsync(cancellationToken);
        Write(note with { Stopped = true, Last = pipeline.Snapshot.Unwatched ?? note.Last });
    }

    protected override async Task ExecuteAsync(CancellationToken stoppingToken)
    {
        using var timer = new PeriodicTimer(Every, time);
        try
        {
            while (await timer.WaitForNextTickAsync(stoppingToken))
            {
                if (!pipeline.IsStuck && store.StartProblem is null) Note();
            }
        }
        catch (OperationCanceledException)
        {
            // Stopping.
        }
    }

    private void Note()
    {
        var last = pipeline.Snapshot.Unwatched ?? note.Last;
        if (last?.Settled != note.Last?.Settled || last?.From != note.Last?.From)
        {
            Write(note with { Last = last });
            return;
        }

        try
        {
            File.SetLastWriteTimeUtc(FilePath, time.GetUtcNow().UtcDateTime);
            failed.WorksAgain("watch", Noting);
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException)
        {
            failed.Failed("watch", Noting, e, triedAgain: true);
        }
    }

    // Without its record the service leaves alone what lies beside it.
    private void Write(AliveNote fresh)
    {
        if (store.StartProblem is not null) return;
        try
        {
            file.Write(fresh, setAside: false);
            note = fresh;
            File.SetLastWriteTimeUtc(FilePath, time.GetUtcNow().UtcDateTime);
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException)
        {
            failed.Failed("watch", Noting, e, triedAgain: true);
        }
    }
}
