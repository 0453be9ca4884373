using System.Security.Cryptography;
using Microsoft.AspNetCore.Identity;
using Microsoft.Data.Sqlite;
using RootCellar.Readings;
using RootCellar.Storage;

namespace RootCellar.Entry;

/// <summary>The household passphrase: made at the first start, printed once, kept as a PBKDF2 hash.</summary>
internal static class Passphrase
{
    // Short common words, easy to read from a screen and to type with a thumb; 64 of them, so that five words are 30 bits
    // behind a sign-in that is rate-limited.
    private static readonly string[] Words =
    [
        "acorn", "apple", "apron", "arch", "attic", "barn", "basil", "bean", "beet", "bell", "birch", "bread", "brick", "broom", "candle", "cedar",
        "cider", "clover", "crate", "crow", "daisy", "door", "drill", "fern", "field", "fork", "frost", "gate", "goose", "grain", "hatch", "hazel",
        "hedge", "hoe", "honey", "jar", "kettle", "ladder", "lamp", "larch", "leek", "maple", "mill", "moss", "oak", "onion", "orchard", "pear",
        "pine", "plum", "pond", "rake", "rain", "robin", "rye", "salt", "seed", "shed", "spade", "stone", "straw", "thyme", "wagon", "willow",
    ];

    private static readonly PasswordHasher<string> Hasher = new();

    /// <summary>Makes and keeps a passphrase and a sensor password if there are none yet; the new passphrase, or null.</summary>
    public static string? CreateIfMissing(SqliteConnection connection)
    {
        if (Meta.Get(connection, Meta.SensorPassword) is null) Meta.Set(connection, Meta.SensorPassword, SensorSecret.New());
        if (Meta.Get(connection, Meta.PassphraseHash) is not null) return null;
        var fresh = NewWords(5);
        Set(connection, fresh);
        return fresh;
    }

    public static void Set(SqliteConnection connection, string passphrase) =>
        Meta.Set(connection, Meta.PassphraseHash, Hasher.HashPassword("household", Normal(passphrase)));

    public static bool IsRight(SqliteConnection connection, string given) =>
        Meta.Get(connection, Meta.PassphraseHash) is { } hash
        && Hasher.VerifyHashedPassword("household", hash, Normal(given)) != PasswordVerificationResult.Failed;

    // A phone's keyboard capitalises and doubles spaces; neither is a wrong passphrase.
    private static string Normal(string given) => string.Join('-', given.Split([' ', '-'], StringSplitOptions.RemoveEmptyEntries | StringSplitOptions.TrimEntries)).ToUpperInvariant();

    private static string NewWords(int count) => string.Join('-', RandomNumberGenerator.GetItems<string>(Words, count));
}
