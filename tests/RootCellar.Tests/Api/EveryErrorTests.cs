using System.Net;
using System.Net.Http.Headers;
using System.Text;
using System.Text.Json;
using Microsoft.AspNetCore.Authorization;
using Microsoft.AspNetCore.Http.Metadata;
using Microsoft.AspNetCore.Mvc.RazorPages;
using Microsoft.AspNetCore.Routing;
using Microsoft.AspNetCore.Routing.Patterns;
using Microsoft.Extensions.DependencyInjection;
using RootCellar.Entry;
using RootCellar.Storage;
using RootCellar.Tests.Pages;

namespace RootCellar.Tests.Api;

/// <summary>
/// Whatever goes wrong at whatever endpoint for programs is told by a problem document (RFC 9457). The endpoints are the program's own
/// list.
/// </summary>
public sealed class EveryErrorTests : IAsyncLifetime
{
    private static readonly byte[] TooMuch = new byte[(20 * 1024 * 1024) + 1];
    private Site site = null!;
    private HttpClient client = null!;
    private string token = null!;

    public async ValueTask InitializeAsync()
    {
        site = await Site.OpenAsync();
        await site.FillAsync();
        token = (await site.Store.WriteAsync(c => Tokens.Add(c, "tests", site.Time.GetUtcNow())))!;
        client = new HttpClient(new SocketsHttpHandler { AllowAutoRedirect = false }) { BaseAddress = site.Address };
    }

    public async ValueTask DisposeAsync()
    {
        client.Dispose();
        await site.DisposeAsync();
    }

    [Fact]
    public async Task Who_is_not_known_is_told_how_to_come_in()
    {
        var asked = 0;
        foreach (var (method, endpoint) in Calls().Where(c => c.Endpoint.Metadata.GetMetadata<IAllowAnonymous>() is null))
        {
            asked++;
            using var answer = await SendAsync(method, Path(endpoint), known: false, Json("{}"));
            await IsProblemAsync(answer, 401, $"{method} {endpoint.RoutePattern.RawText}");
            answer.Headers.WwwAuthenticate.Should().ContainSingle().Which.Scheme.Should().Be("Bearer");
        }

        asked.Should().BeGreaterThan(35);
    }

    [Fact]
    public async Task A_method_that_is_not_for_an_address_is_told_which_are()
    {
        foreach (var address in Endpoints().GroupBy(e => e.RoutePattern.RawText))
        {
            var there = address.SelectMany(e => e.Metadata.GetMetadata<HttpMethodMetadata>()?.HttpMethods ?? []).ToList();
            var other = new[] { "PUT", "PATCH", "DELETE" }.First(m => !there.Contains(m));
            using var answer = await SendAsync(other, Path(address.First()), known: true, Json("{}"));
            await IsProblemAsync(answer, 405, $"{other} {address.Key}");
            answer.Content.Headers.Allow.Should().NotBeEmpty().And.NotContain(other);
        }
    }

    [Fact]
    public async Task What_is_not_there_is_said()
    {
        var asked = 0;
        foreach (var (method, endpoint) in Calls().Where(c => c.Endpoint.RoutePattern.Parameters.Count > 0))
        {
            asked++;
            using var answer = await SendAsync(method, Path(endpoint), known: true, method == "GET" ? null : Json("{}"));
            await IsProblemAsync(answer, 404, $"{method} {endpoint.RoutePattern.RawText}");
        }

        asked.Should().BeGreaterThan(14);
        foreach (var nowhere in new[] { "/api", "/api/nowhere", "/API/lots/2025-1/nothing", "/openapi/v9.json" })
        {
            using var answer = await SendAsync("GET", nowhere, known: true);
            await IsProblemAsync(answer, 404, nowhere);
        }
    }

    [Fact]
    public async Task A_body_that_cannot_be_read_is_said()
    {
        var asked = 0;
        foreach (var (method, endpoint) in Calls().Where(c => c.Endpoint.Metadata.GetMetadata<IAcceptsMetadata>() is not null))
        {
            asked++;
            var (path, name) = (Path(endpoint), $"{method} {endpoint.RoutePattern.RawText}");
            using var text = await SendAsync(method, path, known: true, new StringContent("{}", Encoding.UTF8, "text/plain"));
            await IsProblemAsync(text, 415, name);
            using var broken = await SendAsync(method, path, known: true, Json("{\"name\":"));
            await IsProblemAsync(broken, 400, name);
            using var large = new ByteArrayContent(TooMuch) { Headers = { ContentType = new MediaTypeHeaderValue("application/json") } };
            using var tooLarge = await SendAsync(method, path, known: true, large);
            await IsProblemAsync(tooLarge, 413, name);
        }

        asked.Should().BeGreaterThan(7);
    }

    [Fact]
    public async Task A_value_that_cannot_be_read_is_said()
    {
        using var told = await SendAsync("GET", "/openapi/v1.json", known: true);
        using var document = JsonDocument.Parse(await told.Content.ReadAsStringAsync(TestContext.Current.CancellationToken));
        var asked = 0;
        foreach (var path in document.RootElement.GetProperty("paths").EnumerateObject())
        {
            if (!path.Value.TryGetProperty("get", out var call) || !call.TryGetProperty("parameters", out var parameters)) continue;
            // Any name of a bin or a lot can be read.
            foreach (var parameter in parameters.EnumerateArray().Where(p => p.GetProperty("in").GetString() == "query"))
            {
                var name = parameter.GetProperty("name").GetString()!;
                if (name is "bin" or "lot") continue;
                asked++;
                var there = path.Name.Replace("{place}", "cellar", StringComparison.Ordinal)
                    .Replace("{lot}", "2025-1", StringComparison.Ordinal);
                using var answer = await SendAsync("GET", $"{there}?{name}=so+what", known: true);
                await IsProblemAsync(answer, 400, $"{path.Name}?{name}");
            }
        }

        asked.Should().BeGreaterThan(10);
    }

    [Fact]
    public async Task A_record_that_refuses_is_503_and_a_fault_of_ours_500()
    {
        await site.Store.WriteAsync(c => c.Execute("DROP TABLE air"));
        using var fault = await SendAsync("GET", "/api/places/cellar/air", known: true);
        await IsProblemAsync(fault, 500, "the air of a record without air");

        await site.Store.WriteAsync(c => c.Execute("PRAGMA query_only = 1"));
        foreach (var (method, path, body) in new[]
        {
            ("POST", "/api/places", """{"place":"attic","purpose":"storage"}"""),
            ("PATCH", "/api/places/cellar", """{"name":"Below"}"""),
            ("POST", "/api/contacts", """{"name":"Ann","channel":"mail","address":"ann@example.org"}"""),
            ("POST", "/api/credentials", """{"reader":"siren"}"""),
            ("PATCH", "/api/broker", """{"setUpFinished":true}"""),
            ("POST", "/api/ledger", """{"event":"eaten","bin":"B1","weightKg":1}"""),
        })
        {
            using var answer = await SendAsync(method, path, known: true, Json(body));
            await IsProblemAsync(answer, 503, $"{method} {path}");
        }
    }

    /// <summary>Everything that is no page and no part of one.</summary>
    private IEnumerable<RouteEndpoint> Endpoints() => site.Services.GetRequiredService<EndpointDataSource>().Endpoints
        .OfType<RouteEndpoint>()
        .Where(e => e.Metadata.GetMetadata<PageActionDescriptor>() is null && e.Metadata.GetMetadata<ShownInPages>() is null);

    private IEnumerable<(string Method, RouteEndpoint Endpoint)> Calls() =>
        Endpoints().SelectMany(e => e.Metadata.GetMetadata<HttpMethodMetadata>()!.HttpMethods.Where(m => m != "HEAD").Select(m => (m, e)));

    // Nothing has such a name.
    private static string Path(RouteEndpoint endpoint) =>
        "/" + string.Join('/', endpoint.RoutePattern.PathSegments.Select(s => string.Concat(s.Parts.Select(Part))));

    private static string Part(RoutePatternPart part) => part switch
    {
        RoutePatternLiteralPart literal => literal.Content,
        RoutePatternParameterPart { ParameterPolicies.Count: > 0 } => "987654321",
        _ => "none-such",
    };

    private static StringContent Json(string json) => new(json, Encoding.UTF8, "application/json");

    private async Task<HttpResponseMessage> SendAsync(string method, string path, bool known, HttpContent? body = null)
    {
        using var request = new HttpRequestMessage(new HttpMethod(method), path) { Content = method == "GET" ? null : body };
        // What is too large is refused before it is sent.
        request.Headers.ExpectContinue = body is ByteArrayContent and not StringContent;
        if (known) request.Headers.Authorization = new("Bearer", token);
        return await client.SendAsync(request, TestContext.Current.CancellationToken);
    }

    private static async Task IsProblemAsync(HttpResponseMessage answer, int status, string what)
    {
        var text = await answer.Content.ReadAsStringAsync(TestContext.Current.CancellationToken);
        ((int)answer.StatusCode).Should().Be(status, $"{what}: {text}");
        answer.Content.Headers.ContentType?.MediaType.Should().Be("application/problem+json", what);
        using var problem = JsonDocument.Parse(text);
        problem.RootElement.GetProperty("status").GetInt32().Should().Be(status, what);
        problem.RootElement.GetProperty("title").GetString().Should().NotBeNullOrEmpty(what);
        problem.RootElement.GetProperty("detail").GetString().Should().NotBeNullOrEmpty(what);
        answer.Headers.ETag.Should().BeNull(what);
    }
}
