using System.Security.Cryptography;
using System.Text;
using Microsoft.Data.Sqlite;
using RootCellar.Storage;

namespace RootCellar.Entry;

/// <summary>An API token as it may be shown: never its secret.</summary>
internal sealed record TokenView(string Name, DateTimeOffset CreatedAt);

/// <summary>API tokens. Only a hash is kept; the secret has 256 bits, so a plain SHA-256 is enough.</summary>
internal static class Tokens
{
    private const string Prefix = "rc_";

    /// <summary>Makes a token; the secret is returned once and never again. Null when the name is taken.</summary>
    public static string? Add(SqliteConnection connection, string name, DateTimeOffset now)
    {
        var secret = Prefix + Convert.ToHexStringLower(RandomNumberGenerator.GetBytes(32));
        var added = connection.Execute(
            "INSERT INTO token (name, hash, created_ms) VALUES ($name, $hash, $now) ON CONFLICT (name) DO NOTHING",
            ("$name", name),
            ("$hash", Hash(secret)),
            ("$now", now.ToUnixTimeMilliseconds()));
        return added > 0 ? secret : null;
    }

    public static IReadOnlyList<TokenView> All(SqliteConnection connection) => connection.Query(
        "SELECT name, created_ms FROM token ORDER BY name",
        row => new TokenView(row.GetString(0), row.Time(1)));

    public static bool Remove(SqliteConnection connection, string name) => connection.Execute("DELETE FROM token WHERE name = $name", ("$name", name)) > 0;

    /// <summary>Whose token this is; null when it is nobody's.</summary>
    public static string? Owner(SqliteConnection connection, string secret) =>
        connection.Scalar("SELECT name FROM token WHERE hash = $hash", ("$hash", Hash(secret))) as string;

    private static string Hash(string secret) => Convert.ToHexStringLower(SHA256.HashData(Encoding.UTF8.GetBytes(secret)));
}
