using System.Net;
using System.Text.Json;
using System.Text.RegularExpressions;
using Ical.Net.CalendarComponents;
using Microsoft.Extensions.DependencyInjection;
using RootCellar.Entry;
using RootCellar.Household;
using RootCellar.Monitoring;
using RootCellar.Pages;
using RootCellar.Places;
using RootCellar.Storage;
using RootCellar.Tests.Entry;

namespace RootCellar.Tests.Pages;

/// <summary>What is coming, as a phone's calendar reads it: the same as To do, Stock and Ahead say, at an address that is the key.</summary>
public sealed partial class CalendarTests
{
    // In the household's zone it is still the evening before.
    private static readonly DateTimeOffset Now = new(2025, 11, 21, 2, 0, 0, TimeSpan.Zero);

    private static readonly DateOnly Today = new(2025, 11, 20);

    /// <summary>A lot in the cellar, one fit to move, one that will be, and orders.</summary>
    private const string Season = """
        [{"event":"dug","lot":"K","crop":"potato","variety":"Kennebec","weightKg":100,"at":"2025-09-20T12:00:00Z"},
         {"event":"filled","lot":"K","bin":"K1","weightKg":45,"place":"cellar","at":"2025-09-21T12:00:00Z"},
         {"event":"filled","lot":"K","bin":"K2","weightKg":40,"place":"cellar","at":"2025-09-21T12:05:00Z"},
         {"event":"dug","lot":"Y","crop":"potato","variety":"Yukon Gold","weightKg":30,"at":"2025-11-15T12:00:00Z"},
         {"event":"filled","lot":"Y","bin":"Y1","weightKg":30,"place":"curing","at":"2025-11-15T12:00:00Z"},
         {"event":"dug","lot":"W","crop":"potato","variety":"Kennebec","weightKg":20,"at":"2025-10-20T12:00:00Z"},
         {"event":"filled","lot":"W","bin":"W1","weightKg":10,"place":"curing","at":"2025-10-20T12:00:00Z"},
         {"event":"filled","lot":"W","bin":"W2","weightKg":10,"place":"curing","at":"2025-10-20T12:00:00Z"},
         {"event":"promised","order":"School","crop":"potato","weightKg":10,"due":"2025-12-24","at":"2025-11-19T12:00:00Z"},
         {"event":"promised","order":"Inn, the; old","crop":"potato","weightKg":5,"due":"2025-11-10","checked":true,"at":"2025-11-01T12:00:00Z"},
         {"event":"promised","order":"Whenever","crop":"potato","weightKg":1,"at":"2025-11-19T12:00:00Z"}]
        """;

    [Fact]
    public async Task A_phone_reads_what_To_do_Stock_and_Ahead_say_on_the_households_days()
    {
        await using var site = await OpenAsync();
        using var phone = new Visitor(site);
        var text = (await phone.GetAsync(await AddressAsync(site))).Html;
        phone.Headers["Content-Type"].Should().Equal("text/calendar; charset=utf-8");
        phone.Headers["Cache-Control"].Should().Equal("no-store");
        text.Should().StartWith("BEGIN:VCALENDAR").And.Contain("DTSTART;VALUE=DATE:20251120").And.NotContain("DTSTART:");
        var events = Events(text);
        events.Select(e => e.Uid).Should().OnlyHaveUniqueItems();
        events.Should().OnlyContain(e => e.IsAllDay);

        // Fit to move, now and within the week: To do's own lines.
        site.Speak();
        var todo = site.Services.GetRequiredService<ToDo>().Of(site.Services.GetRequiredService<Pipeline>().Snapshot);
        var moves = todo.Lines.Where(l => l.What == Strings.FitToMoveNow).Concat(todo.Coming).ToList();
        moves.Should().HaveCountGreaterThan(1);
        events.Where(e => e.Summary!.StartsWith("Move ", StringComparison.Ordinal)).Select(e => (e.Summary, e.Description)).Should()
            .BeEquivalentTo(moves.Select(l => ($"Move {string.Join(", ", l.Bins)} to Cellar", l.What)));
        On(events, "Move W1, W2 to Cellar").Should().Be(Today, "what is due is due today");
        On(events, "Move Y1 to Cellar").Should().BeAfter(Today);

        // Orders with a day, those that are late today.
        On(events, "Order School: 22 lb Potato").Should().Be(new DateOnly(2025, 12, 24));
        On(events, "Order Inn, the; old: 11 lb Potato").Should().Be(Today);
        events.Should().NotContain(e => e.Summary!.Contains("Whenever", StringComparison.Ordinal));

        // Sprouts and the end: Ahead's own days.
        using var ahead = JsonDocument.Parse(await site.ReadAsync("/api/ahead"));
        var calendar = site.Services.GetRequiredService<HouseholdCalendar>();
        foreach (var lot in ahead.RootElement.GetProperty("lots").EnumerateArray())
        {
            var (name, present) = (lot.GetProperty("lot").GetString(), lot.GetProperty("present"));
            foreach (var (when, what) in new[]
            {
                (present.GetProperty("sprouts"), "First sprouts"), (present.GetProperty("lastsUntil").GetProperty("when"), "Lasts until about now"),
            })
            {
                var day = when.GetProperty("likely") is { ValueKind: JsonValueKind.String } likely ? calendar.DayOf(likely.GetDateTimeOffset()) : (DateOnly?)null;
                events.Where(e => e.Summary!.StartsWith($"{what}: {name},", StringComparison.Ordinal)).Select(e => (DateOnly?)e.Start!.Date).Should()
                    .Equal(day >= Today ? [day] : [], $"{what} of {name}");
            }
        }

        events.Should().Contain(e => e.Summary!.StartsWith("First sprouts", StringComparison.Ordinal));
        // Sundays at six, as the settings say.
        On(events, "The week's report").Should().Be(new DateOnly(2025, 11, 23));
        if (todo.Lines.FirstOrDefault(l => l.What == Strings.WeighOne) is { } weigh) On(events, weigh.Link).Should().Be(Today);

        // The same by program.
        using var dates = JsonDocument.Parse(await site.ReadAsync("/api/calendar"));
        dates.RootElement.EnumerateArray().Select(d => (d.GetProperty("what").GetString()!.Replace('\u00A0', ' '), d.GetProperty("on").GetString())).Should()
            .BeEquivalentTo(events.Select(e => (e.Summary, e.Start!.Date.ToString("yyyy-MM-dd", System.Globalization.CultureInfo.InvariantCulture))));
    }

    [Fact]
    public async Task A_date_that_moves_keeps_its_identifier_and_what_is_done_is_gone()
    {
        await using var site = await OpenAsync();
        using var phone = new Visitor(site);
        var address = await AddressAsync(site);
        var before = Events((await phone.GetAsync(address)).Html).ToDictionary(e => e.Uid!, StringComparer.Ordinal);
        var sprouts = before.Values.Single(e => e.Summary!.StartsWith("First sprouts: K,", StringComparison.Ordinal));
        var fit = before.Values.Single(e => e.Summary!.StartsWith("Move W1", StringComparison.Ordinal));
        var order = before.Values.Single(e => e.Summary!.StartsWith("Order School", StringComparison.Ordinal));

        // A day later what is fit is still to be moved; the order is put off.
        await site.WriteAsync("""[{"event":"correction","of":9,"due":"2025-12-30"}]""");
        site.Time.Advance(TimeSpan.FromDays(1));
        await site.Lots.AdvanceAsync(TestContext.Current.CancellationToken);
        var after = Events((await phone.GetAsync(address)).Html).ToDictionary(e => e.Uid!, StringComparer.Ordinal);
        after[fit.Uid!].Start!.Date.Should().Be(fit.Start!.Date.AddDays(1));
        after[order.Uid!].Start!.Date.Should().Be(new DateOnly(2025, 12, 30));
        after.Values.Count(e => e.Summary!.StartsWith("Order School", StringComparison.Ordinal)).Should().Be(1);

        // What is moved is not to be moved any more; the other lot stays itself in another room.
        await site.WriteAsync("""
            [{"event":"moved","bin":"W1","place":"cellar"},{"event":"moved","bin":"W2","place":"cellar"},
             {"event":"moved","bin":"K1","place":"curing"},{"event":"moved","bin":"K2","place":"curing"}]
            """);
        await site.Lots.AdvanceAsync(TestContext.Current.CancellationToken);
        after = Events((await phone.GetAsync(address)).Html).ToDictionary(e => e.Uid!, StringComparer.Ordinal);
        after.Should().NotContainKey(fit.Uid!);
        after[sprouts.Uid!].Summary.Should().Be(sprouts.Summary);
    }

    [Fact]
    public async Task The_address_is_made_and_taken_back_with_a_tap_and_another_opens_nothing()
    {
        await using var site = await Site.OpenAsync();
        using var phone = new Visitor(site);
        (await site.WordsAsync("/set-up")).Should().Contain("Make the calendar's address").And.NotContain("Take the address back");
        var address = await AddressAsync(site);
        Secret().Match(address).Groups["secret"].Value.Should().HaveLength(32, "192 bits, six of them a letter");
        (await phone.GetAsync(address)).Status.Should().Be(HttpStatusCode.OK);
        (await site.ReadAsync("/set-up")).Should().NotContain(address, "it is shown once");
        site.Store.Read(c => Meta.Get(c, Meta.CalendarLink)).Should().MatchRegex("^[0-9a-f]{64}$", "its hash is kept and nothing else");

        foreach (var wrong in new[] { address[..^5] + (address[^5] == 'A' ? 'B' : 'A') + ".ics", "/calendar/x.ics", "/calendar/" + new string('A', 32) + ".ics" })
            (await phone.GetAsync(wrong)).Status.Should().Be(HttpStatusCode.NotFound, wrong);

        var fresh = await AddressAsync(site);
        fresh.Should().NotBe(address);
        (await phone.GetAsync(address)).Status.Should().Be(HttpStatusCode.NotFound, "another was made");
        var taken = await site.SendAsync("/set-up?handler=NoCalendar", await site.ReadAsync("/set-up"));
        (await site.WordsAsync(taken.Location!)).Should().Contain("The address opens nothing any more").And.NotContain("Take the address back");
        (await phone.GetAsync(fresh)).Status.Should().Be(HttpStatusCode.NotFound);
        using var sam = await Visitor.HelperAsync(site);
        (await sam.SendAsync("/set-up?handler=Calendar", (await sam.GetAsync("/sign-out")).Html)).Status.Should().Be(HttpStatusCode.Forbidden);
    }

    [Fact]
    public async Task Who_guesses_at_addresses_is_slowed_as_any_stranger()
    {
        await using var site = await Site.OpenAsync(change: s => s.Limits.CallsAMinute = 30);
        using var stranger = new Visitor(site);
        var answers = new List<HttpStatusCode>();
        for (var i = 0; i < 40; i++) answers.Add((await stranger.GetAsync($"/calendar/{i}.ics")).Status);
        answers.Should().Contain(HttpStatusCode.NotFound).And.Contain(HttpStatusCode.TooManyRequests);
    }

    [Fact]
    public async Task A_house_with_nothing_in_it_has_a_calendar_with_the_report_alone_and_one_without_a_report_an_empty_one()
    {
        await using var site = await Site.OpenAsync();
        using var phone = new Visitor(site);
        Events((await phone.GetAsync(await AddressAsync(site))).Html).Select(e => e.Summary).Should().Equal("The week's report");
        await using var other = await Site.OpenAsync(change: s => s.Report.Day = "never");
        using var theirs = new Visitor(other);
        var empty = (await theirs.GetAsync(await AddressAsync(other))).Html;
        Events(empty).Should().BeEmpty();
        empty.Should().Contain("PRODID").And.EndWith("END:VCALENDAR\r\n");
    }

    [Fact]
    public async Task It_is_in_the_households_language_and_units_whatever_the_phone_asks_for()
    {
        await using var site = await OpenAsync(s =>
        {
            s.Household.Language = "es";
            s.Household.Weight = "kg";
        });
        using var phone = new Visitor(site);
        var events = Events((await phone.GetAsync(await AddressAsync(site))).Html);
        events.Select(e => e.Summary).Should().Contain("Mover W1, W2 a Cellar").And.Contain(s => s!.StartsWith("Pedido School: 10 kg", StringComparison.Ordinal));
    }

    private static async Task<Site> OpenAsync(Action<Settings>? change = null)
    {
        var site = await Site.OpenAsync(at: Now, change: change, fill: AirAsync);
        await site.WriteAsync(Season);
        await site.Lots.AdvanceAsync(TestContext.Current.CancellationToken);
        return site;
    }

    private static Task AirAsync(Store store) => store.WriteAsync(c =>
    {
        foreach (var (place, celsius, percent) in new[] { ("curing", 14.0, 91.0), ("cellar", 5.5, 91.0) })
        {
            for (var at = Now.AddDays(-75); at < Now; at = at.AddMinutes(5))
                PlaceRows.SaveAir(c, new PlaceAir(place, at, celsius, percent, 6, 90, null, null, 0, null, AirQuality.Good));
        }
    });

    private static async Task<string> AddressAsync(Site site)
    {
        var made = await site.SendAsync("/set-up?handler=Calendar", await site.ReadAsync("/set-up"));
        made.Status.Should().Be(HttpStatusCode.OK);
        return Secret().Match(made.Html).Value;
    }

    private static List<CalendarEvent> Events(string text) => [.. Ical.Net.Calendar.Load(text.Replace('\u00A0', ' '))!.Events];

    private static DateOnly On(IEnumerable<CalendarEvent> events, string what) => events.Should().ContainSingle(e => e.Summary == what).Subject.Start!.Date;

    [GeneratedRegex(@"/calendar/(?<secret>[\w-]+)\.ics", RegexOptions.ExplicitCapture, 2000)]
    private static partial Regex Secret();
}
