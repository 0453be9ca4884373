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
        "acorn", "apple", "apron", "arch", "attic", "barn", "basil", "bean", "beet", "bell", "birch", "bread", "brick", "broom", "candle",
        "cedar",
        "cider", "clover", "crate", "crow", "daisy", "door", "drill", "fern", "field", "fork", "frost", "gate", "goose", "grain", "hatch",
        "hazel",
        "hedge", "hoe", "honey", "jar", "kettle", "ladder", "lamp", "larch", "leek", "maple", "mill", "moss", "oak", "onion", "orchard",
        "pear",
        "pine", "plum", "pond", "rake", "rain", "robin", "rye", "salt", "seed", "shed", "spade", "stone", "straw", "thyme", "wagon",
        "willow",
    ];

    /// <summary>Letters and digits; spaces and hyphens do not count.</summary>
    public const int Shortest = 12;

    // Three or more words that have nothing to do with each other have many more; "password" and a year, or a run on the keyboard, fewer.
    // Assumed.
    private const int FewestSurprises = 9;

    private static readonly string[] KeyboardRows = ["QWERTYUIOP", "QWERTZUIOP", "AZERTYUIOP", "ASDFGHJKL", "ZXCVBNM", "YXCVBNM"];

    // From memory, from what is known of lists that guessers begin with; and what this program is about.
    private static readonly string[] TriedFirst =
    [
        "PASSWORD", "PASSPHRASE", "ROOTCELLAR", "CELLAR", "POTATO", "WELCOME", "LETMEIN", "ILOVEYOU", "ADMIN", "MONKEY", "DRAGON",
        "SUNSHINE",
        "PRINCESS", "FOOTBALL", "BASEBALL", "SECRET", "CHANGEME",
    ];

    private static readonly PasswordHasher<string> Hasher = new();

    /// <summary>Makes and keeps a passphrase and a sensor password if there are none yet; the new passphrase, or null.</summary>
    public static string? CreateIfMissing(SqliteConnection connection)
    {
        if (Meta.Get(connection, Meta.SensorPassword) is null) Meta.Set(connection, Meta.SensorPassword, SensorSecret.New());
        if (Meta.Get(connection, Meta.PassphraseHash) is not null) return null;
        var fresh = Propose();
        Set(connection, fresh);
        return fresh;
    }

    /// <summary>Five words drawn by lot; again where they happen to be one word over and over.</summary>
    public static string Propose()
    {
        while (true)
        {
            var fresh = NewWords(5);
            if (!IsWeak(fresh)) return fresh;
        }
    }

    public static void Set(SqliteConnection connection, string passphrase) =>
        Meta.Set(connection, Meta.PassphraseHash, Hasher.HashPassword("household", Normal(passphrase)));

    public static bool IsRight(SqliteConnection connection, string given) =>
        Meta.Get(connection, Meta.PassphraseHash) is { } hash
        && Hasher.VerifyHashedPassword("household", hash, Normal(given)) != PasswordVerificationResult.Failed;

    /// <summary>
    /// Whether a passphrase would be guessed before long: too short, or with too little in it that does not follow from what stands before
    /// (a letter again, a run up or down, neighbours on the keyboard, a piece repeated, a word everybody tries). Nothing else is asked of
    /// it: no capitals, digits or signs.
    /// </summary>
    public static bool IsWeak(string given)
    {
        var text = string.Concat(Normal(given).Where(char.IsLetterOrDigit));
        if (text.Length < Shortest) return true;
        // A word everybody tries is worth one letter.
        text = TriedFirst.Aggregate(text, (left, word) => left.Replace(word, word[..1], StringComparison.Ordinal));
        return Enumerable.Range(0, text.Length).Count(i => !Follows(text, i)) < FewestSurprises;
    }

    private static bool Follows(string text, int i)
    {
        if (i == 0) return false;
        var (last, now) = (text[i - 1], text[i]);
        if (now == last) return true;
        var step = now - last;
        if (i > 1 && step is 1 or -1 && last - text[i - 2] == step) return true;
        if (KeyboardRows.Any(row => row.IndexOf(last) is >= 0 and var at && row.IndexOf(now) is >= 0 and var next
            && Math.Abs(at - next) == 1))
            return true;
        return i > 2 && text.AsSpan(0, i).IndexOf(text.AsSpan(i - 2, 3)) >= 0;
    }

    // A phone's keyboard capitalises and doubles spaces; neither is a wrong passphrase.
    private static string Normal(string given) =>
        string.Join('-', given.Split([' ', '-'], StringSplitOptions.RemoveEmptyEntries | StringSplitOptions.TrimEntries))
            .ToUpperInvariant();

    private static string NewWords(int count) => string.Join('-', RandomNumberGenerator.GetItems<string>(Words, count));
}
