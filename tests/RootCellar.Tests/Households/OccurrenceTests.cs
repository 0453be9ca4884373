using System.Net;
using System.Text.Json;
using System.Text.RegularExpressions;
using Microsoft.Extensions.DependencyInjection;
using RootCellar.Household;
using RootCellar.Monitoring;
using RootCellar.Report;
using RootCellar.Storage;
using RootCellar.Tests.Pages;
using RootCellar.Watch;

namespace RootCellar.Tests.Households;

/// <summary>An alarm that comes back before anybody saw it: each raising stays in the record as it was.</summary>
public sealed class OccurrenceTests
{
    [Fact]
    public async Task A_three_day_alarm_stays_in_its_week_when_it_is_raised_again_in_the_next()
    {
        await using var farm = await Farm.WithCellarAsync(Farm.AtOnce());
        await SayAsync(farm, 5);
        // Ten degrees in no time are no air's doing, and would not be believed.
        farm.Time.Advance(TimeSpan.FromMinutes(6));
        var began = farm.Time.GetUtcNow();
        await SayAsync(farm, 15);
        farm.Time.Advance(TimeSpan.FromHours(1));
        await SayAsync(farm, 18);
        // Off for the days between: what counts is when it was raised and when it was over.
        await farm.RestartAsync(TimeSpan.FromDays(3));
        await SayAsync(farm, 5);
        var over = farm.Time.GetUtcNow();
        await farm.RestartAsync(TimeSpan.FromDays(7));
        await SayAsync(farm, 14);

        var first = farm.Store.Read(c => AlarmRows.Between(c, began.AddDays(-1), over.AddDays(1))).Single(a => a.Rule == Rule.TooWarm);
        first.Worst.Should().Be(18);
        first.Lasted(farm.Time.GetUtcNow()).Should().BeCloseTo(over - began, TimeSpan.FromMinutes(2));
        var week = AlarmWeek.Of([first], over.AddDays(1));
        week.Returned!.Slowest.Should().Be(first.Lasted(over));
        AlarmShape.Of(first).LastedSeconds.Should().BeApproximately((over - began).TotalSeconds, 120);
        var now = farm.Store.Read(AlarmRows.Open).Single(a => a.Rule == Rule.TooWarm);
        (now.Id, now.Count, now.Active).Should().Be((first.Id, 2, true));
        farm.Store.Read(c => AlarmRows.Past(c, 10)).Should().Contain(a => a.Id == first.Id && a.Count == 1);
    }

    [Fact]
    public async Task Raised_over_and_raised_again_before_anybody_saw_it_is_two_in_report_and_API_and_each_has_one_length()
    {
        var port = Radio.FreePort();
        await using var site = await Site.OpenAsync(change: s =>
        {
            s.Mqtt.Listen = $"127.0.0.1:{port}";
            (s.Watch.OnDelaySeconds, s.Watch.OffDelaySeconds) = (600, 900);
            // Nobody listens there: the texts wait, and are shown.
            s.Tell.Post.Url = "http://127.0.0.1:9/";
        });
        await using var radio = await Radio.OnAsync(port);
        // A jump within five minutes of the last value is not believed at once, so the sensor pauses before each.
        await GoAsync(10, 5);
        await GoAsync(6, null);
        var began = site.Time.GetUtcNow();
        await GoAsync(63, 15);
        await GoAsync(6, null);
        await GoAsync(30, 5);
        await GoAsync(6, null);
        await GoAsync(40, 16);

        using var alarms = JsonDocument.Parse(await site.ReadAsync("/api/alarms"));
        var alarm = alarms.RootElement.EnumerateArray().Single(a => a.GetProperty("rule").GetString() == "too-warm");
        alarm.GetProperty("count").GetInt32().Should().Be(2);
        var raised = alarm.GetProperty("occurrences").EnumerateArray().ToList();
        raised.Select(o => o.GetProperty("number").GetInt32()).Should().Equal(1, 2);
        raised.Select(o => o.GetProperty("worst").GetDouble()).Should().Equal(15, 16);
        var first = raised[0];
        first.GetProperty("since").GetDateTimeOffset().Should().Be(began);
        first.GetProperty("raisedAt").GetDateTimeOffset().Should().Be(began.AddMinutes(10));
        first.GetProperty("returnedAt").GetDateTimeOffset().Should()
            .Be(began.AddMinutes(69), "the fifteen minutes of waiting are no part of it");
        first.GetProperty("lastedSeconds").GetDouble().Should().Be(69 * 60);
        first.GetProperty("acknowledgedAt").ValueKind.Should().Be(JsonValueKind.Null);
        (raised[1].GetProperty("returnedAt").ValueKind, raised[1].GetProperty("lastedSeconds").ValueKind).Should()
            .Be((JsonValueKind.Null, JsonValueKind.Null));

        // One length in the text that says it is over, on the page and in the report.
        const string Length = "1 h 9 min";
        (await site.WordsAsync("/sent")).Should().Contain("after " + Length, "the text says so");
        var page = await site.ReadAsync("/alarms");
        Site.Words(page[page.IndexOf("id=\"past\"", StringComparison.Ordinal)..]).Should().Contain(Length);
        var report = await site.WordsAsync("/report?week=2025-W40");
        report.Should().Contain($"over after {Length}, nobody answered").And.Contain("still holds, nobody answered");
        Regex.Count(report, "Too warm, Cellar", RegexOptions.None, TimeSpan.FromSeconds(5)).Should().Be(2);

        // Seen now is the second; nobody saw the first.
        var id = alarm.GetProperty("id").GetString()!;
        (await site.SendAsync("/alarms?handler=Acknowledge", await site.ReadAsync("/alarms"), ("id", id),
            ("back", "/alarms"))).Status.Should().Be(HttpStatusCode.Found);
        using var after = JsonDocument.Parse(await site.ReadAsync("/api/alarms?state=acknowledged"));
        after.RootElement.EnumerateArray().Single(a => a.GetProperty("id").GetString() == id).GetProperty("occurrences").EnumerateArray()
            .Select(o => o.GetProperty("acknowledgedBy").GetString()).Should().Equal(null, "Ann");

        async Task GoAsync(int minutes, double? celsius)
        {
            for (var minute = 0; minute < minutes; minute++)
            {
                if (celsius is not null)
                    await radio.SayAsync("rootcellar/cellar/door", $$"""{"temperature_c":{{celsius}},"humidity_pct":92}""");
                for (var second = 0; second < 60; second++) site.Time.Advance(TimeSpan.FromSeconds(1));
                await site.Services.GetRequiredService<Pipeline>().AskAsync((_, _, _) => true, TestContext.Current.CancellationToken);
                await site.Store.WriteAsync(_ => { });
            }
        }
    }

    private static async Task SayAsync(Farm farm, double celsius)
    {
        await farm.SayAsync("rootcellar/cellar/door", FormattableString.Invariant($$"""{"temperature_c":{{celsius}},"humidity_pct":92}"""));
        await farm.SettledAsync();
    }
}
