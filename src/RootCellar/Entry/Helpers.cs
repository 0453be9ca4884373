using Microsoft.Data.Sqlite;
using RootCellar.Storage;

namespace RootCellar.Entry;

/// <summary>A helper as it may be shown: never the PIN.</summary>
/// <param name="Failures">Wrong PINs in a row.</param>
internal sealed record HelperView(long Id, string Name, DateTimeOffset CreatedAt, DateTimeOffset? LastSeen, int Failures)
{
    public bool Locked => Failures >= SignInTries.MostInARow;
}

/// <summary>A try at a helper's PIN that has been counted, with what it is to be compared with.</summary>
internal readonly record struct PinTry(long Id, string Name, string Hash, TimeSpan Wait, bool Locked);

/// <summary>Those who may log but not set up. Entries keep the name of one who is removed: it is written into them.</summary>
internal static class Helpers
{
    public const int LongestName = 40;

    /// <summary>The name as it is compared: capitals and spaces make no difference.</summary>
    public static string Key(string name) =>
        string.Join(' ', name.Normalize(System.Text.NormalizationForm.FormKC).Split((char[]?)null, StringSplitOptions.RemoveEmptyEntries))
            .ToUpperInvariant();

    /// <summary>Whether it can be a name: one line, some letters, not too many.</summary>
    public static bool IsName(string? name) => name?.Trim() is { Length: > 0 and <= LongestName } text && !text.Any(char.IsControl)
        && Key(text).Length > 0;

    /// <summary>False when the name is taken.</summary>
    public static bool Add(SqliteConnection connection, string name, string pin, DateTimeOffset now) => connection.Execute(
        "INSERT INTO helper (name, key, pin_hash, created_ms) VALUES ($name, $key, $hash, $now) ON CONFLICT (key) DO NOTHING",
        ("$name", name.Trim()),
        ("$key", Key(name)),
        ("$hash", Pin.Hash(pin)),
        ("$now", now.ToUnixTimeMilliseconds())) > 0;

    public static IReadOnlyList<HelperView> All(SqliteConnection connection) => connection.Query(
        "SELECT id, name, created_ms, last_seen_ms, failures FROM helper ORDER BY key",
        row => new HelperView(row.GetInt64(0), row.GetString(1), row.Time(2), row.IsDBNull(3) ? null : row.Time(3), row.GetInt32(4)));

    /// <summary>A new PIN: the old one, its cookies and its wrong tries are over.</summary>
    public static string? SetPin(SqliteConnection connection, long id, string pin) => connection.Scalar(
        "UPDATE helper SET pin_hash = $hash, failures = 0, failed_ms = NULL WHERE id = $id RETURNING name",
        ("$hash", Pin.Hash(pin)),
        ("$id", id)) as string;

    public static bool Unlock(SqliteConnection connection, long id) =>
        connection.Execute("UPDATE helper SET failures = 0, failed_ms = NULL WHERE id = $id", ("$id", id)) > 0;

    public static bool Remove(SqliteConnection connection, long id) =>
        connection.Execute("DELETE FROM helper WHERE id = $id", ("$id", id)) > 0;

    public static bool Remove(SqliteConnection connection, string name) =>
        connection.Execute("DELETE FROM helper WHERE key = $key", ("$key", Key(name))) > 0;

    /// <summary>
    /// Counts a try before it is looked at, so that many at once are no more tries than one after the other. Null: there is no such helper.
    /// A try that comes too early is not counted and must not be looked at.
    /// </summary>
    public static PinTry? Try(SqliteConnection connection, string name, DateTimeOffset now)
    {
        var found = connection.Query(
            "SELECT id, name, pin_hash, failures, failed_ms FROM helper WHERE key = $key",
            row => (Id: row.GetInt64(0), Name: row.GetString(1), Hash: row.GetString(2), Failures: row.GetInt32(3),
                Failed: row.IsDBNull(4) ? now : row.Time(4)),
            ("$key", Key(name)));
        if (found is not [var helper]) return null;
        var (failures, locked) = (helper.Failures, helper.Failures >= SignInTries.MostInARow);
        var wait = SignInTries.OfName.Left(failures, now - helper.Failed);
        if (wait > TimeSpan.Zero || locked) return new PinTry(helper.Id, helper.Name, helper.Hash, wait, locked);
        connection.Execute("UPDATE helper SET failures = $failures, failed_ms = $now WHERE id = $id", ("$failures", failures + 1),
            ("$now", now.ToUnixTimeMilliseconds()), ("$id", helper.Id));
        return new PinTry(helper.Id, helper.Name, helper.Hash, TimeSpan.Zero, Locked: false);
    }

    public static void Right(SqliteConnection connection, long id, DateTimeOffset now) => connection.Execute(
        "UPDATE helper SET failures = 0, failed_ms = NULL, last_seen_ms = $now WHERE id = $id",
        ("$now", now.ToUnixTimeMilliseconds()),
        ("$id", id));
}
