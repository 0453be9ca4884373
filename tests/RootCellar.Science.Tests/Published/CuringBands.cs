using RootCellar.Science.Keeping;

namespace RootCellar.Science.Tests.Published;

/// <summary>A published way to cure potatoes.</summary>
/// <param name="Number">Its number in docs/science/healing.md.</param>
/// <param name="Printed">Temperature, humidity and days as printed.</param>
/// <param name="LowC">Low edge, C.</param>
/// <param name="HighC">High edge, C.</param>
/// <param name="ShortDays">Fewest days; null where none are given.</param>
/// <param name="LongDays">Most days.</param>
/// <param name="Source">Who says so.</param>
/// <param name="Fitted">Whether one of the stages was set by it.</param>
/// <param name="For">What its days are for.</param>
internal sealed record PotatoBand(
    int Number, string Printed, double LowC, double HighC, double? ShortDays, double? LongDays, string Source, bool Fitted = false,
    HealingStage For = HealingStage.Adequate);

/// <summary>A published way to cure another crop.</summary>
internal sealed record OtherBand(
    string Crop, CuringRule Rule, string Printed, double LowC, double HighC, double LowPercent, double HighPercent, double ShortDays,
    double LongDays, string Source, bool Fitted = false, string? Assumed = null);

/// <summary>Published curing bands. Their temperatures and days are ranges by themselves, not pairs that belong together.</summary>
internal static class CuringBands
{
    public static IReadOnlyList<PotatoBand> Potato { get; } =
    [
        new(1, "50 to 60 F, 90 to 95 %, 1 to 3 weeks", F(50), F(60), 7, 21, "Univ. Nebraska CropWatch, Healing in storage"),
        new(2, "55 to 65 F, 7 to 10 d", F(55), F(65), 7, 10, "Michigan State Univ. Extension 1997"),
        new(3, "50 to 60 F, 95 %, 2 to 3 weeks", F(50), F(60), 14, 21, "Utah State Univ., vegetable guide"),
        new(4, "15 C, 95 %, 8 d (early crop)", 15, 15, 8, 8, "Suslow and Voss, UC Davis", Fitted: true),
        new(5, "60 to 65 F fastest, 95 %, 10 to 20 d for full healing", F(60), F(65), 10, 20,
            "Voss, Baghott and Timm, Univ. California VRIC; temperatures from a trade restatement", For: HealingStage.Healed),
        new(6, "55 F, 95 %, 14 d", 12.8, 12.8, 14, 14, "Univ. Idaho CIS 1134, trial protocol", Fitted: true),
        new(7, "50 to 55 F, an adequate period", F(50), F(55), null, null, "Stark, Univ. Idaho 2012"),
        new(8, "12.8 C, the usual in the trade", 12.8, 12.8, null, null, "Wang, Naber and Crosby 2020, Agronomy 10:512"),
        new(9, "45 to 60 F, 85 to 95 %, 2 weeks", F(45), F(60), 14, 14, "Univ. Nebraska, home horticulture (Browning)"),
        new(10, "60 to 70 F, as damp as possible, 7 to 10 d", F(60), F(70), 7, 10, "soft-rot bulletin (copy of 1991)"),
        new(11, "50 to 55 F, 14 d from when the pulp reaches 50 F", F(50), F(55), 14, 14, "trade column, Spud Smart"),
        new(12, "about 13 C", 13, 13, null, null, "Bethke (USDA-ARS), book chapter"),
        new(13, "13 to 17 C, over 85 %, 7 to 15 d", 13, 17, 7, 15, "FAO Training Series 17/2, 1989"),
    ];

    public static IReadOnlyList<OtherBand> Others { get; } =
    [
        new("Sweet potato", CuringRule.SweetPotato, "80 to 85 F, 90 to 95 %, 7 d", F(80), F(85), 90, 95, 7, 7, "Iowa State Univ.",
            Fitted: true),
        new("Sweet potato", CuringRule.SweetPotato, "30 C, 85 %, 7 d", 30, 30, 85, 85, 7, 7,
            "Blankenship and Boyette, North Carolina State Univ."),
        new("Sweet potato", CuringRule.SweetPotato, "80 to 85 F, moist, about 10 d", F(80), F(85), 85, 95, 10, 10,
            "USDA home storage, AIB 410", Fitted: true, Assumed: "85 to 95 % assumed"),
        new("Sweet potato", CuringRule.SweetPotato, "65 to 75 F, moist, 2 to 3 weeks", F(65), F(75), 85, 95, 14, 21,
            "USDA home storage, AIB 410", Fitted: true,
            Assumed: "85 to 95 % assumed; its ratio to the row above set the doubling per 10 C"),
        new("Sweet potato", CuringRule.SweetPotato, "27 to 33 C, over 90 %, 5 to 7 d", 27, 33, 90, 95, 5, 7,
            "FAO Training Series 17/2, 1989"),
        new("Sweet potato", CuringRule.SweetPotato, "80 to 85 F, 85 to 90 %, 10 to 14 d", F(80), F(85), 85, 90, 10, 14,
            "USDA Circular 699, 1944", Assumed: "older practice"),
        new("Onion", CuringRule.Drying, "air as it comes, 14 to 20 d of drying and curing", 27, 27, 60, 70, 14, 20,
            "Opara 2003, as told by Oregon State Univ.", Fitted: true, Assumed: "27 C and 60 to 70 % assumed"),
        new("Onion", CuringRule.Drying, "75 to 90 F, 14 to 28 d in field or shed", F(75), F(90), 60, 70, 14, 28, "onion curing, trade text",
            Assumed: "60 to 70 % assumed"),
        new("Onion and garlic", CuringRule.Drying, "about 80 F, dry, 7 to 14 d indoors", F(80), F(80), 50, 70, 7, 14,
            "The Trustees, curing crops", Assumed: "50 to 70 % assumed; ours is fit to store (12 d at 27 C) within it"),
        new("Pumpkin", CuringRule.Rind, "80 to 85 F, 80 to 85 %, 10 d", F(80), F(85), 80, 85, 10, 10, "Nova Scotia vegetable blog 2019",
            Fitted: true),
        new("Winter squash", CuringRule.Rind, "75 to 85 F, 50 to 70 %, 7 to 14 d", F(75), F(85), 50, 70, 7, 14,
            "Knapp, Beyond the Root Cellar"),
    ];

    private static double F(double fahrenheit) => (fahrenheit - 32) * 5 / 9;
}
