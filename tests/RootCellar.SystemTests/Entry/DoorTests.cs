using System.Net;
using RootCellar.SystemTests.Running;

namespace RootCellar.SystemTests.Entry;

/// <summary>Who gets in, seen from outside.</summary>
public class DoorTests
{
    [Fact]
    public async Task Without_a_token_only_health_answers()
    {
        await using var service = await RunningService.StartAsync();
        using var stranger = Client(service);

        foreach (var (path, expected) in new[]
        {
            ("/health/live", HttpStatusCode.OK), ("/health/ready", HttpStatusCode.OK), ("/api/places", HttpStatusCode.Unauthorized),
            ("/api/alarms", HttpStatusCode.Unauthorized), ("/metrics", HttpStatusCode.Unauthorized),
            ("/openapi/v1.json", HttpStatusCode.Unauthorized),
        })
        {
            using var answer = await stranger.GetAsync(new Uri(path, UriKind.Relative), TestContext.Current.CancellationToken);
            answer.StatusCode.Should().Be(expected, path);
        }

        stranger.DefaultRequestHeaders.Authorization = new("Bearer", "rc_0000");
        using var wrong = await stranger.GetAsync(new Uri("/api/places", UriKind.Relative), TestContext.Current.CancellationToken);
        wrong.StatusCode.Should().Be(HttpStatusCode.Unauthorized);
    }

    [Fact]
    public async Task The_api_document_names_every_call()
    {
        await using var service = await RunningService.StartAsync();
        var document = await (await service.ApiAsync())
            .GetStringAsync(new Uri("/openapi/v1.json", UriKind.Relative), TestContext.Current.CancellationToken);

        foreach (var path in (string[])["/api/places", "/api/places/{place}/air", "/api/sensors", "/api/alarms/{id}/acknowledge",
            "/api/contacts"])
        {
            document.Should().Contain($"\"{path}\"");
        }
    }

    // Another service on the same machine is the same site to a browser, so SameSite cookies alone would let its pages call us.
    [Theory]
    [InlineData("http://127.0.0.1:1", HttpStatusCode.Forbidden)]
    [InlineData("null", HttpStatusCode.Forbidden)]
    [InlineData("own", HttpStatusCode.Unauthorized)]
    [InlineData(null, HttpStatusCode.Unauthorized)]
    public async Task A_page_from_elsewhere_cannot_call_the_api_with_the_growers_cookie(string? origin, HttpStatusCode expected)
    {
        await using var service = await RunningService.StartAsync();
        using var browser = Client(service);
        using var request = new HttpRequestMessage(HttpMethod.Post, "/api/alarms/cellar-too-warm-1/acknowledge");
        if (origin is not null) request.Headers.Add("Origin", origin == "own" ? $"http://127.0.0.1:{service.HttpPort}" : origin);

        using var answer = await browser.SendAsync(request, TestContext.Current.CancellationToken);

        answer.StatusCode.Should().Be(expected);
    }

    private static HttpClient Client(RunningService service) => new(new HttpClientHandler { AllowAutoRedirect = false })
    { BaseAddress = new Uri($"http://127.0.0.1:{service.HttpPort}") };
}
