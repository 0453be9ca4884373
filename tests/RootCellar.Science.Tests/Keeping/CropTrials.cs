using RootCellar.Science.Air;
using RootCellar.Science.Keeping;

namespace RootCellar.Science.Tests.Keeping;

/// <summary>A published loss of a crop other than potatoes: the air from harvest on, and the losses seen.</summary>
/// <param name="Crop">The crop of the table it is taken for.</param>
/// <param name="Source">Who weighed it, or what guidance says.</param>
/// <param name="Fitted">Whether a figure of ours was set with it in view; the others were kept aside.</param>
/// <param name="Assumed">What the source does not say and was assumed here.</param>
internal sealed record CropTrial(
    string Crop, string Source, string What, Packing Packing, IReadOnlyList<AirSpan> Air, IReadOnlyList<Seen> Losses, bool Fitted,
    string Assumed);

/// <summary>
/// Losses of onions, squash, roots, heads and fruit that somebody weighed or that growers' guidance tells. Norms of stores are in
/// <see cref="Published.StoreNorm"/>. What was in hand first set the crop table's figures; what was looked up afterwards was kept aside.
/// </summary>
internal static class CropTrials
{
    private const string Alliums = "told in a textbook of alliums (copy)";
    private const string Kabocha = "UC Davis pumpkin and winter squash sheet (per week from memory)";
    private const string Buttercup = "Harvey, Crop and Food Research, New Zealand (raw weights of 32 fruits)";
    private const string Jaffna = "Univ. of Jaffna repository 8244, big onions, Sri Lanka (abstract)";
    private const string Machulkina = "Machulkina, Sannikova, Antipenko and Gulin 2019, AgroEcoInfo 2019(2) (abstract)";
    private const string Ilic = "Ilic, Sunic, Barac et al. 2013, J. Agric. Sci. 5(5):100 (abstract)";
    private const string Andales = "Andales et al. 1980, sugar beet roots, told in a sugar beet storage encyclopedia";
    private const string Delicious = "Quality and condition of Delicious apples after storage at 0 C (abstract, scilit), bulk apples";
    private const string Minicole =
        "Acta Horticulturae 157 (34), white cabbage Minicole, regression of 9 deficits over 2 to 3 months (r 0.90)";

    private const string NorthCarolina = "North Carolina growers' guidance";

    // The sources speak of cured bulbs.
    private static readonly AirSpan Cured = Hold(27, 65, 21);

    /// <summary>What sources in hand say and is not among the trials, and why.</summary>
    public static IReadOnlyList<(string Source, string What, string Why)> LeftOut { get; } =
    [
        ("Maw and Mullinix 2005, Postharvest Biol. Technol. 35:223", "Granex 33 in heated air: 7.2 % in 24 h, 10.3 % in 96 h",
            "the heated air is not told, and no cellar has it"),
        ("Khater, Bahnasawy and Ibrahim 2021", "garlic, 36.9 % in a shed, 11.5 % in the cold, 12.3 % aired", "months and air are not in the abstract"),
        ("J. Food Quality 2018, 3942071 (abstract)", "Korean radish at 0 C: about 18 % in open crates, 10 % in cartons, under 3 % in film",
            "the days are not in the abstract"),
        ("Kassebi and Korzenszky 2021 (abstract)", "Golden Delicious, 3 months: 3.3 to 4.5 g at 5 C, 22 to 32 g at 25 C", "the weight of the fruit is not told"),
        ("Toivonen, Upadhyaya and Gaye 1993, Acta Hort. 343 (abstract)", "carrots held at 1 C for 4 or 14 d lose about 30 % less afterwards",
            "a share, of a loss that is not told; it speaks for an early part"),
        ("Harvey et al., third site", "squash fruit by fruit", "kept back for a test of others"),
    ];

    public static IReadOnlyList<CropTrial> All { get; } =
    [
        Onions("Kopsell and Randle 1997, " + Alliums, "Dehydrator No. 3, cured, first month", [Cured, Hold(5, 80, 30)], [new(21, 51, 2.1)], fitted: true,
            "three weeks at 27 C and 65 % first; 5 C and 80 % (from memory), crates"),
        Onions("Kopsell and Randle 1997, " + Alliums, "Granex 33, cured, first month", [Cured, Hold(5, 80, 30)], [new(21, 51, 4.2)], fitted: true,
            "three weeks at 27 C and 65 % first; 5 C and 80 % (from memory), crates"),
        Onions("Msika and Jackson 1997, " + Alliums, "cured, a month in a warm store", [Cured, Hold(22, 60, 30)], [new(21, 51, 3.3)], fitted: true,
            "2 to 5 by variety; three weeks at 27 C and 65 % first; 22 C and 60 %, crates"),
        Onions("extension (agriculturistmusa): cured at 3 to 5 %", "while they cure", [Cured], [new(0, 21, 4)], fitted: true,
            "27 C and 65 % for three weeks, crates"),
        Onions("UC Davis dry onion sheet (Suslow): field-dry at 5 to 8 %", "until field-dry", [Cured], [new(0, 21, 6.5)], fitted: true,
            "27 C and 65 % for three weeks, crates"),
        Onions(Jaffna, "aired shed, six weeks", [Hold(30, 70, 7), Hold(32, 68, 42)], [new(7, 49, 9.32)], fitted: true,
            "32 C and 68 % between its wet and its dry days; a week of shade at 30 C and 70 % first, crates"),
        Onions(Jaffna, "held at 27 C and 71 %, six weeks", [Hold(30, 70, 7), Hold(27.15, 70.6, 42)], [new(7, 49, 9.16)], fitted: true,
            "a week of shade at 30 C and 70 % first, crates"),
        Onions("Sohany, Sarker and Mahomud 2016, World J. Eng. Technol. 4:261 (abstract)", "room of 25 C and 75 %, 60 d", [Cured, Hold(25, 75, 60)],
            [new(21, 81, 23.25)], fitted: false, "cured three weeks at 27 C and 65 % first, crates; what rot and sprouts took is in the figure"),
        Onions(Machulkina, "bulbs of 3 to 4 cm, 30 and 90 d", [Cured, Hold(20, 65, 90)], [new(21, 51, 8.3), new(21, 111, 12.4)], fitted: true,
            "its two ends taken for 30 and 90 d; cured first; 20 C and 65 %, crates"),
        Onions(Machulkina, "bulbs over 6 cm, 30 and 90 d", [Cured, Hold(20, 65, 90)], [new(21, 51, 6.2), new(21, 111, 9.7)], fitted: true,
            "its two ends taken for 30 and 90 d; cured first; 20 C and 65 %, crates"),
        new("sweet-potato", NorthCarolina + ": 1 to 2 %", "cured, a month at 55 to 60 F, 85 %", Packing.Crate, [Hold(29, 90, 7), Hold(14.2, 85, 30)],
            [new(7, 37, 1.5)], true, "7 d at 29 C and 90 % first; crates; the coefficient was derived without a crate's air"),
        new("sweet-potato", NorthCarolina + ": 2 to 5 %", "not cured, a month at 55 to 60 F, 85 %", Packing.Crate, [Hold(14.2, 85, 30)],
            [new(0, 30, 3.5)], true, "crates; in ours they go on healing, slowly, at 14 C"),
        new("winter-squash", Kabocha, "Kabocha, cured, a week at 12.5 C", Packing.SingleLayer, [Hold(28, 75, 14), Hold(12.5, 60, 7)], [new(14, 21, 1.0)], true,
            "two weeks at 28 C first and 60 %"),
        new("winter-squash", Kabocha, "Kabocha, cured, a week at 20 C", Packing.SingleLayer, [Hold(28, 75, 14), Hold(20, 60, 7)], [new(14, 21, 1.5)], true,
            "two weeks at 28 C first and 60 %"),
        new("winter-squash", Buttercup, "buttercup, site P, picked 30 to 50 d after flowering, 3 to 4 weeks", Packing.Crate, [Hold(13, 70, 24)],
            [new(0, 24, 5.3)], true, "24 d at 13 C and 70 %; four fruits weighed to 100 g left out"),
        new("winter-squash", Buttercup, "buttercup, site LINC, 3 to 4 weeks", Packing.Crate, [Hold(13, 70, 24)], [new(0, 24, 7.9)], true,
            "24 d at 13 C and 70 %"),
        new("pumpkin", "Cucurbita maxima of Antioquia, Rev. Fac. Nac. Agron. Medellin, 2021 (abstract)", "six weeks", Packing.SingleLayer, [Hold(20, 75, 42)],
            [new(0, 42, 2.33)], false, "20 C and 75 %"),
        new("carrot", Ilic, "Maestro, damp room, 160 d and 20 d at 20 C", Packing.Crate, [Hold(0, 97, 160), Hold(20, 95, 20)], [new(0, 180, 3.1)], false,
            "0 C and 97 %, then 95 %, crates: within what is told; which end belongs to which room is inferred"),
        new("carrot", Ilic, "Maestro, dry room, 160 d and 20 d at 20 C", Packing.Crate, [Hold(1, 85, 160), Hold(20, 95, 20)], [new(0, 180, 33.2)], false,
            "1 C and 85 %, then 95 %, crates: within what is told; which end belongs to which room is inferred"),
        new("carrot", "Heltoft and Thomsen 2023, Acta Hort. 1363:193 (abstract)", "Nominator and Romance, six months at 0 C with weeks at 4 C", Packing.Crate,
            [Hold(0, 95, 120), Hold(4, 95, 14), Hold(0, 95, 14), Hold(4, 95, 14), Hold(0, 95, 18)], [new(0, 180, 7.8)], false, "95 %, crates"),
        new("beet", Andales, "sugar beet, 80 to 85 %, 15 weeks", Packing.Crate, [Hold(6.1, 82.5, 105)], [new(0, 105, 31)], false,
            "6.1 C for 3.3 to 8.9 C, crates; another beet, and rot is in it"),
        new("beet", Andales, "sugar beet, 95 to 100 %, 15 weeks", Packing.Crate, [Hold(6.1, 97.5, 105)], [new(0, 105, 15)], false,
            "6.1 C for 3.3 to 8.9 C, crates; another beet, and rot is in it"),
        new("beet", "Influence of form and size of a root on the storage life of kitchen beetroot, Kharkiv (abstract)", "Kharkiv Bordo and Vital, one season",
            Packing.Crate, [Hold(1, 92, 210)], [new(0, 210, 4.7)], false, "the middle of 4.1 to 5.4 %; 210 d at 1 C and 92 %, crates"),
        .. Cabbages(),
        Apples("4.4 C", 4.4, 85, 0.2),
        Apples("13 C", 13, 80, 0.4),
        Apples("21 C", 21, 60, 1.8),
        new("apple", "Physico-chemical quality of apple cv. Gala Must, FUUAST J. Biol. (abstract)", "10 C, 80 to 85 %, 120 d", Packing.Crate, [Hold(10, 82.5, 120)],
            [new(0, 120, 1.24)], false, "crates"),
    ];

    private static CropTrial Onions(string source, string what, AirSpan[] air, Seen[] losses, bool fitted, string assumed) =>
        new("onion", source, what, Packing.Crate, air, losses, fitted, assumed);

    private static CropTrial Apples(string what, double c, double humidity, double percent) =>
        new("apple", Delicious, $"Delicious, a week on display at {what}", Packing.Crate, [Hold(0, 90, 90), Hold(c, humidity, 7)], [new(90, 97, percent)], true,
            $"three months of the 0 to 6 at 0 C and 90 % first; {humidity} %, crates");

    /// <summary>Each deficit at a temperature of the paper (0.5, 4 and 8 C), with the humidity that makes it.</summary>
    private static IEnumerable<CropTrial> Cabbages()
    {
        foreach (var (deficit, c) in new[] { (14.0, 0.5), (50, 0.5), (88, 8) })
        {
            double humidity = 100 * (1 - deficit / Saturation.OverWaterPa(c));
            yield return new("cabbage", Minicole, FormattableString.Invariant($"white, {deficit:0} Pa ({c} C, {humidity:0.0} %)"), Packing.Crate,
                [Hold(c, humidity, 90)],
                [.. new[] { 60, 90 }.Select(days => new Seen(0, days, Math.Round(0.0696 * deficit + 0.0314 * days - 1.74, 2)))], true,
                "crates; what crates exchange with the room was set near this regression");
        }
    }

    private static AirSpan Hold(double temperatureC, double humidity, double days) => AirSpan.Hold(temperatureC, humidity, days);
}
