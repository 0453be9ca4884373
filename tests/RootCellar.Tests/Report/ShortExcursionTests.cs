using System.Globalization;
using System.Text;
using Microsoft.Extensions.DependencyInjection;
using RootCellar.Monitoring;
using RootCellar.Readings;
using RootCellar.Report;
using RootCellar.Tests.Pages;

namespace RootCellar.Tests.Report;

/// <summary>Air that was beyond its limits for less than an hour: the report has one word for it.</summary>
public sealed class ShortExcursionTests
{
    [Theory]
    [InlineData(2)]
    [InlineData(4)]
    [InlineData(10)]
    [InlineData(45)]
    public async Task What_an_alarm_told_of_is_not_said_to_have_never_been(int minutes)
    {
        await using var site = await Site.OpenAsync(zone: "UTC", change: s =>
            (s.Watch.OnDelaySeconds, s.Watch.OffDelaySeconds, s.Watch.FreezingOnDelaySeconds) = (0, 0, 0));
        await site.FillAsync();
        var second = 60 - site.Time.GetUtcNow().Second;
        site.Time.Advance(TimeSpan.FromSeconds((60 * (5 - (site.Time.GetUtcNow().Minute % 5))) + second - 60));
        await AirAsync(site, 91, 32);
        await AirAsync(site, 76, minutes);
        await AirAsync(site, 91, 32);
        await site.Lots.AdvanceAsync(TestContext.Current.CancellationToken);

        var desk = site.Services.GetRequiredService<ReportDesk>();
        var text = desk.Of(desk.Running)!.Text;
        text.Should().MatchRegex("(?i)too dry.*(over after|minutes)", "an alarm was raised");
        text.Should().NotContain("Never out of it.");
        text.Split('\n').Where(l => l.Contains("Curing room: Humidity", StringComparison.Ordinal)).Should().ContainSingle().Which.Should()
            .NotContain("Never out of the band. Alarms").And.Contain("Alarms: 1.");
        text.Split('\n').Where(l => l.Contains("Curing room: Temperature", StringComparison.Ordinal)).Should().ContainSingle().Which.Should()
            .Contain("Never out of the band.");
    }

    private static async Task AirAsync(Site site, double percent, int minutes)
    {
        var pipeline = site.Services.GetRequiredService<Pipeline>();
        for (var i = 0; i < 2 * minutes; i++)
        {
            var payload = string.Create(CultureInfo.InvariantCulture, $$"""{"temperature_c":13,"humidity_pct":{{percent}}}""");
            await await pipeline.OfferAsync(new Arrived("rootcellar/curing/door", Encoding.UTF8.GetBytes(payload), WantsReceipt: true,
                Dup: false, Replay: false, null));
            site.Time.Advance(TimeSpan.FromSeconds(30));
            await pipeline.AskAsync((_, _, _) => true, TestContext.Current.CancellationToken);
        }
    }
}
