using System.Diagnostics;
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

        var watch = Stopwatch.StartNew();
        var views = await cellar.AtAsync(Start.AddDays(Days));
        output.WriteLine($"without kept states: {watch.Elapsed.TotalSeconds:0.00} s, {cellar.Keeper.Folded:n0} pieces of five minutes");
        views.Bins.Should().HaveCount(Bins);

        watch.Restart();
        var again = await cellar.RestartAsync();
        var start = watch.Elapsed;
        output.WriteLine($"start from kept states: {start.TotalSeconds:0.00} s, {cellar.Keeper.Folded:n0} pieces");
        again.Bins["b-0-0"].Kg.Should().Be(views.Bins["b-0-0"].Kg);

        watch.Restart();
        await cellar.AtAsync(Start.AddDays(Days).AddMinutes(5));
        output.WriteLine($"one tick: {watch.Elapsed.TotalMilliseconds:0} ms");
        watch.Restart();
        await cellar.AtAsync(Start.AddDays(Days).AddMinutes(70));
        output.WriteLine($"one tick in a new hour, every look ahead anew: {watch.Elapsed.TotalMilliseconds:0} ms");
        var kept = cellar.Record.Text("SELECT count(*) || ' kept states, ' || sum(length(body)) / 1024 || ' KiB' FROM lot_snapshot");
        output.WriteLine(kept);
        start.Should().BeLessThan(TimeSpan.FromSeconds(30));
    }

    private static LotView Lot(int lot)
    {
        var dug = Start.AddDays(lot % 20);
        int bins = (Bins / Lots) + (lot < Bins % Lots ? 1 : 0);
        return Books.Lot($"lot-{lot}", dug, [.. Enumerable.Range(0, bins).Select(b =>
        {
            // A lot is moved in two loads, and every third bin has been weighed twice.
            var bin = Books.Bin($"b-{lot}-{b}", dug.AddHours(b / 4.0), 20, (CuringRoom, dug.AddHours(b / 4.0)), (StoreRoom, dug.AddDays(14 + (b % 2))));
            return b % 3 == 0 ? bin.Weighed(dug.AddDays(30), 19.5).Weighed(dug.AddDays(90 + b), 19.2) : bin;
        })]);
    }
}
