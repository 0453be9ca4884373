using System.Globalization;
using CsvHelper;
using CsvHelper.Configuration;
using RootCellar.Household;
using RootCellar.Report;
using RootCellar.Tests.Lots;
using static RootCellar.Tests.Lots.Cellar;

namespace RootCellar.Tests.Report;

public class EstimateCsvTests
{
    [Fact]
    public async Task A_line_a_midnight_and_bin_as_known_by_then()
    {
        await using var cellar = await WithRoomsAsync();
        await cellar.AirAsync(StoreRoom, Start, Start.AddDays(10), 5, 75);
        cellar.Book = Weeks.Book("""
            [{"event":"dug","at":"2025-09-20T09:00:00Z","lot":"=A,\"1\"","crop":"potato","weightKg":60},
             {"event":"filled","at":"2025-09-20T10:00:00Z","bin":"b1","lot":"=A,\"1\"","weightKg":30,"place":"root-cellar"},
             {"event":"filled","at":"2025-09-22T10:00:00Z","bin":"b2","lot":"=A,\"1\"","weightKg":20,"place":"root-cellar"},
             {"event":"weighed","at":"2025-09-25T10:00:00Z","bin":"b1","weightKg":29.4,"resolutionKg":0.05},
             {"event":"sold","at":"2025-09-26T12:00:00Z","bin":"b2","weightKg":20,"empties":true}]
            """);
        var rows = Export(cellar, DateTimeOffset.UnixEpoch, DateTimeOffset.MaxValue);
        // Midnights of Chicago are 05:00 UTC; air ends on the 30th at 00:00 UTC.
        rows.Where(r => r.Bin == "b1").Select(r => r.At).Should()
            .Equal([.. Enumerable.Range(21, 9).Select(d => new DateTimeOffset(2025, 9, d, 5, 0, 0, TimeSpan.Zero)), Start.AddDays(10)]);
        rows.Where(r => r.Bin == "b2").Select(r => r.At.Day).Should().Equal(23, 24, 25, 26);
        rows.Should().AllSatisfy(r => r.Lot.Should().Be("=A,\"1\""));
        rows.Should().AllSatisfy(r => r.Low.Should().BeLessThanOrEqualTo(r.Kg).And.BeLessThanOrEqualTo(r.High));
        var now = (await cellar.AtAsync(Start.AddDays(10))).Bins["b1"].Kg;
        rows.Last(r => r.Bin == "b1").Kg.Should().BeApproximately(now.Value, 0.0006);
        // The evening before it was weighed nobody knew; the book did not either.
        var before = rows.Single(r => r.Bin == "b1" && r.At.Day == 25);
        before.Book.Should().Be(30);
        (before.High - before.Low).Should().BeGreaterThan(0.6);
        rows.Single(r => r.Bin == "b1" && r.At.Day == 26).Book.Should().Be(29.4);

        Export(cellar, Start.AddDays(4), Start.AddDays(6)).Where(r => r.Bin == "b1").Select(r => r.At).Should()
            .Equal(new DateTimeOffset(2025, 9, 24, 5, 0, 0, TimeSpan.Zero), new DateTimeOffset(2025, 9, 25, 5, 0, 0, TimeSpan.Zero),
                Start.AddDays(6));
        // Sold on the 26th: who asks up to the 25th is not told.
        Export(cellar, Start.AddDays(4), Start.AddDays(5)).Where(r => r.Bin == "b2").Should()
            .AllSatisfy(r => r.Book.Should().Be(20)).And.HaveCount(2);
        Export(cellar, Start.AddDays(40), DateTimeOffset.MaxValue).Should().BeEmpty();
    }

    private static List<Row> Export(Cellar cellar, DateTimeOffset from, DateTimeOffset to)
    {
        using var text = new StringWriter();
        long count = cellar.Record.Read(
            c => EstimateCsv.Export(c, cellar.Book with { Calendar = HouseholdCalendar.Of(Weeks.Chicago) }, text, from, to));
        using var csv = new CsvReader(new StringReader(text.ToString()), new CsvConfiguration(CultureInfo.InvariantCulture));
        csv.Read();
        csv.ReadHeader();
        var rows = new List<Row>();
        while (csv.Read())
        {
            rows.Add(new Row(
                DateTimeOffset.Parse(csv.GetField("at")!, CultureInfo.InvariantCulture), csv.GetField("bin")!, csv.GetField("lot")!,
                csv.GetField<double>("book_kg"),
                csv.GetField<double>("estimate_low_kg"), csv.GetField<double>("estimate_kg"), csv.GetField<double>("estimate_high_kg")));
        }

        rows.Count.Should().Be((int)count);
        return rows;
    }

    private sealed record Row(DateTimeOffset At, string Bin, string Lot, double Book, double Low, double Kg, double High);
}
