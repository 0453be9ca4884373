using RootCellar.Science.Air;
using RootCellar.Science.Crops;
using RootCellar.Science.Keeping;
using RootCellar.Science.Tests.Keeping;

namespace RootCellar.Science.Tests.Published;

/// <summary>Published weight losses, of potatoes and other crops. Allowed is as far as our own 90 % interval goes.</summary>
internal static class WaterLossPublishedChecks
{
    private const string NewZealand = "Mahilum, Li and Heyes 2022 (abstract), Moonlight and Nadine";

    private static readonly Dictionary<string, double> FallsShort = new(StringComparer.Ordinal)
    {
        ["potatoes, 4 C, 92 to 95 %, thinnest skins, day 0 to 180 (German practice figures)"] = 10.9,
        ["potatoes, refrigerated, September to March, day 0 to 30 (Russian loss norms)"] = 1.53,
        ["potatoes, clamps, September to March, day 0 to 30 (Russian loss norms)"] = 0.95,
        ["beets, clamps, January"] = 0.22,
        ["winter apples, refrigerated, January"] = 0.34,
        ["beets in crates, refrigerated, September to April"] = 16.8,
        ["onion, room of 25 C and 75 %, 60 d, day 21 to 81"] = 15.6,
        ["pumpkin, six weeks, day 0 to 42"] = 8.8,
        ["carrot, Maestro, damp room, 160 d and 20 d at 20 C, day 0 to 180"] = 8.0,
        ["beet, sugar beet, 95 to 100 %, 15 weeks, day 0 to 105"] = 10.5,
        ["beet, Kharkiv Bordo and Vital, one season, day 0 to 210"] = 9.5,
        ["apple, 10 C, 80 to 85 %, 120 d, day 0 to 120"] = 5.6,
        ["share of a seven-month loss that falls in the first month, refrigerated"] = 0.22,
        ["share of a seven-month loss that falls in the first month, clamps"] = 0.19,
    };

    public static IEnumerable<PublishedCheck> All() => Worked.Value.Rows.All;

    private static readonly Lazy<Losses> Worked = new(Work);

    private static Losses Work()
    {
        var losses = new Losses(new PublishedRows("Weight loss", FallsShort));
        PotatoTrials(losses);
        Norms(losses);
        OtherCrops(losses);
        Rates(losses.Rows);
        Shape(losses.Rows);
        Curing(losses.Rows);
        return losses;
    }

    private static void PotatoTrials(Losses losses)
    {
        foreach (var row in TrialLosses.Potatoes)
        {
            losses.Rows.InsideInterval($"potatoes, {row.Trial.What}, day {row.Seen.FromDay} to {row.Seen.ToDay} ({Short(row.Trial.Source)})",
                row.Trial.Source, row.Seen, new TrialLosses.Loss(row.Low, row.Ours, row.High), fitted: true, row.Trial.Assumed);
        }
    }

    private static void Norms(Losses losses)
    {
        foreach (var norm in StoreNorm.All)
        {
            var ours = TrialLosses.Of(Lot(norm.Crop, norm.Packing), norm.Air, norm.Windows);
            for (int i = norm.FirstMonth; i < norm.Percent.Length; i++)
                losses.Add($"{norm.What}, {StoreNorm.Month(i)}", norm.Trial, norm.Windows[i], ours[i], norm: true);
        }

        // The same stock in other packing or air: not counted again.
        var beets = StoreNorm.All.Single(norm => norm.What == "beets, refrigerated");
        var crates = TrialLosses.Of(Lot("beet", Packing.Crate), beets.Air, [new Seen(0, 242, 6.2)])[0];
        losses.Rows.InsideInterval("beets in crates, refrigerated, September to April", beets.Source, new Seen(0, 242, 6.2), crates, worked: true,
            remark: "the norm is for bulk; the same air, in crates: roots in crates dry faster than the norm's, and want sand or a lining (common practice)");
        var damp = TrialLosses.Of(Lot("beet", Packing.DeepBin),
            [.. beets.MonthC.Zip([30, 31, 30, 31, 31, 28, 31, 30], (c, days) => AirSpan.Hold(c, 95, days))], [new Seen(0, 242, 6.2)])[0];
        losses.Rows.InsideInterval("beets in a deep bin at 95 % instead of 90, refrigerated, September to April", beets.Source, new Seen(0, 242, 6.2), damp, worked: true,
            remark: "what the humidity nobody states is worth: the months above are at 90 %");
    }

    /// <summary>Every loss of other crops that somebody weighed, or that growers' guidance tells.</summary>
    private static void OtherCrops(Losses losses)
    {
        foreach (var trial in CropTrials.All)
        {
            var ours = TrialLosses.Of(Lot(trial.Crop, trial.Packing), trial.Air, trial.Losses);
            foreach (var (i, seen) in trial.Losses.Index())
                losses.Add($"{trial.Crop}, {trial.What}, day {seen.FromDay} to {seen.ToDay}", trial, seen, ours[i], norm: false);
        }
    }

    private static void Rates(PublishedRows rows)
    {
        double closed = Potato.Crop.Transpiration.Value;
        const double weekMbar = 0.006048; // %/(week mbar) in a ng/(kg s Pa)
        const string factor =
            "allowed is the factor 2 of a lot nothing is known of";
        rows.Near("potatoes, mature and cured, at 1 mbar, single layer", "Burton, The Potato (from memory): 0.14 to 0.17", "%/week", 0.155,
            closed * weekMbar, closed * weekMbar / 2, fitted: true, remark: factor);
        rows.Near("potatoes, mature and cured, at 1 mbar, in crates", "Burton, The Potato (from memory): 0.14 to 0.17", "%/week", 0.155,
            closed * WaterLoss.PotatoPackedCoupling * weekMbar,
            closed * WaterLoss.PotatoPackedCoupling * weekMbar, fitted: true, remark: factor);
        rows.Near("potatoes, Manona mature, coefficient",
            "ASHRAE Transpiration coefficients (Sastry, Baird and Buffington 1978, from memory)", "ng/(kg s Pa)", 25, closed, closed / 2,
            fitted: true, remark: factor);
        foreach (var (name, value) in new[] { ("Sebago", 158.0), ("Kennebec", 171) })
            rows.Near($"potatoes, {name} uncured, coefficient",
                "ASHRAE Transpiration coefficients (Sastry, Baird and Buffington 1978, from memory)", "ng/(kg s Pa)", value,
                Potato.Crop.Early!.FreshCoefficient!.Value, 8, fitted: true);
        rows.Near("potatoes, more loss in the first week per mbar, from 95 to 75 % at 13 C",
            "Daniels-Lake et al. 2014, three humidities (derived)", "%/(week mbar)", 0.30,
            (WeekOne(75) - WeekOne(95)) / (0.2 * Saturation.OverWaterPa(13) / 100), 0.1, fitted: true, worked: true);
    }

    private static void Shape(PublishedRows rows)
    {
        double Share(StorageTrial trial, int day)
        {
            double Lost(int to) => TrialLosses.Middle(Potato with { Packing = trial.Packing }, new Seen(0, to, 0), [.. trial.Air]);
            return Lost(30) / Lost(day);
        }

        rows.Near("share of a six-month loss that falls in the first month",
            "German practice figures (Kartoffel-Lagerung, Frage 15), 2.5 of about 6.5 % (derived)", "share", 0.385,
            Share(StorageTrials.All.First(t => t.Source == StorageTrials.German), 180), 0.1, fitted: true, worked: true,
            remark: "a tenth allowed: the schedule is rounded to half percents");
        foreach (var (what, share, remark) in new[]
        {
            ("refrigerated", 0.24, "norms average stock of which part comes in cured"), ("clamps", 0.28, null),
        })
        {
            rows.Near($"share of a seven-month loss that falls in the first month, {what}", StorageTrials.Russia + " (derived)", "share",
                share, Share(StorageTrials.All.Single(t => t.Source == StorageTrials.Russia && t.What.StartsWith(what, StringComparison.Ordinal)), 212),
                0.1, fitted: true, remark: remark, worked: true);
        }
    }

    private static void Curing(PublishedRows rows)
    {
        // Sources give the difference in words only: a ratio below 1 where one is better, 1 within a tenth where they are alike.
        double Total(double cureC, double cureHumidity, int cureDays) => TrialLosses.Middle(Potato, new Seen(0, 104, 0),
            AirSpan.Hold(cureC, cureHumidity, cureDays), AirSpan.Hold(7, 95, 104 - cureDays));
        foreach (double c in new[] { 15.6, 18.3 })
            rows.AtMost($"loss over 104 d cured at {c} C over that cured at 12.8 C: less",
                "Wang, Naber and Crosby 2020, Agronomy 10:512 (abstract)", "ratio", 1, Total(c, 95, 14) / Total(12.8, 95, 14), worked: true,
                remark: "14 d at 95 %, then 7 C and 95 % assumed");
        rows.Near("loss cured at 18.3 C over that cured at 15.6 C: no difference",
            "Wang, Naber and Crosby 2020, Agronomy 10:512 (abstract)", "ratio", 1, Total(18.3, 95, 14) / Total(15.6, 95, 14), 0.1, worked: true,
            remark: "a tenth taken as no difference");
        rows.AtMost("loss cured at 93 % over that cured at 62 %: less", NewZealand, "ratio", 1, Total(16, 93, 7) / Total(16, 62, 7), worked: true,
            remark: "7 d at 16 C, then 7 C and 95 % assumed");
        rows.Near("loss cured 14 d over that cured 7 d: no difference", NewZealand, "ratio", 1, Total(16, 93, 14) / Total(16, 93, 7), 0.1, worked: true,
            remark: "a tenth taken as no difference");
        rows.Near("loss cured at 26 C over that cured at 16 C: no difference", NewZealand, "ratio", 1, Total(26, 93, 7) / Total(16, 93, 7),
            0.1, worked: true, remark: "a tenth taken as no difference");
        rows.AtMost("loss cured over that not cured: less", NewZealand, "ratio", 1, Total(16, 93, 7) / Total(7, 95, 1), worked: true,
            remark: "not cured: 7 C and 95 % from the first day");
    }

    /// <summary>Losses of other crops beside ours.</summary>
    public static IReadOnlyList<CropLoss> Others => Worked.Value.Others;

    private static readonly LotPrior Potato = LotPrior.Of(CropTable.Default.Find("potato")!);

    private static LotPrior Lot(string crop, Packing packing) => LotPrior.Of(CropTable.Default.Find(crop)!) with { Packing = packing };

    private static double WeekOne(double humidity) =>
        TrialLosses.Middle(Potato with { Packing = Packing.SingleLayer }, new Seen(0, 7, 0), AirSpan.Hold(13, humidity, 7));

    private static string Short(string source) => source.Split(',')[0].Split(" et al.")[0].Split(" (")[0];

    private sealed class Losses(PublishedRows rows)
    {
        public PublishedRows Rows { get; } = rows;

        public List<CropLoss> Others { get; } = [];

        public void Add(string what, CropTrial trial, Seen published, TrialLosses.Loss ours, bool norm)
        {
            if (trial.Crop != "potato")
                Others.Add(new(trial, norm, new(published, ours.Low, ours.Mid, ours.High)));
            Rows.InsideInterval(what, trial.Source, published, ours, trial.Fitted, "assumed: " + trial.Assumed);
        }
    }
}
