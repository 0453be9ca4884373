using System.Security.Claims;
using System.Security.Cryptography;
using System.Text;
using Microsoft.Data.Sqlite;
using RootCellar.Storage;

namespace RootCellar.Entry;

/// <summary>
/// Whether a cookie still holds: one made before the passphrase or the PIN was changed does not, nor that of a helper who was removed. A stamp
/// is drawn from the hash that is kept, whose salt is new with every change. Read at most every few seconds, so that a change made by
/// the command line counts too; what a page changes counts at once.
/// </summary>
internal sealed class Stamps(Store store, TimeProvider time)
{
    private static readonly TimeSpan Fresh = TimeSpan.FromSeconds(5);

    private volatile Known? known;

    /// <summary>Forgets what was read.</summary>
    public void Changed() => known = null;

    public string? OfHousehold() => Now()?.Household;

    public string? OfHelper(long id) => Now()?.Helpers.GetValueOrDefault(id);

    public bool Holds(ClaimsPrincipal who)
    {
        // Without the record nobody can be asked for; whoever was inside goes on seeing the alarms.
        if (store.StartProblem is not null || Now() is not { } now) return true;
        var right = who.HelperNumber() is { } id ? now.Helpers.GetValueOrDefault(id) : who.IsHousehold() ? now.Household : null;
        return right is not null && CryptographicOperations.FixedTimeEquals(Encoding.ASCII.GetBytes(right), Encoding.ASCII.GetBytes(who.FindFirstValue(Who.Stamp) ?? ""));
    }

    private Known? Now()
    {
        var seen = known;
        if (seen is not null && time.GetElapsedTime(seen.At) < Fresh) return seen;
        try
        {
            var at = time.GetTimestamp();
            return known = store.Read(c => new Known(
                at,
                Meta.Get(c, Meta.PassphraseHash) is { } hash ? Of(hash) : null,
                c.Query("SELECT id, pin_hash FROM helper", row => (Id: row.GetInt64(0), Stamp: Of(row.GetString(1)))).ToDictionary(h => h.Id, h => h.Stamp)));
        }
        catch (SqliteException)
        {
            // A record that cannot be read now: what was known holds on.
            return seen;
        }
    }

    private static string Of(string hash) => Convert.ToHexStringLower(SHA256.HashData(Encoding.UTF8.GetBytes(hash)).AsSpan(0, 16));

    private sealed record Known(long At, string? Household, Dictionary<long, string> Helpers);
}
