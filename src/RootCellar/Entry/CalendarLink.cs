using System.Buffers.Text;
using System.Security.Cryptography;
using Microsoft.Data.Sqlite;
using RootCellar.Storage;
using RootCellar.Tell;

namespace RootCellar.Entry;

/// <summary>
/// The address at which a phone's calendar fetches what is coming: it cannot sign in, so the address is the key. One at a time; what is
/// kept is its hash, and the secret has 192 bits, so a plain SHA-256 is enough.
/// </summary>
internal static class CalendarLink
{
    private const int SecretBytes = 24;

    /// <summary>Makes an address; one that was there before opens nothing from now on.</summary>
    /// <returns>Its path, said this once and never again.</returns>
    public static string Make(SqliteConnection connection)
    {
        var secret = Base64Url.EncodeToString(RandomNumberGenerator.GetBytes(SecretBytes));
        Meta.Set(connection, Meta.CalendarLink, AnswerLinks.HashOf(secret));
        return $"/calendar/{secret}.ics";
    }

    public static bool IsMade(SqliteConnection connection) => Meta.Get(connection, Meta.CalendarLink) is not null;

    public static void TakeBack(SqliteConnection connection) => Meta.Remove(connection, Meta.CalendarLink);

    /// <summary>What a secret opens, by the mark of its calendar; null where it opens nothing.</summary>
    public static string? Opened(SqliteConnection connection, string secret) =>
        secret.Length == Base64Url.GetEncodedLength(SecretBytes) && Meta.Get(connection, Meta.CalendarLink) is { } kept
            && kept == AnswerLinks.HashOf(secret) ? kept : null;
}
