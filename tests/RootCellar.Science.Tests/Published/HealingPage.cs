using System.Globalization;
using System.Text;
using RootCellar.Science.Keeping;

namespace RootCellar.Science.Tests.Published;

/// <summary>docs/science/healing.md.</summary>
internal static class HealingPage
{
    private static readonly double[] StageTemperatures = [5, 8, 10, 12.8, 15, 18.3, 20];

    public static string Of()
    {
        var page = new StringBuilder();
        page.Append("""
            # Healing and curing: the rate, the stages, and what bulletins say

            Written by the tests (`HealingPageTests`); do not edit it by hand. Published figures one by one, with the distance of ours, are in validation.md.

            ## Potatoes

            Healing is counted in **days at 20 C**: a day at 20 C in damp air adds one. A day at another temperature adds

                (T/20)^1.585 from 0 to 25 C; from there straight down to nothing at 35 C; nothing at 0 C and below

            times what the humidity, the carbon dioxide and the wet leave.

            - Temperature: Wigginton 1974 (Potato Research 17, summary) found three times the rate from 5 to 10 C and three times again from 10 to 20 C. A
              power of the Celsius temperature with exponent log2 3 = 1.585 meets both exactly (derived). Suberin is made fastest near 26 C (Dean
              1989, Plant Physiology, abstract; author from memory); at 35 C healing no longer protects (soft-rot bulletin); between, straight, is assumed.
            - Humidity: fastest from 70 to 100 % at 20 C and from 80 to 100 % at 10 C (Wigginton); straight between; below that it falls to nothing over 40 % (assumed).
            - Carbon dioxide: none lost up to 0.5 % (assumed; Wigginton saw a progressive loss from the air's own upwards), all at 10 % (a storage course's figure).
            - Wet: a skin under water gets no oxygen and does not heal (Univ. Nebraska CropWatch).

            The warmest that heals fastest is not the warmest that is wise: rot sets the ceiling. Most bulletins stop at 60 to 65 F (15.6 to 18.3 C).


            """);
        Stages(page);
        Bands(page);
        Others(page);
        page.Append("""

            ## What this is not

            Bulletins were read as copies, abstracts or restatements. Tubers of one lot differ a good deal (Wigginton): the outlook spreads the days of each stage by a factor of 1.3 either way (assumed from the spread of the anchors). Varieties
            differ in speed (Buckley et al. 2025, Plants 14:1830). Whether old tubers heal slower is disputed (Thomson et al. 1995, Canadian Journal of Botany
            73:1436, against a study of vapour conductance after 2 to 27 weeks of storage), and is not in it. A healed skin is no verdict on a lot: rot, frost and green are looked for by eye.
            """);
        return page.Append('\n').ToString();
    }

    private static void Stages(StringBuilder page)
    {
        page.Append("### The stages\n\nDays at 95 % humidity, by temperature. A stage is good to 30 %.\n\n| stage | days at 20 C |");
        foreach (double c in StageTemperatures)
            page.Append(CultureInfo.InvariantCulture, $" {c} C |");
        page.Append(" set by |\n|---|--:|").Append(string.Concat(StageTemperatures.Select(_ => "--:|"))).Append("---|\n");
        (HealingStage Stage, string Name, string By)[] stages =
        [
            (HealingStage.Sealed, "sealed: suberin layer closed",
                "about 3 d at 11 to 15.6 C (Valley Potato Grower, April 2023); 3 to 5 d at 15.6 to 18.3 C (Voss, Baghott and Timm, Univ. California VRIC)"),
            (HealingStage.Adequate, "adequate: fit to move", "8 d at 15 C (Suslow and Voss, UC Davis)"),
            (HealingStage.Healed, "healed: full wound periderm", "14 d at 12.8 C (Univ. Idaho CIS 1134)"),
        ];
        foreach (var (stage, name, by) in stages)
        {
            double days = Curing.DaysTo(CuringRule.Potato, stage);
            page.Append(CultureInfo.InvariantCulture, $"| {name} | {days:0} |");
            foreach (double c in StageTemperatures)
                page.Append(CultureInfo.InvariantCulture, $" {Days(days / Rate(c))} |");
            page.Append(CultureInfo.InvariantCulture, $" {by} |\n");
        }

        page.Append("""

            At 5 C a lot is not fit to move within a month. "Wounds do not heal below 50 F" (growers' rule) exaggerates: at 10 C a lot is fit to move after 15 days.


            """);
    }

    private static void Bands(StringBuilder page)
    {
        page.Append("""
            ### The bands of bulletins

            Each band's four corners: coldest and warmest, fewest and most days, with the days at 20 C gathered and the stage reached. All bands are damp enough
            (80 % and more) for the full rate; where no humidity is given it is taken to be. A band's temperatures and its days are ranges by themselves, not pairs
            that belong together, so a cold, short corner may well fall short of "adequate" (**bold**): show the two stages apart, never one "cured".
            Band 6 is what set "healed".

            | # | band | source | cold, short | cold, long | warm, short | warm, long | days to adequate, cold to warm |
            |--:|---|---|---|---|---|---|--:|

            """);
        foreach (var band in CuringBands.Potato)
        {
            page.Append(CultureInfo.InvariantCulture, $"| {band.Number} | {band.Printed} | {band.Source} | ");
            page.Append(CultureInfo.InvariantCulture,
                $"{Corner(band.LowC, band.ShortDays)} | {Corner(band.LowC, band.LongDays)} | {Corner(band.HighC, band.ShortDays)} | {Corner(band.HighC, band.LongDays)} | ");
            string cold = Days(WoundHealing.AdequateDays / Rate(band.LowC));
            string warm = Days(WoundHealing.AdequateDays / Rate(band.HighC));
            page.Append(cold == warm ? cold : $"{cold} to {warm}").Append(" |\n");
        }

        var dated = CuringBands.Potato.Where(band => band.ShortDays is not null).ToList();
        int coldShort = dated.Count(band => Short(band.LowC, band.ShortDays!.Value));
        int warmLong = dated.Count(band => Short(band.HighC, band.LongDays!.Value));
        int middle = dated.Count(band => Short((band.LowC + band.HighC) / 2, (band.ShortDays!.Value + band.LongDays!.Value) / 2));
        page.Append(CultureInfo.InvariantCulture, $"""

            Of the {dated.Count} bands with days, the cold, short corner falls short of "adequate" in {coldShort}, the middle in {middle}, the warm, long corner in {warmLong}.


            """);
    }

    private static void Others(StringBuilder page)
    {
        page.Append("""
            ## Other crops

            The same three stages stand for the like of it (a closed layer, tight necks, a hard rind), counted in days at the rule's own temperature. "Full" is
            what ours takes at the middle of the band.

            | rule | own temperature | sealed, adequate, healed: days | rate |
            |---|--:|--:|---|
            | sweet potato | 29 C | 3, 5, 7 | three times as fast per 10 C (7 d at 27 to 29 C against 14 to 21 d at 65 to 75 F, USDA AIB 410); nothing below 12 C or from 42 C; full from 85 % humidity, nothing at 45 % (edges assumed) |
            | drying: onion, garlic, shallot | 27 C | 7, 12, 18 | doubles per 10 C up to 32 C (assumed); full up to 70 % humidity, nothing at 95 % (assumed) |
            | rind: pumpkin, winter squash | 28 C | 5, 7, 10 | doubles per 10 C up to 32 C (assumed); nothing below 10 C; full up to 85 % humidity, nothing at 100 % (assumed) |

            | crop | published | source | published days | ours, full | ours, adequate | |
            |---|---|---|--:|--:|--:|---|

            """);
        foreach (var band in CuringBands.Others)
        {
            double rate = Curing.RatePerDay(band.Rule, (band.LowC + band.HighC) / 2, (band.LowPercent + band.HighPercent) / 2, wet: false);
            double full = Curing.DaysTo(band.Rule, HealingStage.Healed) / rate;
            double adequate = Curing.DaysTo(band.Rule, HealingStage.Adequate) / rate;
            string published = band.ShortDays == band.LongDays ? $"{band.ShortDays}" : $"{band.ShortDays} to {band.LongDays}";
            string verdict = full < band.ShortDays * (band.ShortDays == band.LongDays ? 0.7 : 1)
                ? "ours is sooner" : full > band.LongDays * (band.ShortDays == band.LongDays ? 1.3 : 1) ? "ours is later" : "";
            page.Append(CultureInfo.InvariantCulture,
                $"| {band.Crop} | {band.Printed} | {band.Source}{(band.Assumed is null ? "" : $" ({band.Assumed})")} | {published} | {Days(full)} | {Days(adequate)} | {verdict} |\n");
        }

        page.Append("""

            Sweet potatoes chilled to 4.5 C or heated to 45 C before curing heal worse and take more surface rot (Nielsen and Johnson 1974, Phytopathology 64:967). An onion
            is cured when its neck is tight and its scales rustle, at 3 to 5 % of weight lost: that look goes before any count of days. Rinds are said to
            want 50 to 70 % by one author and about 80 % by others.

            """);
    }

    private static string Corner(double c, double? days)
    {
        if (days is not { } d)
            return "no days given";
        double healed = d * Rate(c);
        string corner = string.Create(CultureInfo.InvariantCulture,
            $"{healed:0.0} {Curing.StageAfter(CuringRule.Potato, healed + 1e-9).ToString().ToLowerInvariant()}");
        return Short(c, d) ? $"**{corner}**" : corner;
    }

    private static bool Short(double c, double days) => days * Rate(c) < WoundHealing.AdequateDays - 1e-9;

    private static double Rate(double c) => WoundHealing.RatePerDay(c, 95, wet: false);

    private static string Days(double days) => days.ToString(days < 20 ? "0.0" : "0", CultureInfo.InvariantCulture);
}

/// <summary>The page and what it must show.</summary>
public sealed class HealingPageTests
{
    [Fact]
    public void The_healing_page_is_what_the_rules_say() => GeneratedPage.MustBe("docs/science/healing.md", HealingPage.Of());

    [Fact]
    public void The_middle_of_every_band_with_days_makes_a_lot_fit_to_move()
    {
        foreach (var band in CuringBands.Potato.Where(band => band.ShortDays is not null))
        {
            double healed = (band.ShortDays!.Value + band.LongDays!.Value) / 2 * WoundHealing.RatePerDay(
                (band.LowC + band.HighC) / 2, 95, wet: false);
            healed.Should().BeGreaterThanOrEqualTo(WoundHealing.AdequateDays - 1e-9, $"band {band.Number} is meant to cure");
        }
    }

    [Theory]
    [InlineData(1)]
    [InlineData(2)]
    [InlineData(3)]
    [InlineData(9)]
    [InlineData(11)]
    public void A_cold_short_corner_of_a_band_may_fall_short_and_is_shown_so(int number)
    {
        var band = CuringBands.Potato.Single(band => band.Number == number);
        (band.ShortDays!.Value * WoundHealing.RatePerDay(band.LowC, 95, wet: false)).Should().BeLessThan(WoundHealing.AdequateDays);
        string row = HealingPage.Of().Split('\n').Single(line => line.StartsWith($"| {number} |", StringComparison.Ordinal));
        row.Should().Contain("**");
    }
}
