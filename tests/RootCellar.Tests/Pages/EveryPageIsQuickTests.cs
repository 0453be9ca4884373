using System.Diagnostics;
using System.Globalization;
using System.Net;
using System.Text;
using Microsoft.AspNetCore.Mvc.RazorPages;
using Microsoft.AspNetCore.Routing;
using Microsoft.AspNetCore.Routing.Patterns;
using Microsoft.Extensions.DependencyInjection;
using RootCellar.Ledger;
using RootCellar.Pages.Bins;
using RootCellar.Tests.Storage;

namespace RootCellar.Tests.Pages;

/// <summary>Runs when nothing else does: it reads the clock.</summary>
[CollectionDefinition(nameof(QuietMachine), DisableParallelization = true)]
public sealed class QuietMachine;

/// <summary>
/// Three years of a large holding in the record, and every page and every reading address of the API there is: found by asking the service what it
/// serves, so that a page made tomorrow is measured tomorrow. The time is the whole way on the loopback address, so the server's is within it. Beside it
/// stands the processor time of this whole process: where a busy machine makes the clock say more, the lesser of the two is held to the limit.
/// </summary>
[Collection(nameof(QuietMachine))]
public sealed class EveryPageIsQuickTests(ITestOutputHelper output)
{
    private const double MostMs = 200;
    private const int Visits = 5;

    [Fact]
    public async Task With_fifty_thousand_entries_every_page_and_every_write_is_quick()
    {
        var years = new ThreeYears();
        using var record = new TempFolder();
        var times = new Dictionary<string, Dictionary<string, List<(double Clock, double Cpu)>>>(StringComparer.Ordinal);
        for (var round = 0; round <= 1; round++)
        {
            var watch = Stopwatch.StartNew();
            await using var site = await Site.OpenAsync(fill: round == 0 ? years.FillAsync : null, at: ThreeYears.Now.AddDays(round), record: record);
            output.WriteLine($"filled and started in {watch.Elapsed.TotalSeconds:0.0} s");
            watch.Restart();
            var views = await site.Lots.AdvanceAsync(TestContext.Current.CancellationToken);
            output.WriteLine($"first look at the lots: {watch.Elapsed.TotalSeconds:0.0} s, {site.Lots.Folded:n0} pieces of five minutes");
            var book = site.Book;
            var bin = book.Bins.Values.Where(b => b.EmptiedAt is null).MaxBy(b => b.Entries.Count)!;
            var lot = book.Lots[bin.Lot];
            var gone = book.Lots.Values.Where(l => l.Bins.All(b => b.EmptiedAt is not null)).MaxBy(l => l.Entries.Count)!;
            var all = Addresses(site, book, bin, lot).Concat(Addresses(site, book, gone.Bins.MaxBy(b => b.Entries.Count)!, gone)).Distinct(StringComparer.Ordinal).Where(a => a.Contains("report") || a.Contains("/lots") || a.Contains("charts")).ToList();
            double changes = 0; var n = 0;
            foreach (var path in all) await One("first", path);
            foreach (var path in all)
            {
                var w = Stopwatch.StartNew();
                site.Time.Advance(TimeSpan.FromMinutes(5));
                await site.LogAsync("eaten", bin.Id, ("amount", "0.01"), ("unit", "lb"));
                await site.Lots.AdvanceAsync(TestContext.Current.CancellationToken);
                changes += w.Elapsed.TotalMilliseconds; n++;
                await One("changed", path);
                await One("again", path);
            }

            output.WriteLine($"change {changes / n:0.0} ms of {n}");
            async Task One(string kind, string path)
            {
                var (w, before) = (Stopwatch.StartNew(), Environment.CpuUsage.TotalTime);
                var (status, length) = await site.TryAsync(path);
                if (status == HttpStatusCode.InternalServerError) throw new InvalidOperationException($"{path} fails");
                if (status != HttpStatusCode.OK || round == 0) return;
                if (!times.TryGetValue(path, out var kinds)) times.Add(path, kinds = new(StringComparer.Ordinal));
                if (!kinds.TryGetValue(kind, out var list)) kinds.Add(kind, list = []);
                list.Add((w.Elapsed.TotalMilliseconds, (Environment.CpuUsage.TotalTime - before).TotalMilliseconds));
            }
        }

        foreach (var (path, kinds) in times.OrderByDescending(t => t.Value.Values.Max(v => v.Max(x => x.Clock))).Take(60))
            output.WriteLine(path[..Math.Min(60, path.Length)] + "  " + string.Join("  ", kinds.Select(k => $"{k.Key} {string.Join('/', k.Value.Select(v => $"{v.Clock:0}({v.Cpu:0})"))}")));
    }

    private static string Table(IEnumerable<Row> rows)
    {
        var table = new StringBuilder("| address | KiB | median ms | worst ms | processor ms |\n|---|---|---|---|---|\n");
        foreach (var row in rows.OrderByDescending(r => r.MedianMs)) table.AppendLine(CultureInfo.InvariantCulture, $"| `{row.Path}` | {row.Bytes / 1024.0:0} | {row.MedianMs:0.0} | {row.WorstMs:0.0} | {row.ProcessorMs:0.0} |");
        return table.ToString();
    }

    private static double Middle(List<double> times) => times.Order().ElementAt(times.Count / 2);

    private static async Task<IEnumerable<Row>> MeasureAsync(Site site, string path)
    {
        var (times, processor) = (new List<double>(), new List<double>());
        var bytes = 0L;
        for (var i = 0; i <= Visits; i++)
        {
            var (watch, before) = (Stopwatch.StartNew(), Environment.CpuUsage.TotalTime);
            var (status, length) = await site.TryAsync(path);
            // Leads elsewhere, or there is no such thing: another of the addresses made of it is measured.
            if (status != HttpStatusCode.OK) return status == HttpStatusCode.InternalServerError ? throw new InvalidOperationException($"{path} fails") : [];
            bytes = length;
            if (i == 0) continue;
            times.Add(watch.Elapsed.TotalMilliseconds);
            processor.Add((Environment.CpuUsage.TotalTime - before).TotalMilliseconds);
        }

        return [new Row(path.Length > 90 ? path[..90] + "…" : path, bytes, Middle(times), times.Max(), Middle(processor))];
    }

    /// <summary>Everything that can be read: each page with the biggest there is for what its address asks for, and again with that as a query.</summary>
    private static IEnumerable<string> Addresses(Site site, Book book, BinView bin, LotView lot)
    {
        var values = new Dictionary<string, string[]>(StringComparer.OrdinalIgnoreCase)
        {
            ["bin"] = [bin.Id],
            ["lot"] = [lot.Id],
            ["place"] = ["cellar"],
            ["row"] = [lot.Row!],
            ["order"] = [book.Orders[^1].Order],
            ["what"] = ["dug", "filled", .. LogKinds.OfBin],
            ["figure"] = ["temperature", "humidity"],
            ["name"] = ["site.css"],
            ["documentName"] = ["v1"],
        };
        string[] anything = [bin.Id, lot.Id, "cellar", lot.Row!, book.Orders[^1].Order, "1"];
        var query = $"?bin={Uri.EscapeDataString(bin.Id)}&lot={Uri.EscapeDataString(lot.Id)}&place=cellar&row={Uri.EscapeDataString(lot.Row!)}";
        foreach (var endpoint in site.Services.GetRequiredService<EndpointDataSource>().Endpoints.OfType<RouteEndpoint>())
        {
            var page = endpoint.Metadata.GetMetadata<PageActionDescriptor>() is not null;
            var methods = endpoint.Metadata.GetMetadata<IHttpMethodMetadata>()?.HttpMethods;
            if (!page && methods?.Contains("GET") != true) continue;
            foreach (var path in Filled(endpoint.RoutePattern, values, anything).Distinct(StringComparer.Ordinal))
            {
                yield return path;
                if (page) yield return path + query;
            }
        }

        yield return "/bins?find=kennebec";
        yield return "/log?find=b7";
        var full = book.AllBins.Where(b => b.EmptiedAt is null).Select(b => "bin=" + Uri.EscapeDataString(b.Id));
        yield return "/labels?sheet=letter&" + string.Join('&', full.Take(60));
        yield return $"/api/ledger{query}";
        yield return "/api/ledger?limit=500&after=25000";
        yield return "/api/stock?on=2026-03-01";
    }

    private static IEnumerable<string> Filled(RoutePattern pattern, Dictionary<string, string[]> values, string[] anything)
    {
        IEnumerable<string> paths = [""];
        foreach (var segment in pattern.PathSegments)
        {
            paths = paths.Select(p => p + "/").ToList();
            foreach (var part in segment.Parts)
            {
                string[] choices = part switch
                {
                    RoutePatternLiteralPart literal => [literal.Content],
                    RoutePatternSeparatorPart separator => [separator.Content],
                    RoutePatternParameterPart parameter => [.. values.GetValueOrDefault(parameter.Name, anything).Select(Uri.EscapeDataString)],
                    _ => throw new InvalidOperationException($"A part nobody fills: {part}"),
                };
                paths = paths.SelectMany(p => choices.Select(c => p + c)).ToList();
            }
        }

        return paths.Select(p => p.Length == 0 ? "/" : p);
    }

    private sealed record Row(string Path, long Bytes, double MedianMs, double WorstMs, double ProcessorMs);
}
