using System.Collections.Concurrent;
using Microsoft.Data.Sqlite;
using RootCellar.Diagnostics;
using RootCellar.Readings;
using RootCellar.Storage;
using RootCellar.Tell;

namespace RootCellar.Monitoring;

/// <summary>
/// Something the house decided that must reach the record. <see cref="Texts"/> are written in the same transaction, so
/// that an alarm and its text stand or fall together.
/// </summary>
/// <param name="Key">What it is about: a later change with the same key replaces this one while neither could be written.</param>
/// <param name="MustStand">The person who asked is told when it could not be written (set-up); otherwise it is written later.</param>
/// <param name="Soon">Set for what can wait for the next batch: what it is, a constant phrase for <see cref="FailedWork"/>.</param>
internal sealed record Change(string Key, Action<SqliteConnection> Write, IReadOnlyList<Outgoing>? Texts = null, bool MustStand = false,
    string? Soon = null);

/// <summary>Brings changes to the record and their texts to the outbox; without a record, the texts go all the same.</summary>
internal sealed class Recorder(Store store, Outbox outbox, FailedWork failed, TimeProvider time)
{
    private const string Deciding = "keeping an alarm, a sensor or a text";
    private const int MostUnsaved = 10_000;
    private static readonly TimeSpan RetryEvery = TimeSpan.FromSeconds(10);

    private readonly ConcurrentDictionary<string, Change> unsaved = new(StringComparer.Ordinal);
    private readonly Lock copying = new();
    private SetUpCopy? newestCopy;
    private long? triedAt;
    private int retrying;

    /// <exception cref="StoreProblemException">The change must stand and does not.</exception>
    public async Task KeepAsync(Change change)
    {
        if (change.Soon is { } what)
        {
            await store.WriteSoonAsync(new SoonWrite(change.Key, what, change.Write));
            return;
        }

        var tried = new TaskCompletionSource<bool>(TaskCreationOptions.RunContinuationsAsynchronously);
        if (change.Texts?.Where(t => t.State == OutgoingState.Waiting).ToList() is { Count: > 0 } texts) outbox.Accept(texts, tried.Task);
        // Taken away before this one is queued: written after it, the older would stand.
        unsaved.TryRemove(change.Key, out _);
        try
        {
            await store.WriteAsync(connection => Write(connection, change), change.Key);
        }
        catch (StoreProblemException)
        {
            Hold(change);
            if (change.MustStand) throw;
        }
        catch (Exception e) when (!change.MustStand)
        {
            // Not the disk but this one write. An alarm must not be forgotten for it.
            Hold(change);
            failed.Failed(Store.Room, Deciding, e, triedAgain: true);
        }
        finally
        {
            tried.SetResult(true);
        }
    }

    /// <summary>Writes what could not be written before, once the record takes writes again.</summary>
    public void RetryUnsaved()
    {
        if ((unsaved.IsEmpty && outbox.AllMarked) || store.Problem is not null) return;
        if (triedAt is { } last && time.GetElapsedTime(last) < RetryEvery) return;
        if (Interlocked.Exchange(ref retrying, 1) == 1) return;
        triedAt = time.GetTimestamp();
        failed.Watch(RetryAsync(), Store.Room, Deciding);
    }

    /// <summary>
    /// Writes the copy of the set-up beside the record, off the pipeline's thread. Each try writes the newest, so no older one can come
    /// after it.
    /// </summary>
    /// <remarks>Without its record the service leaves the copy alone with all else: it is what the next start goes by.</remarks>
    public void Copy(SetUpCopy copy)
    {
        if (store.StartProblem is not null) return;
        Volatile.Write(ref newestCopy, copy);
        failed.Run(Store.Room, "copying the set-up beside the record", _ => Task.Run(WriteNewestCopy, CancellationToken.None));
    }

    private void WriteNewestCopy()
    {
        lock (copying) (Volatile.Read(ref newestCopy)! with { Door = ClientAccess.Facts(store) }).Write(store.Folder);
    }

    private void Hold(Change change)
    {
        if (unsaved.Count < MostUnsaved || unsaved.ContainsKey(change.Key)) unsaved[change.Key] = change;
        else failed.Failed(Store.Room, Deciding, new StoreProblemException($"More than {MostUnsaved} changes wait; one was given up."));
    }

    private async Task RetryAsync()
    {
        try
        {
            var left = false;
            foreach (var (key, change) in unsaved)
            {
                try
                {
                    await store.WriteAsync(connection => Write(connection, change), key);
                    unsaved.TryRemove(new KeyValuePair<string, Change>(key, change));
                }
                catch (Exception e) when (e is not StoreProblemException)
                {
                    // One that cannot be written holds up no other.
                    left = true;
                    failed.Failed(Store.Room, Deciding, e, triedAgain: true);
                }
            }

            await outbox.WriteMarksAsync();
            if (!left) failed.WorksAgain(Store.Room, Deciding);
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
        foreach (var text in change.Texts ?? [])
        {
            // Not sent after all: whatever stands of it. A new one that is written late must not undo what became of it meanwhile.
            if (text.State is OutgoingState.NotNeeded or OutgoingState.InOne) OutboxRows.Save(connection, text);
            else OutboxRows.SaveNew(connection, text);
        }
    }
}
