using System.Globalization;
using RootCellar.Ledger;
using RootCellar.Lots;
using RootCellar.Mirror;
using RootCellar.Report;
using RootCellar.Storage;
using RootCellar.Tests.Lots;
using RootCellar.Tests.Report;
using static RootCellar.Tests.Lots.Cellar;

namespace RootCellar.Tests.Mirror;

/// <summary>The book as it was then: the mirror's past, the CSV of estimates, the report and the door go by one rule.</summary>
public sealed class PastTests
{
    // 20 kg, 1 kg of it eaten on 23 September; on the 28th that was "corrected" to 10 kg, on the 30th the correction was taken back. The
    // second bin was filled on the 22nd and its digging written down on the 29th.
    private const string Events =
        """
        [{"event":"dug","lot":"A","crop":"potato","at":"2025-09-20T08:00:00Z"},
         {"event":"filled","bin":"a","lot":"A","weightKg":20,"place":"root-cellar","at":"2025-09-20T09:00:00Z"},
         {"event":"eaten","bin":"a","weightKg":1,"at":"2025-09-23T12:00:00Z"},
         {"event":"correction","of":3,"weightKg":10,"at":"2025-09-28T12:00:00Z"},
         {"event":"dug","lot":"B","crop":"potato","dugOn":"2025-09-21","at":"2025-09-29T08:00:00Z"},
         {"event":"filled","bin":"b","lot":"B","weightKg":30,"place":"root-cellar","at":"2025-09-22T09:00:00Z","checked":true},
         {"event":"correction","of":4,"void":true,"at":"2025-09-30T12:00:00Z"},
         {"event":"eaten","bin":"a","weightKg":2,"at":"2025-10-02T12:00:00Z"}]
        """;

    [Fact]
    public async Task An_undone_correction_leaves_every_past_as_it_was()
    {
        await using var server = await StandIn.StartAsync();
        await using var cellar = await WithRoomsAsync();
        await cellar.AirAsync(StoreRoom, Start, Start.AddDays(15), 5, 92);
        cellar.Book = Weeks.Book(Events);
        await cellar.Record.WriteAsync(c =>
        {
            foreach (var standing in cellar.Book.Entries) LedgerRows.Add(c, new LedgerRow(standing.Entry, null, null, null));
        });

        var mirrored = await MirroredAsync(cellar, server);
        var exported = Exported(cellar);
        (string Day, double A, double? B)[] expected =
        [
            ("2025-09-21", 20, null), ("2025-09-22", 20, null), ("2025-09-23", 20, 30), ("2025-09-24", 19, 30), ("2025-09-27", 19, 30),
            ("2025-09-29", 19, 30), ("2025-10-01", 19, 30), ("2025-10-03", 17, 30),
        ];
        foreach (var (day, a, b) in expected)
        {
            var then = DateTimeOffset.Parse(day + "T00:00:00Z", CultureInfo.InvariantCulture);
            mirrored.GetValueOrDefault((then, "a")).Should().Be(a, $"mirror, {day}");
            mirrored.TryGetValue((then, "b"), out var its).Should().Be(b is not null, day);
            if (b is not null) its.Should().Be(b, $"mirror, {day}");
            exported.GetValueOrDefault((then, "a")).Should().Be(a, $"CSV, {day}");
            BookBuilder.Then(cellar.Book, then).Bins["a"].BookKg.Should().Be(a, $"book, {day}");
        }

        var week = Weeks.Of(cellar, "2025-W39");
        week.Then.Bins["a"].BookKg.Should().Be(19, "report");
        week.Lots.Single(l => l.Lot == "A").Book.EndGrams.Should().Be(19_000);
    }

    private static async Task<Dictionary<(DateTimeOffset, string), double>> MirroredAsync(Cellar cellar, StandIn server)
    {
        var options = new MirrorOptions
        {
            Influx = { Url = server.Url, Org = "o", Bucket = "b",
            TokenFile = Path.Combine(cellar.Folder.Path, "token") }
        };
        await File.WriteAllTextAsync(options.Influx.TokenFile, "secret", TestContext.Current.CancellationToken);
        using var door = new InfluxDoor(options.Influx, new MirrorPace());
        using var progress = new StringWriter();
        using var connection = new Microsoft.Data.Sqlite.SqliteConnection(
            $"Data Source={Path.Combine(cellar.Folder.Path, StoreFile.Name)};Mode=ReadOnly");
        connection.Open();
        (await new Backfill(connection, options, door, RootCellar.Household.HouseholdCalendar.Utc, TimeProvider.System, progress)
            .RunAsync(Start, Start.AddDays(15), TestContext.Current.CancellationToken)).Should().BeNull();
        var found = new Dictionary<(DateTimeOffset, string), double>();
        foreach (var line in server.Taken.Where(l => l.StartsWith("bin,", StringComparison.Ordinal)))
        {
            var at = DateTimeOffset.FromUnixTimeMilliseconds(
                long.Parse(line[(line.LastIndexOf(' ') + 1)..], CultureInfo.InvariantCulture) / 1_000_000);
            found[(at, Value(line, "bin"))] = double.Parse(Value(line, "book_kg"), CultureInfo.InvariantCulture);
        }

        return found;
    }

    private static Dictionary<(DateTimeOffset, string), double> Exported(Cellar cellar)
    {
        using var csv = new StringWriter();
        cellar.Record.Read(c => EstimateCsv.Export(c, cellar.Book, csv, DateTimeOffset.UnixEpoch, DateTimeOffset.MaxValue));
        return csv.ToString().Split('\n', StringSplitOptions.RemoveEmptyEntries).Skip(1).Select(l => l.Split(','))
            .ToDictionary(l => (DateTimeOffset.Parse(l[0], CultureInfo.InvariantCulture), l[1]),
                l => double.Parse(l[7], CultureInfo.InvariantCulture));
    }

    private static string Value(string line, string name) =>
        System.Text.RegularExpressions.Regex.Match(line, $@"[, ]{name}=(?<value>[^, ]+)",
            System.Text.RegularExpressions.RegexOptions.ExplicitCapture, TimeSpan.FromSeconds(5)).Groups["value"].Value;
}
