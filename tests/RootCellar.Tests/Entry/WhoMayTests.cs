using System.Globalization;
using System.Net;
using Microsoft.AspNetCore.Http;
using Microsoft.AspNetCore.Mvc.RazorPages;
using Microsoft.AspNetCore.Mvc.RazorPages.Infrastructure;
using Microsoft.AspNetCore.Routing;
using Microsoft.AspNetCore.Routing.Patterns;
using Microsoft.Extensions.DependencyInjection;
using RootCellar.Entry;
using RootCellar.Tests.Pages;

namespace RootCellar.Tests.Entry;

/// <summary>
/// Every endpoint the service has, asked over the wire by everybody. What is not named here follows the rule: whoever is signed in may
/// look, and a change is for the household and its tokens. A new endpoint that helpers may change something by, or may not see, must be
/// named.
/// </summary>
public class WhoMayTests
{
    private static readonly string[] ForAnybody = ["/health/live", "/health/ready", "/assets/{name}", "/sign-in", "/language", "/trouble/{code:int}", "/answer/{token}", "/calendar/{secret}.ics",
        "/help/{open:regex(^(first-evening|texts|cautions)$)?}"];

    private static readonly string[] NotForHelpersToSee =
        ["/set-up", "/set-up/channels", "/set-up/backup", "/sensors/calibrate", "/first-evening", "/first-evening/household", "/first-evening/places", "/first-evening/sensors",
            "/first-evening/ways", "/first-evening/people", "/first-evening/test", "/first-evening/gate", "/api/backup", "/api/channels", "/api/channels/{channel}", "/api/heard", "/api/mappings", "/api/contacts", "/api/credentials", "/api/broker", "/api/watch", "/metrics", "/openapi/v1.json"];

    private static readonly string[] ForHelpersToChange =
    [
        "POST /api/ledger", "POST /api/alarms/{id}/acknowledge", "POST /alarms?handler=Acknowledge", "POST /sign-out",
    ];

    // Pages of these folders are the book's; their forms are a helper's work.
    private static readonly string[] FoldersOfTheBook = ["/Bins/", "/Lots/", "/Rows/", "/Stock/"];

    private static readonly string[] PagesOfTheBook = ["/Rows", "/Stock", "/Lots"];

    [Fact]
    public async Task Every_endpoint_opens_to_those_it_is_for_and_to_nobody_else()
    {
        await using var site = await Site.OpenAsync(change: AsOftenAsAsked);
        await site.FillAsync();
        using var stranger = new Visitor(site);
        using var sam = await Visitor.HelperAsync(site);
        using var ann = await Visitor.HouseholdAsync(site);
        using var all = await Visitor.TokenAsync(site, Tokens.MayAll);
        using var log = await Visitor.TokenAsync(site, Tokens.MayLog);

        var (table, wrong) = (new List<string>(), new List<string>());
        foreach (var (method, pattern, sent, page, form) in await AsSentAsync(site))
        {
            var name = $"{method} {pattern}{Handler(form)}";
            var answers = new List<string>();
            foreach (var who in new[] { stranger, sam, log, ann, all })
                answers.Add(await OpensAsync(who, method, sent, page is not null) ? "yes" : "-");
            var line = $"{method + " " + sent,-60} stranger {answers[0],-3}  helper {answers[1],-3}  token for logging {answers[2],-3}  household {answers[3],-3}  token {answers[4],-3}";
            table.Add(line);

            var helper = method == "GET"
                ? !NotForHelpersToSee.Contains(pattern)
                : ForHelpersToChange.Contains(name)
                    || (page is not null
                        && (PagesOfTheBook.Contains(page) || FoldersOfTheBook.Any(f => page.StartsWith(f, StringComparison.Ordinal))));
            var open = ForAnybody.Contains(pattern);
            string[] right = [open ? "yes" : "-", open || helper ? "yes" : "-", open || helper ? "yes" : "-", "yes", "yes"];
            if (!answers.SequenceEqual(right))
                wrong.Add($"{line}\n{"  expected",-60}          {right[0],-3}         {right[1],-3}                    {right[2],-3}            {right[3],-3}        {right[4],-3}");
        }

        table.Should().HaveCountGreaterThan(80);
        wrong.Should().BeEmpty("the whole table is\n" + string.Join('\n', table));
    }

    [Fact]
    public async Task A_page_elsewhere_changes_nothing_by_any_endpoint_in_either_case()
    {
        await using var site = await Site.OpenAsync(change: AsOftenAsAsked);
        await site.FillAsync();
        using var stranger = new Visitor(site);
        using var sam = await Visitor.HelperAsync(site);
        using var ann = await Visitor.HouseholdAsync(site);
        using var all = await Visitor.TokenAsync(site, Tokens.MayAll);
        var (before, asked) = (site.Book.Entries.Count, 0);
        foreach (var (method, _, sent, page, _) in (await AsSentAsync(site)).Where(e => e.Method != "GET"))
        {
            foreach (var type in new[] { "text/plain", "application/x-www-form-urlencoded", "application/json" })
            {
                asked++;
                foreach (var who in new[] { stranger, sam, ann })
                {
                    var answer = await CrossSiteAsync(who, method, sent, type);
                    // A page's own defence is its token, whose want is a 400.
                    if (page is null) answer.Status.Should().Be(HttpStatusCode.Forbidden, $"{method} {sent} as {type}");
                    else (answer.Status is HttpStatusCode.BadRequest or HttpStatusCode.Forbidden
                        || answer.Location?.Contains("/sign-in", StringComparison.Ordinal) == true).Should()
                            .BeTrue($"{method} {sent} as {type}: {answer.Status}");
                    if (page is null) answer.Html.Should().Contain("from a page elsewhere");
                }

                if (page is null)
                    (await CrossSiteAsync(all, method, sent, type)).Html.Should()
                        .NotContain("from a page elsewhere", "no browser sends a token by itself");
            }
        }

        asked.Should().BeGreaterThan(60);
        site.Book.Entries.Count.Should().Be(before);
    }

    [Fact]
    public async Task A_form_without_its_fields_is_told_so_and_is_no_error_of_ours()
    {
        await using var site = await Site.OpenAsync();
        await site.FillAsync();
        using var ann = await Visitor.HouseholdAsync(site);
        foreach (var (_, pattern, path, _, form) in (await EndpointsAsync(site)).Where(e => e.Page is not null && e.Method == "POST")
            .OrderBy(e => e.Pattern == "/sign-out"))
        {
            var answer = await ann.SendAsync($"{path}?handler={form}", (await ann.GetAsync("/sign-out")).Html);
            ((int)answer.Status).Should().BeLessThan(500, $"{pattern} {form}");
        }
    }

    [Theory]
    [InlineData("GET", "/api/places", null, null, 401, "Authorization: Bearer", false)]
    [InlineData("GET", "/API/places", null, null, 401, "Authorization: Bearer", false)]
    [InlineData("GET", "/api/nowhere", null, null, 401, "Authorization: Bearer", false)]
    [InlineData("GET", "/metrics", null, null, 401, "Authorization: Bearer", false)]
    [InlineData("GET", "/api/nowhere", null, null, 404, "nothing at /api/nowhere")]
    [InlineData("GET", "/API/nowhere", null, null, 404, "nothing at /API/nowhere")]
    [InlineData("DELETE", "/api/alarms", null, null, 405, "right: GET")]
    [InlineData("POST", "/api/contacts", "name=Ann", "application/x-www-form-urlencoded", 415, "application/json")]
    [InlineData("POST", "/api/ledger", "{}", "text/plain", 415, "application/json")]
    [InlineData("POST", "/api/contacts", "{\"name\":", "application/json", 400, "line 1, byte")]
    [InlineData("POST", "/api/contacts", "{\"name\":{}}", "application/json", 400, "at $.name")]
    [InlineData("POST", "/api/contacts", "", "application/json", 400, "/openapi/v1.json")]
    [InlineData("POST", "/api/ledger", "{\"event\":", "application/json", 400, "not the JSON")]
    [InlineData("GET", "/api/ledger?limit=many", null, null, 400, "limit: 'many'")]
    public async Task Every_error_of_the_api_has_a_body_that_says_what_would_be_right(
        string method, string path, string? body, string? type, int status, string detail, bool known = true)
    {
        await using var site = await Site.OpenAsync();
        using var who = known ? await Visitor.TokenAsync(site, Tokens.MayAll) : new Visitor(site);
        var request = new HttpRequestMessage(new HttpMethod(method), path);
        if (body is not null) request.Content = new StringContent(body, System.Text.Encoding.UTF8, type!);
        var answer = await who.SendAsync(request);
        ((int)answer.Status).Should().Be(status, answer.Html);
        who.Headers["Content-Type"].Should().Equal("application/problem+json");
        using var problem = System.Text.Json.JsonDocument.Parse(answer.Html);
        problem.RootElement.GetProperty("status").GetInt32().Should().Be(status);
        problem.RootElement.GetProperty("title").GetString().Should().NotBeNullOrEmpty();
        problem.RootElement.GetProperty("detail").GetString().Should().Contain(detail);
        if (status == 401) who.Headers["WWW-Authenticate"].Should().ContainSingle().Which.Should().StartWith("Bearer");
    }

    [Fact]
    public async Task No_form_is_taken_without_its_token()
    {
        await using var site = await Site.OpenAsync();
        await site.FillAsync();
        using var ann = await Visitor.HouseholdAsync(site);
        var before = site.Book.Entries.Count;
        foreach (var (method, pattern, path, _, form) in (await EndpointsAsync(site)).Where(e => e.Page is not null && e.Method == "POST"))
        {
            using var content = new FormUrlEncodedContent([new("bin", "B1"), new("amount", "1"), new("passphrase", site.Passphrase)]);
            var answer = await ann.SendAsync(new HttpRequestMessage(HttpMethod.Post, $"{path}?handler={form}") { Content = content });
            answer.Status.Should().Be(HttpStatusCode.BadRequest, $"{method} {pattern} {form}");
        }

        site.Book.Entries.Count.Should().Be(before);
    }

    [Fact]
    public async Task Every_page_brings_the_strict_policy_and_keeps_to_it()
    {
        await using var site = await Site.OpenAsync();
        await site.FillAsync();
        using var ann = await Visitor.HouseholdAsync(site);
        foreach (var (method, pattern, path, page, _) in await EndpointsAsync(site))
        {
            if (method != "GET") continue;
            var answer = await ann.GetAsync(path);
            ann.Headers["Content-Security-Policy"].Should().Equal(
                ["default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; connect-src 'self'; font-src 'self'; manifest-src 'self'; worker-src 'self'; base-uri 'none'; form-action 'self'; frame-ancestors 'none'"],
                pattern);
            ann.Headers["X-Content-Type-Options"].Should().Equal(["nosniff"], pattern);
            ann.Headers["Referrer-Policy"].Should().Equal(["same-origin"], pattern);
            if (page is not null)
                answer.Html.Should()
                    .NotMatchRegex("<script(?![^>]* src=)|<style|<[^>]* (style|on[a-z]+)=",
                        $"{pattern} has nothing the policy would refuse");
        }
    }

    [Fact]
    public async Task A_helper_meets_a_page_that_says_whom_to_ask_and_a_program_is_told_why()
    {
        await using var site = await Site.OpenAsync();
        using var sam = await Visitor.HelperAsync(site);
        var page = await sam.GetAsync("/set-up");
        page.Status.Should().Be(HttpStatusCode.Forbidden);
        page.Words.Should().Contain("Ask the household").And.Contain("Signed in as Sam");
        (await sam.GetAsync("/more")).Html.Should().NotContain("href=\"/set-up\"").And.Contain("href=\"/log\"").And.Contain(
            "href=\"/sign-out\"");

        var post = await sam.SendAsync("/set-up?handler=Passphrase", (await sam.GetAsync("/sign-out")).Html, ("current", site.Passphrase),
            ("fresh", "mine-now-all-of-it"));
        post.Status.Should().Be(HttpStatusCode.Forbidden);
        using (await Visitor.HouseholdAsync(site))
        {
        }

        var told = await sam.JsonAsync("POST", "/api/places", """{"place":"attic","purpose":"storage"}""");
        told.Status.Should().Be(HttpStatusCode.Forbidden);
        sam.Headers["Content-Type"].Should().Equal("application/problem+json");
        told.Html.Should().Contain("This is for the household");
        using var log = await Visitor.TokenAsync(site, Tokens.MayLog);
        (await log.JsonAsync("POST", "/api/places", """{"place":"attic","purpose":"storage"}""")).Status.Should()
            .Be(HttpStatusCode.Forbidden);
        (await log.JsonAsync("POST", "/api/ledger", """{"event":"dug","lot":"L1","crop":"potato","by":"the scale"}""")).Status.Should()
            .Be(HttpStatusCode.Created);
        (await site.WordsAsync("/")).Should().Contain("Cellar").And.NotContain("attic");
    }

    // Every endpoint three times over in a few seconds is more than one may ask in a minute.
    private static void AsOftenAsAsked(Settings settings) => settings.Limits.CallsAMinute = 100_000;

    private static async Task<bool> OpensAsync(Visitor who, string method, string path, bool page)
    {
        var request = new HttpRequestMessage(new HttpMethod(method), path);
        if (method != "GET")
            request.Content = page ? new FormUrlEncodedContent([]) : new StringContent("{}", System.Text.Encoding.UTF8, "application/json");
        var answer = await who.SendAsync(request);
        return answer.Status is not (HttpStatusCode.Unauthorized or HttpStatusCode.Forbidden)
            && answer.Location?.Contains("/sign-in?", StringComparison.Ordinal) != true;
    }

    internal static async Task<List<(string Method, string Pattern, string Path, string? Page, string? Form)>> EndpointsAsync(Site site)
    {
        var loader = site.Services.GetRequiredService<PageLoader>();
        var found = new List<(string, string, string, string?, string?)>();
        foreach (var endpoint in site.Services.GetRequiredService<EndpointDataSource>().Endpoints.OfType<RouteEndpoint>())
        {
            var pattern = "/" + endpoint.RoutePattern.RawText!.Trim('/');
            // It says no to everybody, the household too.
            if (pattern == EntryWiring.AskPage) continue;
            if (endpoint.Metadata.GetMetadata<PageActionDescriptor>() is { } page)
            {
                var handlers = (await loader.LoadAsync(page, EndpointMetadataCollection.Empty)).HandlerMethods;
                found.Add(("GET", pattern, PathOf(endpoint), page.ViewEnginePath, null));
                foreach (var handler in handlers.Where(h => h.HttpMethod != "Get"))
                    found.Add((handler.HttpMethod.ToUpperInvariant(), pattern, PathOf(endpoint), page.ViewEnginePath, handler.Name));
                continue;
            }

            foreach (var method in (endpoint.Metadata.GetMetadata<HttpMethodMetadata>()?.HttpMethods ?? ["GET"]).Where(m => m != "HEAD"))
                found.Add((method, pattern, PathOf(endpoint), null, null));
        }

        return found;
    }

    /// <summary>Every endpoint as it is asked: in both cases, with the handler of its form.</summary>
    private static async Task<IEnumerable<(string Method, string Pattern, string Sent, string? Page, string? Form)>> AsSentAsync(
        Site site) =>
        (await EndpointsAsync(site)).SelectMany(InBothCases).Select(e => (e.Method, e.Pattern, e.Path + Handler(e.Form), e.Page, e.Form));

    private static string Handler(string? form) => form is null ? "" : "?handler=" + form;

    // Routing takes both; whatever guards the one must guard the other. What is data (a bin's name) keeps its letters.
    private static IEnumerable<(string Method, string Pattern, string Path, string? Page, string? Form)> InBothCases(
        (string Method, string Pattern, string Path, string? Page, string? Form) one)
    {
        yield return one;
        var upper = string.Join('/', one.Path.Split('/')
            .Zip(one.Pattern.Split('/'), (path, pattern) => pattern.Contains('{', StringComparison.Ordinal) ? path
                : path.ToUpperInvariant()));
        if (upper != one.Path) yield return one with { Path = upper };
    }

    private static Task<Answer> CrossSiteAsync(Visitor who, string method, string path, string type)
    {
        var request = new HttpRequestMessage(new HttpMethod(method), path)
        { Content = new StringContent("{}", System.Text.Encoding.UTF8, type) };
        request.Headers.TryAddWithoutValidation("Origin", "http://elsewhere.example");
        request.Headers.TryAddWithoutValidation("Sec-Fetch-Site", "cross-site");
        return who.SendAsync(request);
    }

    private static string PathOf(RouteEndpoint endpoint) =>
        "/" + string.Join('/', endpoint.RoutePattern.PathSegments.Select(s => string.Concat(s.Parts.Select(p => p switch
    {
        RoutePatternLiteralPart literal => literal.Content,
        RoutePatternSeparatorPart separator => separator.Content,
        RoutePatternParameterPart parameter => Sample(parameter.Name),
        _ => "",
    }))));

    // What there is, so that the answer is the endpoint's own.
    private static string Sample(string parameter) => parameter switch
    {
        "bin" => "B1",
        "lot" => "2025-1",
        "place" => "cellar",
        "what" => "dug",
        "figure" => "temperature",
        "documentName" => "v1",
        "name" => "site.css",
        "open" => "first-evening",
        "part" => "words",
        _ => 1.ToString(CultureInfo.InvariantCulture),
    };
}
