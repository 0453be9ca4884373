using RootCellar.Science.Keeping;

namespace RootCellar.Science.Tests.Keeping;

/// <summary>Weight loss seen between two days, percent of the weight at the first of them.</summary>
/// <param name="AtMost">"Less than": a limit, not a figure.</param>
internal sealed record Seen(double FromDay, double ToDay, double LossPercent, bool AtMost = false);

/// <summary>A published trial or norm of stored potatoes: the air from digging on, and the losses seen.</summary>
/// <param name="Source">Sources are left out one at a time when structures are compared.</param>
/// <param name="Assumed">What the source does not say and was assumed here.</param>
internal sealed record StorageTrial(string Source, string What, SkinState Skin, Packing Packing, IReadOnlyList<AirSpan> Air,
    IReadOnlyList<Seen> Losses, string Assumed)
{
    /// <summary>Whether somebody put these lots on a scale; else it is an allowance or a practice figure.</summary>
    public bool Weighed => !StorageTrials.NotWeighed.Contains(Source);
}

/// <summary>
/// The trials the water-loss model is fitted to. Norms and practice figures are averages of ordinary stores; conditions they do not give
/// are assumed as said.
/// </summary>
internal static class StorageTrials
{
    public const string DanielsLake = "Daniels-Lake et al. 2014, J. Hort. Sci. Biotechnol. 89(2):167";
    public const string German = "German practice figures (Kartoffel-Lagerung, Frage 15)";
    public const string India = "Indian store figures (agriinfo)";
    public const string Turkey = "Turkish J. Field Crops, 7 cultivars, 2013-14";
    public const string Russia = "Russian loss norms, Order 252 of 2013";
    public const string Kansas = "Kansas Agric. Exp. Station, cold storage of sacked potatoes";
    public const string Haryana = "Brar and Rana, J. Appl. Nat. Sci. (ambient, 90 d)";
    public const string Bangladesh = "Farmers' stores, Bangladesh (SCIRP 74274)";
    public const string Berlin = "Praeger et al., J. Appl. Bot. Food Qual. (abstract)";
    public const string Seed = "Shaidulina et al. 2021, seed lot of 1,500 t (abstract)";

    /// <summary>Allowances and practice figures.</summary>
    public static IReadOnlyList<string> NotWeighed { get; } = [German, India, Russia];

    /// <summary>What sources in hand say and is not in the table, and why.</summary>
    public static IReadOnlyList<(string Source, string What, string Why)> LeftOut { get; } =
    [
        (Bangladesh, "Diamant, Granola", "their weight losses are not in the abstract"),
        (Haryana, "the two cultivars between the lowest and the highest", "their losses are not in the abstract"),
        (Turkey, "the seven cultivars one by one", "only their mean is in the abstract"),
        (Seed, "the norm of 7.3 % for the season", "an allowance for the same store, whose loss was weighed"),
        (German, "\"doubled if damaged\"", "no measure of the damage"),
        ("npck.org, Shepody at 25 C", "half of the whole shrink in the first week", "neither the whole nor its time is told"),
        ("Castleberry and Jayanty 2012", "0.4 to 5 % by drying on purpose", "hours and air of the drying are not told"),
    ];

    public static IReadOnlyList<StorageTrial> All { get; } =
    [
        Week("intact, 95 % in week 1", SkinState.Set, 95, 1.2, 2.7),
        Week("intact, 85 % in week 1", SkinState.Set, 85, 1.6, 3.3),
        Week("intact, 75 % in week 1", SkinState.Set, 75, 2.1, 3.8),
        Week("abraded, 95 % in week 1", SkinState.Scuffed, 95, 1.7, 3.4),
        Week("cut, 95 % in week 1", SkinState.Cut, 95, 2.1, 4.0),
        new(German, "4 C, 92 to 95 %", SkinState.Set, Packing.DeepBin, [Hold(4, 93.5, 180)],
            [new(0, 30, 2.5), new(30, 60, 1.5), new(90, 120, 0.5), new(120, 150, 0.5), new(150, 180, 0.5)], "at 4 C from the first day"),
        new(German, "4 C, 92 to 95 %, thickest skins", SkinState.Set, Packing.DeepBin, [Hold(4, 93.5, 180)], [new(0, 180, 7)],
            "evaporation 6 % and breath 1 %; at 4 C from the first day"),
        new(German, "4 C, 92 to 95 %, thinnest skins", SkinState.Set, Packing.DeepBin, [Hold(4, 93.5, 180)], [new(0, 180, 16)],
            "evaporation 15 % and breath 1 %; the same source's months come to about 6.5 %; at 4 C from the first day"),
        new(German, "4 C, 100 %", SkinState.Set, Packing.DeepBin, [Hold(4, 100, 60)], [new(0, 60, 1, AtMost: true)],
            "\"below 1 %\" is a limit; at 4 C from the first day"),
        new(India, "5 C, 75 to 80 %", SkinState.Set, Packing.Crate, [Hold(20, 75, 7), Hold(5, 77.5, 150)], [new(7, 157, 5)],
            "a week in the shade first at 20 C and 75 %"),
        new(India, "1.5 C, 75 to 80 %", SkinState.Set, Packing.Crate, [Hold(20, 75, 7), Hold(1.5, 77.5, 270)], [new(7, 277, 5)],
            "a week in the shade first at 20 C and 75 %"),
        new(Turkey, "controlled store, 24 weeks", SkinState.Set, Packing.Crate, [Hold(15, 90, 14), Hold(4, 93, 168)], [new(14, 182, 2.03)],
            "cured two weeks at 15 C; store at 4 C and 93 %"),
        new(Russia, "refrigerated, September to March", SkinState.Set, Packing.Crate, [Hold(12, 90, 30), Hold(6, 90, 31), Hold(3, 90, 151)],
            [new(0, 30, 1.0), new(30, 61, 0.6), new(61, 91, 0.6), new(91, 122, 0.5), new(122, 153, 0.5), new(153, 181, 0.5),
                new(181, 212, 0.5)],
            "12, 6, then 3 C at 90 %"),
        new(Russia, "clamps, September to March", SkinState.Set, Packing.DeepBin,
            [Hold(12, 93, 30), Hold(8, 93, 31), Hold(5, 93, 30), Hold(3, 93, 31), Hold(2, 93, 59), Hold(4, 93, 31)],
            [new(0, 30, 1.4), new(30, 61, 1.0), new(61, 91, 0.7), new(91, 122, 0.4), new(122, 153, 0.4), new(153, 181, 0.4),
                new(181, 212, 0.7)],
            "12, 8, 5, 3, 2, 2, 4 C at 93 %"),
        new(Kansas, "cold store, 6 months", SkinState.Set, Packing.Crate, [Hold(15, 85, 5), Hold(4, 87.5, 175)],
            [new(0, 28, 2.85), new(0, 180, 5.7)],
            "106 lb a sack for 100 after the longest storage; half of it in \"the first few weeks\", taken as four; 4 C and 87.5 % after 5 d at 15 C"),
        new(Haryana, "lowest of 4 cultivars", SkinState.Set, Packing.Crate, [Hold(25, 60, 5), Hold(29, 55, 90)], [new(5, 95, 7.44)],
            "29 C and 55 % (spring in the plains)"),
        new(Haryana, "highest of 4 cultivars", SkinState.Set, Packing.Crate, [Hold(25, 60, 5), Hold(29, 55, 90)], [new(5, 95, 12.07)],
            "29 C and 55 % (spring in the plains)"),
        new(Bangladesh, "Asterix, 4 months", SkinState.Set, Packing.Crate, [Hold(25, 70, 5), Hold(28, 78, 120)], [new(5, 125, 7.10)],
            "28 C and 78 %"),
        new(Bangladesh, "Cardinal, 4 months", SkinState.Set, Packing.Crate, [Hold(25, 70, 5), Hold(28, 78, 120)], [new(5, 125, 7.85)],
            "28 C and 78 %"),
        new(Bangladesh, "Provento, 4 months", SkinState.Set, Packing.Crate, [Hold(25, 70, 5), Hold(28, 78, 120)], [new(5, 125, 13.41)],
            "28 C and 78 %; 15 % of it rotted, and what rot took is in the figure"),
        new(Bangladesh, "Felsina, 4 months", SkinState.Set, Packing.Crate, [Hold(25, 70, 5), Hold(28, 78, 120)], [new(5, 125, 18.83)],
            "28 C and 78 %; 19 % of it rotted, and what rot took is in the figure"),
        new(Berlin, "Afra, 5 1/2 months", SkinState.Set, Packing.Crate, [Hold(4.5, 98.5, 165)], [new(0, 165, 3.1)],
            "98.5 % for 97 to 100 %, crates, not cured before"),
        new(Berlin, "Milva, 5 1/2 months", SkinState.Set, Packing.Crate, [Hold(4.5, 98.5, 165)], [new(0, 165, 2.7)],
            "98.5 % for 97 to 100 %, crates, not cured before"),
        new(Seed, "nets in a seed store, one season", SkinState.Set, Packing.Crate,
            [Hold(12, 90, 30), Hold(8, 90, 31), Hold(5, 90, 30), Hold(3, 90, 31), Hold(2, 90, 59), Hold(4, 90, 31), Hold(7, 90, 30)],
            [new(0, 242, 7.4)], "September to April, 12, 8, 5, 3, 2, 2, 4, 7 C at 90 %"),
    ];

    private static StorageTrial Week(string what, SkinState skin, double humidity, double week, double fiveWeeks) =>
        new(DanielsLake, what, skin, Packing.SingleLayer, [Hold(13, humidity, 7), Hold(7, 88, 28)],
            [new(0, 7, week), new(0, 35, fiveWeeks)],
            "cold room at 7 C; the rows by humidity taken as intact tubers");

    private static AirSpan Hold(double temperatureC, double humidity, double days) => AirSpan.Hold(temperatureC, humidity, days);
}
