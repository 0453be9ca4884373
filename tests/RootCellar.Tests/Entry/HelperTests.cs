using System.Net;
using System.Text;
using System.Text.RegularExpressions;
using Microsoft.Extensions.DependencyInjection;
using RootCellar.Entry;
using RootCellar.Monitoring;
using RootCellar.Readings;
using RootCellar.Storage;
using RootCellar.Tests.Pages;

namespace RootCellar.Tests.Entry;

/// <summary>Helpers from the first PIN to the last: on the pages, in the book, and out again.</summary>
public class HelperTests
{
    [Fact]
    public async Task A_helper_is_added_signs_in_and_the_book_and_the_alarms_say_who()
    {
        await using var site = await Site.OpenAsync();
        await site.FillAsync();
        var setUp = await site.ReadAsync("/set-up");
        Site.Words(setUp).Should().Contain("No helpers yet");
        var added = await site.SendAsync("/set-up?handler=Helper", setUp, ("name", "Sam <b>Oak</b>"), ("pin", ""));
        var pin = Regex.Match(added.Html, "<code class=\"copy\">(?<pin>[0-9]{6})</code>", RegexOptions.None,
            TimeSpan.FromSeconds(5)).Groups["pin"].Value;
        pin.Should().HaveLength(6);
        added.Html.Should().NotContain("<b>Oak");
        (await site.ReadAsync("/set-up")).Should().NotContain(pin);
        (await site.WordsAsync("/set-up")).Should().Contain("has not signed in yet");
        (await site.SendAsync("/set-up?handler=Helper", setUp, ("name", " sam  <b>oak</b>"), ("pin", "5937"))).Words.Should()
            .Contain("There is a helper");

        using var sam = new Visitor(site);
        (await sam.GetAsync("/sign-in?as=helper")).Html.Should().NotContain("Oak").And.Contain("inputmode=\"numeric\"");
        (await sam.SignInAsHelperAsync("sam <B>oak</B>", pin)).Status.Should().Be(HttpStatusCode.Found);
        (await sam.GetAsync("/more")).Words.Should().Contain("Signed in as Sam <b>Oak</b>");
        var form = (await sam.GetAsync("/log/sold?bin=B1")).Html;
        (await sam.SendAsync("/log/sold", form, ("bin", "B1"), ("amount", "5"), ("unit", "lb"), ("by", "Ann"))).Status.Should()
            .Be(HttpStatusCode.Found);
        site.Book.Entries[^1].Entry.By.Should().Be("Sam <b>Oak</b>");
        (await site.WordsAsync("/set-up")).Should().Contain("last signed in");

        await FreezeAsync(site);
        var alarms = (await sam.GetAsync("/alarms")).Html;
        alarms.Should().NotContain("handler=Shelve");
        (await sam.SendAsync("/alarms?handler=Acknowledge", (await sam.GetAsync("/sign-out")).Html, ("id", Alarm(alarms)))).Status.Should()
            .Be(HttpStatusCode.Found);
        (await site.WordsAsync("/alarms")).Should().Contain("answered by Sam <b>Oak</b>");
        (await sam.SendAsync("/alarms?handler=Shelve", (await sam.GetAsync("/sign-out")).Html, ("id", Alarm(alarms)))).Status.Should()
            .Be(HttpStatusCode.Forbidden);

        (await sam.SendAsync("/sign-out", (await sam.GetAsync("/sign-out")).Html)).Location.Should().Be("/sign-in");
        (await sam.GetAsync("/")).Location.Should().Contain("/sign-in");
    }

    [Fact]
    public async Task A_helper_writes_in_their_own_name_only_the_household_and_tokens_in_any()
    {
        await using var site = await Site.OpenAsync();
        using var sam = await Visitor.HelperAsync(site);
        using var ann = await Visitor.HouseholdAsync(site);
        using var token = await Visitor.TokenAsync(site, Tokens.MayAll);

        var refused = await sam.JsonAsync("POST", "/api/ledger", Dug("L1", "Ann"));
        refused.Status.Should().Be(HttpStatusCode.Forbidden);
        refused.Html.Should().Contain("you are signed in as Sam");
        (await sam.JsonAsync("POST", "/api/ledger", $"[{Dug("L1")},{Dug("L2", "Ann")}]")).Status.Should().Be(HttpStatusCode.Forbidden);
        site.Book.Entries.Should().BeEmpty();

        foreach (var (who, lot, by, right) in new[] { (sam, "L1", null, "Sam"), (sam, "L2", " sam ", "Sam"), (ann, "L3", null, "Ann"),
            (ann, "L4", "Grandmother", "Grandmother"), (token, "L5", "the scale", "the scale"), (token, "L6", null, "token-all") })
        {
            (await who.JsonAsync("POST", "/api/ledger", Dug(lot, by))).Status.Should().Be(HttpStatusCode.Created, lot);
            site.Book.Entries[^1].Entry.By.Should().Be(right, lot);
        }
    }

    [Fact]
    public async Task What_is_changed_ends_the_cookies_that_hang_on_it_and_no_others()
    {
        await using var site = await Site.OpenAsync();
        using var ann = await Visitor.HouseholdAsync(site);
        using var bo = await Visitor.HouseholdAsync(site, "Bo");
        using var sam = await Visitor.HelperAsync(site);
        using var kim = await Visitor.HelperAsync(site, "Kim", "559013");
        (await sam.SendAsync("/log/dug", (await sam.GetAsync("/log/dug")).Html, ("lot", "L1"), ("crop", "potato"))).Status.Should()
            .Be(HttpStatusCode.Found);

        var page = (await ann.GetAsync("/set-up")).Html;
        (await ann.SendAsync("/set-up?handler=Passphrase", page, ("current", site.Passphrase),
            ("fresh", "lamp oil and rye bread"))).Status.Should().Be(HttpStatusCode.Found);
        (await Inside(ann, bo, sam, kim)).Should().Equal(true, false, true, true);
        ann.SetCookies.Should().NotContain(c => c.Contains("rootcellar=;", StringComparison.Ordinal));

        page = (await ann.GetAsync("/set-up")).Html;
        var kims = site.Services.GetRequiredService<Store>().Read(Helpers.All)
            .Single(h => h.Name == "Kim").Id.ToString(System.Globalization.CultureInfo.InvariantCulture);
        (await ann.SendAsync("/set-up?handler=HelperPin", page, ("id", kims), ("pin", "90210"))).Words.Should()
            .Contain("The PIN of Kim, shown this once: 90210");
        (await Inside(ann, sam, kim)).Should().Equal(true, true, false);
        (await kim.SignInAsHelperAsync("Kim", "559013")).Words.Should().Contain("Name and PIN do not go together");
        (await kim.SignInAsHelperAsync("Kim", "90210")).Status.Should().Be(HttpStatusCode.Found);

        (await ann.SendAsync("/set-up?handler=RemoveHelper", page, ("id", kims))).Status.Should().Be(HttpStatusCode.Found);
        (await Inside(sam, kim)).Should().Equal(true, false);

        // By another program, such as the command line: within seconds.
        await site.Services.GetRequiredService<Store>().WriteAsync(c => Helpers.Remove(c, "sam"));
        (await Inside(sam)).Should().Equal(true);
        site.Time.Advance(TimeSpan.FromSeconds(6));
        (await Inside(sam)).Should().Equal(false);
        site.Book.Entries.Single().Entry.By.Should().Be("Sam", "what was written keeps its name");

        // One who comes after under the same name is somebody else.
        using var other = await Visitor.HelperAsync(site);
        (await Inside(sam, other)).Should().Equal(false, true);
    }

    [Fact]
    public async Task The_cookies_are_for_the_browser_alone_and_stay_with_this_site()
    {
        await using var site = await Site.OpenAsync();
        using var visitor = new Visitor(site);
        await visitor.GetAsync("/sign-in");
        visitor.SetCookies.Should().ContainSingle(c => c.StartsWith("rootcellar-form=", StringComparison.Ordinal)).Which.Should()
            .MatchRegex("(?i)samesite=lax").And.MatchRegex("(?i)httponly");
        await visitor.SignInAsync(site.Passphrase);
        var cookie = visitor.SetCookies.Single(c => c.StartsWith("rootcellar=", StringComparison.Ordinal));
        cookie.Should().MatchRegex("(?i)samesite=lax").And.MatchRegex("(?i)httponly").And.NotMatchRegex(
            "(?i)secure", "it is plain http on the house's own network");
        cookie.Should().NotContain("Ann", "it is sealed");
    }

    [Fact]
    public async Task A_page_elsewhere_cannot_write_with_the_growers_cookie()
    {
        await using var site = await Site.OpenAsync();
        using var ann = await Visitor.HouseholdAsync(site);
        const string elsewhere = "http://127.0.0.1:1";
        var own = site.Address.ToString().TrimEnd('/');
        foreach (var (type, origin, from, taken) in new (string, string?, string?, bool)[]
        {
            ("application/json", null, null, true),
            ("application/json", own, "same-origin", true),
            ("application/json", elsewhere, null, false),
            ("application/json", "null", null, false),
            ("application/json", null, "cross-site", false),
            ("application/json", own, "same-site", false),
            ("text/plain", own, "same-origin", false),
            ("text/plain", null, null, false),
            ("application/x-www-form-urlencoded", null, null, false),
        })
        {
            var headers = new List<(string, string)>();
            if (origin is not null) headers.Add(("Origin", origin));
            if (from is not null) headers.Add(("Sec-Fetch-Site", from));
            var before = site.Book.Entries.Count;
            var answer = await ann.JsonAsync("POST", "/api/ledger", Dug($"L{before}"), type, [.. headers]);
            answer.Status.Should().Be(taken ? HttpStatusCode.Created : HttpStatusCode.Forbidden, $"{type}, {origin}, {from}");
            site.Book.Entries.Should().HaveCount(taken ? before + 1 : before);
        }

        using var token = await Visitor.TokenAsync(site, Tokens.MayAll);
        (await token.JsonAsync("POST", "/api/ledger", Dug("L9"), headers: ("Origin", elsewhere))).Status.Should()
            .Be(HttpStatusCode.Created, "no browser sends a token by itself");
    }

    [Fact]
    public async Task A_pin_that_is_tried_first_is_refused_with_a_reason()
    {
        await using var site = await Site.OpenAsync();
        var setUp = await site.ReadAsync("/set-up");
        foreach (var pin in new[] { "0000", "1111", "1234", "4321", "7890", "2109", "1212", "363636", "12345678" })
        {
            var answer = await site.SendAsync("/set-up?handler=Helper", setUp, ("name", "Sam"), ("pin", pin));
            answer.Words.Should().Contain("among the first anybody tries", pin);
            answer.Html.Should().Contain("value=\"Sam\"", "what was typed stays");
        }

        foreach (var pin in new[] { "123", "123456789", "١٢٣٧", "12 34", "-1234" })
            (await site.SendAsync("/set-up?handler=Helper", setUp, ("name", "Sam"), ("pin", pin))).Html.Should()
                .Contain("role=\"alert\">A PIN is 4 to 8 digits", pin);
        (await site.WordsAsync("/set-up")).Should().Contain("No helpers yet");
    }

    [Fact]
    public void Drawn_pins_are_never_easy_and_differ()
    {
        var drawn = Enumerable.Range(0, 2_000).Select(_ => Pin.Propose()).ToList();
        drawn.Should().AllSatisfy(p => p.Should().MatchRegex("^[0-9]{6}$")).And.NotContain(p => Pin.IsEasy(p));
        drawn.Distinct().Count().Should().BeGreaterThan(1_980);
        // Of all PINs of 4 digits few are refused, so little is lost: 10 of one digit, 20 runs, 90 pairs (each pair of one digit is counted
        // already).
        Enumerable.Range(0, 10_000).Count(n => Pin.IsEasy(n.ToString("0000", System.Globalization.CultureInfo.InvariantCulture))).Should()
            .Be(120);
    }

    private static string Dug(string lot, string? by = null) =>
        $$"""{"event":"dug","lot":"{{lot}}","crop":"potato"{{(by is null ? "" : $",\"by\":\"{by}\"")}}}""";

    private static string Alarm(string html) => Regex.Match(
        html, "name=\"id\" value=\"(?<id>[^\"]+)\"", RegexOptions.None, TimeSpan.FromSeconds(5)).Groups["id"].Value;

    private static async Task<bool[]> Inside(params Visitor[] all)
    {
        var inside = new List<bool>();
        foreach (var one in all) inside.Add((await one.GetAsync("/bins")).Status == HttpStatusCode.OK);
        return [.. inside];
    }

    private static async Task FreezeAsync(Site site)
    {
        var pipeline = site.Services.GetRequiredService<Pipeline>();
        for (var minute = 0; minute < 40; minute++)
        {
            await await pipeline.OfferAsync(
                new Arrived("rootcellar/cellar/door", Encoding.UTF8.GetBytes($$"""{"temperature_c":-3.{{minute:00}},"humidity_pct":90}"""),
                    WantsReceipt: true, Dup: false, Replay: false));
            site.Time.Advance(TimeSpan.FromMinutes(1));
            if ((await site.ReadAsync("/alarms")).Contains("handler=Acknowledge", StringComparison.Ordinal)) return;
        }

        (await site.WordsAsync("/alarms")).Should().Contain("on it");
    }
}
