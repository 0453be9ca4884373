using Microsoft.Extensions.Logging.Abstractions;
using RootCellar.Report;
using RootCellar.Storage;
using RootCellar.Tell;
using RootCellar.Tests.Households;
using RootCellar.Tests.Lots;
using RootCellar.Tests.Storage;

namespace RootCellar.Tests.Report;

/// <summary>When the report goes out: once a week, whatever the clock does.</summary>
public sealed class ReportClockTests : IAsyncDisposable
{
    private static readonly Contact Ann = new("a", "Ann", MailChannel.ChannelName, "ann@example.org", "all");

    private readonly TempFolder folder = new();
    private readonly ReportOptions options = new();
    private readonly List<Contact> contacts = [Ann];
    private Store? store;
    private FakeClock time = new(DateTimeOffset.UnixEpoch);

    /// <summary>A clock that may also be put back.</summary>
    private sealed class FakeClock(DateTimeOffset now) : TimeProvider
    {
        public DateTimeOffset Now { get; set; } = now;

        public override DateTimeOffset GetUtcNow() => Now;
    }

    private static DateTimeOffset Local(string at) => Weeks.Chicago is var zone
        && DateTime.Parse(at, System.Globalization.CultureInfo.InvariantCulture) is var local
            ? new DateTimeOffset(local, zone.GetUtcOffset(local)) : default;

    /// <summary>The service from a moment on: with the record of before, as after a restart.</summary>
    private async Task<ReportClock> StartAsync(string at, bool withAir = true)
    {
        if (store is not null) await store.DisposeAsync();
        time = new FakeClock(Local(at));
        store = folder.Open(TimeProvider.System);
        if (withAir)
        {
            await store.WriteAsync(c =>
            {
                RootCellar.Places.PlaceRows.Save(
                    c, new RootCellar.Places.Place("cellar", "Cellar", RootCellar.Places.Purpose.Storage, null, ["potato"]));
                for (var t = Local("2026-02-20"); t < Local("2026-11-30"); t = t.AddHours(6))
                    c.Execute("INSERT OR REPLACE INTO air (place, at_ms, temperature_c, humidity_pct, quality) VALUES ('cellar', $at, 5, 90, 0)", ("$at", t.ToUnixTimeMilliseconds()));
            });
        }

        var settings = new Settings { Household = { TimeZone = "America/Chicago" }, Report = options };
        var outbox = new Outbox(new ChannelDesk(new Silent()), store, time, new TellMetrics(TestMeters.Factory), NullLogger<Outbox>.Instance);
        return new ReportClock(store, settings.Report, settings.Tell,
            new ReportMaker(settings.Household, settings.Watch, settings.Http, new ReportTemplates(null)), () => RootCellar.Ledger.Book.Empty, () => contacts, outbox, time,
                    NullLogger<ReportClock>.Instance);
    }

    private sealed class Silent : IChannel
    {
        public string Name => MailChannel.ChannelName;

        public Task<string> SendAsync(Outgoing message, CancellationToken cancellationToken) => Task.FromResult("");
    }

    private async Task<List<string>> GoAsync(ReportClock clock, string from, string to, TimeSpan? step = null)
    {
        var sent = new List<string>();
        for (time.Now = Local(from); time.Now <= Local(to); time.Now += step ?? TimeSpan.FromMinutes(20))
        {
            if (await clock.LookAsync() is { } week) sent.Add(week);
        }

        return sent;
    }

    private List<Outgoing> Queued() => [.. store!.Read(OutboxRows.Unsent)];

    [Fact]
    public async Task It_goes_out_once_a_week_at_the_households_hour_over_both_changes_of_the_clock()
    {
        // The United States put clocks forward on 8 March 2026 and back on 1 November 2026, at 2 in the night.
        using var clock = await StartAsync("2026-03-02T10:00");
        (await GoAsync(clock, "2026-03-02T10:00", "2026-03-17T10:00")).Should().Equal("2026-W10", "2026-W11");
        var spring = Queued();
        spring.Select(m => TimeZoneInfo.ConvertTime(m.CreatedAt, Weeks.Chicago)
            .ToString("ddd HH:mm", System.Globalization.CultureInfo.InvariantCulture)).Should().Equal("Sun 18:00", "Sun 18:00");
        spring.Should().OnlyContain(m => !m.Subject.Contains("Late", StringComparison.Ordinal)
            && m.Body.Contains("as far as Sun", StringComparison.Ordinal));
        (await GoAsync(clock, "2026-10-27T10:00", "2026-11-09T10:00")).Should().Equal("2026-W43", "2026-W44", "2026-W45");
        Queued().TakeLast(2).Select(m => TimeZoneInfo.ConvertTime(m.CreatedAt, Weeks.Chicago).Hour).Should().Equal(18, 18);
    }

    [Theory]
    [InlineData(1, "2026-10-31T12:00", "2026-11-02T12:00", "2026-W44")]
    [InlineData(2, "2026-03-07T12:00", "2026-03-09T12:00", "2026-W10")]
    public async Task An_hour_that_comes_twice_or_not_at_all_sends_it_once(int hour, string from, string to, string week)
    {
        options.Hour = hour;
        using var clock = await StartAsync(from);
        await clock.LookAsync();
        (await GoAsync(clock, from, to, TimeSpan.FromMinutes(5))).Should().Equal(week);
    }

    [Fact]
    public async Task A_restart_just_before_or_after_sends_it_once()
    {
        using (var clock = await StartAsync("2026-11-18T10:00")) await clock.LookAsync();
        using (var clock = await StartAsync("2026-11-22T17:59:30")) (await clock.LookAsync()).Should().BeNull();
        using (var clock = await StartAsync("2026-11-22T18:00:30")) (await clock.LookAsync()).Should().Be("2026-W47");
        using (var clock = await StartAsync("2026-11-22T18:00:40")) (await clock.LookAsync()).Should().BeNull();
        Queued().Should().ContainSingle().Which.Report.Should().Be("2026-W47");
        var said = store!.Read(c => ReportRows.Said(c, "2026-W47"))!;
        (said.Text, said.At, said.UpTo).Should().Be((Queued()[0].Body, Local("2026-11-22T18:00:30"), Local("2026-11-22T18:00")));
        store!.Read(c => ReportRows.Parts(c, "2026-W47"))!.Value.Pictures.Should().HaveCount(2);
    }

    [Fact]
    public async Task A_clock_put_back_does_not_send_it_again()
    {
        using var clock = await StartAsync("2026-11-18T10:00");
        (await GoAsync(clock, "2026-11-18T10:00", "2026-11-23T10:00")).Should().Equal("2026-W47");
        (await GoAsync(clock, "2026-11-22T12:00", "2026-11-23T10:00")).Should().BeEmpty();
        (await GoAsync(clock, "2026-11-10T12:00", "2026-11-23T10:00")).Should()
            .BeEmpty("the weeks before the program ran here are nobody's");
        (await GoAsync(clock, "2026-11-23T10:00", "2026-11-30T10:00")).Should().Equal("2026-W48");
    }

    [Fact]
    public async Task A_missed_one_comes_late_and_says_so_and_of_several_only_the_last()
    {
        using (var clock = await StartAsync("2026-11-04T10:00")) await clock.LookAsync();
        using (var clock = await StartAsync("2026-11-24T07:10")) (await GoAsync(clock, "2026-11-24T07:10", "2026-11-25T07:10")).Should()
            .Equal("2026-W47");
        var mail = Queued().Should().ContainSingle().Subject;
        mail.Subject.Should().StartWith("Late: Week 47");
        mail.Body.Should().Contain("This report comes late: it was due Sun 22 Nov 18:00").And.NotContain(
            "as far as", "the week is whole by now");
    }

    [Fact]
    public async Task A_fresh_install_gets_no_report_of_weeks_it_never_saw_and_none_with_nothing_in_it()
    {
        using var clock = await StartAsync("2026-11-20T10:00", withAir: false);
        (await GoAsync(clock, "2026-11-20T10:00", "2026-11-24T10:00")).Should().BeEmpty();
        Queued().Should().BeEmpty();
    }

    [Fact]
    public async Task Who_does_not_want_it_does_not_get_it()
    {
        contacts.Add(new Contact("b", "Ben", MailChannel.ChannelName, "ben@example.org", "all", Report: false));
        contacts.Add(new Contact("c", "Cora", MailChannel.ChannelName, "cora@example.org", "urgent"));
        contacts.Add(new Contact("d", "Dan", PostChannel.ChannelName, "+15550100", "all"));
        using var clock = await StartAsync("2026-11-18T10:00");
        (await GoAsync(clock, "2026-11-18T10:00", "2026-11-23T10:00")).Should().Equal("2026-W47");
        Queued().Select(m => m.Recipient).Should().BeEquivalentTo("ann@example.org", "cora@example.org");
        store!.Read(ContactRows.All).Should().BeEmpty();
        await store.WriteAsync(c => contacts.ForEach(contact => ContactRows.Save(c, contact)));
        store.Read(ContactRows.All).Select(c => c.Report).Should().Equal(true, false, true, true);
    }

    [Theory]
    [InlineData("Sunday", "2026-11-22T18:00", "2026-W47")]
    [InlineData("Monday", "2026-11-23T18:00", "2026-W47")]
    [InlineData("wednesday", "2026-11-25T18:00", "2026-W47")]
    [InlineData("Saturday", "2026-11-21T18:00", "2026-W46")]
    public void On_a_Sunday_it_is_about_the_week_that_ends_and_on_other_days_about_the_one_before(string day, string due, string week)
    {
        var last = new ReportOptions { Day = day }.LastDue(Local("2026-11-25T19:00"), Weeks.Chicago)!.Value;
        (last.At, last.Week.Name).Should().Be((Local(due), week));
        new ReportOptions { Day = "never" }.LastDue(last.At, Weeks.Chicago).Should().BeNull();
    }

    public async ValueTask DisposeAsync()
    {
        if (store is not null) await store.DisposeAsync();
        folder.Dispose();
    }
}
