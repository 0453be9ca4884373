using System.Globalization;
using System.Reflection;
using System.Resources;
using System.Runtime.CompilerServices;
using System.Text;
using System.Text.RegularExpressions;
using System.Xml;
using System.Xml.Linq;

namespace RootCellar.Household;

/// <summary>
/// A language that pages and texts are said in. English and Spanish are in the program (Strings.resx, Languages/es.resx); any other is a
/// file beside the record, <c>languages/de.resx</c>, of the same form and keys, and such a file goes before what the program has. What is
/// nowhere, or wrong, is said in English.
/// </summary>
internal sealed class Language
{
    /// <summary>Of the data folder.</summary>
    public const string Folder = "languages";

    /// <summary>What a language tag looks like: en, es, pt-BR.</summary>
    public const string TagShape = "^[a-z]{2,8}(-[A-Za-z0-9]{1,8})*$";

    public const string EnglishCode = "en";
    private const int MostBytes = 2_000_000;
    private readonly LanguageCulture culture;

    private Language(LanguageCulture culture, IReadOnlyList<string> problems)
    {
        this.culture = culture;
        Problems = problems;
    }

    public static Language English { get; } = Of(EnglishCode, new HouseholdOptions(), null);

    /// <summary>The languages in the program, by their tags.</summary>
    public static IReadOnlyList<string> Shipped { get; } =
        [EnglishCode, .. Assembly.GetExecutingAssembly().GetManifestResourceNames().Where(n => n.StartsWith(Folder + "/", StringComparison.Ordinal))
            .Select(n => Path.GetFileNameWithoutExtension(n)).Order(StringComparer.Ordinal)];

    /// <summary>Its tag, such as "es".</summary>
    public string Code => culture.ToString();

    /// <summary>As its speakers call it; the tag where the file does not say.</summary>
    public string Name => Code == EnglishCode ? Strings.ResourceManager.GetString(nameof(Strings.LanguageName), CultureInfo.InvariantCulture)!
        : culture.Words.GetValueOrDefault(nameof(Strings.LanguageName)) ?? Code;

    /// <summary>What of the file is not used, and why.</summary>
    public IReadOnlyList<string> Problems { get; private set; }

    public static bool IsTag(string text) => Regex.IsMatch(text, TagShape, RegexOptions.ExplicitCapture, TimeSpan.FromSeconds(1));

    /// <summary>Speaks another from now on, also in work that was begun in this one.</summary>
    public void Become(Language other)
    {
        culture.Become(other.culture);
        Problems = other.Problems;
    }

    /// <param name="household">Which language.</param>
    /// <param name="folder">Where the record is.</param>
    public static Language Of(HouseholdOptions household, string folder) => Of(household.Language, household, folder);

    /// <param name="code">Which language.</param>
    /// <param name="household">How it writes numbers and hours, which is its own way in every language.</param>
    /// <param name="folder">Where the record is; null: only what the program has.</param>
    internal static Language Of(string code, HouseholdOptions household, string? folder)
    {
        var words = new Dictionary<string, string>(StringComparer.Ordinal);
        var problems = new List<string>();
        if (code != EnglishCode)
        {
            words[nameof(Strings.Language)] = code;
            using var shipped = Assembly.GetExecutingAssembly().GetManifestResourceStream($"{Folder}/{code}.resx");
            if (shipped is not null) Take(shipped, $"{code}.resx of the program", words, problems);
            if (folder is not null) TakeFile(folder, Path.Combine(Folder, code + ".resx"), shipped is not null, words, problems);
        }

        return new Language(new LanguageCulture(code, words)
        {
            DecimalComma = household.DecimalMark == ",",
            American = household.Scale == TemperatureScale.Fahrenheit,
        }, problems);
    }

    /// <summary>
    /// From here on, in this flow of work and in what it starts, words are this household's: the culture flows with the work (async-local)
    /// and is never the process's. Said where work of a household begins: where its service is made, at each request, and in the making of
    /// a report, which a command does too.
    /// </summary>
    public void Speak() => CultureInfo.CurrentCulture = CultureInfo.CurrentUICulture = culture;

    /// <summary>Says something in it, and leaves the flow of work in the language that it was in.</summary>
    public T Say<T>(Func<T> said)
    {
        var (figures, words) = (CultureInfo.CurrentCulture, CultureInfo.CurrentUICulture);
        try
        {
            Speak();
            return said();
        }
        finally
        {
            (CultureInfo.CurrentCulture, CultureInfo.CurrentUICulture) = (figures, words);
        }
    }

    private static void TakeFile(string folder, string file, bool mayBeMissing, Dictionary<string, string> words, List<string> problems)
    {
        var path = Path.Combine(folder, file);
        if (mayBeMissing && !File.Exists(path)) return;
        try
        {
            if (new FileInfo(path).Length > MostBytes) throw new IOException($"it is longer than {MostBytes} bytes");
            using var read = File.OpenRead(path);
            Take(read, file, words, problems);
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException or XmlException)
        {
            problems.Add($"{file}: {e.Message}");
        }
    }

    /// <exception cref="XmlException">It is no XML.</exception>
    private static void Take(Stream resx, string named, Dictionary<string, string> words, List<string> problems)
    {
        using var reader = XmlReader.Create(resx);
        foreach (var data in XDocument.Load(reader).Root!.Elements("data"))
        {
            var (key, said) = ((string?)data.Attribute("name") ?? "", (string?)data.Element("value") ?? "");
            if (Wrong(key, said) is { } wrong) problems.Add($"{named}, {key}: {wrong}");
            else words[key] = said;
        }
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

/// <summary>The languages that can be chosen in a household: its own first, which all hear who chose none, and those in the program.</summary>
internal sealed class Languages(HouseholdOptions household, string? folder)
{
    /// <summary>Those in the program, of a household that speaks English.</summary>
    public static Languages Shipped { get; } = new(new HouseholdOptions(), folder: null);

    // Read once somebody may choose: a start reads the household's only.
    private Lazy<IReadOnlyList<Language>> others = Others(household, folder);

    /// <summary>In their order on the page.</summary>
    public IReadOnlyList<Language> All => [Household, .. others.Value];

    public Language Household { get; } = Own(household, folder);

    /// <summary>The household has chosen another language: whoever spoke its own speaks that from now on.</summary>
    public void Change()
    {
        Household.Become(Own(household, folder));
        others = Others(household, folder);
    }

    /// <summary>The language of a tag; the household's for none and for one that is not there.</summary>
    public Language Of(string? code) => code is null || code == Household.Code ? Household
        : others.Value.FirstOrDefault(l => l.Code == code) ?? Household;

    /// <summary>Says something in the language of a tag; without one in that of the flow of work, which a household's own work has.</summary>
    public T In<T>(string? code, Func<T> said) => code is null ? said() : Of(code).Say(said);

    public bool Has(string? code) => All.Any(l => l.Code == code);

    private static Language Own(HouseholdOptions household, string? folder) => Language.Of(household.Language, household, folder);

    private static Lazy<IReadOnlyList<Language>> Others(HouseholdOptions household, string? folder) => new(
        () => [.. Language.Shipped.Where(c => c != household.Language).Select(code => Language.Of(code, household, folder))]);
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
        [nameof(Strings.DayHalves)] = 2,
    };

    private string code;

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
        var halves = Of(nameof(Strings.DayHalves));
        (dates.AMDesignator, dates.PMDesignator) = (halves?[0] ?? "am", halves?[1] ?? "pm");
        DateTimeFormat = dates;
    }

    public IReadOnlyDictionary<string, string> Words { get; private set; }

    /// <summary>People read and type "1,5" (<see cref="Numerals"/>); the culture's own figures stay as programs write them.</summary>
    public bool DecimalComma { get; set; }

    /// <summary>Hours are written as Americans write them (<see cref="WrittenTime"/>).</summary>
    public bool American { get; set; }

    public bool MonthFirst => American && code == Language.EnglishCode;

    /// <summary>Says everything as another does.</summary>
    public void Become(LanguageCulture other)
    {
        (code, Words, DecimalComma, American) = (other.code, other.Words, other.DecimalComma, other.American);
        DateTimeFormat = other.DateTimeFormat;
    }

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
