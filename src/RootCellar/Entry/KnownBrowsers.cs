using System.Globalization;
using System.Security.Cryptography;
using Microsoft.AspNetCore.DataProtection;

namespace RootCellar.Entry;

/// <summary>
/// A signed cookie that says only that somebody signed in with this browser before. It opens nothing: tries from such a browser are counted
/// by themselves, so that strangers who try without end, also from the same address, cannot keep its owner out. It outlives signing out.
/// All browsers of one helper count as one, or a helper could draw fresh tries by signing in again and again.
/// </summary>
internal sealed class KnownBrowsers(IDataProtectionProvider protection)
{
    public const string Cookie = "rootcellar-browser";
    private const string OfHousehold = "household-";

    // As long as browsers keep any cookie.
    private static readonly TimeSpan Kept = TimeSpan.FromDays(400);

    private readonly IDataProtector protector = protection.CreateProtector("rootcellar.known-browser");

    /// <summary>Who tries, as tries are counted.</summary>
    public Trier Who(HttpContext context) => new(context.Connection.RemoteIpAddress, Read(context));

    /// <summary>Remembers that somebody signed in with this browser.</summary>
    /// <param name="context">The request that signs in.</param>
    /// <param name="helper">The helper's number; null for the household.</param>
    public void Remember(HttpContext context, long? helper)
    {
        var known = Read(context);
        var seat = helper is { } id ? $"helper-{id.ToString(CultureInfo.InvariantCulture)}"
            : known?.StartsWith(OfHousehold, StringComparison.Ordinal) == true ? known
            : OfHousehold + Convert.ToHexStringLower(RandomNumberGenerator.GetBytes(16));
        context.Response.Cookies.Append(Cookie, protector.Protect(seat), new CookieOptions
        {
            HttpOnly = true,
            SameSite = SameSiteMode.Lax,
            Secure = context.Request.IsHttps,
            MaxAge = Kept,
            IsEssential = true,
        });
    }

    private string? Read(HttpContext context)
    {
        if (context.Request.Cookies[Cookie] is not { Length: > 0 and < 1_000 } given) return null;
        try
        {
            return protector.Unprotect(given);
        }
        catch (CryptographicException)
        {
            // Made up, or signed with a key that is gone: a stranger.
            return null;
        }
    }
}
