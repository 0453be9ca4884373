using System.Globalization;
using System.Net;
using Microsoft.Extensions.DependencyInjection;
using RootCellar.Monitoring;
using RootCellar.Places;
using RootCellar.Storage;
using RootCellar.Tell;
using RootCellar.Tests.Pages;
using RootCellar.Tests.Storage;
using RootCellar.Watch;

namespace RootCellar.Tests.Households;

/// <summary>
/// A machine without a battery clock: its power goes, it starts with a wrong time, and that is put right later. The whole service over MQTT,
/// on a clock that is set as a time service sets it.
/// </summary>
public sealed class TimeNotKnownTests : IDisposable
{
    // Potato storage, harmed over 50 F.
    private const double Warm = 11.7;
    private const double Well = 7;

    private static readonly TimeSpan Away = TimeSpan.FromMinutes(40);

    private readonly TempFolder record = new();
    private readonly TempFolder machine = new();
    private readonly List<(DateTimeOffset At, double Temperature)> sent = [];

    private static CancellationToken Cancelled => TestContext.Current.CancellationToken;

    private string Mark => Path.Combine(machine.Path, "synchronized");

    public void Dispose()
    {
        record.Dispose();
        machine.Dispose();
    }

    [Theory]
    [InlineData(0)]
    [InlineData(-365)]
    [InlineData(-21)]
    [InlineData(365)]
    public async Task A_wrong_time_at_a_start_fires_clears_and_loses_nothing_and_is_put_right(int daysWrong)
    {
        await BeforeAsync(Warm, minutes: 25);
        await using var house = await StartAsync(Away, TimeSpan.FromDays(daysWrong));
        var (site, radio) = (house.Site, house.Radio);
        var texts = await TextsAsync(site);
        texts.Should().ContainSingle("it was told before the power went");
        var alarm = (await OpenAsync(site)).Single();
        await GoAsync(site, radio, 50, Warm);

        (await site.WordsAsync("/")).Should().Contain("The time is not known yet").And.Contain("Rooms are watched and alarms go out;");
        (await site.ReadAsync("/health/ready")).Should().Contain("\"time\":\"degraded\"");
        (await site.ReadAsync("/metrics")).Should().Contain("rootcellar_time_known{} 0");
        await site.LogAsync("weighed", "B1", ("amount", "49"), ("unit", "lb"));
        var weighed = site.Time.GetUtcNow() - site.Time.Offset;
        await GoAsync(site, radio, 10, Warm);
        await KnownAsync(site);
        await GoAsync(site, radio, 3, Warm);

        (await TextsAsync(site)).Should().Equal(texts, "nothing happened but that the time is known");
        (await OpenAsync(site)).Select(a => (a.Id, a.Active, a.Since, a.State)).Should().Equal((alarm.Id, true, alarm.Since, alarm.State));
        Kept(site).Should().Equal(sent, "each reading is there once, at its own moment");
        var last = sent[^1].At;
        AirMoments(site).Should().NotContain(at => at > last.AddMinutes(1)).And.OnlyHaveUniqueItems();
        AirMoments(site).Count(at => at > last.AddMinutes(-60)).Should().BeGreaterThan(9);
        var entry = site.Book.Find(site.Book.Entries.First(e => e.Entry.Event == "weighed").Entry.Id)!;
        entry.At.Should().BeCloseTo(weighed, TimeSpan.FromSeconds(10));
        (await site.Lots.AdvanceAsync(Cancelled)).Bins["B1"].DarkHours.Should().BeLessThan(1.5);
        (await site.WordsAsync("/")).Should().NotContain("The time is not known yet");
        (await site.ReadAsync("/health/ready")).Should().Contain("\"time\":\"healthy\"");

        await GoAsync(site, radio, 20, Well);
        (await TextsAsync(site)).Should().HaveCount(2).And.Contain(t => t.StartsWith("CELLAR fine again", StringComparison.Ordinal));
    }

    [Fact]
    public async Task What_freezes_meanwhile_is_told_with_its_hour_in_doubt_and_at_any_hour()
    {
        await BeforeAsync(Well, minutes: 5, quiet: true);
        await using var house = await StartAsync(Away, TimeSpan.FromDays(-365));
        await GoAsync(house.Site, house.Radio, 5, Well);
        await GoAsync(house.Site, house.Radio, 25, Warm);
        (await TextsAsync(house.Site)).Should().ContainSingle("nobody knows whether it is a quiet hour").Which.Should()
            .StartWith("CELLAR 3F too warm").And.Contain("Hours may be off.");
        await GoAsync(house.Site, house.Radio, 20, -1);
        (await TextsAsync(house.Site)).Should().Contain(t => t.StartsWith("URGENT CELLAR", StringComparison.Ordinal));
        var warm = (await OpenAsync(house.Site)).Single(a => a.Rule == Rule.TooWarm);
        await house.Site.Services.GetRequiredService<Pipeline>().AskAsync((live, wall, mono) => live.Acknowledge(warm.Id, "Nell", mono, wall), Cancelled);
        await SettledAsync(house.Site);
        var counted = Moments(house.Site, TimeSpan.Zero);
        counted.Should().HaveCount(2).And.Contain(a => a.Rule == Rule.TooWarm && a.Returned != null).And.Contain(a => a.Rule == Rule.FreezingNear);
        await KnownAsync(house.Site);
        Moments(house.Site, -Away).Should().Equal(counted, "all of it was so much later than was counted, what is over and what holds");
    }

    [Fact]
    public async Task A_power_cut_in_the_middle_of_a_delay_raises_nothing_by_readings_of_before()
    {
        await BeforeAsync(Warm, minutes: 19);
        await using var house = await StartAsync(Away, TimeSpan.FromDays(-365));
        await GoAsync(house.Site, house.Radio, 10, null);
        (await OpenAsync(house.Site)).Should().BeEmpty();
        await KnownAsync(house.Site);
        await GoAsync(house.Site, house.Radio, 5, null);
        (await OpenAsync(house.Site)).Should().BeEmpty();
    }

    [Fact]
    public async Task A_start_within_the_same_start_of_the_machine_counts_on_and_both_are_put_right_once()
    {
        await BeforeAsync(Well, minutes: 5);
        var (note, counting) = (Path.Combine(record.Path, "clock.json"), "");
        // Shorter than it counts: what was moved lies among what was counted.
        await using (var first = await StartAsync(TimeSpan.FromMinutes(5), TimeSpan.FromDays(-21))) await GoAsync(first.Site, first.Radio, 10, Well);
        await using (var second = await StartAsync(TimeSpan.FromMinutes(3), TimeSpan.FromDays(-21)))
        {
            await GoAsync(second.Site, second.Radio, 10, Well);
            counting = await File.ReadAllTextAsync(note, Cancelled);
            await KnownAsync(second.Site);
            Kept(second.Site).Should().Equal(sent);
        }

        // Killed before it could note that it is done.
        await File.WriteAllTextAsync(note, counting, Cancelled);
        await using (var third = await StartAsync(TimeSpan.FromMinutes(3), TimeSpan.Zero))
        {
            await GoAsync(third.Site, third.Radio, 5, Well);
            Kept(third.Site).Should().Equal(sent);
        }

        (await File.ReadAllTextAsync(note, Cancelled)).Should().Contain("\"From\": null");
    }

    [Fact]
    public async Task Days_that_a_sensor_kept_are_of_their_own_hours_though_they_come_before_the_time_is_known()
    {
        await BeforeAsync(Well, minutes: 5);
        var from = sent[^1].At.AddMinutes(10);
        var away = TimeSpan.FromHours(30);
        await using var house = await StartAsync(away, TimeSpan.FromDays(-21));
        for (var i = 0; i < 170; i++)
        {
            await house.Radio.SayAsync(
                "rootcellar/cellar/door", $$"""{"temperature_c":{{5 + (i % 7)}},"humidity_pct":92,"time":{{from.AddMinutes(10 * i).ToUnixTimeSeconds()}}}""");
        }

        await house.Radio.SayAsync("rootcellar/cellar/door", $$"""{"temperature_c":4,"humidity_pct":92,"time":4000000000}""");
        await KnownAsync(house.Site);
        var kept = Kept(house.Site);
        kept.Should().HaveCount(sent.Count + 171);
        kept.Skip(sent.Count).Take(170).Should().Equal(Enumerable.Range(0, 170).Select(i => (Second(from.AddMinutes(10 * i)), 5.0 + (i % 7))));
        kept[^1].At.Should().BeBefore(house.Site.Time.GetUtcNow(), "a device's time in the year 2096 is not its hour");
        await GoUntilAsync(house.Site, () => AirMoments(house.Site).Count(at => at > from && at < from.AddHours(28)) > 300);
    }

    [Fact]
    public async Task Without_the_internet_a_phone_gives_the_time()
    {
        await BeforeAsync(Well, minutes: 5);
        await using (var house = await StartAsync(Away, TimeSpan.FromDays(-365)))
        {
            await GoAsync(house.Site, house.Radio, 5, Well);
            var now = (house.Site.Time.GetUtcNow() - house.Site.Time.Offset).ToUnixTimeMilliseconds();
            var page = await house.Site.ReadAsync("/");
            foreach (var wrong in new[] { "", "12", "soon" })
                (await house.Site.SendAsync("/?handler=Time", page, ("phone", wrong))).Words.Should().Contain("time was not used");

            (await house.Site.SendAsync("/?handler=Time", page, ("phone", now.ToString(CultureInfo.InvariantCulture)))).Status.Should().Be(HttpStatusCode.Found);
            Kept(house.Site).Should().Equal(sent);
            (await house.Site.WordsAsync("/")).Should().NotContain("The time is not known yet");
        }

        // It is still wrong to the machine.
        await using var again = await StartAsync(TimeSpan.FromMinutes(3), TimeSpan.FromDays(-365));
        await GoAsync(again.Site, again.Radio, 5, Well);
        Kept(again.Site).Should().Equal(sent);
        (await again.Site.WordsAsync("/")).Should().NotContain("The time is not known yet");
    }

    [Fact]
    public async Task The_weekly_report_waits_for_the_time_an_hour_at_most()
    {
        await BeforeAsync(Well, minutes: 5);
        await using var house = await StartAsync(TimeSpan.FromDays(9), TimeSpan.FromDays(-365));
        var clock = (HouseClock)house.Site.Services.GetRequiredService<TimeProvider>();
        clock.HourCounts.Should().BeFalse();
        house.Site.Time.Advance(TimeSpan.FromMinutes(61));
        (clock.HourCounts, clock.IsKnown).Should().Be((true, false));
        await GoAsync(house.Site, house.Radio, 1, Well);
        (await house.Site.WordsAsync("/")).Should().Contain("go by its own count meanwhile");
        await KnownAsync(house.Site);
        Kept(house.Site).Should().Equal(sent);
    }

    private async Task BeforeAsync(double temperature, int minutes, bool quiet = false)
    {
        await File.WriteAllTextAsync(Mark, "", Cancelled);
        await using (var house = await OpenAsync(Sample.At, TimeSpan.Zero, known: null))
        {
            (await house.Site.SendJsonAsync(HttpMethod.Post, "/api/contacts", quiet
                ? """{"name":"Nell","channel":"modem","address":"+15551234567","quietFrom":"00:00","quietTo":"23:59"}"""
                : """{"name":"Nell","channel":"modem","address":"+15551234567"}""")).Status.Should().Be(HttpStatusCode.Created);
            await house.Site.WriteAsync("""
                [{"event":"dug","lot":"2025-1","crop":"potato","variety":"Kennebec"},
                 {"event":"filled","bin":"B1","lot":"2025-1","weightKg":22.7,"place":"cellar"}]
                """);
            await GoAsync(house.Site, house.Radio, minutes, temperature);
        }

        File.Delete(Mark);
    }

    // So long after it was last heard, with a clock that is so wrong.
    private Task<House> StartAsync(TimeSpan away, TimeSpan wrong) => OpenAsync(sent[^1].At.AddMinutes(1) + away, wrong, known: "as before");

    private async Task<House> OpenAsync(DateTimeOffset at, TimeSpan wrong, string? known)
    {
        var port = Radio.FreePort();
        var site = await Site.OpenAsync(record: record, at: at, known: known, zone: "UTC", change: s =>
        {
            s.Mqtt.Listen = $"127.0.0.1:{port}";
            (s.Tell.Modem.On, s.Tell.Modem.Program, s.Tell.Modem.Answers) = (true, "/bin/true", false);
        }, clock: (time, folder) =>
        {
            time.Offset = wrong;
            return new HouseClock(folder, new MachineClock(time, machine.Path, machine.Path, "this start", Sample.At.AddDays(-30)));
        });
        return new House(site, await Radio.OnAsync(port));
    }

    private async Task KnownAsync(Site site)
    {
        site.Time.Offset = TimeSpan.Zero;
        await File.WriteAllTextAsync(Mark, "", Cancelled);
        var clock = (HouseClock)site.Services.GetRequiredService<TimeProvider>();
        await GoUntilAsync(site, () => clock.IsKnown);
        await GoUntilAsync(site, () => File.ReadAllText(Path.Combine(record.Path, "clock.json")).Contains("\"From\": null", StringComparison.Ordinal));
        await SettledAsync(site);
    }

    private async Task GoAsync(Site site, Radio radio, int minutes, double? temperature)
    {
        for (var minute = 0; minute < minutes; minute++)
        {
            if (temperature is { } c)
            {
                sent.Add((Second(site.Time.GetUtcNow() - site.Time.Offset), c));
                await radio.SayAsync("rootcellar/cellar/door", $$"""{"temperature_c":{{c}},"humidity_pct":92}""");
            }

            for (var part = 0; part < 6; part++)
            {
                site.Time.Advance(TimeSpan.FromSeconds(10));
                await site.Services.GetRequiredService<Pipeline>().AskAsync((_, _, _) => true, Cancelled);
            }
        }

        await SettledAsync(site);
    }

    private static async Task GoUntilAsync(Site site, Func<bool> holds)
    {
        using var patience = new CancellationTokenSource(TimeSpan.FromMinutes(1));
        while (!holds())
        {
            site.Time.Advance(TimeSpan.FromSeconds(5));
            await Task.Delay(5, patience.Token);
        }
    }

    private static async Task SettledAsync(Site site)
    {
        await site.Services.GetRequiredService<Pipeline>().AskAsync((_, _, _) => true, Cancelled);
        await site.Store.WriteAsync(_ => { });
    }

    private static async Task<IReadOnlyList<string>> TextsAsync(Site site)
    {
        await SettledAsync(site);
        return [.. site.Store.Read(c => OutboxRows.Latest(c, 100)).Where(t => t.State != OutgoingState.Held).OrderBy(t => t.CreatedAt).Select(t => t.Sms)];
    }

    private static async Task<IReadOnlyList<Alarm>> OpenAsync(Site site)
    {
        await SettledAsync(site);
        return site.Services.GetRequiredService<Pipeline>().Snapshot.OpenAlarms;
    }

    private static List<(DateTimeOffset At, double Temperature)> Kept(Site site) => site.Store.Read(c => c.Query(
        "SELECT at_ms, value FROM reading WHERE quantity = 1 ORDER BY at_ms", row => (Second(row.Time(0)), row.GetDouble(1))));

    private static List<DateTimeOffset> AirMoments(Site site) =>
        [.. site.Store.Read(c => PlaceRows.Air(c, "cellar", DateTimeOffset.UnixEpoch, DateTimeOffset.MaxValue)).Select(a => a.At)];

    private static IReadOnlyList<(Rule Rule, DateTimeOffset Since, DateTimeOffset Raised, DateTimeOffset? Returned)> Moments(Site site, TimeSpan by) =>
        [.. site.Store.Read(c => AlarmRows.Between(c, DateTimeOffset.UnixEpoch.AddDays(200), DateTimeOffset.MaxValue.AddDays(-1)))
            .Select(a => (a.Rule, a.Since + by, a.RaisedAt + by, a.ReturnedAt + by))];

    // The record has milliseconds, the clock has more.
    private static DateTimeOffset Second(DateTimeOffset at) => DateTimeOffset.FromUnixTimeSeconds((long)Math.Round(at.ToUnixTimeMilliseconds() / 1000.0));

    private sealed record House(Site Site, Radio Radio) : IAsyncDisposable
    {
        public async ValueTask DisposeAsync()
        {
            await Radio.DisposeAsync();
            await Site.DisposeAsync();
        }
    }
}
