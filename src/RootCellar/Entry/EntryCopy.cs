using System.Text.Json;
using Microsoft.Data.Sqlite;
using RootCellar.Storage;

namespace RootCellar.Entry;

/// <summary>
/// A copy of what decides about the household's cookies, beside the record: the passphrase's hash and the sign-ins that ended. Read only
/// when the record cannot be opened, so that on the day the card fails the household comes in with its own passphrase and its phones stay
/// signed in. Helpers are not in it on purpose: whether one was removed cannot be known then, so none comes in. Never the truth.
/// </summary>
internal sealed record EntryCopy(string PassphraseHash, IReadOnlyList<string> Ended)
{
    private const string Name = DataFolder.EntryCopy;

    /// <summary>
    /// Before anybody is let in: with a damaged record, the household's passphrase from the copy; with none anywhere, a new one, which is
    /// returned to be shown once.
    /// </summary>
    public static async Task<string?> PrepareAsync(Store store, TimeProvider time)
    {
        if (Read(store.Folder) is { } copy) await BringBackAsync(store, copy, time.GetUtcNow());
        var fresh = await store.WriteAsync(Passphrase.CreateIfMissing);
        Write(store);
        return fresh;
    }

    // What ended stays ended also where a backup from before was restored.
    private static async Task BringBackAsync(Store store, EntryCopy copy, DateTimeOffset now)
    {
        try
        {
            var ended = copy.Ended.Except(store.Read(EndedSessions.All), StringComparer.Ordinal).ToList();
            if (ended.Count == 0 && store.StartProblem is null) return;
            await store.WriteAsync(c =>
            {
                if (store.StartProblem is not null && Meta.Get(c, Meta.PassphraseHash) is null)
                    Meta.Set(c, Meta.PassphraseHash, copy.PassphraseHash);
                foreach (var session in ended) EndedSessions.Add(c, session, now);
            });
        }
        catch (Exception e) when (e is StoreProblemException or SqliteException)
        {
            // A record that cannot be read or written now is said elsewhere; the copy stays as it is.
        }
    }

    /// <summary>Null where there is none that can be read.</summary>
    public static EntryCopy? Read(string folder)
    {
        try
        {
            var copy = JsonSerializer.Deserialize<EntryCopy>(File.ReadAllText(Path.Combine(folder, Name)), JsonRules.Options);
            return copy is { PassphraseHash.Length: > 0, Ended: not null } ? copy : null;
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException or JsonException)
        {
            return null;
        }
    }

    /// <summary>Writes it anew after a change. A folder that cannot be written is said elsewhere; what was copied before stands.</summary>
    public static void Write(Store store)
    {
        try
        {
            var copy = store.Read(c => Meta.Get(c, Meta.PassphraseHash) is { } hash ? new EntryCopy(hash, [.. EndedSessions.All(c)])
                : null);
            if (copy is not null)
                DiskSync.WriteWhole(Path.Combine(store.Folder, Name), stream => JsonSerializer.Serialize(stream, copy, JsonRules.Options));
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException or SqliteException)
        {
            // The next change writes it again.
        }
    }
}
