using Microsoft.Data.Sqlite;
using RootCellar.Diagnostics;

namespace RootCellar.Storage;

/// <summary>
/// Writes for the next batch whose own work failed (a broken table, a bug): kept in the order they came and tried again, first soon, later
/// every ten minutes. Of one key only the newest is kept, and a newer one that was written takes it away. Used by the writer's thread only.
/// </summary>
internal sealed class HeldWrites(FailedWork failed)
{
    /// <summary>Two weeks of five places' air. Past that, the oldest goes.</summary>
    public const int Most = 20_000;

    /// <summary>About three days at one try every ten minutes; a write that is wrong in itself must end somewhere.</summary>
    private const int MostTries = 500;

    private static readonly TimeSpan First = TimeSpan.FromSeconds(10);
    private static readonly TimeSpan Longest = TimeSpan.FromMinutes(10);

    private readonly OrderedDictionary<string, SoonWrite> held = new(StringComparer.Ordinal);

    public int Count => held.Count;

    /// <summary>How long to wait before the next try.</summary>
    public TimeSpan Wait { get; private set; } = First;

    /// <summary>How many were given up since the start.</summary>
    public long GivenUp { get; private set; }

    public void Add(SoonWrite write, Exception problem)
    {
        write = write with { Tries = write.Tries + 1 };
        if (write.Tries >= MostTries) GiveUp(write, problem);
        else
        {
            held[write.Key] = write;
            failed.Failed(Store.Room, write.What, problem, triedAgain: true);
        }

        if (held.Count > Most)
        {
            GiveUp(held.GetAt(0).Value, problem);
            held.RemoveAt(0);
        }
    }

    /// <summary>A write of this key is on disk: an older one is out of date.</summary>
    public void Written(string key, string what)
    {
        held.Remove(key);
        if (held.Count == 0) Wait = First;
        if (!held.Values.Any(w => w.What == what)) failed.WorksAgain(Store.Room, what);
    }

    /// <summary>What was to be written soon was written at once instead.</summary>
    public void Forget(string key)
    {
        if (held.TryGetValue(key, out var older)) Written(key, older.What);
    }

    /// <summary>All of them, oldest first, to be tried now.</summary>
    public IReadOnlyList<SoonWrite> Take()
    {
        SoonWrite[] all = [.. held.Values];
        held.Clear();
        Wait = Wait * 2 < Longest ? Wait * 2 : Longest;
        return all;
    }

    private void GiveUp(SoonWrite write, Exception problem)
    {
        GivenUp++;
        failed.Failed(Store.Room, $"{write.What} (given up)", problem);
    }
}

/// <summary>A write for the next batch.</summary>
/// <param name="Key">The row it writes: a later write of the same key replaces this one where neither could be written.</param>
/// <param name="What">A constant phrase for <see cref="FailedWork"/>.</param>
internal sealed record SoonWrite(string Key, string What, Action<SqliteConnection> Work, int Tries = 0);
