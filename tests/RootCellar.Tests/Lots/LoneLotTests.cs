using System.Collections;
using Microsoft.Data.Sqlite;
using Microsoft.Extensions.DependencyInjection;
using RootCellar.Ledger;
using RootCellar.Lots;
using RootCellar.Report;
using RootCellar.Storage;
using RootCellar.Tests.Pages;
using RootCellar.Tests.Report;
using static RootCellar.Tests.Lots.Cellar;

namespace RootCellar.Tests.Lots;

/// <summary>One lot that cannot be worked out never stops another, and is said.</summary>
public sealed class LoneLotTests
{
    public static TheoryData<string> Years => ["0002", "0026", "1000", "1726", "1926", "1975", "2019", "2027", "2099", "2999", "9998"];

    public static TheoryData<Type> Faults =>
    [
        typeof(IndexOutOfRangeException), typeof(OutOfMemoryException), typeof(NullReferenceException), typeof(OverflowException),
        typeof(DivideByZeroException), typeof(KeyNotFoundException), typeof(SqliteException),
    ];

    [Theory]
    [MemberData(nameof(Faults))]
    public async Task Whatever_one_lot_throws_the_others_are_worked_out(Type fault)
    {
        await using var cellar = await WithRoomsAsync();
        await cellar.AirAsync(StoreRoom, Start, Start.AddDays(8), 5, 92);
        Exception thrown = fault == typeof(SqliteException)
            ? new SqliteException("disk image is malformed", 11) : (Exception)Activator.CreateInstance(fault)!;
        var bad = Books.Bin("b", Start, 20, (StoreRoom, Start)) with { Weighings = new Throws<Weighing>(thrown) };
        cellar.Book = Books.Of(
            Books.Lot("A", Start, [Books.Bin("a", Start, 20, (StoreRoom, Start))]), Books.Lot("B", Start, [bad]),
            Books.Lot("C", Start, [Books.Bin("c", Start, 20, (StoreRoom, Start))]));
        foreach (var day in (int[])[3, 4])
        {
            var views = await cellar.AtAsync(Start.AddDays(day));
            views.Bins.Keys.Should().BeEquivalentTo("a", "c");
            views.NotFollowed.Should().Equal("b");
            views.Unfollowed.Keys.Should().Equal("B");
            views.Unfollowed["B"].Should().Match<Unfollowed>(
                u => u.Why == WhyUnfollowed.Fault && u.Text.Contains(thrown.Message, StringComparison.Ordinal));
            cellar.Keeper.Standstill.Should().BeNull();
        }

        // Put right, it is worked out with the next look.
        cellar.Book = Books.Of(Books.Lot("A", Start, [Books.Bin("a", Start, 20, (StoreRoom, Start))]),
            Books.Lot("B", Start, [Books.Bin("b", Start, 20, (StoreRoom, Start))]));
        (await cellar.AtAsync(Start.AddDays(4).AddMinutes(10))).Bins.Keys.Should().BeEquivalentTo("a", "b");
    }

    [Theory]
    [MemberData(nameof(Years))]
    public async Task A_lot_of_a_wrong_year_costs_nothing_and_stops_nothing(string year)
    {
        await using var cellar = await WithRoomsAsync();
        await cellar.AirAsync(StoreRoom, Start, Start.AddDays(20), 5, 92);
        cellar.Book = Books.Stored($$"""
            [{"event":"dug","lot":"WILD","crop":"potato","dugOn":"{{year}}-09-21","plantedOn":"{{year}}-05-01","at":"2025-09-21T08:00:00Z","checked":true},
             {"event":"filled","bin":"w","lot":"WILD","weightKg":20,"place":"root-cellar","at":"2025-09-21T09:00:00Z","checked":true},
             {"event":"weighed","bin":"w","weightKg":19.9,"at":"2025-09-25T09:00:00Z","checked":true},
             {"event":"row-planted","row":"1","crop":"potato","plantedOn":"{{year}}-05-01","at":"2025-09-21T08:00:00Z","checked":true},
             {"event":"vines-dead","row":"1","on":"{{year}}-09-01","at":"2025-09-21T08:30:00Z","checked":true},
             {"event":"promised","order":"O","crop":"potato","weightKg":3,"due":"{{year}}-12-01","at":"2025-09-21T08:30:00Z","checked":true},
             {"event":"dug","lot":"GOOD","crop":"potato","at":"2025-09-21T08:00:00Z"},
             {"event":"filled","bin":"g","lot":"GOOD","weightKg":20,"place":"root-cellar","at":"2025-09-21T09:00:00Z"}]
            """);
        var views = await cellar.AtAsync(Start.AddDays(15));
        cellar.Keeper.Folded.Should().BeLessThan(400_000, "a lot of 1975 was five million steps and 429 MB; none is more than three years");
        views.Bins.Should().ContainKey("g");
        var old = int.Parse(year, System.Globalization.CultureInfo.InvariantCulture);
        // A day still to come is that of writing until then: the lot keeps from when it was written down.
        if (old < 2025) views.Unfollowed["WILD"].Why.Should().Be(WhyUnfollowed.TooOld);
        if (old > 2025) views.Unfollowed["WILD"].Why.Should().Be(WhyUnfollowed.DugLater);
        Weeks.Of(cellar, "2025-W39").Lots.Should().Contain(l => l.Lot == "GOOD");
        using var csv = new StringWriter();
        cellar.Record.Read(c => EstimateCsv.Export(c, cellar.Book, csv, DateTimeOffset.UnixEpoch, DateTimeOffset.MaxValue));
        csv.ToString().Should().Contain(",g,GOOD,").And.NotContain("NaN");
        cellar.Replay().Agree.Should().BeTrue();
    }

    [Theory]
    [MemberData(nameof(Years))]
    public async Task A_book_that_has_such_a_year_already_shows_every_page(string year)
    {
        await using var site = await Site.OpenAsync(fill: store => store.WriteAsync(c =>
        {
            (string What, string Body)[] old =
            [
                ("row-planted", $$"""{"row":"1","crop":"potato","plantedOn":"{{year}}-05-01"}"""),
                ("vines-dead", $$"""{"row":"1","on":"{{year}}-09-01"}"""),
                ("dug", $$"""{"lot":"WILD","crop":"potato","row":"1","dugOn":"{{year}}-09-21","plantedOn":"{{year}}-05-01"}"""),
                ("filled", """{"bin":"w","lot":"WILD","weightKg":20,"place":"cellar"}"""),
                ("promised", $$"""{"order":"O","crop":"potato","weightKg":3,"due":"{{year}}-12-31"}"""),
                ("dug", """{"lot":"GOOD","crop":"potato"}"""),
                ("filled", """{"bin":"g","lot":"GOOD","weightKg":20,"place":"cellar"}"""),
                ("correction", $$"""{"dugOn":"{{year}}-01-01"}"""),
            ];
            var at = Tests.Storage.Sample.At.AddDays(-1);
            for (var i = 0; i < old.Length; i++)
                LedgerRows.Add(c, new LedgerRow(
                    new LedgerEntry(i + 1, old[i].What, at.AddMinutes(i), at.AddMinutes(i), "Ann", null,
                        Ledger.Bookkeeping.Parse(old[i].Body), null, old[i].What == "correction" ? 3 : null), null, null, null));
        }));
        await site.Lots.AdvanceAsync(TestContext.Current.CancellationToken);
        site.Lots.Views.Bins.Should().ContainKey("g");
        foreach (var path in (string[])
        [
            "/", "/bins", "/bins?sort=first", "/bins/w", "/lots/WILD", "/lots/WILD?range=year", "/lots/WILD?bin=w", "/lots/GOOD", "/log",
            "/log/to-check", "/log/filled?lot=WILD", "/log/correct/1", "/log/correct/3", "/log/correct/5",
            "/rows", "/rows/1", "/stock", "/stock?on=2025-12-24", "/ahead", "/api/ahead", "/report", "/labels", "/places/cellar", "/charts/lots/WILD/weight.svg",
            "/api/ledger", "/api/lots", "/api/lots/WILD", "/api/lots/WILD/history", "/api/bins", "/api/bins/w", "/api/stock", "/api/rows",
            "/api/report",
        ])
        {
            ((int)(await site.LookAsync(path)).Status).Should().BeLessThan(500, path);
        }

        var lot = await site.WordsAsync("/lots/WILD");
        (await site.LookAsync("/api/lots/WILD")).Html.Should().Contain("\"noEstimate\":\"By the book it");
        if (int.Parse(year, System.Globalization.CultureInfo.InvariantCulture) is < 2022 or > 2025)
            lot.Should().Contain("Nothing is figured for this lot").And.Contain("correct it in its history");
    }

    [Fact]
    public async Task Estimates_that_stand_are_said_on_every_page()
    {
        await using var site = await Site.OpenAsync();
        await site.FillAsync();
        await site.Lots.AdvanceAsync(TestContext.Current.CancellationToken);
        (await site.WordsAsync("/")).Should().NotContain("Estimates stand since");
        // The air of the record can no longer be read: every look fails.
        await site.Store.WriteAsync(c => { c.Execute("ALTER TABLE air RENAME COLUMN temperature_c TO t"); });
        site.Time.Advance(TimeSpan.FromHours(2));
        for (var i = 0; i < 200 && site.Lots.Standstill is null; i++)
        {
            site.Lots.Call();
            await Task.Delay(TimeSpan.FromMilliseconds(20), TimeProvider.System, TestContext.Current.CancellationToken);
        }

        (await site.WordsAsync("/")).Should().Contain("Estimates stand since").And.Contain("Readings, alarms and the book go on");
        site.Lots.Age.Should().BeGreaterThan(TimeSpan.FromHours(1));
        (await site.ReadAsync("/health/ready")).Should().Contain("\"estimates\":\"degraded\"");
        (await site.ReadAsync("/metrics")).Should().Contain("rootcellar_estimates_age_seconds");
        await site.Store.WriteAsync(c => { c.Execute("ALTER TABLE air RENAME COLUMN t TO temperature_c"); });
        await site.Lots.AdvanceAsync(TestContext.Current.CancellationToken);
        (await site.WordsAsync("/")).Should().NotContain("Estimates stand since");
        (await site.ReadAsync("/health/ready")).Should().Contain("\"estimates\":\"healthy\"");
    }

    private sealed class Throws<T>(Exception fault) : IReadOnlyList<T>
    {
        public int Count => throw fault;

        public T this[int index] => throw fault;

        public IEnumerator<T> GetEnumerator() => throw fault;

        IEnumerator IEnumerable.GetEnumerator() => throw fault;
    }
}
