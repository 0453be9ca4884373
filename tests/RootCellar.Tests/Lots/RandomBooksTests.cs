using System.Globalization;
using System.Text.Json;
using RootCellar.Household;
using RootCellar.Ledger;
using RootCellar.Lots;
using RootCellar.Places;
using RootCellar.Report;
using RootCellar.Science.Air;
using RootCellar.Storage;
using RootCellar.Tests.Report;
using static RootCellar.Tests.Lots.Cellar;

namespace RootCellar.Tests.Lots;

/// <summary>Books nobody would keep, doubts and all: the estimates, the report and the CSV stand on any of them.</summary>
public class RandomBooksTests
{
    private const int Seeds = 60;

    private static readonly string[] Crops = ["potato", "carrot", "garlic", "onion", "sweet-potato", "winter-squash"];
    private static readonly string[] Bins = ["a", "b", "c", "a/1"];
    private static readonly string[] Places = [StoreRoom, CuringRoom, "shed"];
    private static readonly string[] Steps = ["0.05", "1", "0.001", "20"];

    [Fact]
    public async Task Every_figure_of_any_book_is_a_number_within_its_interval()
    {
        await using var cellar = await WithRoomsAsync();
        await cellar.AirAsync(StoreRoom, Start, Start.AddDays(25), 8, 85);
        await cellar.AirAsync(StoreRoom, Start.AddDays(27), Start.AddDays(45), 4, 95, 3.5);
        await cellar.AirAsync(CuringRoom, Start.AddDays(2), Start.AddDays(20), 15, 70);
        await cellar.Record.WriteAsync(c => PlaceRows.Save(c, new Place("shed", "Shed", Purpose.Outdoors, null, [])));
        for (int seed = 0; seed < Seeds; seed++)
        {
            string json = Make(new Random(seed));
            cellar.Book = Weeks.Book(json);
            try
            {
                foreach (double day in (double[])[9.3, 26.2, 44]) Estimates(cellar, TimeStep.Of(Start.AddDays(day)));
                foreach (string week in (string[])["2025-W39", "2025-W42", "2025-W44"]) Week(cellar, week);
                using var csv = new StringWriter();
                cellar.Record.Read(c =>
                    EstimateCsv.Export(c, cellar.Book with { Calendar = HouseholdCalendar.Of(Weeks.Chicago) }, csv,
                        DateTimeOffset.UnixEpoch, DateTimeOffset.MaxValue));
                csv.ToString().Should().NotContain("NaN");
            }
            catch (Exception e) when (e is not Xunit.Sdk.XunitException)
            {
                throw new InvalidOperationException($"Seed {seed}: {e.Message}\n{json}", e);
            }
        }
    }

    [Fact]
    public async Task Wild_dates_in_any_book_stop_neither_estimate_nor_report_nor_export()
    {
        await using var cellar = await WithRoomsAsync();
        await cellar.AirAsync(StoreRoom, Start, Start.AddDays(45), 8, 85);
        for (int seed = 0; seed < Seeds; seed++)
        {
            var random = new Random(seed);
            string json = Wild(Make(random), random);
            cellar.Book = Books.Stored(json);
            try
            {
                cellar.Book.Lots.Values.Should().AllSatisfy(l => l.Balance.Gap.Should().Be(0));
                foreach (double day in (double[])[9.3, 44]) Estimates(cellar, TimeStep.Of(Start.AddDays(day)));
                foreach (string week in (string[])["2025-W39", "2025-W44"]) Week(cellar, week);
                foreach (string end in (string[])["0003-01-01", "1726-05-05", "1975-10-03", "2025-10-01", "2031-01-01", "9998-12-30"])
                    BookBuilder.Then(cellar.Book, DateTimeOffset.Parse(end + "T00:00:00Z", CultureInfo.InvariantCulture)).Doubts.Should()
                        .NotBeNull();
                using var csv = new StringWriter();
                cellar.Record.Read(c =>
                    EstimateCsv.Export(c, cellar.Book, csv, DateTimeOffset.UnixEpoch, DateTimeOffset.MaxValue,
                        failed: (lot, e) => throw new InvalidOperationException(lot.Id, e)));
                csv.ToString().Should().NotContain("NaN");
            }
            catch (Exception e) when (e is not Xunit.Sdk.XunitException)
            {
                throw new InvalidOperationException($"Seed {seed}: {e.Message}\n{json}", e);
            }
        }
    }

    // A year of anything in one date of four, and days of their own for what was dug.
    private static string Wild(string json, Random r)
    {
        string[] years = ["0002", "0026", "1000", "1726", "1926", "1970", "1975", "2019", "2024", "2027", "2099", "2999", "9998"];
        var events = System.Text.Json.Nodes.JsonNode.Parse(json)!.AsArray();
        foreach (var e in events)
        {
            // The moment of an entry was always held to 1970 and after, and before 3000.
            if (r.Next(4) == 0)
                e!["at"] = years[r.Next(5, years.Length - 1)] + ((string)e["at"]!)[4..]
                    .Replace("-02-29", "-02-28", StringComparison.Ordinal);
            if ((string?)e!["event"] != "dug" || r.Next(2) == 0) continue;
            e["dugOn"] = years[r.Next(years.Length)] + "-09-2" + r.Next(10);
            e["plantedOn"] = years[r.Next(years.Length)] + "-05-01";
            e["row"] = "1";
        }

        events.Insert(0, new System.Text.Json.Nodes.JsonObject
        {
            ["event"] = "row-planted",
            ["at"] = "2025-09-20T08:00:00Z",
            ["row"] = "1",
            ["crop"] = "potato",
            ["plantedOn"] = years[r.Next(years.Length)] + "-05-01"
        });
        events.Insert(1, new System.Text.Json.Nodes.JsonObject
        {
            ["event"] = "promised",
            ["at"] = "2025-09-20T08:00:00Z",
            ["order"] = "O",
            ["crop"] = "potato",
            ["weightKg"] = 3,
            ["due"] = years[r.Next(years.Length)] + "-12-31"
        });
        return events.ToJsonString();
    }

    private static void Estimates(Cellar cellar, long now) => cellar.Record.Read(c =>
    {
        var courses = new TrajectoryCache();
        courses.Use(c);
        var estimating = new Estimating(courses);
        var views = estimating.At(cellar.Book, PlaceRows.All(c), now);
        if (estimating.Problems.Count > 0)
            throw new InvalidOperationException("a lot could not be worked out", estimating.Problems.Values.First());
        foreach (var bin in views.Bins.Values)
        {
            Is(bin.Kg);
            Is(bin.WaterMultiplier);
            Is(bin.IfLeft.Kg);
            if (bin.RestUsed is { } rest) Is(rest);
            JsonSerializer.Serialize(LotEstimateShape.Of(views.Lots[bin.Lot]), JsonRules.Options).Should().NotContain("NaN");
        }

        return 0;
    });

    private static void Week(Cellar cellar, string week)
    {
        var asked = RootCellar.Report.Week.Named(week, TimeZoneInfo.Utc)!;
        foreach (var upTo in (DateTimeOffset[])[asked.To, asked.From.AddHours(80)])
        {
            foreach (var lot in Weeks.Of(cellar, week, upTo: upTo).Lots)
            {
                if (lot.Estimate.ShrinkKg is { } shrink) Is(shrink);
                if (lot.Estimate.EndKg is { } end) Is(end);
                if (lot.Air is { } air) double.IsFinite(air.CostKg).Should().BeTrue();
                (lot.Book.StartGrams + lot.Book.InGrams - lot.Book.OutGrams - lot.Book.ShrinkGrams).Should().Be(lot.Book.EndGrams);
            }
        }
    }

    private static void Is(Interval i)
    {
        if (!double.IsFinite(i.Low + i.Value + i.High) || i.Low > i.Value + 1e-9 || i.Value > i.High + 1e-9)
            throw new InvalidOperationException($"{i.Low} to {i.High} about {i.Value}");
    }

    private static string Make(Random r)
    {
        var events = new List<string>();
        // Some people write all of a day down at noon.
        bool coarse = r.Next(3) == 0;
        int lots = r.Next(1, 4);
        for (int i = 0; i < lots; i++)
            events.Add($$"""{"event":"dug","at":"{{When(6)}}","lot":"L{{i}}","crop":"{{Of(Crops)}}","checked":true{{(r.Next(2) == 0 ? ",\"flags\":[\"wet-soil\"]" : "")}}}""");
        for (int i = r.Next(3, 25); i > 0; i--)
        {
            string kg = Math.Round(r.Next(5) == 0 ? 0.02 + (r.NextDouble() * 0.1) : r.NextDouble() * 30, 3)
                .ToString(CultureInfo.InvariantCulture);
            string bin = $"\"at\":\"{When(44)}\",\"checked\":true,\"bin\":\"{Of(Bins)}\"";
            events.Add(r.Next(9) switch
            {
                0 or 1 or 2 => $$"""{"event":"filled",{{bin}},"lot":"L{{r.Next(lots)}}",{{(r.Next(3) == 0 ? "\"measure\":{\"amount\":2,\"unit\":\"peck\",\"kgPerUnit\":6}" : "\"weightKg\":" + kg)}}{{(r.Next(3) == 0 ? "" : $",\"place\":\"{Of(Places)}\"")}}}""",
                3 or 4 => $$"""{"event":"weighed",{{bin}},"weightKg":{{(r.Next(6) == 0 ? "0" : kg)}},"resolutionKg":{{Of(Steps)}}}""",
                5 => $$"""{"event":"eaten",{{bin}},"weightKg":{{kg}}{{(r.Next(3) == 0 ? ",\"empties\":true" : "")}}}""",
                6 => $$"""{"event":"moved",{{bin}},"place":"{{Of(Places)}}"}""",
                7 => $$"""{"event":"sorted",{{bin}},"into":[{"bin":"{{Of(Bins)}}","weightKg":{{kg}}},{"bin":"z{{r.Next(3)}}","weightKg":{{r.Next(4)}}}]}""",
                _ => $$"""{"event":"sprouts-seen",{{bin}},"share":"{{Of(["none", "few", "most"])}}"}""",
            });
        }

        return $"[{string.Join(",\n", events)}]";

        string Of(string[] choices) => choices[r.Next(choices.Length)];

        string When(double days)
        {
            var at = Start.AddDays(r.NextDouble() * days);
            return (coarse ? new DateTimeOffset(at.Date.AddHours(12), TimeSpan.Zero) : at).ToString("o");
        }
    }
}
