using RootCellar.Science.Crops;
using RootCellar.Science.Keeping;

namespace RootCellar.Science.Tests.Published;

/// <summary>Breath of potatoes fresh and rested, and of the other crops of the table, against handbooks and bulletins.</summary>
internal static class RespirationPublishedChecks
{
    private const string Davis = "Suslow and Voss, UC Davis, Potato, early crop (a copy; digits by OCR)";
    private const string Ashrae = "ASHRAE Handbook Refrigeration, Heat of respiration (from memory, digits approximate)";
    private const string NorthCarolina =
        "North Carolina State Univ., Specific Heat and Heat of Respiration, after AH-66 1986 (0.646 W/kg per Btu/(lb h))";
    private const string Hb66 = "USDA Agriculture Handbook 66, 2016 summary table (from memory)";

    private const string Hb66Printed =
        "USDA Agriculture Handbook 66, draft of 2002, as printed in Produce Degradation: Reaction Pathways and their Prevention, table 20.2";

    // Of these that table was found in print, at 0 C alone, and says what was from memory.
    private static readonly string[] Printed = ["carrot", "beet", "cabbage", "turnip", "garlic"];
    private const string Fricke = "Becker and Fricke 1996, f (9T/5 + 32)^g (coefficients from memory)";
    private const string BurtonStore = "Burton et al., J. Agric. Sci., storage of ware potatoes II (long tons of 1016 kg)";

    private static readonly Dictionary<string, double> FallsShort = new(StringComparer.Ordinal)
    {
        ["potatoes, mature, later, 6 C assumed"] = 4.3,
        ["potatoes, mature, at 10 C"] = 2.1,
        ["potatoes, cured, at 5 C"] = 7.1,
        ["potatoes, cured, at 10 C"] = 9.6,
        ["potatoes, cured, at 15 C"] = 9.1,
        ["potatoes, cured, at 20 C"] = 12.0,
        ["potatoes at 25 C for 100 h, Pettenkofer"] = 12.0,
        ["beet red at 10 C"] = 17.0,
        ["beet red at 15 C"] = 33.0,
        ["carrot Nantes at 0 C"] = 36.0,
        ["carrot Nantes at 5 C"] = 40.0,
        ["carrot Nantes at 15 C"] = 45.0,
        ["rutabaga Laurentian at 0 C"] = 7.9,
        ["rutabaga Laurentian at 5 C"] = 16.0,
        ["rutabaga Laurentian at 15 C"] = 39.0,
        ["carrot at 20 C"] = 36.0,
        ["beet, warm: the temperature at which ours breathes so"] = 13.0,
        ["apple, warm: the temperature at which ours breathes so"] = 9.6,
        ["apple at 5 C by a correlation"] = 2.9,
        ["carrot at 5 C by a correlation"] = 19.0,
        ["potato at 5 C by a correlation"] = 7.2,
        ["share of the loss in 6 months that is breath, at 4 C"] = 0.083,
        ["dry weight and its own water breathed away in the first month at 10 C"] = 0.99,
        ["dry weight and its own water breathed away in the second month at 10 C"] = 0.47,
    };

    public static IEnumerable<PublishedCheck> All()
    {
        var rows = new PublishedRows("Respiration", FallsShort);
        FreshPotatoes(rows);
        RestedPotatoes(rows);
        OtherCrops(rows);
        Table(rows);
        Warm(rows);
        Correlation(rows);
        Share(rows);
        return rows.All;
    }

    private static void FreshPotatoes(PublishedRows rows)
    {
        foreach (var (c, low, high) in new[] { (5, 6.0, 8.0), (10, 7, 11), (15, 7, 16), (20, 9, 23) })
        {
            rows.Within($"potatoes just dug at {c} C", Davis, "ml/(kg h)", low, high,
                Mg("potato", c) * Breath.FreshnessFactor(0) / MgPerMl(c), fitted: true,
                remark: "the factor for freshness was taken from these");
        }

        foreach (var (c, low, high) in new[] { (5, 34.9, 34.9), (10, 42, 62), (15, 42, 92), (20, 54, 134) })
        {
            double ours = Breath.MilliwattsPerKg(Mg("potato", c) * Breath.FreshnessFactor(0));
            string what = $"potatoes, California White Rose immature, at {c} C, ours just dug";
            if (low == high)
                rows.Near(what, Ashrae, "mW/kg", low, ours, 0.2 * low, remark: "a fifth allowed: neighbouring rows differ as much");
            else
                rows.Within(what, Ashrae, "mW/kg", low, high, ours);
        }

        const double milliwatts = 1055.06 / 3.6 / 1016.05; // mW/kg in a Btu/(long ton h)
        rows.Near("potatoes, mature, just after harvest, 10 C assumed", BurtonStore, "mW/kg", Math.Round(150 * milliwatts, 1),
            Breath.MilliwattsPerKg(Mg("potato", 10) * Breath.FreshnessFactor(0)), 9, fitted: true, remark: "a fifth allowed");
        rows.Within("potatoes, mature, later, 6 C assumed", BurtonStore, "mW/kg", Math.Round(30 * milliwatts, 1),
            Math.Round(50 * milliwatts, 1), Breath.MilliwattsPerKg(Mg("potato", 6)), fitted: true);
    }

    private static void RestedPotatoes(PublishedRows rows)
    {
        (string What, (int C, double Low, double High)[] Rows)[] published =
        [
            ("California White Rose mature", [(5, 17.5, 20.4), (10, 19.7, 29.6), (15, 19.7, 34.9), (20, 19.7, 47.0)]),
            ("California White Rose very mature", [(5, 15.0, 20.4), (10, 20.4, 20.4), (15, 20.4, 29.6), (20, 27.2, 35.4)]),
            ("Katahdin mature", [(5, 11.6, 12.6), (15, 23.3, 30.1)]),
            ("Kennebec mature", [(5, 10.7, 12.6), (15, 12.6, 26.7)]),
        ];
        foreach (var (what, points) in published)
        {
            foreach (var (c, low, high) in points)
            {
                // The handbooks' lots differ by more than any one of them spans: our own factor of 1.4 about the middle.
                double ours = Breath.MilliwattsPerKg(Mg("potato", c));
                rows.Near($"potatoes, {what}, at {c} C", Ashrae, "mW/kg", (low + high) / 2, ours,
                    Math.Max((high - low) / 2, Spread(ours, (low + high) / 2)),
                    remark: $"published {low} to {high}; allowed is that or our own factor of 1.4");
            }
        }

        foreach (var (c, low, high) in new[] { (5, 3.0, 9.0), (10, 7, 10), (15, 6, 12), (20, 8, 16) })
            rows.Within($"potatoes, mature, at {c} C", "USDA Agriculture Handbook 66, 1986 (from memory)", "mg/(kg h)", low, high,
                Mg("potato", c), fitted: true, remark: "our row is a judgement between this and other tables");
        foreach (var (c, value) in new[] { (5, 12.0), (10, 16), (15, 17), (20, 22) })
            rows.Near($"potatoes, cured, at {c} C", Hb66, "mg/(kg h)", value, Mg("potato", c), Spread(Mg("potato", c), value),
                remark: "its row is two to three times other tables' of mature tubers, and near ours just dug");
        rows.Near("potatoes at 25 C for 100 h, Pettenkofer", "continuous runs (abstract, undated; scilit)", "mg/(kg h)", 4.6,
            Mg("potato", 25), Spread(Mg("potato", 25), 4.6),
            remark: "old, and far below every handbook; ours beyond 20 C doubles per 10 C, assumed");
    }

    private static void OtherCrops(PublishedRows rows)
    {
        (string Crop, string What, (int C, double Low, double High)[] Rows)[] published =
        [
            ("beet", "red", [(0, 16, 21), (5, 27, 28), (10, 35, 40), (15, 50, 69)]),
            ("carrot", "Nantes", [(0, 9.2, 9.2), (5, 19.9, 19.9), (15, 64, 84)]),
            ("onion", "Autumn Spice", [(0, 6.8, 9.2), (5, 10.7, 19.9), (15, 14.7, 28.1)]),
            ("cabbage", "white winter", [(0, 14.5, 24.2), (5, 21.8, 41.2), (10, 36, 53), (15, 58, 80), (20, 107, 121)]),
            ("parsnip", "", [(0, 34, 46), (5, 26, 52), (10, 61, 78), (15, 96, 127)]),
            ("rutabaga", "Laurentian", [(0, 5.8, 8.2), (5, 14.1, 15.1), (15, 31.5, 46.6)]),
            ("turnip", "", [(0, 25.7, 25.7), (5, 28.1, 29.6), (15, 63.5, 71.3), (20, 71, 74)]),
        ];
        foreach (var (crop, what, points) in published)
        {
            foreach (var (c, low, high) in points)
            {
                double ours = Breath.MilliwattsPerKg(Mg(crop, c));
                rows.Near($"{crop}{(what.Length > 0 ? " " + what : "")} at {c} C", Ashrae, "mW/kg", (low + high) / 2, ours,
                    Math.Max((high - low) / 2, Spread(ours, (low + high) / 2)),
                    remark: low == high ? "allowed is our own factor of 1.4"
                        : $"published {low} to {high}; allowed is that or our own factor of 1.4");
            }
        }
    }

    /// <summary>The table is made of Handbook 66: this finds a slip of the pen, no more.</summary>
    private static void Table(PublishedRows rows)
    {
        (string Crop, double[] From0C)[] published =
        [
            ("carrot", [15, 20, 31, 40]), ("beet", [5, 11, 18, 31, 60]), ("cabbage", [5, 11, 18, 28, 42]), ("onion", [3, 5, 7, 7, 8]),
            ("turnip", [8, 10, 16, 23, 25]),
            ("rutabaga", [5, 10, 14, 26, 37]), ("parsnip", [12, 13, 22, 37]), ("celeriac", [7, 13, 23, 35, 45]),
            ("leek", [15, 25, 60, 96, 110]), ("apple", [3, 6, 9, 15, 20]), ("garlic", [8, 16, 24, 22, 20]),
        ];
        foreach (var (crop, values) in published)
        {
            foreach (var (i, value) in values.Index())
                rows.Near($"{crop} at {5 * i} C, the table's own source", i == 0 && Printed.Contains(crop) ? Hb66Printed : Hb66, "mg/(kg h)", value, Mg(crop, 5 * i), 0.001, fitted: true);
        }

        rows.Near("carrot at 20 C", Hb66, "mg/(kg h)", 25, Mg("carrot", 20), Spread(Mg("carrot", 20), 25),
            remark: "less than its 40 at 15 C: taken for a misprint and left out");
    }

    private static void Warm(PublishedRows rows)
    {
        // The page gives no temperatures for "cool" and "warm"; "cool" is among the crop table's rows.
        foreach (var (crop, btu) in new[] { ("potato", 0.055), ("beet", 0.092), ("cabbage", 0.257), ("turnip", 0.130), ("apple", 0.240) })
        {
            double published = btu * 646;
            double at = Enumerable.Range(0, 451).Select(i => i * 0.1).MinBy(c => Math.Abs(Breath.MilliwattsPerKg(Mg(crop, c)) - published));
            rows.Within($"{crop}, warm: the temperature at which ours breathes so",
                NorthCarolina + ", \"warm\" without a temperature: 15 to 32 C taken", "C", 15, 32, at, remark: $"{published:0.#} mW/kg");
        }
    }

    private static void Correlation(PublishedRows rows)
    {
        (string Crop, double F, double G)[] published =
        [
            ("apple", 5.6871e-4, 2.5977), ("cabbage", 6.0803e-4, 2.6183), ("carrot", 5.0018e-2, 1.7926), ("onion", 3.668e-4, 2.538),
            ("potato", 1.709e-2, 1.769), ("rutabaga", 1.6524e-4, 2.9039), ("beet", 8.5913e-3, 1.8880),
        ];
        foreach (var (crop, f, g) in published)
        {
            double theirs = f * Math.Pow(9 * 5.0 / 5 + 32, g);
            rows.Near($"{crop} at 5 C by a correlation", Fricke + (crop == "beet" ? ", sugar beet" : ""), "mg/(kg h)",
                Math.Round(theirs, 2), Mg(crop, 5), Spread(Mg(crop, 5), theirs),
                remark: crop == "potato" ? "theirs fits freshly dug tubers" : "allowed is our own factor of 1.4");
        }
    }

    private static void Share(PublishedRows rows)
    {
        var potato = LotPrior.Of(Potato) with { Packing = Packing.DeepBin };
        var german = Outlook.Run(potato, [AirSpan.Hold(4, 93.5, 180)]).Days[^1].State;
        rows.Near("weight breathed away in 6 months at 4 C", "German practice figures (Kartoffel-Lagerung, Frage 15)", "%", 1,
            100 * german.Breathed, 0.5,
            remark: "rounded to a whole percent there, on what basis is not said; ours counts the carbon only, dry matter is 2.3 to 2.5 times that");
        rows.Within("share of the loss in 6 months that is breath, at 4 C", "Russian trade text (translated)", "share", 0.15, 0.25,
            german.Breathed / german.Lost, remark: "theirs counts dry matter, ours carbon");
        rows.Near("share of the loss of a season that is starch breathed away, ours in 6 months at 4 C",
            "Inostroza and Mendez, INIA Carillanca, Almacenaje de papa", "share", 0.1, german.Breathed / german.Lost, 0.05,
            remark: "ours counts the carbon only");
        var warm = Outlook.Run(potato, [AirSpan.Hold(10, 95, 60)]).Days;
        rows.Within("dry weight and its own water breathed away in the first month at 10 C",
            "Booth and Shaw 1981 after Burton (from memory)", "%", 1, 2, 100 * warm[30].State.Breathed * 0.68 / Breath.CarbonShare,
            remark: "ours times 0.68/0.273 to their basis");
        rows.Near("dry weight and its own water breathed away in the second month at 10 C",
            "Booth and Shaw 1981 after Burton (from memory)", "%", 0.8,
            100 * (warm[60].State.Breathed - warm[30].State.Breathed) * 0.68 / Breath.CarbonShare, 0.3,
            remark: "ours times 0.68/0.273 to their basis");
    }

    /// <summary>Our 5 to 95 % factor about a rate, on the side of the published one.</summary>
    private static double Spread(double ours, double published)
    {
        double factor = LotPrior.Of(Potato).BreathFactor;
        return published > ours ? ours * (factor - 1) : ours * (1 - 1 / factor);
    }

    private static double Mg(string crop, double c) => CropTable.Default.Find(crop)!.Respiration.At(c);

    /// <summary>Weight of a millilitre of carbon dioxide at one atmosphere.</summary>
    private static double MgPerMl(double c) => 44.01 / 22.414 * 273.15 / (c + 273.15);

    private static readonly Crop Potato = CropTable.Default.Find("potato")!;
}
