using System.IO.Compression;
using System.Net;
using System.Net.Http.Headers;
using System.Text;
using Microsoft.AspNetCore.Routing;
using Microsoft.Extensions.DependencyInjection;
using RootCellar.Api;
using RootCellar.Entry;
using RootCellar.Tests.Pages;

namespace RootCellar.Tests.Api;

/// <summary>Large answers are compressed, and who has one already is told so.</summary>
public sealed class LargeAnswersTests : IAsyncLifetime
{
    private static readonly Dictionary<string, string> Large = new(StringComparer.Ordinal)
    {
        ["/api/lots"] = "/api/lots",
        ["/api/lots/{lot}/history"] = "/api/lots/2025-1/history?step=1h",
        ["/api/bins"] = "/api/bins",
        ["/api/ledger"] = "/api/ledger",
        ["/api/places/{place}/air"] = "/api/places/cellar/air",
        ["/api/report"] = "/api/report",
        ["/api/alarms"] = "/api/alarms",
        ["/api/stock"] = "/api/stock",
        ["/api/ahead"] = "/api/ahead",
        ["/openapi/v1.json"] = "/openapi/v1.json",
    };

    private Site site = null!;
    private HttpClient client = null!;

    public async ValueTask InitializeAsync()
    {
        site = await Site.OpenAsync();
        await site.FillAsync();
        site.Time.Advance(TimeSpan.FromHours(6));
        await site.Lots.AdvanceAsync(TestContext.Current.CancellationToken);
        client = new HttpClient { BaseAddress = site.Address };
        var token = await site.Store.WriteAsync(c => Tokens.Add(c, "tests", site.Time.GetUtcNow()));
        client.DefaultRequestHeaders.Authorization = new("Bearer", token);
    }

    public async ValueTask DisposeAsync()
    {
        client.Dispose();
        await site.DisposeAsync();
    }

    [Fact]
    public void What_is_large_is_marked_so() => site.Services.GetRequiredService<EndpointDataSource>().Endpoints.OfType<RouteEndpoint>()
        .Where(e => e.Metadata.GetMetadata<LargeAnswer>() is not null)
        .Select(e => "/" + e.RoutePattern.RawText!.Trim('/')).Should().BeEquivalentTo(Large.Keys);

    [Fact]
    public async Task A_large_answer_is_compressed_as_it_is_asked_for_and_sent_once()
    {
        foreach (var path in Large.Values)
        {
            var plain = await AskAsync(path);
            plain.Status.Should().Be(HttpStatusCode.OK, path);
            plain.Encoding.Should().BeNull(path);
            foreach (var encoding in new[] { "gzip", "br" })
            {
                var packed = await AskAsync(path, encoding);
                packed.Encoding.Should().Be(encoding, path);
                Unpacked(packed).Should().Be(Encoding.UTF8.GetString(plain.Body), path);
                packed.Tag.Should().Be(plain.Tag, "it is the same answer");
                var again = await AskAsync(path, encoding, packed.Tag);
                (again.Status, again.Body.Length, again.Tag).Should().Be((HttpStatusCode.NotModified, 0, plain.Tag), path);
            }

            (await AskAsync(path, known: new EntityTagHeaderValue("\"other\""))).Status.Should().Be(HttpStatusCode.OK, path);
            plain.Tag!.IsWeak.Should().BeTrue(path);
        }

        (await AskAsync("/openapi/v1.json", "gzip")).Body.Length.Should().BeLessThan((await AskAsync("/openapi/v1.json")).Body.Length / 4);
    }

    [Fact]
    public async Task What_changed_is_sent_again()
    {
        foreach (var path in new[] { "/api/lots", "/api/bins", "/api/ledger", "/api/stock" })
        {
            var before = await AskAsync(path);
            await site.WriteAsync("""[{"event":"eaten","bin":"B1","weightKg":0.5}]""");
            var after = await AskAsync(path, known: before.Tag);
            after.Status.Should().Be(HttpStatusCode.OK, path);
            after.Tag.Should().NotBe(before.Tag, path);
            after.Body.Should().NotEqual(before.Body, path);
        }

        var lots = await AskAsync("/api/lots");
        site.Time.Advance(TimeSpan.FromHours(6));
        await site.Lots.AdvanceAsync(TestContext.Current.CancellationToken);
        (await AskAsync("/api/lots", known: lots.Tag)).Status.Should().Be(HttpStatusCode.OK, "the estimates went on");
    }

    [Fact]
    public async Task Pages_are_packed_but_none_that_shows_secrets_nothing_else_is_compressed_and_no_error_has_a_tag()
    {
        (await AskAsync("/", "gzip")).Encoding.Should().Be("gzip");
        foreach (var path in new[] { "/set-up", "/api/credentials", "/api/places", "/api/lots/2025-1" })
        {
            var answer = await AskAsync(path, "gzip");
            (answer.Status, answer.Encoding, answer.Tag).Should().Be((HttpStatusCode.OK, null, null), path);
        }

        foreach (var path in new[] { "/api/places/nowhere/air", "/api/stock?on=never", "/api/ledger?limit=0", "/api/lots/none/history" })
        {
            var answer = await AskAsync(path, "gzip");
            ((int)answer.Status).Should().BeInRange(400, 404, path);
            (answer.Encoding, answer.Tag).Should().Be((null, null), path);
            Encoding.UTF8.GetString(answer.Body).Should().StartWith("{\"type\"", path);
        }
    }

    private static string Unpacked(Sent sent)
    {
        using var packed = new MemoryStream(sent.Body);
        using Stream plain = sent.Encoding == "br"
            ? new BrotliStream(packed, CompressionMode.Decompress)
            : new GZipStream(packed, CompressionMode.Decompress);
        using var reader = new StreamReader(plain, Encoding.UTF8);
        return reader.ReadToEnd();
    }

    private async Task<Sent> AskAsync(string path, string? encoding = null, EntityTagHeaderValue? known = null)
    {
        using var request = new HttpRequestMessage(HttpMethod.Get, path);
        if (encoding is not null) request.Headers.AcceptEncoding.Add(new(encoding));
        if (known is not null) request.Headers.IfNoneMatch.Add(known);
        using var answer = await client.SendAsync(request, TestContext.Current.CancellationToken);
        var body = await answer.Content.ReadAsByteArrayAsync(TestContext.Current.CancellationToken);
        return new Sent(answer.StatusCode, answer.Content.Headers.ContentEncoding.SingleOrDefault(), answer.Headers.ETag, body);
    }

    private sealed record Sent(HttpStatusCode Status, string? Encoding, EntityTagHeaderValue? Tag, byte[] Body);
}
