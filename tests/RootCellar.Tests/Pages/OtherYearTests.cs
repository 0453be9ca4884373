using System.Globalization;
using System.Text;
using System.Text.RegularExpressions;
using Microsoft.Extensions.DependencyInjection;
using RootCellar.Monitoring;
using RootCellar.Readings;
using RootCellar.Report;

namespace RootCellar.Tests.Pages;

/// <summary>A household in the first days of January, whose book, alarms, sensors and report are of the year before.</summary>
public sealed class OtherYearTests
{
    private static readonly DateTimeOffset December = new(2025, 12, 20, 9, 0, 0, TimeSpan.Zero);

    private static readonly Regex WithoutYear = new(
        @"\b\d{1,2} (Oct|Nov|Dec)[a-z]*\b(?! 2025)", RegexOptions.ExplicitCapture, TimeSpan.FromSeconds(5));

    // "1 weighs" and "1 is" are no plurals; "1 lens" does not happen.
    private static readonly Regex OneOfMany = new(
        @"(?<![\d.,:]|[A-Za-z]-?)1 (?!is\b|was\b|has\b|loss\b|less\b|class\b|this\b)[a-z]+s\b", RegexOptions.None, TimeSpan.FromSeconds(5));

    [Fact]
    public async Task Every_day_of_the_year_before_is_said_with_its_year_and_one_is_one()
    {
        await using var site = await Site.OpenAsync(zone: "UTC", at: December, change: s =>
        {
            (s.Watch.OnDelaySeconds, s.Watch.OffDelaySeconds) = (0, 0);
            s.Tell.Post.Url = "http://127.0.0.1:9/";
        });
        await site.WriteAsync(
            """
            [{"event":"row-planted","row":"N1","crop":"potato","plantedOn":"2025-05-20","at":"2025-12-20T07:00:00Z"},
             {"event":"vines-dead","row":"N1","on":"2025-09-10","at":"2025-12-20T07:00:00Z"},
             {"event":"dug","lot":"R","crop":"potato","row":"N1","dugOn":"2025-10-03","weightKg":41,"at":"2025-10-03T08:00:00Z","checked":true},
             {"event":"filled","bin":"B1","lot":"R","weightKg":20,"place":"curing","at":"2025-10-03T09:00:00Z","checked":true},
             {"event":"moved","bin":"B1","place":"cellar","at":"2025-11-01T09:00:00Z","checked":true},
             {"event":"dug","lot":"O","crop":"onion","dugOn":"2025-09-03","at":"2025-09-03T08:00:00Z","checked":true},
             {"event":"filled","bin":"B2","lot":"O","weightKg":20,"place":"cellar","at":"2025-09-03T09:00:00Z","checked":true},
             {"event":"weighed","bin":"B1","weightKg":19.4,"at":"2025-12-01T09:00:00Z","checked":true},
             {"event":"sprouts-seen","bin":"B2","share":"few","at":"2025-12-18T09:00:00Z","checked":true},
             {"event":"condition-seen","bin":"B1","what":"soft","at":"2025-12-19T09:00:00Z","checked":true},
             {"event":"promised","order":"Inn","crop":"potato","weightKg":1,"due":"2025-12-28","at":"2025-12-19T09:00:00Z","checked":true},
             {"event":"culled","bin":"B1","weightKg":1,"reason":"rot","at":"2025-12-10T09:00:00Z","checked":true}]
            """);
        await SayAsync(site, "cellar", 4, 92);
        await SayAsync(site, "cellar", 12, 92);
        await SayAsync(site, "cellar", 12, 92);
        site.Time.Advance(TimeSpan.FromDays(16));
        await SayAsync(site, "curing", 13, 92);
        await site.Lots.AdvanceAsync(TestContext.Current.CancellationToken);
        var desk = site.Services.GetRequiredService<ReportDesk>();
        var found = new List<string>();
        foreach (var path in (string[])
        [
            "/", "/bins", "/bins/B1", "/bins/B2", "/lots/R", "/lots/O", "/stock", "/ahead", "/rows", "/rows/N1", "/alarms", "/sensors", "/sent", "/log",
            "/log/weighed?bin=B1", "/log/sold?bin=B1", "/log/filled?lot=R", "/log/undo/5", "/log/correct/8", "/places/cellar", "/places/curing", "/report", "/labels?sheet=a4&bin=B1",
            "/set-up", "/crops", "/more",
        ])
        {
            var answer = await site.LookAsync(path);
            if (answer.Status == System.Net.HttpStatusCode.OK) Read(path, answer.Words);
        }

        Read("report", desk.Of(desk.Running)!.Text);
        Read("report of the week before", desk.Of(desk.LastWhole)!.Text);
        foreach (var bin in site.Lots.Views.Bins.Values) Read($"advice of {bin.Bin}", bin.Advice.Text);
        string.Join('\n', found).Should().BeEmpty();

        void Read(string where, string text)
        {
            foreach (var match in WithoutYear.Matches(text).Concat(OneOfMany.Matches(text)))
                found.Add($"{where}: {text[Math.Max(0, match.Index - 60)..Math.Min(text.Length, match.Index + 50)].ReplaceLineEndings(" ")}");
        }
    }

    private static async Task SayAsync(Site site, string place, double c, double percent)
    {
        var payload = string.Create(CultureInfo.InvariantCulture, $$"""{"temperature_c":{{c}},"humidity_pct":{{percent}}}""");
        var pipeline = site.Services.GetRequiredService<Pipeline>();
        await await pipeline.OfferAsync(new Arrived($"rootcellar/{place}/door", Encoding.UTF8.GetBytes(payload), WantsReceipt: true,
            Dup: false, Replay: false, null));
        site.Time.Advance(TimeSpan.FromMinutes(5));
        await pipeline.AskAsync((_, _, _) => true, TestContext.Current.CancellationToken);
    }
}
