using System.Security.Claims;
using System.Security.Cryptography;
using System.Text;
using Microsoft.Data.Sqlite;
using RootCellar.Storage;

namespace RootCellar.Entry;

/// <summary>
/// Whether a cookie still holds: one made before the passphrase or the PIN was changed does not, nor that of a helper who was removed, nor
/// a copy of one whose owner signed out. A stamp is drawn from the hash that is kept, whose salt is new with every change. Read at most
/// every few seconds, so that a change made by the command line counts too; what a page changes counts at once.
/// <para>Without a readable record the household goes by <see cref="EntryCopy"/> and helpers stay out.</para>
/// </summary>
internal sealed class Stamps(Store store, TimeProvider time, ILogger<Stamps> log)
{
    private static readonly TimeSpan Fresh = TimeSpan.FromSeconds(5);

    // Ended while the record could not be written: until the next start.
    private readonly System.Collections.Concurrent.ConcurrentDictionary<string, bool> endedHere = new(StringComparer.Ordinal);
    private volatile CachedStamps? known;

    /// <summary>Forgets what was read, and has the copy beside the record follow.</summary>
    public void Changed()
    {
        known = null;
        EntryCopy.Write(store);
    }

    public string? OfHousehold() => Now().Household;

    public string? OfHelper(long id) => Now().Helpers.GetValueOrDefault(id);

    public bool Holds(ClaimsPrincipal who)
    {
        var now = Now();
        if (who.FindFirstValue(Who.Session) is { } session && (now.Ended.Contains(session) || endedHere.ContainsKey(session))) return false;
        var right = who.HelperNumber() is { } id ? now.Helpers.GetValueOrDefault(id) : who.IsHousehold() ? now.Household : null;
        return right is not null && CryptographicOperations.FixedTimeEquals(
            Encoding.ASCII.GetBytes(right), Encoding.ASCII.GetBytes(who.FindFirstValue(Who.Stamp) ?? ""));
    }

    /// <summary>The sign-in is over: no copy of its cookie opens anything from now on.</summary>
    public async Task EndAsync(ClaimsPrincipal who)
    {
        if (who.FindFirstValue(Who.Session) is not { } session) return;
        endedHere[session] = true;
        try
        {
            await store.WriteAsync(c => EndedSessions.Add(c, session, time.GetUtcNow()));
            Changed();
            endedHere.TryRemove(session, out bool _);
        }
        catch (StoreProblemException e)
        {
            log.LogWarning(
                "Signing out could not be written down ({Problem}); after a restart a copy of that cookie would open again. Change the passphrase or the PIN if one may exist",
                e.Message);
        }
    }

    private CachedStamps Now()
    {
        var seen = known;
        if (seen is not null && time.GetElapsedTime(seen.At) < Fresh) return seen;
        var at = time.GetTimestamp();
        try
        {
            return known = store.Read(c => new CachedStamps(
                at,
                Meta.Get(c, Meta.PassphraseHash) is { } hash ? Of(hash) : null,
                c.Query("SELECT id, pin_hash FROM helper", row => (Id: row.GetInt64(0), Stamp: Of(row.GetString(1))))
                    .ToDictionary(h => h.Id, h => h.Stamp),
                EndedSessions.All(c).ToHashSet(StringComparer.Ordinal)));
        }
        catch (SqliteException)
        {
            // A record that cannot be read now: what was known holds on; where nothing was, the copy knows the household.
            return seen ?? (EntryCopy.Read(store.Folder) is { } copy
                ? new CachedStamps(at, Of(copy.PassphraseHash), [], copy.Ended.ToHashSet(StringComparer.Ordinal))
                : new CachedStamps(at, null, [], []));
        }
    }

    private static string Of(string hash) => Convert.ToHexStringLower(SHA256.HashData(Encoding.UTF8.GetBytes(hash)).AsSpan(0, 16));

    private sealed record CachedStamps(long At, string? Household, Dictionary<long, string> Helpers, HashSet<string> Ended);
}
