using RootCellar.Tests.Pages;

namespace RootCellar.Benchmarks.Limits;

/// <summary>
/// What is promised in docs/performance.md of pages and the book, measured on a machine that does nothing else; exit 1 when something is
/// slower.
/// </summary>
internal static class LimitRun
{
    private const double MostMs = 200;
    private const int Starts = 3;

    public static async Task<int> RunAsync()
    {
        var pages = new EveryPage(TimeProvider.System, () => Environment.CpuUsage.TotalTime, Console.WriteLine);
        await pages.VisitAllAsync(Starts);
        Console.WriteLine(pages.Table());
        // One rule: in the best of three visits of one kind. The clock counts what other programs of a busy machine took, the processor
        // time of this process what it did besides in the background: what a visit costs is no more than the less of the two. The best of
        // three, because a collection of rubbish that falls into a visit is not of its making. A page that waits, for a lock or a disk, is
        // held to the limit by the clock in the best of its nine visits.
        var measured = pages.Rows.Where(r => r.Value.Times.Values.All(t => t.Count > 0)).ToList();
        var slow = measured.SelectMany(
            r => EveryPage.Ways.Select(w => (r.Key, Way: w, Ms: r.Value.Times[w].Min(t => Math.Min(t.Clock, t.Processor)))))
            .Where(r => r.Ms > MostMs).Select(r => $"{r.Key}, {r.Way}: {r.Ms:0} ms, limit {MostMs:0} ms")
            .Concat(measured.Where(r => r.Value.Times.Values.SelectMany(t => t).Min(t => t.Clock) > MostMs)
                .Select(r => $"{r.Key}: more than {MostMs:0} ms in every visit"))
            .Concat(BookCosts.Measure(TimeProvider.System, Console.WriteLine))
            .ToList();
        foreach (var line in slow) Console.WriteLine($"TOO SLOW {line}");
        Console.WriteLine(slow.Count == 0 ? $"All {measured.Count} addresses and the book are within their limits."
            : $"{slow.Count} are over their limit.");
        return slow.Count == 0 ? 0 : 1;
    }
}
