using System.IO.Compression;
using System.Reflection;
using System.Security.Cryptography;
using System.Text;
using System.Text.RegularExpressions;
using Microsoft.Net.Http.Headers;

namespace RootCellar.Pages;

/// <summary>
/// Stylesheet, fonts, scripts and icon, out of the program itself: a few small files are not worth a web root that must be
/// found from every way of starting. The stylesheet is one, kept in parts that a person can read.
/// </summary>
internal static partial class Assets
{
    private static readonly string[] Fonts = ["vollkorn-text.woff2", "vollkorn-bold.woff2"];

    private static readonly string[] Look = ["tokens.css", "ground.css", "parts.css", "pages.css", "print.css"];

    /// <summary>Keeps the page for the cellar; lies beside it with the browser, and so is served as one that may.</summary>
    private const string Worker = "cellar-worker.js";

    // What that page is made of.
    private static readonly string[] OfCellar = ["site.css", "site.js", "outbox.js", "cellar.js", "icon.svg", .. Fonts];

    private static readonly Dictionary<string, Asset> All = Everything();

    /// <summary>The address of an asset, which changes with its content and so may be kept for ever.</summary>
    public static string Address(string name) => Address(name, All[name]);

    private static string Address(string name, Asset asset) => $"/assets/{name}?v={asset.Tag}";

    public static IResult Serve(string name, HttpContext context)
    {
        if (!All.TryGetValue(name, out var asset)) return Results.NotFound();
        context.Response.Headers.CacheControl = context.Request.Query["v"] == asset.Tag
            ? "public, max-age=31536000, immutable" : "no-cache";
        if (name == Worker) context.Response.Headers["Service-Worker-Allowed"] = "/cellar";
        if (!asset.IsText) return Results.Bytes(asset.Content, asset.Type, entityTag: new EntityTagHeaderValue($"\"{asset.Tag}\""));
        context.Response.Headers.Vary = HeaderNames.AcceptEncoding;
        if (!context.Request.GetTypedHeaders().AcceptEncoding.Any(e => e.Value == "gzip" && e.Quality is not 0))
            return Results.Bytes(asset.Content, asset.Type, entityTag: new EntityTagHeaderValue($"\"{asset.Tag}\""));
        context.Response.Headers.ContentEncoding = "gzip";
        return Results.Bytes(asset.Packed.Value, asset.Type, entityTag: new EntityTagHeaderValue($"\"{asset.Tag}-packed\""));
    }

    private static Dictionary<string, Asset> Everything()
    {
        var all = new Dictionary<string, Asset>(StringComparer.Ordinal)
        {
            ["site.js"] = Script("site.js"),
            ["outbox.js"] = Script("outbox.js"),
            ["cellar.js"] = Script("cellar.js"),
            ["reading.js"] = Script("reading.js"),
            ["icon.svg"] = Load("icon.svg", "image/svg+xml"),
            ["icon-180.png"] = Load("icon-180.png", "image/png"),
            ["icon-192.png"] = Load("icon-192.png", "image/png"),
            ["icon-512.png"] = Load("icon-512.png", "image/png"),
            ["cellar.webmanifest"] = Load("cellar.webmanifest", "application/manifest+json"),
            ["manifest.webmanifest"] = Load("manifest.webmanifest", "application/manifest+json"),
            ["vollkorn-licence.txt"] = Load("vollkorn-licence.txt", "text/plain; charset=utf-8"),
        };
        foreach (var font in Fonts) all[font] = Load(font, "font/woff2");
        // Its fonts are named with their content, so that browsers keep them as long.
        var text = new StringBuilder();
        foreach (var part in Look) text.Append(Encoding.UTF8.GetString(Read(part)));
        foreach (var font in Fonts) text.Replace($"url(\"{font}\")", $"url(\"{font}?v={all[font].Tag}\")");
        all["site.css"] = Made(Encoding.UTF8.GetBytes(Bare(CssNotes().Replace(text.ToString(), ""))), "text/css; charset=utf-8");
        all[Worker] = WorkerOf(all);
        return all;
    }

    // Its text changes with each of its parts and with the program: by that browsers know that there is a new one.
    private static Asset WorkerOf(Dictionary<string, Asset> all)
    {
        var script = Bare(Encoding.UTF8.GetString(Read(Worker)))
            .Replace("{parts}", string.Join("', '", OfCellar.Select(n => Address(n, all[n]))), StringComparison.Ordinal);
        var program = Assembly.GetExecutingAssembly().GetCustomAttribute<AssemblyInformationalVersionAttribute>()?.InformationalVersion;
        var kept = Made(Encoding.UTF8.GetBytes(script + program), "").Tag;
        return Made(Encoding.UTF8.GetBytes(script.Replace("{kept}", kept, StringComparison.Ordinal)), "text/javascript; charset=utf-8");
    }

    private static Asset Script(string name) =>
        Made(Encoding.UTF8.GetBytes(Bare(Encoding.UTF8.GetString(Read(name)))), "text/javascript; charset=utf-8");

    /// <summary>
    /// Without the indents, and the notes on lines of their own, which only readers of the source need: a tenth of what goes over the Wi-Fi.
    /// No text in our scripts goes over a line's end.
    /// </summary>
    private static string Bare(string source) => string.Join('\n', source.Split('\n').Select(line => line.Trim())
        .Where(line => line.Length > 0 && !line.StartsWith("//", StringComparison.Ordinal)));

    [GeneratedRegex(@"/\*.*?\*/", RegexOptions.Singleline | RegexOptions.CultureInvariant, 1000)]
    private static partial Regex CssNotes();

    private static Asset Load(string name, string type) => Made(Read(name), type);

    private static Asset Made(byte[] content, string type) => new(content, type, Convert.ToHexStringLower(SHA256.HashData(content))[..16]);

    private static byte[] Read(string name)
    {
        using var stream = Assembly.GetExecutingAssembly().GetManifestResourceStream("Assets/" + name)
            ?? throw new InvalidOperationException($"The asset {name} is missing from the program.");
        var content = new byte[stream.Length];
        stream.ReadExactly(content);
        return content;
    }

    /// <summary>Packed once, as small as it goes, when somebody first asks for it.</summary>
    private static byte[] Pack(byte[] content)
    {
        using var packed = new MemoryStream();
        using (var gzip = new GZipStream(packed, CompressionLevel.SmallestSize)) gzip.Write(content);
        return packed.ToArray();
    }

    private sealed record Asset(byte[] Content, string Type, string Tag)
    {
        public bool IsText => Type.StartsWith("text/", StringComparison.Ordinal) || Type == "image/svg+xml";

        public Lazy<byte[]> Packed { get; } = new(() => Pack(Content));
    }
}
