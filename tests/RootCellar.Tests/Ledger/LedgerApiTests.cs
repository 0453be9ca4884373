using System.Net;
using System.Net.Http.Json;
using System.Net.Sockets;
using System.Text;
using System.Text.Json;
using Microsoft.AspNetCore.Builder;
using Microsoft.AspNetCore.Hosting.Server;
using Microsoft.AspNetCore.Hosting.Server.Features;
using Microsoft.Extensions.DependencyInjection;
using RootCellar.Entry;
using RootCellar.Storage;
using RootCellar.Tests.Storage;

namespace RootCellar.Tests.Ledger;

/// <summary>The ledger over HTTP, on the whole service as it runs.</summary>
public sealed class LedgerApiTests : IAsyncLifetime
{
    private readonly TempFolder folder = new();
    private WebApplication app = null!;
    private HttpClient http = null!;

    public async ValueTask InitializeAsync() => await StartAsync();

    public async ValueTask DisposeAsync()
    {
        await StopAsync();
        folder.Dispose();
    }

    [Fact]
    public async Task The_book_is_read_page_by_page()
    {
        await PostAsync("""[{"event":"dug","lot":"R1","crop":"potato","dugOn":"2025-09-20"},{"event":"filled","bin":"B1","lot":"R1","weightKg":20,"place":"cellar","at":"2025-09-21T08:00:00Z"}]""");
        await PostAsync("[" + string.Join(',', Enumerable.Range(0, 9)
            .Select(i => $$"""{"event":"condition-seen","bin":"B1","what":"dry","at":"2025-10-0{{1 + (i % 3)}}T08:00:00Z","note":"{{i}}"}""")) + "]");
        var whole = await GetAsync("/api/ledger?bin=B1");
        var ids = new List<long>();
        var next = "/api/ledger?bin=B1&from=2025-09-01&limit=3";
        for (var pages = 0; next is not null; pages++)
        {
            pages.Should().BeLessThan(5);
            using var answer = await http.GetAsync(new Uri(next, UriKind.Relative), TestContext.Current.CancellationToken);
            answer.StatusCode.Should().Be(HttpStatusCode.OK);
            var page = await answer.Content.ReadFromJsonAsync<JsonElement>(TestContext.Current.CancellationToken);
            ids.AddRange(page.EnumerateArray().Select(e => e.GetProperty("id").GetInt64()));
            // RFC 8288: <address>; rel="next".
            next = answer.Headers.TryGetValues("Link", out var link) ? link.Single().Split('>')[0].TrimStart('<') : null;
            if (next is not null) link!.Single().Should().EndWith("; rel=\"next\"");
        }

        ids.Should().Equal(whole.EnumerateArray().Select(e => e.GetProperty("id").GetInt64())).And.HaveCount(10).And.OnlyHaveUniqueItems();
        foreach (var wrong in new[] { "limit=0", "limit=10001", "limit=x", "after=99", "after=x" })
            (await http.GetAsync(new Uri("/api/ledger?" + wrong, UriKind.Relative),
                TestContext.Current.CancellationToken)).StatusCode.Should().Be(HttpStatusCode.BadRequest, wrong);
    }

    [Fact]
    public async Task A_season_is_written_down_corrected_and_read_back()
    {
        var dug = await PostAsync(
            """{"event":"dug","lot":"R1","crop":"potato","variety":"Kennebec","dugOn":"2025-10-01","weightKg":100}""");
        dug.Status.Should().Be(HttpStatusCode.Created);
        dug.Body.GetProperty("id").GetInt64().Should().Be(1);
        dug.Body.GetProperty("by").GetString().Should().Be("tests", "the token says who");
        dug.Body.GetProperty("lot").GetString().Should().Be("R1");
        var filled = await PostAsync("""
            [{"event":"filled","bin":"B 1/2","lot":"R1","weightKg":20,"grade":"table","place":"cellar","by":"Ann"},
             {"event":"filled","bin":"B2","lot":"R1","measure":{"amount":1,"unit":"bushel"},"place":"cellar"}]
            """);
        filled.Body.EnumerateArray().Select(e => e.GetProperty("id").GetInt64()).Should().Equal(2, 3);
        filled.Body[1].GetProperty("measure").GetProperty("kgPerUnit").GetDouble().Should().BeApproximately(27.2155, 1e-4);

        (await PostAsync("""{"event":"weighed","bin":"B 1/2","weightKg":19.5}""")).Status.Should().Be(HttpStatusCode.Created);
        (await PostAsync("""{"event":"correction","of":4,"weightKg":19.25,"note":"misread"}""")).Status.Should().Be(HttpStatusCode.Created);

        var book = await GetAsync("/api/ledger?bin=B%201/2");
        book.EnumerateArray().Select(e => e.GetProperty("event").GetString()).Should().Equal("filled", "weighed", "correction");
        var weighed = book[1];
        weighed.GetProperty("weightKg").GetDouble().Should().Be(19.5, "the first entry stays visible");
        weighed.GetProperty("asCorrected").GetProperty("fields").GetProperty("weightKg").GetDouble().Should().Be(19.25);
        weighed.GetProperty("correctedBy")[0].GetInt64().Should().Be(5);
        var changed = book[2].GetProperty("changed").GetProperty("weightKg");
        (changed.GetProperty("from").GetDouble(), changed.GetProperty("to").GetDouble()).Should().Be((19.5, 19.25));
        (await GetAsync("/api/ledger?lot=R1")).GetArrayLength().Should().Be(5);
        (await GetAsync("/api/ledger?to=2020-01-01")).GetArrayLength().Should().Be(0);

        var lot = await GetAsync("/api/lots/R1");
        lot.GetProperty("variety").GetString().Should().Be("Kennebec");
        var sums = lot.GetProperty("book");
        (sums.GetProperty("dugKg").GetDouble(), sums.GetProperty("onHandKg").GetDouble(), sums.GetProperty("notInBinsKg").GetDouble(),
            sums.GetProperty("shrinkKg").GetDouble())
            .Should().Be((100, 46.466, 52.784, 0.75));
        (await GetAsync("/api/lots")).GetArrayLength().Should().Be(1);
        var bin = await GetAsync("/api/bins/" + Uri.EscapeDataString("B2"));
        bin.GetProperty("bookKg").GetDouble().Should().Be(27.216);
        (await GetAsync("/api/bins")).GetArrayLength().Should().Be(2);
        (await http.GetAsync(new Uri("/api/bins/B9", UriKind.Relative), TestContext.Current.CancellationToken)).StatusCode.Should()
            .Be(HttpStatusCode.NotFound);

        await PostAsync("""{"event":"promised","order":"O1","crop":"potato","grade":"table","weightKg":5,"due":"2026-12-20"}""");
        var stock = await GetAsync("/api/stock?on=2026-12-24");
        // What the air is expected to take until then hangs on when the lots were last looked at, so it is read, not known here.
        stock.GetProperty("stock").EnumerateArray().Select(
            s => (s.GetProperty("grade").GetString(), s.GetProperty("bookKg").GetDouble(), s.GetProperty("promisedKg").GetDouble()))
                .Should().Equal((null, 27.216, 0), ("table", 19.25, 5));
        stock.GetProperty("stock").EnumerateArray().Should().AllSatisfy(s => s.GetProperty("lessPromisedKg").GetDouble().Should()
            .BeApproximately(s.GetProperty("bookKg").GetDouble() - s.GetProperty("expectedShrinkKg")
                .GetDouble() - s.GetProperty("promisedKg").GetDouble(), 0.002));
        (await GetAsync("/api/stock?on=2026-12-01")).GetProperty("stock")[1].GetProperty("promisedKg").GetDouble().Should()
            .Be(5, "what is promised is not free, due by then or not");

        await StopAsync();
        await StartAsync();
        (await GetAsync("/api/bins/B2")).GetProperty("bookKg").GetDouble().Should().Be(27.216);
    }

    [Fact]
    public async Task A_question_comes_back_with_what_to_send_and_nothing_is_lost()
    {
        await PostAsync("""[{"event":"dug","lot":"R1","crop":"potato"},{"event":"filled","bin":"B1","lot":"R1","weightKg":20}]""");
        var asked = await PostAsync(
            """[{"event":"eaten","bin":"B1","weightKg":1},{"event":"culled","bin":"B1","weightKg":30,"reason":"rot"}]""");
        asked.Status.Should().Be(HttpStatusCode.Conflict);
        asked.Type.Should().Be("application/problem+json");
        asked.Body.GetProperty("question").GetString().Should().StartWith("Event 1: Bin B1 holds 19 kg");
        asked.Body.GetProperty("questions")[0].GetProperty("index").GetInt32().Should().Be(1);
        asked.Body.GetProperty("insist").GetProperty("keep").GetString().Should().Contain("\"keep\": true");
        (await GetAsync("/api/ledger")).GetArrayLength().Should().Be(2, "all of an array or nothing");

        (await PostAsync("""{"event":"culled","bin":"B1","weightKg":30,"reason":"rot"}""", "?keep=true")).Body.GetProperty("state")
            .GetString().Should().Be("to-be-checked");
        (await GetAsync("/api/bins/B1")).GetProperty("bookKg").GetDouble().Should().Be(20);
        (await PostAsync("""{"event":"correction","of":3,"weightKg":3}""")).Status.Should().Be(HttpStatusCode.Created);
        (await GetAsync("/api/bins/B1")).GetProperty("bookKg").GetDouble().Should().Be(17);
        (await PostAsync("""{"event":"moved","bin":"B1","place":"celar"}""")).Body.GetProperty("question").GetString().Should()
            .Contain("Did you mean cellar?");

        (await PostAsync("""{"event":"moved","bin":"B1","plaice":"cellar"}""")).Status.Should().Be(HttpStatusCode.BadRequest);
        (await PostAsync("{")).Body.GetProperty("detail").GetString().Should().StartWith("The body is not the JSON");
        (await PostAsync("[]")).Status.Should().Be(HttpStatusCode.BadRequest);
    }

    [Fact]
    public async Task A_repeat_under_its_key_is_harmless()
    {
        await PostAsync("""[{"event":"dug","lot":"R1","crop":"potato"},{"event":"filled","bin":"B1","lot":"R1","weightKg":20}]""");
        var answers = await Task.WhenAll(Enumerable.Range(0, 12)
            .Select(_ => PostAsync("""{"event":"eaten","bin":"B1","weightKg":1}""", key: "phone-7")));
        answers.Count(a => a.Status == HttpStatusCode.Created).Should().Be(1);
        answers.Count(a => a.Status == HttpStatusCode.OK).Should().Be(11);
        answers.Select(a => a.Body.GetProperty("id").GetInt64()).Should().AllBeEquivalentTo(3L);
        (await GetAsync("/api/bins/B1")).GetProperty("bookKg").GetDouble().Should().Be(19);
        var other = await PostAsync("""{"event":"eaten","bin":"B1","weightKg":2}""", key: "phone-7");
        other.Status.Should().Be(HttpStatusCode.UnprocessableEntity);
        other.Body.GetProperty("detail").GetString().Should().Contain("'phone-7' was used for something else");
    }

    [Fact]
    public async Task A_place_is_judged_for_the_crops_of_its_bins()
    {
        (await CropsAsync()).Should().Equal("potato");
        await PostAsync("""[{"event":"dug","lot":"C1","crop":"beet"},{"event":"filled","bin":"B1","lot":"C1","weightKg":20,"place":"cellar"}]""");
        (await CropsAsync()).Should().BeEquivalentTo("potato", "beet");
        await StopAsync();
        await StartAsync();
        (await CropsAsync()).Should().BeEquivalentTo("potato", "beet");
        await PostAsync("""{"event":"sold","bin":"B1","weightKg":20}""");
        var emptied = await GetAsync("/api/places/cellar");
        (emptied.GetProperty("emptied").GetBoolean(), emptied.GetProperty("bands").ValueKind).Should().Be((true, JsonValueKind.Null));

        async Task<IEnumerable<string?>> CropsAsync()
        {
            var bands = (await GetAsync("/api/places/cellar")).GetProperty("bands");
            return bands.GetProperty("why").EnumerateArray().Concat(bands.GetProperty("conflicts").EnumerateArray())
                .Select(w => w.GetProperty("crop").GetString());
        }
    }

    [Fact]
    public async Task The_document_has_the_routes_and_strangers_stay_out()
    {
        var paths = (await GetAsync("/openapi/v1.json")).GetProperty("paths");
        foreach (var path in new[] { "/api/ledger", "/api/lots", "/api/lots/{lot}", "/api/bins", "/api/bins/{bin}", "/api/stock" })
            paths.TryGetProperty(path, out _).Should().BeTrue(path);
        using var stranger = new HttpClient { BaseAddress = http.BaseAddress };
        (await stranger.PostAsync(new Uri("/api/ledger", UriKind.Relative), new StringContent("{}", Encoding.UTF8, "application/json"),
            TestContext.Current.CancellationToken)).StatusCode.Should().Be(HttpStatusCode.Unauthorized);
    }

    private async Task StartAsync()
    {
        var settings = new Settings
        {
            Http = { Listen = "127.0.0.1:0" },
            Mqtt = { Listen = $"127.0.0.1:{FreePort()}" },
            Household = { TimeZone = "UTC" }
        };
        app = ServiceHost.Build(settings, folder.Path, TimeProvider.System);
        await app.StartAsync(TestContext.Current.CancellationToken);
        var store = app.Services.GetRequiredService<Store>();
        var token = await store.WriteAsync(c =>
        {
            Tokens.Remove(c, "tests");
            return Tokens.Add(c, "tests", TimeProvider.System.GetUtcNow());
        });
        var address = app.Services.GetRequiredService<IServer>().Features.Get<IServerAddressesFeature>()!.Addresses.First();
        http = new HttpClient { BaseAddress = new Uri(address) };
        http.DefaultRequestHeaders.Authorization = new("Bearer", token);
        await http.PostAsJsonAsync("/api/places", new { place = "cellar", purpose = "storage" }, TestContext.Current.CancellationToken);
    }

    private async Task StopAsync()
    {
        http.Dispose();
        await app.StopAsync(TestContext.Current.CancellationToken);
        await app.DisposeAsync();
    }

    private async Task<JsonElement> GetAsync(string path)
    {
        var answer = await http.GetAsync(new Uri(path, UriKind.Relative), TestContext.Current.CancellationToken);
        var text = await answer.Content.ReadAsStringAsync(TestContext.Current.CancellationToken);
        answer.StatusCode.Should().Be(HttpStatusCode.OK, $"{path}: {text}");
        return Bookkeeping.Parse(text);
    }

    private async Task<(HttpStatusCode Status, JsonElement Body, string? Type)> PostAsync(
        string json, string query = "", string? key = null)
    {
        using var request = new HttpRequestMessage(HttpMethod.Post, $"/api/ledger{query}")
        { Content = new StringContent(json, Encoding.UTF8, "application/json") };
        if (key is not null) request.Headers.Add("Idempotency-Key", key);
        using var answer = await http.SendAsync(request, TestContext.Current.CancellationToken);
        return (answer.StatusCode, Bookkeeping.Parse(await answer.Content.ReadAsStringAsync(TestContext.Current.CancellationToken)),
            answer.Content.Headers.ContentType?.MediaType);
    }

    private static int FreePort()
    {
        using var listener = new TcpListener(IPAddress.Loopback, 0);
        listener.Start();
        return ((IPEndPoint)listener.LocalEndpoint).Port;
    }
}
