using RootCellar.Ledger;
using RootCellar.Tests.Storage;
using static RootCellar.Tests.Lots.Cellar;

namespace RootCellar.Tests.Lots;

/// <summary>A season of a large holding: printed, and held to what a start may take.</summary>
public sealed class ManyBinsTests(ITestOutputHelper output)
{
    private const int Lots = 60;
    private const int Bins = 800;
    private const int Days = 240;

    [Fact]
    public async Task Sixty_lots_and_eight_hundred_bins_start_and_tick_in_time()
    {
        await using var cellar = await WithRoomsAsync();
        await cellar.AirAsync(CuringRoom, Start, Start.AddDays(Days + 1), at => (13 + (at.Hour / 24.0), 94 - (at.Hour / 8.0)));
        await cellar.AirAsync(StoreRoom, Start, Start.AddDays(Days + 1), at => (5 + (at.Hour / 24.0), 92 - (at.Hour / 8.0)));
        cellar.Book = Books.Of([.. Enumerable.Range(0, Lots).Select(Lot)]);

        var views = await cellar.AtAsync(Start.AddDays(Days));
        var all = cellar.Keeper.Folded;
        views.Bins.Should().HaveCount(Bins);

        var again = await cellar.RestartAsync();
        cellar.Keeper.Folded.Should().BeLessThan(all / 10, "a start goes on from the kept states");
        again.Bins["b-0-0"].Kg.Should().Be(views.Bins["b-0-0"].Kg);

        var before = cellar.Keeper.Folded;
        await cellar.AtAsync(Start.AddDays(Days).AddMinutes(5));
        (cellar.Keeper.Folded - before).Should().BeLessThan(10 * Bins, "five minutes more are folded, and no past again");
        var kept = cellar.Record.Text("SELECT count(*) || ' kept states, ' || sum(length(body)) / 1024 || ' KiB' FROM lot_snapshot");
        output.WriteLine(kept);
    }

    private static LotView Lot(int lot)
    {
        var dug = Start.AddDays(lot % 20);
        int bins = (Bins / Lots) + (lot < Bins % Lots ? 1 : 0);
        return Books.Lot($"lot-{lot}", dug, [.. Enumerable.Range(0, bins).Select(b =>
        {
            // A lot is moved in two loads, and every third bin has been weighed twice.
            var bin = Books.Bin($"b-{lot}-{b}", dug.AddHours(b / 4.0), 20, (CuringRoom, dug.AddHours(b / 4.0)),
                (StoreRoom, dug.AddDays(14 + (b % 2))));
            return b % 3 == 0 ? bin.Weighed(dug.AddDays(30), 19.5).Weighed(dug.AddDays(90 + b), 19.2) : bin;
        })]);
    }
}
