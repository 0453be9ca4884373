using System.Globalization;
using System.Text.Json;
using Microsoft.Extensions.DependencyInjection;
using RootCellar.Household;
using RootCellar.Lots;
using RootCellar.Mirror;
using RootCellar.Places;
using RootCellar.Readings;
using RootCellar.Report;
using RootCellar.Storage;
using RootCellar.Tests.Pages;

namespace RootCellar.Tests.Report;

/// <summary>Page, report, API, MQTT, file and mirror say the same of how much a lot has shrunk, and the figures add up.</summary>
public sealed class OneShrinkTests
{
    private static readonly DateTimeOffset Dug = new(2025, 9, 30, 12, 0, 0, TimeSpan.Zero);

    [Fact]
    public async Task Every_surface_says_the_same_of_a_lot()
    {
        var store = (Store?)null;
        await using var site = await Site.OpenAsync(weight: "kg", zone: "UTC", at: Dug.AddDays(8).AddHours(6), fill: s =>
        {
            store = s;
            return s.WriteAsync(c =>
            {
                PlaceRows.Save(c, new Place("curing", "Curing room", Purpose.Curing, 30, ["potato"]));
                for (var i = 0; i < 9 * 288; i++)
                    PlaceRows.SaveAir(c, new PlaceAir("curing", Dug.AddMinutes(5 * i), 16, 80, 10, 100, null, null, null, null,
                        AirQuality.Good));
            });
        });
        // More in the bins than in the field, one bin sorted, one emptied, one weighed, one never.
        await site.WriteAsync(
            """
            [{"event":"dug","at":"2025-09-30T12:00:00Z","lot":"L","crop":"potato","weightKg":69},
             {"event":"filled","at":"2025-09-30T13:00:00Z","bin":"B1","lot":"L","weightKg":20,"place":"curing"},
             {"event":"filled","at":"2025-09-30T13:10:00Z","bin":"B2","lot":"L","weightKg":20,"place":"curing"},
             {"event":"filled","at":"2025-09-30T13:20:00Z","bin":"B3","lot":"L","weightKg":20,"place":"curing"},
             {"event":"filled","at":"2025-09-30T13:30:00Z","bin":"B4","lot":"L","weightKg":10,"place":"curing"},
             {"event":"sorted","at":"2025-10-02T13:00:00Z","bin":"B2","into":[{"bin":"B2","weightKg":12.2},{"bin":"B5","weightKg":7.5}]},
             {"event":"weighed","at":"2025-10-03T13:00:00Z","bin":"B1","weightKg":19.6,"resolutionKg":0.05},
             {"event":"sold","at":"2025-10-04T13:00:00Z","bin":"B4","weightKg":9.7,"empties":true},
             {"event":"eaten","at":"2025-10-05T13:00:00Z","bin":"B3","weightKg":2}]
            """);
        await site.Lots.AdvanceAsync(TestContext.Current.CancellationToken);
        var views = site.Lots.Views;
        var lot = site.Book.Lots["L"];
        var shrink = Shrink.Of(lot, views);

        // By the book, by the scale and by estimate add up.
        (shrink.InGrams, shrink.OutGrams, shrink.ByScaleGrams).Should().Be((70_000, 11_700, 1_000));
        lot.Balance.Should().Match<RootCellar.Ledger.Balance>(b => b.ShrinkGrams == 1_000 && b.FoundGrams == 1_000 && b.Gap == 0);
        shrink.BookGrams.Should().Be(lot.Balance.OnHandGrams);
        shrink.ByEstimateGrams.Should().BeGreaterThan(200);
        (shrink.InGrams - shrink.OutGrams - shrink.ByScaleGrams - shrink.ByEstimateGrams).Should().Be(shrink.LeftGrams);
        shrink.LeftGrams.Should().BeCloseTo((long)(1000 * views.Lots["L"].Kg.Value), 5);
        views.Lots["L"].Shrink.Should().Be(shrink);
        Shrink.Of(lot.Bins.Single(b => b.Id == "B2"), null).Should().Be(new Shrink(20_000, 7_500, 300, 0));

        // The API, of now and of the past up to now, and what is said by MQTT.
        using var api = JsonDocument.Parse(await site.ReadAsync("/api/lots/L"));
        Same(api.RootElement.GetProperty("shrink"));
        Same(api.RootElement.GetProperty("estimate").GetProperty("shrink"));
        api.RootElement.GetProperty("book").GetProperty("shrinkKg").GetDouble().Should().Be(1);
        using var history = JsonDocument.Parse(await site.ReadAsync("/api/lots/L/history?step=12h"));
        var last = history.RootElement.GetProperty("moments").EnumerateArray().Last();
        Same(last.GetProperty("shrink"));
        last.GetProperty("lostPercent").GetDouble().Should().Be(Math.Round(shrink.Percent, 2));
        var said = site.Services.GetRequiredService<Announcements>().Latest.Single(a => a.Topic == "rootcellar/out/lots/L");
        using var told = JsonDocument.Parse(said.Payload);
        Same(told.RootElement.GetProperty("shrink"));

        // The report of the week and what is mirrored.
        var desk = site.Services.GetRequiredService<ReportDesk>();
        desk.Of(desk.Running)!.Figures.Lots.Single().Shrink.Should().Be(shrink);
        using var week = JsonDocument.Parse(await site.ReadAsync("/api/report?week=2025-W41"));
        Same(week.RootElement.GetProperty("lots")[0].GetProperty("shrink"));
        string percent = shrink.Percent.ToString("0.0", CultureInfo.InvariantCulture);
        string parts = $"1.0 kg by the scale and {Tenth(shrink.ByEstimateGrams)} kg by estimate since";
        (await site.WordsAsync("/report?week=2025-W41"))
            .Should().Contain($"Shrink since filling ({parts}) {Tenth(shrink.Grams)} kg, {percent} %");
        Points.Estimates(views).Single(l => l.Contains("lot=L ", StringComparison.Ordinal) && !l.Contains("bin=", StringComparison.Ordinal))
            .Should().Contain($"lost_pct={shrink.Percent.ToString(CultureInfo.InvariantCulture)}");

        // The file has bins: those that hold something, at the last moment.
        using var text = new StringWriter();
        store!.Read(c => EstimateCsv.Export(c, site.Book, text, Dug, DateTimeOffset.MaxValue));
        foreach (var bin in views.Bins.Values)
        {
            var line = text.ToString().Split('\n').Last(l => l.Contains($",{bin.Bin},L,", StringComparison.Ordinal));
            var fields = line.TrimEnd('\r').Split(',');
            // The record has air beyond the moment of the look: what the scale found is the same, what is reckoned is later.
            fields[^2].Should().Be((bin.Shrink.ByScaleGrams / 1000.0).ToString("0.000", CultureInfo.InvariantCulture), bin.Bin);
            double.Parse(fields[^1], CultureInfo.InvariantCulture)
                .Should().BeApproximately(bin.Shrink.ByEstimateGrams / 1000.0, 0.15, bin.Bin);
        }

        // Stock: what will have gone by tomorrow is what has gone, and a day more.
        using var stock = JsonDocument.Parse(await site.ReadAsync("/api/stock?on=2025-10-09"));
        stock.RootElement.GetProperty("crops")[0].GetProperty("expectedShrinkKg").GetDouble()
            .Should().BeApproximately(shrink.ByEstimateGrams / 1000.0, 0.2);

        // The page says it once.
        var page = await site.WordsAsync("/lots/L");
        page.Should().ContainAll(
            $"Shrunk by {Tenth(shrink.Grams)} kg: {percent} % of what was filled into bins",
            "Filled into bins 70.0 kg", "Gone out −11.7 kg", "Shrink, by the scale −1.0 kg", "On hand by the book 57.3 kg",
            $"Shrink since weighed, by estimate −{Tenth(shrink.ByEstimateGrams)} kg", $"On hand by estimate {Tenth(shrink.LeftGrams)} kg",
            "Found beyond the field weight when bins were filled -1.0 kg");
        page.Should().NotContain("Lost since");

        void Same(JsonElement shape)
        {
            Grams("inKg").Should().Be(shrink.InGrams);
            Grams("outKg").Should().Be(shrink.OutGrams);
            Grams("byScaleKg").Should().Be(shrink.ByScaleGrams);
            Grams("byEstimateKg").Should().Be(shrink.ByEstimateGrams);
            Grams("shrinkKg").Should().Be(shrink.Grams);
            Grams("leftKg").Should().Be(shrink.LeftGrams);
            shape.GetProperty("percent").GetDouble().Should().Be(Math.Round(shrink.Percent, 2));

            long Grams(string field) => (long)Math.Round(1000 * shape.GetProperty(field).GetDouble());
        }

        static string Tenth(long grams) => (grams / 1000.0).ToString("0.#", CultureInfo.InvariantCulture);
    }
}
