using System.Globalization;
using System.Security.Claims;
using System.Security.Cryptography;

namespace RootCellar.Entry;

/// <summary>
/// Who is behind a request, as its claims say: the household by passphrase, a helper by PIN, a script by token. The name is what the book
/// and the alarms show; only a helper's is certain, since the household shares one passphrase and types its names itself.
/// </summary>
internal static class Who
{
    public const string Household = "household";
    public const string Helper = "helper";
    public const string Token = "token";

    /// <summary>A token that may do what a helper may.</summary>
    public const string LogToken = "log-token";

    /// <summary>Changes with the passphrase or the PIN; see <see cref="Stamps"/>.</summary>
    public const string Stamp = "stamp";

    /// <summary>The number of one sign-in, drawn by lot: what signing out ends.</summary>
    public const string Session = "session";

    private const string Kind = "kind";
    private const string HelperId = "helper-id";

    public static ClaimsIdentity Identity(string scheme, string kind, string name, string? stamp = null, long? helper = null)
    {
        var identity = new ClaimsIdentity([new Claim(ClaimTypes.Name, name), new Claim(Kind, kind)], scheme);
        if (stamp is not null) identity.AddClaim(new Claim(Stamp, stamp));
        if (helper is { } id) identity.AddClaim(new Claim(HelperId, id.ToString(CultureInfo.InvariantCulture)));
        return identity;
    }

    /// <summary>Gives a sign-in its number where it has none yet; whether it had one.</summary>
    public static bool Numbered(ClaimsPrincipal who)
    {
        if (who.HasClaim(c => c.Type == Session)) return true;
        ((ClaimsIdentity)who.Identity!).AddClaim(new Claim(Session, Convert.ToHexStringLower(RandomNumberGenerator.GetBytes(16))));
        return false;
    }

    public static bool IsHousehold(this ClaimsPrincipal who) => who.HasClaim(Kind, Household);

    public static bool IsHelper(this ClaimsPrincipal who) => who.HasClaim(Kind, Helper);

    /// <summary>Whether everything is open: to the household, and to a token made for all.</summary>
    public static bool MaySetUp(this ClaimsPrincipal who) => who.HasClaim(Kind, Household) || who.HasClaim(Kind, Token);

    public static long? HelperNumber(this ClaimsPrincipal who) =>
        long.TryParse(who.FindFirstValue(HelperId), NumberStyles.None, CultureInfo.InvariantCulture, out var id) ? id : null;

    /// <summary>
    /// Which of those who sign in with something of their own it is: what waits on a phone is sent only for the one who typed it.
    /// </summary>
    public static string Seat(this ClaimsPrincipal who) => who.HelperNumber() is { } id
        ? $"helper-{id.ToString(CultureInfo.InvariantCulture)}" : Household;

    /// <summary>Whether an entry may bear that name: a helper's bears their own, or none given.</summary>
    public static bool MayWriteAs(this ClaimsPrincipal who, string? by) =>
        !who.IsHelper() || by is null || string.Equals(Helpers.Key(by), Helpers.Key(who.Identity?.Name ?? ""), StringComparison.Ordinal);
}
