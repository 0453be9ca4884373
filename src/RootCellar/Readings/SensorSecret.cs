using System.Security.Cryptography;
using System.Text;

namespace RootCellar.Readings;

/// <summary>
/// Passwords for MQTT clients: 16 random signs in groups of four, which are 80 bits. Only signs that cannot be mistaken
/// for others, so that one can be read off a screen and typed on a phone.
/// </summary>
internal static class SensorSecret
{
    // No 0, 1, l, o. 32 signs: 5 bits each.
    private const string Signs = "23456789abcdefghijkmnpqrstuvwxyz";
    private const int Groups = 4;
    private const int GroupLength = 4;

    public static string New()
    {
        string fresh;
        do
        {
            var signs = RandomNumberGenerator.GetString(Signs, Groups * GroupLength);
            fresh = string.Join('-', signs.Chunk(GroupLength).Select(g => new string(g)));
        }
        // One in a hundred has no digit; those could be mistaken for the words of older passwords.
        while (!IsLong(fresh));
        return fresh;
    }

    /// <summary>
    /// Whether it was made by <see cref="New"/>. Before, the sensor password was four words of a list: 24 bits, which can be guessed.
    /// </summary>
    public static bool IsLong(string secret) =>
        secret.Length == (Groups * (GroupLength + 1)) - 1 && secret.Any(char.IsAsciiDigit)
            && secret.All(c => c == '-' || Signs.Contains(c, StringComparison.Ordinal));

    /// <summary>
    /// SHA-256, in hexadecimal. A plain hash is enough for 80 random bits. Capitals, spaces and dashes make no difference:
    /// a phone's keyboard puts them in by itself.
    /// </summary>
    public static string Hash(string secret) =>
        Convert.ToHexStringLower(
            SHA256.HashData(Encoding.UTF8.GetBytes(string.Concat(secret.Where(c => c is not ('-' or ' '))).ToUpperInvariant())));

    /// <summary>Compares in constant time.</summary>
    public static bool AreEqual(string hash, string other) =>
        CryptographicOperations.FixedTimeEquals(Encoding.ASCII.GetBytes(hash), Encoding.ASCII.GetBytes(other));
}
