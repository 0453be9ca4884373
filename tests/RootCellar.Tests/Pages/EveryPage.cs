using System.Globalization;
using System.Net;
using System.Text;
using Microsoft.AspNetCore.Mvc.RazorPages;
using Microsoft.AspNetCore.Routing;
using Microsoft.AspNetCore.Routing.Patterns;
using Microsoft.Extensions.DependencyInjection;
using RootCellar.Household;
using RootCellar.Ledger;
using RootCellar.Pages.Help;
using RootCellar.Report;
using RootCellar.Tests.Storage;

namespace RootCellar.Tests.Pages;

/// <summary>
/// Three years of a large holding in the record, and every page and every reading address of the API there is: found by asking the service
/// what it serves, so that a page made tomorrow is visited tomorrow. Each is read the first time after a start, after something was written
/// down and five minutes have gone by, and again at once. The first start is to warm the runtime up: its times count for nothing.
/// </summary>
/// <param name="clock">Measures what a visit takes.</param>
/// <param name="processor">Processor time this process has used.</param>
/// <param name="say">Where to say what was seen on the way.</param>
internal sealed class EveryPage(TimeProvider clock, Func<TimeSpan> processor, Action<string> say)
{
    public static readonly IReadOnlyList<string> Ways = ["first", "changed", "again"];

    private readonly Dictionary<string, PageTimes> rows = new(StringComparer.Ordinal);

    /// <summary>What was visited, with its times in all starts but the first.</summary>
    public IReadOnlyDictionary<string, PageTimes> Rows => rows;

    /// <param name="starts">How many starts beside the first.</param>
    public async Task VisitAllAsync(int starts)
    {
        var years = new ThreeYears();
        using var record = new TempFolder();
        for (var start = 0; start <= starts; start++) await StartAsync(start, record, years);
    }

    public string Table()
    {
        var table = new StringBuilder(
            "Best of three by the clock, and of the processors, ms\n\n| address | KiB | first | | after a change | | again | |\n|---|---|---|---|---|---|---|---|\n");
        foreach (var (path, row) in rows.Where(r => r.Value.Times.Values.All(t => t.Count > 0))
            .OrderByDescending(r => r.Value.Times.Values.Max(t => t.Min(v => v.Processor))))
            table.AppendLine(CultureInfo.InvariantCulture,
                $"| `{path}` | {row.Bytes / 1024.0:0} | {string.Join(" | ", Ways.Select(w => $"{row.Times[w].Min(t => t.Clock):0.0} | {row.Times[w].Min(t => t.Processor):0.0}"))} |");
        return table.ToString();
    }

    private async Task StartAsync(int start, TempFolder record, ThreeYears years)
    {
        var begun = clock.GetTimestamp();
        await using var site =
            await Site.OpenAsync(fill: start == 0 ? years.FillAsync : null, at: ThreeYears.Now.AddDays(start), record: record);
        say($"{(start == 0 ? "filled and " : "")}started in {Since(begun).TotalSeconds:0.0} s");
        if (start == 0)
        {
            var underWay = await site.WordsAsync("/bins");
            if (site.Lots.Progress is not null) underWay.Should().Contain("Estimates are being worked out from the kept air");
        }

        begun = clock.GetTimestamp();
        var views = await site.Lots.AdvanceAsync(TestContext.Current.CancellationToken);
        say($"first look at the lots: {Since(begun).TotalSeconds:0.0} s, {site.Lots.Folded:n0} pieces of five minutes");
        site.Lots.Progress.Should().BeNull("every lot was looked at");
        // Half a minute later the report of the week gone by is made, and the past of three lots; the others have still to be worked out.
        var desk = site.Services.GetRequiredService<ReportDesk>();
        for (var i = 0; i < 3; i++) site.Time.Advance(TimeSpan.FromSeconds(10));
        await Sample.UntilAsync(() => desk.Has(desk.LastWhole));

        var book = site.Book;
        var bin = book.Bins.Values.Where(b => b.EmptiedAt is null).MaxBy(b => b.Entries.Count)!;
        if (start == 0) Check(book, views.Bins.Count);
        var gone = book.Lots.Values.Where(l => l.Bins.All(b => b.EmptiedAt is not null)).MaxBy(l => l.Entries.Count)!;
        var paths = Addresses(site, book, bin, book.Lots[bin.Lot])
            .Concat(Addresses(site, book, gone.Bins.MaxBy(b => b.Entries.Count)!, gone)
                .Where(p => !p.Contains('?', StringComparison.Ordinal))).Distinct(StringComparer.Ordinal).ToList();
        foreach (var path in paths) await VisitAsync(site, path, "first", start);
        await VisitAsync(site, "form read, sent and kept: eaten", "first", start,
            () => site.LogAsync("eaten", bin.Id, ("amount", "0.01"), ("unit", "lb")));
        foreach (var path in paths)
        {
            // What is asked for besides, and the forms of one kind, are read without another change before: the runtime's warming up is as
            // well.
            if (start > 0 && !path.Contains('?', StringComparison.Ordinal) && !path.StartsWith("/log/", StringComparison.Ordinal))
                await ChangeAsync(site, bin.Id);
            await VisitAsync(site, path, "changed", start);
            await VisitAsync(site, path, "again", start);
        }

        foreach (var way in Ways.Skip(1))
            await VisitAsync(site, "form read, sent and kept: eaten", way, start,
                () => site.LogAsync("eaten", bin.Id, ("amount", "0.01"), ("unit", "lb")));
        // Not held to anything, and so only where it is measured: it is made anew behind everybody's back, within a minute of what changed.
        if (start == 0) return;
        await site.WriteAsync($$"""[{"event":"eaten","bin":"{{bin.Id}}","weightKg":0.01,"at":"{{desk.LastWhole.To.AddHours(-30):O}}"}]""");
        begun = clock.GetTimestamp();
        await site.TryAsync("/report");
        say($"the week's report after an entry into that week: {Since(begun).TotalMilliseconds:0} ms");
    }

    private void Check(Book book, int full)
    {
        say($"{book.Entries.Count:n0} entries, {book.Lots.Count} lots, {book.Bins.Count} bins, {book.AllBins.Count} fillings, {full} bins full; {book.Doubts.Count} doubts");
        book.Entries.Count.Should().BeGreaterThanOrEqualTo(50_000);
        (book.Lots.Count, full).Should().Be((60, book.AllBins.Count(b => b.EmptiedAt is null)));
        book.Doubts.Count.Should()
            .BeLessThan(book.Entries.Count / 500, "it is a book somebody could have kept; first: {0}",
                book.Doubts is [var first, ..] ? first : null);
    }

    /// <summary>Something is written down, five minutes go by, and the lots are looked at.</summary>
    private static async Task ChangeAsync(Site site, string bin)
    {
        site.Time.Advance(TimeSpan.FromMinutes(5));
        await site.WriteAsync($$"""[{"event":"eaten","bin":"{{bin}}","weightKg":0.005}]""");
        await site.Lots.AdvanceAsync(TestContext.Current.CancellationToken);
    }

    private async Task VisitAsync(Site site, string path, string way, int start, Func<Task>? act = null)
    {
        var (begun, before) = (clock.GetTimestamp(), processor());
        var (status, bytes) = (HttpStatusCode.OK, 0L);
        if (act is null) (status, bytes) = await site.TryAsync(path);
        else await act();
        var time = (Since(begun).TotalMilliseconds, (processor() - before).TotalMilliseconds);
        if (status == HttpStatusCode.InternalServerError) throw new InvalidOperationException($"{path} fails");
        // Leads elsewhere, or there is no such thing: another of the addresses made of it is measured.
        if (status != HttpStatusCode.OK) return;
        if (!rows.TryGetValue(Short(path), out var row)) rows.Add(Short(path), row = new PageTimes());
        row.Bytes = bytes;
        if (start > 0) row.Times[way].Add(time);
    }

    private TimeSpan Since(long begun) => clock.GetElapsedTime(begun);

    private static string Short(string path) => path.Length > 90 ? path[..90] + "…" : path;

    /// <summary>
    /// Everything that can be read: each page with the biggest there is for what its address asks for, and again with that as a query.
    /// </summary>
    public static IEnumerable<string> Addresses(Site site, Book book, BinView bin, LotView lot)
    {
        var values = new Dictionary<string, string[]>(StringComparer.OrdinalIgnoreCase)
        {
            ["bin"] = [bin.Id],
            ["lot"] = [lot.Id],
            ["place"] = ["cellar"],
            ["row"] = [lot.Row!],
            ["order"] = [book.Orders[^1].Order],
            ["what"] = ["dug", "filled", .. LogKinds.OfBin.Select(k => k.Name)],
            ["figure"] = ["temperature", "humidity"],
            ["name"] = ["site.css"],
            ["open"] = ["", .. HelpParts.All.Where(p => p.Open).Select(p => p.Name)],
            ["part"] = [.. HelpParts.All.Where(p => !p.Open).Select(p => p.Name)],
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
                    RoutePatternParameterPart parameter =>
                        [.. values.GetValueOrDefault(parameter.Name, anything).Select(Uri.EscapeDataString)],
                    _ => throw new InvalidOperationException($"A part nobody fills: {part}"),
                };
                paths = paths.SelectMany(p => choices.Select(c => p + c)).ToList();
            }
        }

        return paths.Select(p => p.Length == 0 ? "/" : p);
    }
}

/// <summary>One address: how much it answers with, and how long its visits took.</summary>
internal sealed class PageTimes
{
    public long Bytes { get; set; }

    /// <summary>By way of visit: ms by the clock, and of all processors.</summary>
    public Dictionary<string, List<(double Clock, double Processor)>> Times { get; } =
        EveryPage.Ways.ToDictionary(w => w, _ => new List<(double Clock, double Processor)>(), StringComparer.Ordinal);
}
