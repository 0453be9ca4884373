using Microsoft.Net.Http.Headers;

namespace RootCellar.Entry;

/// <summary>
/// Over https every cookie goes by a name that begins with <c>__Host-</c> and is Secure: browsers then take none of that name from a page
/// over plain http (draft-ietf-httpbis-rfc6265bis, 4.1.3.2). The plain port keeps the bare names: a browser lets no plain page replace a
/// Secure cookie of its own name, and who signed in on the one could never again on the other.
/// </summary>
internal static class SecureCookies
{
    private const string Prefix = "__Host-";
    private const string Secure = "; secure";

    public static void UseSecureCookies(this IApplicationBuilder app) => app.Use((context, next) =>
    {
        if (!context.Request.IsHttps) return next(context);
        var headers = context.Request.Headers;
        var ours = headers.Cookie.SelectMany(h => (h ?? "").Split(';')).Select(c => c.Trim())
            .Where(c => c.StartsWith(Prefix, StringComparison.Ordinal)).Select(c => c[Prefix.Length..]).ToList();
        headers.Cookie = ours.Count == 0 ? default : string.Join("; ", ours);
        // Those that are set when the answer begins were asked for after this, and run before it.
        context.Response.OnStarting(() =>
        {
            var set = context.Response.Headers.SetCookie;
            if (set.Count > 0) context.Response.Headers[HeaderNames.SetCookie] = set.Select(Renamed).ToArray();
            return Task.CompletedTask;
        });
        return next(context);
    });

    private static string Renamed(string? cookie) =>
        Prefix + cookie + (cookie!.Contains(Secure, StringComparison.OrdinalIgnoreCase) ? "" : Secure);
}
