using CsCheck;
using RootCellar.Ledger;
using RootCellar.Lots;
using RootCellar.Storage;
using static RootCellar.Tests.Lots.Cellar;

namespace RootCellar.Tests.Lots;

/// <summary>Kept states are a cache: with them, without them, and through any detour the bits are the same.</summary>
public sealed class ReplayTests
{
    private static readonly string[] Rooms = [CuringRoom, StoreRoom, "shed"];

    private static readonly Gen<History> Histories =
        from dug in Gen.Double[0, 2]
        from moves in Gen.Select(Gen.Int[0, 2], Gen.Double[0, 12]).Array[1, 4]
        from holes in Gen.Select(Gen.Int[0, 1], Gen.Double[0, 11], Gen.Double[0.01, 1.5]).Array[0, 4]
        from stops in Gen.Double[0.2, 12].Array[1, 5]
        from late in Gen.Bool
        from corrected in Gen.Bool
        select new History(dug, moves, holes, [.. stops.Order()], late, corrected);

    [Fact]
    public async Task A_start_from_kept_states_is_a_full_replay_bit_for_bit()
    {
        await Histories.SampleAsync(async history =>
        {
            await using var cellar = await WithRoomsAsync();
            foreach (int room in new[] { 0, 1 }) await cellar.AirAsync(Rooms[room], Start, Start.AddDays(13), at => Weather(at, room));
            await cellar.Record.WriteAsync(c =>
            {
                foreach (var (room, from, days) in history.Holes)
                    c.Execute("DELETE FROM air WHERE place = $p AND at_ms >= $a AND at_ms < $b", ("$p", Rooms[room]), ("$a", Ms(from)),
                        ("$b", Ms(from + days)));
            });
            cellar.Book = history.Book(history.Moves);
            foreach (double stop in history.Stops) await cellar.AtAsync(Start.AddDays(stop));
            if (history.Late && history.Holes is [var hole, ..])
                await cellar.AirAsync(Rooms[hole.Item1], Start.AddDays(hole.Item2), Start.AddDays(hole.Item2 + (hole.Item3 / 2)), at =>
                    Weather(at, 2));
            if (history.Corrected) cellar.Book = history.Book([.. history.Moves.Select(m => (m.Item1, m.Item2 * 0.9))]);
            var lived = Figures(await cellar.AtAsync(Start.AddDays(12.5)));

            var report = cellar.Replay();
            report.Differences.Should().BeEmpty();
            report.States.Should().BePositive();
            Figures(await cellar.RestartAsync(withKept: true)).Should().Be(lived);
            Figures(await cellar.RestartAsync(withKept: false)).Should().Be(lived);
        }, iter: 25, threads: 1);
    }

    [Fact]
    public async Task A_kept_state_that_is_not_true_is_named()
    {
        await using var cellar = await WithRoomsAsync();
        await cellar.AirAsync(CuringRoom, Start, Start.AddDays(3), 13, 94);
        cellar.Book = Books.Of(Books.Lot("l", Start, [Books.Bin("c-7", Start, 20, (CuringRoom, Start))]));
        await cellar.AtAsync(Start.AddDays(2));
        cellar.Replay().Should().Match<ReplayReport>(r => r.Agree && r.States >= 7 && r.Lots == 1 && r.Bins == 1);

        // Someone changes readings behind the service's back, in a way the file does not call late air.
        await cellar.Record.WriteAsync(
            c =>
            {
                c.Execute("UPDATE air SET humidity_pct = 60 WHERE at_ms = $at",
                ("$at", Start.AddHours(30).ToUnixTimeMilliseconds()));
            });
        var report = cellar.Replay();
        report.Agree.Should().BeFalse();
        report.Differences.Should().OnlyContain(d => d.At > Start.AddHours(30) && d.Lot == "l" && d.Bins.Single() == "c-7");
        report.Differences.OrderBy(d => d.At).First().Figure.Should().Be("HealedDays");
    }

    private static long Ms(double day) => Start.AddDays(day).ToUnixTimeMilliseconds();

    private static (double, double) Weather(DateTimeOffset at, int kind)
    {
        double swing = Math.Abs((at - Start).TotalHours % 24 - 12) / 12;
        return kind switch { 0 => (12 + (2 * swing), 96 - (6 * swing)), 1 => (4 + swing, 92 - (3 * swing)), _ => (18 - swing, 70 + swing) };
    }

    private static string Figures(LotViews views) =>
        string.Join('\n', views.Bins.Values.OrderBy(b => b.Bin, StringComparer.Ordinal).Select(b =>
        FormattableString.Invariant(
            $"{b.Bin} {b.At:O} {b.Kg.Low:R} {b.Kg.Value:R} {b.Kg.High:R} {b.HealedDays:R} {b.PulpC:R} {b.WetHours:R} {b.DarkHours:R} {b.RestUsed} {b.LightHours:R} {b.IfLeft}")));

    private sealed record History(double Dug, (int, double)[] Moves, (int, double, double)[] Holes, double[] Stops, bool Late,
        bool Corrected)
    {
        public Book Book((int, double)[] moves)
        {
            var dug = Start.AddDays(Dug);
            (string, DateTimeOffset)[] stays =
                [(Rooms[moves[0].Item1], dug), .. moves.Skip(1).Select(m => (Rooms[m.Item1], Start.AddDays(Math.Max(Dug, m.Item2))))
                    .OrderBy(m => m.Item2)];
            return Books.Of(Books.Lot("l", dug, [Books.Bin("c-1", dug, 20, stays), Books.Bin("c-2", dug.AddHours(1), 18, stays[0])]));
        }
    }
}
