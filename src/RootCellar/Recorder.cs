using System.Collections.Concurrent;
using Microsoft.Data.Sqlite;
using RootCellar.Storage;
using RootCellar.Tell;

namespace RootCellar;

/// <summary>
/// Something the house decided that must reach the record. <see cref="Texts"/> are written in the same transaction, so
/// that an alarm and its text stand or fall together.
/// </summary>
/// <param name="Key">What it is about: a later change with the same key replaces this one while neither could be written.</param>
/// <param name="MustStand">The person who asked is told when it could not be written (set-up); otherwise it is written later.</param>
internal sealed record Change(string Key, Action<SqliteConnection> Write, IReadOnlyList<Outgoing>? Texts = null, bool MustStand = false, bool Soon = false);

/// <summary>Brings changes to the record and their texts to the outbox; without a record, the texts go all the same.</summary>
internal sealed class Recorder(Store store, Outbox outbox, ILogger<Recorder> log)
{
    private readonly ConcurrentDictionary<string, Change> unsaved = new(StringComparer.Ordinal);
    private int retrying;
    private Task copying = Task.CompletedTask;

    /// <exception cref="StoreProblemException">The change must stand and does not.</exception>
    public async Task KeepAsync(Change change)
    {
        if (change.Soon)
        {
            await store.WriteSoonAsync(change.Write);
            return;
        }

        if (change.Texts is { Count: > 0 } expected) outbox.Expect(expected.Count);
        // Taken away before this one is queued: written after it, the older would stand.
        unsaved.TryRemove(change.Key, out _);
        try
        {
            await store.WriteAsync(connection => Write(connection, change));
        }
        catch (StoreProblemException)
        {
            unsaved[change.Key] = change;
            if (change.MustStand) throw;
        }
        finally
        {
            if (change.Texts is { Count: > 0 } texts) outbox.Accept(texts);
        }
    }

    /// <summary>Writes what could not be written before, once the record takes writes again.</summary>
    public void RetryUnsaved()
    {
        if ((unsaved.IsEmpty && outbox.AllMarked) || store.Problem is not null || Interlocked.Exchange(ref retrying, 1) == 1) return;
        _ = RetryAsync();
    }

    /// <summary>The sensors' password. While the record cannot be opened, the copy's: sensors must not be locked out by a damaged card.</summary>
    public static string? SensorPassword(Store store) =>
        store.StartProblem is null ? store.Read(c => Meta.Get(c, Meta.SensorPassword)) : SetUpCopy.Read(store.Folder)?.SensorPassword;

    /// <summary>Writes the copy of the set-up beside the record, off the pipeline's thread and in order.</summary>
    /// <remarks>Without its record the service leaves the copy alone with all else: it is what the next start goes by.</remarks>
    public void Copy(SetUpCopy copy) => copying = store.StartProblem is not null ? copying : copying.ContinueWith(
        _ =>
        {
            try
            {
                (copy with { SensorPassword = SensorPassword(store) }).Write(store.Folder);
            }
            catch (Exception e) when (e is IOException or UnauthorizedAccessException or SqliteException)
            {
                log.LogWarning("The copy of the set-up could not be written: {Problem}", e.Message);
            }
        },
        TaskScheduler.Default);

    private async Task RetryAsync()
    {
        try
        {
            foreach (var (key, change) in unsaved)
            {
                await store.WriteAsync(connection => Write(connection, change));
                unsaved.TryRemove(new KeyValuePair<string, Change>(key, change));
            }

            await outbox.WriteMarksAsync();
        }
        catch (StoreProblemException)
        {
            // Still refused: the next tick after it takes writes again tries once more.
        }
        finally
        {
            Volatile.Write(ref retrying, 0);
        }
    }

    private static void Write(SqliteConnection connection, Change change)
    {
        change.Write(connection);
        foreach (var text in change.Texts ?? []) OutboxRows.SaveNew(connection, text);
    }
}
