using System.Diagnostics.Metrics;
using System.Net;
using RootCellar.Entry;
using RootCellar.Household;
using RootCellar.Tests.Pages;
using RootCellar.Tests.Storage;

namespace RootCellar.Tests.Entry;

/// <summary>
/// How much one may ask and write. The framework's limiter runs on the machine's own clock, so nothing here waits for it.
/// </summary>
public class LimitTests
{
    [Fact]
    public async Task A_helper_and_a_token_for_logging_write_so_many_entries_a_minute_and_the_household_as_many_as_it_likes()
    {
        await using var site = await Site.OpenAsync(change: s => s.Limits.EntriesAMinute = 40);
        using var log = await Visitor.TokenAsync(site, Tokens.MayLog);
        using var sam = await Visitor.HelperAsync(site);
        using var ann = await Visitor.HouseholdAsync(site);
        using var all = await Visitor.TokenAsync(site, Tokens.MayAll);
        foreach (var (who, name) in new[] { (log, "log"), (sam, "sam") })
        {
            var kept = 0;
            Answer answer;
            while ((answer = await who.JsonAsync("POST", "/api/ledger", Dug($"{name}-{kept}", 15))).Status == HttpStatusCode.Created)
                (++kept).Should().BeLessThan(20);
            answer.Status.Should().Be(HttpStatusCode.TooManyRequests);
            // Two calls at least; some of the minute may have gone by.
            kept.Should().BeGreaterThanOrEqualTo(2);
            int.Parse(who.Headers["Retry-After"].Single(), System.Globalization.CultureInfo.InvariantCulture).Should().BeInRange(1, 60);
            who.Headers["Content-Type"].Should().Equal("application/problem+json");
            answer.Html.Should().Contain("Nothing of this was kept").And.Contain("Limits");
            site.Book.Lots.Keys.Should().NotContain($"{name}-{kept}-0");
            (await who.GetAsync("/api/bins")).Status.Should().Be(HttpStatusCode.OK, "looking is not writing");
        }

        (await log.JsonAsync("POST", "/api/ledger", Dug("big", 41))).Html.Should().Contain("At most 40 events in one call");
        foreach (var (who, name) in new[] { (ann, "ann"), (all, "all") })
        {
            for (var i = 0; i < 10; i++)
                (await who.JsonAsync("POST", "/api/ledger", Dug($"{name}-{i}", 15))).Status.Should().Be(HttpStatusCode.Created);
        }
    }

    [Fact]
    public async Task Over_a_day_there_is_a_limit_too()
    {
        await using var site = await Site.OpenAsync(change: s => s.Limits.EntriesADay = 25);
        using var log = await Visitor.TokenAsync(site, Tokens.MayLog);
        (await log.JsonAsync("POST", "/api/ledger", Dug("a", 20))).Status.Should().Be(HttpStatusCode.Created);
        (await log.JsonAsync("POST", "/api/ledger", Dug("b", 20))).Status.Should().Be(HttpStatusCode.TooManyRequests);
        int.Parse(log.Headers["Retry-After"].Single(), System.Globalization.CultureInfo.InvariantCulture).Should().BeGreaterThan(1_000);
    }

    [Fact]
    public async Task A_helper_who_asks_too_fast_meets_a_page_that_says_so_and_others_do_not()
    {
        await using var site = await Site.OpenAsync(change: s => s.Limits.CallsAMinute = 30);
        using var sam = await Visitor.HelperAsync(site);
        using var kim = await Visitor.HelperAsync(site, "Kim", "559013");
        using var ann = await Visitor.HouseholdAsync(site);
        (await UntilRefusedAsync("/sign-out")).Asked.Should().BeGreaterThanOrEqualTo(25);
        // A token comes back every two seconds, which may go by on a busy machine.
        var (refused, _) = await UntilRefusedAsync("/bins");
        sam.Headers["Retry-After"].Should().NotBeEmpty();
        refused.Words.Should().Contain("Too much at once").And.Contain("Wait a minute");
        (await UntilRefusedAsync("/api/bins")).Refused.Html.Should().Contain("Too many requests");
        (await sam.GetAsync("/health/live")).Status.Should().Be(HttpStatusCode.OK);
        (await sam.GetAsync("/assets/site.css")).Status.Should().Be(HttpStatusCode.OK);
        (await kim.GetAsync("/bins")).Status.Should().Be(HttpStatusCode.OK);
        for (var i = 0; i < 60; i++) (await ann.GetAsync("/sign-out")).Status.Should().Be(HttpStatusCode.OK);

        async Task<(Answer Refused, int Asked)> UntilRefusedAsync(string path)
        {
            for (var asked = 1; ; asked++)
            {
                if (await sam.GetAsync(path) is { Status: HttpStatusCode.TooManyRequests } refused) return (refused, asked);
                asked.Should().BeLessThan(300);
            }
        }
    }

    [Fact]
    public async Task A_full_book_takes_nothing_more_from_anybody_keeps_what_it_has_and_starts_again()
    {
        using var folder = new TempFolder();
        string passphrase;
        await using (var site = await Site.OpenAsync(record: folder, change: s => s.Limits.BookEntries = 25))
        {
            passphrase = site.Passphrase;
            using var all = await Visitor.TokenAsync(site, Tokens.MayAll);
            (await all.JsonAsync("POST", "/api/ledger", Dug("a", 24))).Status.Should().Be(HttpStatusCode.Created);
            var full = await all.JsonAsync("POST", "/api/ledger", Dug("b", 2));
            full.Status.Should().Be(HttpStatusCode.InsufficientStorage);
            full.Html.Should().Contain("25 entries").And.Contain("Limits:BookEntries");
            (await all.JsonAsync("POST", "/api/ledger", Dug("c", 1))).Status.Should().Be(HttpStatusCode.Created, "there is room for one");
            using var ann = await Visitor.HouseholdAsync(site);
            var form = await ann.SendAsync("/log/dug", (await ann.GetAsync("/log/dug")).Html, ("lot", "d"), ("crop", "potato"));
            form.Words.Should().Contain("Limits:BookEntries");
            form.Html.Should().Contain("value=\"d\"", "what was typed stays");
            (await ann.GetAsync("/")).Words.Should().Contain("The book has 25 entries and takes 25");
            site.Book.Entries.Should().HaveCount(25);
        }

        await using var again = await Site.OpenAsync(record: folder, known: passphrase, change: s => s.Limits.BookEntries = 10);
        again.Book.Entries.Should().HaveCount(25, "a smaller limit takes nothing away");
    }

    [Fact]
    public async Task What_was_refused_and_let_in_is_counted_by_reason_without_names()
    {
        var counted = new System.Collections.Concurrent.ConcurrentQueue<string>();
        using var listener = new MeterListener();
        listener.InstrumentPublished = (instrument, l) =>
        {
            if (instrument.Meter.Name == "RootCellar.Entry") l.EnableMeasurementEvents(instrument);
        };
        listener.SetMeasurementEventCallback<long>((instrument, _, tags, _) => counted.Enqueue($"{instrument.Name} {tags[0].Value}"));
        listener.Start();
        await using var site = await Site.OpenAsync(change: s => s.Limits.EntriesAMinute = 10);
        using var stranger = new Visitor(site);
        await stranger.SignInAsync("guess");
        using var sam = await Visitor.HelperAsync(site);
        await sam.JsonAsync("POST", "/api/ledger", Dug("a", 1), headers: ("Origin", "http://elsewhere.example"));
        await sam.JsonAsync("POST", "/api/ledger", Dug("a", 10));
        await sam.JsonAsync("POST", "/api/ledger", Dug("b", 10));
        var rebound = new HttpRequestMessage(HttpMethod.Get, "/");
        rebound.Headers.Host = "rebound.example";
        await stranger.SendAsync(rebound);
        await stranger.SignInAsync(site.Passphrase);
        counted.Should().Contain([
            "rootcellar.entry.refused wrong", "rootcellar.entry.signed.in helper", "rootcellar.entry.refused elsewhere",
            "rootcellar.entry.rate.limited helper", "rootcellar.entry.refused host", "rootcellar.entry.signed.in household",
        ]);
    }

    private static string Dug(string lot, int count) =>
        $"[{string.Join(',', Enumerable.Range(0, count).Select(i => $$"""{"event":"dug","lot":"{{lot}}-{{i}}","crop":"potato"}"""))}]";
}
