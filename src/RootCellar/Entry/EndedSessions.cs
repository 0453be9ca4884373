using Microsoft.Data.Sqlite;
using RootCellar.Storage;

namespace RootCellar.Entry;

/// <summary>The sign-ins that ended by signing out, by the number in their cookie. Kept a little longer than any cookie holds.</summary>
internal static class EndedSessions
{
    private static readonly TimeSpan Kept = EntryWiring.CookieLife + TimeSpan.FromDays(30);

    public static void Add(SqliteConnection connection, string session, DateTimeOffset now)
    {
        connection.Execute("DELETE FROM ended_session WHERE at_ms < $old", ("$old", (now - Kept).ToUnixTimeMilliseconds()));
        connection.Execute(
            "INSERT INTO ended_session (id, at_ms) VALUES ($id, $now) ON CONFLICT (id) DO NOTHING",
            ("$id", session),
            ("$now", now.ToUnixTimeMilliseconds()));
    }

    public static IReadOnlyList<string> All(SqliteConnection connection) =>
        connection.Query("SELECT id FROM ended_session", row => row.GetString(0));
}
