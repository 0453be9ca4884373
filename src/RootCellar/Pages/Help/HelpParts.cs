using Microsoft.AspNetCore.Html;
using RootCellar.Household;
using RootCellar.Pages.Look;

namespace RootCellar.Pages.Help;

/// <summary>One part of the help.</summary>
/// <param name="Name">Of its file and in its address.</param>
/// <param name="Open">Whether it may be read without signing in.</param>
internal sealed record HelpPart(string Name, bool Open, IHtmlContent Icon, Func<string> Title, Func<string> What)
{
    public string Address => HelpParts.Address + "/" + Name;

    /// <summary>Its text in a language it is written in.</summary>
    public IHtmlContent Text(string language) => HelpText.Of(Name, language);
}

/// <summary>The parts of the help, and which of them is about which page.</summary>
internal static class HelpParts
{
    public const string Address = "/help";

    /// <summary>Open is what somebody needs who stands before the sign-in page, reads a text, or is about to go into a cellar.</summary>
    public static readonly IReadOnlyList<HelpPart> All =
    [
        new("first-evening", true, Icons.Door, () => Strings.HelpFirstEvening, () => Strings.HelpFirstEveningWhat),
        new("season", false, Icons.Dig, () => Strings.HelpSeason, () => Strings.HelpSeasonWhat),
        new("words", false, Icons.Bins, () => Strings.HelpWords, () => Strings.HelpWordsWhat),
        new("sensors", false, Icons.Sensor, () => Strings.Sensors, () => Strings.HelpSensorsWhat),
        new("texts", true, Icons.Text, () => Strings.HelpTexts, () => Strings.HelpTextsWhat),
        new("without-network", false, Icons.Write, () => Strings.HelpNoNetwork, () => Strings.HelpNoNetworkWhat),
        new("cautions", true, Icons.Seen, () => Strings.HelpCautions, () => Strings.HelpCautionsWhat),
    ];

    // By the page's own name; a test knows all pages and wants each here.
    private static readonly Dictionary<string, string> OfPages = new(StringComparer.OrdinalIgnoreCase)
    {
        ["/Index"] = "words#now",
        ["/History/Place"] = "words#a-room",
        ["/Bins/Bins"] = "words#bins",
        ["/Bins/Bin"] = "words#bins",
        ["/Bins/Crops"] = "words#crops",
        ["/Bins/Cellar"] = "without-network",
        ["/Bins/Labels"] = "season#digging-day",
        ["/Bins/Log"] = "words#the-book",
        ["/Bins/Write"] = "words#the-book",
        ["/Bins/Moved"] = "season#into-the-cellar",
        ["/Bins/Correct"] = "words#the-book",
        ["/Bins/Undo"] = "words#the-book",
        ["/Bins/ToCheck"] = "words#the-book",
        ["/History/Lot"] = "words#a-lot",
        ["/Rows/Rows"] = "season#planting",
        ["/Rows/Row"] = "season#planting",
        ["/Rows/WriteRow"] = "season#planting",
        ["/Stock/Stock"] = "words#stock-and-orders",
        ["/Foreseen/Ahead"] = "words#ahead",
        ["/Reports/Week"] = "words#the-weeks-report",
        ["/Alarms"] = "texts",
        ["/Sent"] = "texts#what-was-sent",
        ["/Answer"] = "texts#answer",
        ["/Sensors"] = "sensors",
        ["/Calibrate"] = "sensors#the-salt-jar",
        ["/SetUp"] = "first-evening#places",
        ["/Channels"] = "first-evening#texts",
        ["/Backup"] = "first-evening#backup",
        ["/Evening/Start"] = "first-evening#led-through",
        ["/Evening/House"] = "first-evening#clock-units-language",
        ["/Evening/Places"] = "first-evening#places",
        ["/Evening/Sensors"] = "first-evening#sensors",
        ["/Evening/Ways"] = "first-evening#texts",
        ["/Evening/People"] = "first-evening#texts",
        ["/Evening/Test"] = "first-evening#a-test",
        ["/Evening/Gate"] = "first-evening#close-the-gate",
        ["/AskTheHousehold"] = "first-evening#helpers",
        ["/SignIn"] = "first-evening#sign-in",
        ["/SignOut"] = "first-evening#sign-in",
        ["/Language"] = "first-evening#sign-in",
        ["/More"] = "",
        ["/Trouble"] = "",
        ["/Help/Open"] = "",
        ["/Help/Part"] = "",
    };

    public static HelpPart? Find(string? name) => All.FirstOrDefault(p => p.Name == name);

    /// <summary>Where the help about a page is.</summary>
    /// <param name="page">As the pages' own machinery calls it, "/Bins/Log".</param>
    /// <returns>Null: nobody said which part it is.</returns>
    public static string? About(string page) =>
        OfPages.TryGetValue(page, out var part) ? part.Length == 0 ? Address : $"{Address}/{part}" : null;
}
