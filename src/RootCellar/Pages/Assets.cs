using System.Reflection;
using System.Security.Cryptography;
using Microsoft.Net.Http.Headers;

namespace RootCellar.Pages;

/// <summary>
/// Stylesheet, script and icon, out of the program itself: a few small files are not worth a web root that must be
/// found from every way of starting.
/// </summary>
internal static class Assets
{
    private static readonly Dictionary<string, Asset> All = new(StringComparer.Ordinal)
    {
        ["site.css"] = Load("site.css", "text/css; charset=utf-8"),
        ["site.js"] = Load("site.js", "text/javascript; charset=utf-8"),
        ["outbox.js"] = Load("outbox.js", "text/javascript; charset=utf-8"),
        ["reading.js"] = Load("reading.js", "text/javascript; charset=utf-8"),
        ["icon.svg"] = Load("icon.svg", "image/svg+xml"),
    };

    /// <summary>The address of an asset, which changes with its content and so may be kept for ever.</summary>
    public static string Address(string name) => $"/assets/{name}?v={All[name].Tag}";

    public static IResult Serve(string name, HttpContext context)
    {
        if (!All.TryGetValue(name, out var asset)) return Results.NotFound();
        context.Response.Headers.CacheControl = context.Request.Query["v"] == asset.Tag
            ? "public, max-age=31536000, immutable" : "no-cache";
        return Results.Bytes(asset.Content, asset.Type, entityTag: new EntityTagHeaderValue($"\"{asset.Tag}\""));
    }

    private static Asset Load(string name, string type)
    {
        using var stream = Assembly.GetExecutingAssembly().GetManifestResourceStream("Assets/" + name)
            ?? throw new InvalidOperationException($"The asset {name} is missing from the program.");
        var content = new byte[stream.Length];
        stream.ReadExactly(content);
        return new Asset(content, type, Convert.ToHexStringLower(SHA256.HashData(content))[..16]);
    }

    private sealed record Asset(byte[] Content, string Type, string Tag);
}
