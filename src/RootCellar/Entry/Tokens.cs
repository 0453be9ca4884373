using System.Security.Cryptography;
using System.Text;
using Microsoft.Data.Sqlite;
using RootCellar.Storage;

namespace RootCellar.Entry;

/// <summary>An API token as it may be shown: never its secret.</summary>
internal sealed record TokenView(string Name, DateTimeOffset CreatedAt, string May = Tokens.MayAll);

/// <summary>API tokens. Only a hash is kept; the secret has 256 bits, so a plain SHA-256 is enough.</summary>
internal static class Tokens
{
    public const string MayAll = "all";

    /// <summary>What a helper may: read, log, acknowledge.</summary>
    public const string MayLog = "log";

    private const string Prefix = "rc_";

    /// <summary>Makes a token; the secret is returned once and never again. Null when the name is taken.</summary>
    public static string? Add(SqliteConnection connection, string name, DateTimeOffset now, string may = MayAll)
    {
        var secret = Prefix + Convert.ToHexStringLower(RandomNumberGenerator.GetBytes(32));
        var added = connection.Execute(
            "INSERT INTO token (name, hash, created_ms, may) VALUES ($name, $hash, $now, $may) ON CONFLICT (name) DO NOTHING",
            ("$name", name),
            ("$hash", Hash(secret)),
            ("$now", now.ToUnixTimeMilliseconds()),
            ("$may", may));
        return added > 0 ? secret : null;
    }

    public static IReadOnlyList<TokenView> All(SqliteConnection connection) => connection.Query(
        "SELECT name, created_ms, may FROM token ORDER BY name",
        row => new TokenView(row.GetString(0), row.Time(1), row.GetString(2)));

    public static bool Remove(SqliteConnection connection, string name) =>
        connection.Execute("DELETE FROM token WHERE name = $name", ("$name", name)) > 0;

    /// <summary>Whose token this is; null when it is nobody's.</summary>
    public static TokenView? Owner(SqliteConnection connection, string secret) => connection.Query(
        "SELECT name, created_ms, may FROM token WHERE hash = $hash",
        row => new TokenView(row.GetString(0), row.Time(1), row.GetString(2)),
        ("$hash", Hash(secret))) is [var owner] ? owner : null;

    private static string Hash(string secret) => Convert.ToHexStringLower(SHA256.HashData(Encoding.UTF8.GetBytes(secret)));
}
