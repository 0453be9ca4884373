using System.Globalization;
using System.Resources;
using System.Runtime.CompilerServices;
using System.Text;
using System.Xml;
using System.Xml.Linq;

namespace RootCellar.Household;

/// <summary>
/// The language of one household. English is in the program (Strings.resx); any other is a file beside the record,
/// <c>languages/es.resx</c>, of the same form and keys. What a file lacks, or has wrong, is said in English.
/// </summary>
internal sealed class Language
{
    /// <summary>Of the data folder.</summary>
    public const string Folder = "languages";

    private const int MostBytes = 2_000_000;
    private readonly LanguageCulture culture;

    private Language(LanguageCulture culture, IReadOnlyList<string> problems)
    {
        this.culture = culture;
        Problems = problems;
    }

    public static Language English { get; } = new(new LanguageCulture("en", new Dictionary<string, string>(StringComparer.Ordinal)), []);

    /// <summary>What of the file is not used, and why.</summary>
    public IReadOnlyList<string> Problems { get; }

    /// <param name="household">Which language.</param>
    /// <param name="folder">Where the record is.</param>
    public static Language Of(HouseholdOptions household, string folder)
    {
        var comma = household.DecimalMark == ",";
        if (household.Language == "en")
            return comma ? new(new LanguageCulture("en", English.culture.Words) { DecimalComma = true }, []) : English;
        var file = Path.Combine(Folder, household.Language + ".resx");
        var words = new Dictionary<string, string>(StringComparer.Ordinal) { [nameof(Strings.Language)] = household.Language };
        var problems = new List<string>();
        try
        {
            foreach (var (key, said) in Read(Path.Combine(folder, file)))
            {
                if (Wrong(key, said) is { } wrong) problems.Add($"{file}, {key}: {wrong}");
                else words[key] = said;
            }
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException or XmlException)
        {
            problems.Add($"{file}: {e.Message}");
        }

        return new Language(new LanguageCulture(household.Language, words) { DecimalComma = comma }, problems);
    }

    /// <summary>
    /// From here on, in this flow of work and in what it starts, words are this household's: the culture flows with the work (async-local)
    /// and is never the process's. Said where work of a household begins: where its service is made, at each request, and in the making of
    /// a report, which a command does too.
    /// </summary>
    public void Speak() => CultureInfo.CurrentCulture = CultureInfo.CurrentUICulture = culture;

    private static IEnumerable<(string Key, string Said)> Read(string path)
    {
        if (new FileInfo(path).Length > MostBytes) throw new IOException($"it is longer than {MostBytes} bytes");
        using var reader = XmlReader.Create(path);
        return [.. XDocument.Load(reader).Root!.Elements("data").Select(d =>
            ((string?)d.Attribute("name") ?? "", (string?)d.Element("value") ?? ""))];
    }

    private static string? Wrong(string key, string said)
    {
        if (CropWords.IsKey(key)) return said.Length == 0 ? "it is empty" : null;
        if (Strings.ResourceManager.GetString(key, CultureInfo.InvariantCulture) is not { } english) return "there is no such key";
        if (said.Length == 0 != (english.Length == 0)) return "it is empty";
        if (LanguageCulture.Names.TryGetValue(key, out var count)
            && said.Split(' ').Length != count) return $"{count} names are wanted, with one space between them";
        if (Places(english) is not { } places) return null;
        return Places(said) is { } given && given <= places ? null : $"its places for values are not those of the English: {english}";
    }

    // How many values a string takes; null of one that takes none and is said as it is.
    private static int? Places(string text)
    {
        try
        {
            return CompositeFormat.Parse(text).MinimumArgumentCount;
        }
        catch (FormatException)
        {
            return null;
        }
    }
}

/// <summary>
/// Invariant but for its words and the names of days and months: what <see cref="CultureInfo.CurrentCulture"/> is while a household's work
/// is done.
/// </summary>
internal sealed class LanguageCulture : CultureInfo
{
    /// <summary>Keys that are lists of names, and how many names.</summary>
    public static readonly IReadOnlyDictionary<string, int> Names = new Dictionary<string, int>(StringComparer.Ordinal)
    {
        [nameof(Strings.DayNames)] = 7,
        [nameof(Strings.ShortDayNames)] = 7,
        [nameof(Strings.MonthNames)] = 12,
        [nameof(Strings.ShortMonthNames)] = 12,
    };

    private readonly string code;

    public LanguageCulture(string code, IReadOnlyDictionary<string, string> words) : base("")
    {
        (this.code, Words) = (code, words);
        var dates = (DateTimeFormatInfo)InvariantCulture.DateTimeFormat.Clone();
        string[]? Of(string key) => words.GetValueOrDefault(key)?.Split(' ');
        // A thirteenth month, which the calendar does not have, is asked for and stays empty.
        dates.DayNames = Of(nameof(Strings.DayNames)) ?? dates.DayNames;
        dates.AbbreviatedDayNames = Of(nameof(Strings.ShortDayNames)) ?? dates.AbbreviatedDayNames;
        if (Of(nameof(Strings.MonthNames)) is { } months) dates.MonthNames = dates.MonthGenitiveNames = [.. months, ""];
        if (Of(nameof(Strings.ShortMonthNames)) is { } shortMonths)
            dates.AbbreviatedMonthNames = dates.AbbreviatedMonthGenitiveNames = [.. shortMonths, ""];
        DateTimeFormat = dates;
    }

    public IReadOnlyDictionary<string, string> Words { get; }

    /// <summary>People read and type "1,5" (<see cref="Numerals"/>); the culture's own figures stay as programs write them.</summary>
    public bool DecimalComma { get; init; }

    public override bool Equals(object? value) => ReferenceEquals(this, value);

    public override int GetHashCode() => RuntimeHelpers.GetHashCode(this);

    public override string ToString() => code;
}

/// <summary>
/// Looks into the household's words first. Stands in the class that the build makes of Strings.resx, so that each string is said as
/// <c>Strings.Now</c>.
/// </summary>
internal sealed class LanguageWords() : ResourceManager("RootCellar.Household.Strings", typeof(Strings).Assembly)
{
    public override string? GetString(string name, CultureInfo? culture) =>
        (culture ?? CultureInfo.CurrentUICulture) is LanguageCulture { Words: var words } && words.TryGetValue(name, out var said)
            ? said
            : base.GetString(name, CultureInfo.InvariantCulture);

    [ModuleInitializer]
    internal static void Install() => Made(null) = new LanguageWords();

    [UnsafeAccessor(UnsafeAccessorKind.StaticField, Name = "resourceMan")]
    private static extern ref ResourceManager Made(Strings? of);
}
