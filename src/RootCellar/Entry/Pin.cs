using System.Globalization;
using System.Security.Cryptography;
using Microsoft.AspNetCore.Identity;

namespace RootCellar.Entry;

/// <summary>
/// A helper's PIN: 4 to 8 digits, kept as PBKDF2. It is weak by itself and holds only because tries are few (<see cref="SignInTries"/>);
/// whoever has the file of the record can work it out, and has the record already.
/// </summary>
internal static class Pin
{
    public const int Shortest = 4;
    public const int Longest = 8;

    /// <summary>Those that are proposed: more than the least, since nobody has to think one up.</summary>
    private const int Proposed = 6;

    private static readonly PasswordHasher<string> Hasher = new();

    // Compared with where there is no such helper, so that a name that is wrong takes as long as a PIN that is.
    private static readonly Lazy<string> Nobodys = new(() => Hash(Propose()));

    /// <summary>Whether it is 4 to 8 digits (ASCII ones).</summary>
    public static bool IsWellFormed(string pin) => pin.Length is >= Shortest and <= Longest && pin.All(char.IsAsciiDigit);

    /// <summary>Those tried first: one digit again and again, a run up or down, a pair repeated.</summary>
    public static bool IsEasy(string pin)
    {
        var steps = pin.Zip(pin.Skip(1), (a, b) => (b - a + 10) % 10).Distinct().ToList();
        if (steps.Count == 1 && steps[0] is 0 or 1 or 9) return true;
        return pin.Length % 2 == 0 && Enumerable.Range(0, pin.Length).All(i => pin[i] == pin[i % 2]);
    }

    public static string Propose()
    {
        while (true)
        {
            var pin = RandomNumberGenerator.GetInt32((int)Math.Pow(10, Proposed)).ToString(CultureInfo.InvariantCulture)
                .PadLeft(Proposed, '0');
            if (!IsEasy(pin)) return pin;
        }
    }

    public static string Hash(string pin) => Hasher.HashPassword(Who.Helper, pin);

    /// <param name="hash">Null: nobody's; then it takes as long and is wrong.</param>
    public static bool IsRight(string? hash, string given) =>
        Hasher.VerifyHashedPassword(Who.Helper, hash ?? Nobodys.Value, given) != PasswordVerificationResult.Failed && hash is not null;
}
