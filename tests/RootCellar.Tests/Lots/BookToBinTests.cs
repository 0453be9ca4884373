using System.Text.Json;
using Microsoft.Extensions.Logging.Abstractions;
using RootCellar.Commands;
using RootCellar.Lots;
using RootCellar.Places;
using RootCellar.Readings;
using RootCellar.Storage;
using RootCellar.Tests.Ledger;

namespace RootCellar.Tests.Lots;

/// <summary>From what is written into the ledger to what is said of a bin, and the command that proves it.</summary>
public sealed class BookToBinTests
{
    [Fact]
    public async Task What_is_written_in_the_book_moves_the_bin_and_replay_proves_the_kept_states()
    {
        await using var books = await Bookkeeping.WithTwoBinsAsync();
        await books.Store.WriteAsync(c =>
        {
            PlaceRows.Save(c, new Place("curing", "Curing", Purpose.Curing, null, ["potato"]));
            PlaceRows.Save(c, new Place("cellar", "Cellar", Purpose.Storage, null, ["potato"]));
            for (var at = new DateTimeOffset(2025, 10, 1, 0, 0, 0, TimeSpan.Zero); at < new DateTimeOffset(
                2025, 10, 22, 0, 0, 0, TimeSpan.Zero); at += TimeSpan.FromMinutes(5))
            {
                PlaceRows.SaveAir(c, new PlaceAir("curing", at, 14, 93, null, null, null, null, null, null, AirQuality.Good));
                PlaceRows.SaveAir(c, new PlaceAir("cellar", at, 5, 92, null, null, null, null, null, null, AirQuality.Good));
            }
        });
        using var keeper = new LotKeeper(books.Store, () => books.Book, new Announcements(), books.Time, NullLogger<LotKeeper>.Instance);

        books.Time.Advance(TimeSpan.FromDays(10));
        var cured = await keeper.AdvanceAsync(TestContext.Current.CancellationToken);
        cured.Bins.Keys.Should().BeEquivalentTo("B1", "B2");
        cured.MoveNow.Should().HaveCount(2);

        await books.KeepAsync("""[{"event":"moved","bin":"B1","place":"cellar"},{"event":"eaten","bin":"B2","weightKg":2}]""");
        var from = books.Time.GetUtcNow();
        books.Time.Advance(TimeSpan.FromDays(2));
        var moved = await keeper.AdvanceAsync(TestContext.Current.CancellationToken);
        moved.Bins["B1"].PulpC.Should().BeApproximately(5.2, 0.1);
        moved.Bins["B2"].PulpC.Should().BeApproximately(14.2, 0.1);
        moved.Bins["B2"].BookKg.Should().Be(28);
        moved.MoveNow.Select(b => b.Bin).Should().Equal("B2");

        // It had been moved five days sooner than was written down.
        var entry = books.Book.Entries.Single(e => e.Entry.Event == "moved").Entry.Id;
        await books.KeepAsync($$"""{"event":"correction","of":{{entry}},"rightAt":"{{from.AddDays(-5):yyyy-MM-ddTHH:mm:ssZ}}"}""");
        var corrected = await keeper.AdvanceAsync(TestContext.Current.CancellationToken);
        corrected.Bins["B1"].HealedDays.Should().BeLessThan(moved.Bins["B1"].HealedDays);
        corrected.Bins["B2"].HealedDays.Should().Be(moved.Bins["B2"].HealedDays);

        var (code, agree) = await ReplayAsync(books.Folder.Path);
        code.Should().Be(0);
        agree.GetProperty("agree").GetBoolean().Should().BeTrue();
        agree.GetProperty("bins").GetInt32().Should().Be(2);
        agree.GetProperty("states").GetInt32().Should().BePositive();

        await books.Store.WriteAsync(
            c =>
            {
                c.Execute("UPDATE air SET temperature_c = 9 WHERE place = 'curing' AND at_ms = $at",
                ("$at", from.AddDays(-8).ToUnixTimeMilliseconds()));
            });
        var (no, differ) = await ReplayAsync(books.Folder.Path);
        no.Should().Be(1);
        var first = differ.GetProperty("differences")[0];
        first.GetProperty("lot").GetString().Should().Be("R1");
        first.GetProperty("figure").GetString().Should().Be("PulpC");
    }

    private static async Task<(int Code, JsonElement Answer)> ReplayAsync(string folder)
    {
        await using var output = new StringWriter();
        await using var error = new StringWriter();
        int code = await CommandLine.RunAsync(["replay", "--data", folder, "--json"], output, error, TestContext.Current.CancellationToken);
        error.ToString().Should().BeEmpty();
        return (code, Bookkeeping.Parse(output.ToString()));
    }
}
