using System.Collections;
using System.Globalization;
using System.Net;
using System.Resources;
using System.Text.RegularExpressions;
using System.Xml.Linq;
using RootCellar.Household;
using RootCellar.Science.Crops;

namespace RootCellar.Tests.Languages;

/// <summary>
/// A language that is made of the English strings and has no letter of them: each is é. A text message can carry it, and whatever of a
/// page or a text
/// has two Latin letters side by side came from elsewhere.
/// </summary>
internal static partial class PseudoLanguage
{
    public const string Code = "qps";

    /// <summary>What is measured is written the same in every language; so are names of techniques, files and settings.</summary>
    private static readonly HashSet<string> Symbols = new(StringComparer.Ordinal)
    {
        "RootCellar", "ROOTCELLAR", "lb", "oz", "qt", "kg", "ft", "Pa", "lx", "lux", "ppm", "min", "MB", "RH", "dBm", "hPa", "kPa", "mmHg", "inHg", "mV", "MQTT", "UTC",
            "csv", "CSV", "QR",
    };

    /// <summary>Lays the language's file beside a record, as a household would.</summary>
    public static void Write(string folder)
    {
        var set = Strings.ResourceManager.GetResourceSet(CultureInfo.InvariantCulture, true, true)!;
        var words = set.Cast<DictionaryEntry>().Select(e => ((string)e.Key, (string)e.Value!))
            .Concat(CropTable.Default.Crops.Select(c => (CropWords.Key(c), c.Name)))
            .Concat(CropTable.Default.Crops.Where(c => c.EthyleneEffect is not null).Select(c =>
                (CropWords.EthyleneKey(c), c.EthyleneEffect!.Text)));
        var file = new XElement("root",
            words.Select(w => new XElement("data", new XAttribute("name", w.Item1), new XElement("value", Of(w.Item2)))));
        Directory.CreateDirectory(Path.Combine(folder, "languages"));
        file.Save(Path.Combine(folder, "languages", Code + ".resx"));
    }

    /// <summary>Each letter is é, but for what stands for a value.</summary>
    public static string Of(string english) =>
        Letters().Replace(english, m => m.Value[0] == '{' ? m.Value : char.IsUpper(m.Value[0]) ? "É" : "é");

    /// <summary>What people see of a page, and what is read out to them.</summary>
    public static IEnumerable<string> Seen(string html)
    {
        html = Unseen().Replace(html, " ");
        foreach (Match said in Said().Matches(html)) yield return WebUtility.HtmlDecode(said.Groups["words"].Value);
        foreach (var text in Tags().Split(html)) yield return WebUtility.HtmlDecode(text);
    }

    // Written by hand into a record or said by a machine: not ours to translate. A source is cited as it is printed.
    private static readonly string[] Quoted =
    [
        "USDA AIB 410", "USDA AH-66", "English", "Español", PseudoLanguage.Code, "Ann", "a program", "Connection refused", "zz@zz.example",
        .. CropTable.Default.Crops.SelectMany(c => new[] { HarmTable.Default.Of(c), HarmTable.Default.Of(c, curing: true) }
            .SelectMany(h => new[] { h.Cold.Source, h.Warm.Source, h.Dry.Source, h.Wet?.Source })
            .Concat([c.Storage.Source, c.Curing?.Source])).OfType<string>().Distinct(StringComparer.Ordinal).OrderByDescending(s => s.Length),
    ];

    /// <summary>
    /// Words of a text that are neither the language's nor symbols nor data: what people named (it begins with zz), and varieties.
    /// </summary>
    public static IEnumerable<string> Strange(string text) =>
        Words().Matches(Quoted.Aggregate(Addresses().Replace(text, " "), (left, quoted) =>
            left.Replace(quoted, " ", StringComparison.Ordinal))).Select(m => m.Value)
                .Where(w => !Symbols.Contains(w) && !w.StartsWith("zz", StringComparison.OrdinalIgnoreCase) && !Named.Contains(w));

    private static readonly HashSet<string> Named = new(
        VarietyTable.Default.Varieties.Select(v => v.Name).SelectMany(n => Words().Matches(n).Select(m => m.Value)),
            StringComparer.OrdinalIgnoreCase);

    [GeneratedRegex(@"\{[^}]*\}+|\p{L}", RegexOptions.None, 5000)]
    private static partial Regex Letters();

    // The help is in English, says so, and is marked as such for screen readers. Zones have their own names everywhere.
    [GeneratedRegex(@"<select id=""zone"".*?</select>|<(?<tag>script|style|template|code|pre)\b.*?</\k<tag>>|<article class=""help"" lang=""en"">.*?</article>|<!--.*?-->|<!DOCTYPE[^>]*>",
        RegexOptions.Singleline | RegexOptions.IgnoreCase | RegexOptions.ExplicitCapture, 5000)]
    private static partial Regex Unseen();

    [GeneratedRegex("""\b(?:alt|title|placeholder|label|aria-label|aria-description|aria-valuetext|data-(?!(?:any|shape|crops?|what|bin|place)=|inside|seat|reveal|zone|table|column|log|asks|asked)[a-z-]+)="(?<words>[^"]*)"|<input[^>]*type="submit"[^>]*value="(?<words>[^"]*)""", RegexOptions.ExplicitCapture, 5000)]
    private static partial Regex Said();

    [GeneratedRegex("<[^>]*>", RegexOptions.None, 5000)]
    private static partial Regex Tags();

    [GeneratedRegex(@"https?://\S+|/(media|tmp)/[\w./-]+|\b(curing|cellar|yard|shed)/", RegexOptions.ExplicitCapture, 5000)]
    private static partial Regex Addresses();

    [GeneratedRegex("[A-Za-z]{2,}[A-Za-z0-9]*", RegexOptions.None, 5000)]
    private static partial Regex Words();
}
