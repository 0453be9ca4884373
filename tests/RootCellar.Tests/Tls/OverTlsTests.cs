using System.Net;
using System.Net.Sockets;
using Microsoft.Extensions.DependencyInjection;
using RootCellar.Entry;
using RootCellar.Monitoring;
using RootCellar.Readings;
using RootCellar.Tests.Entry;
using RootCellar.Tests.Pages;
using RootCellar.Tests.Storage;

namespace RootCellar.Tests.Tls;

/// <summary>Pages and readings over TLS, to clients that trust the household's own authority and nothing else.</summary>
public class OverTlsTests
{
    [Fact]
    public async Task Pages_come_over_https_as_over_http_and_each_way_in_has_cookies_of_its_own()
    {
        await using var house = await TlsHouse.OpenAsync();
        using var ann = house.Visitor();
        (await ann.SignInAsync(house.Site.Passphrase)).Status.Should().Be(HttpStatusCode.Found);
        ann.SetCookies.Should().HaveCountGreaterThan(1).And.AllSatisfy(c =>
            c.Should().MatchRegex("(?i)^__Host-rootcellar[^;]*;.*path=/;.*").And.MatchRegex("(?i); secure").And.NotMatchRegex("(?i)domain="));
        (await ann.GetAsync("/bins")).Words.Should().Contain("Signed in as Ann");
        ann.Headers["Content-Security-Policy"].Single().Should().StartWith("default-src 'none'");
        ann.Headers["Strict-Transport-Security"].Should().BeEmpty("it would shut the plain port for good");

        // A plain page on the way, or whoever listens there, has nothing that opens https, and cannot put anything there.
        using var plain = await Visitor.HouseholdAsync(house.Site);
        plain.SetCookies.Should().NotContain(c => c.Contains("__Host-", StringComparison.Ordinal));
        (await plain.GetAsync("/bins")).Words.Should().Contain("Signed in as Ann");
        await AskAsync(house, $"rootcellar={plain.Cookie("rootcellar")}", HttpStatusCode.Found);
        await AskAsync(house, $"__Host-rootcellar={ann.Cookie("__Host-rootcellar")}; rootcellar=thrown-in", HttpStatusCode.OK);

        // A large answer is told once; another site's name gets nothing.
        (await ann.GetAsync("/api/lots")).Status.Should().Be(HttpStatusCode.OK);
        var again = new HttpRequestMessage(HttpMethod.Get, "/api/lots");
        again.Headers.TryAddWithoutValidation("If-None-Match", ann.Headers["ETag"].Single());
        (await ann.SendAsync(again)).Status.Should().Be(HttpStatusCode.NotModified);
        var name = new HttpRequestMessage(HttpMethod.Get, "/bins");
        name.Headers.Host = "rebound.example";
        (await ann.SendAsync(name)).Status.Should().Be(HttpStatusCode.MisdirectedRequest);
        (await ann.SendAsync("/sign-out", (await ann.GetAsync("/sign-out")).Html)).Status.Should().Be(HttpStatusCode.Found);
        (await ann.GetAsync("/bins")).Status.Should().Be(HttpStatusCode.Found, "signed out is signed out");
    }

    [Fact]
    public async Task A_page_of_plain_http_calls_nothing_over_https()
    {
        await using var house = await TlsHouse.OpenAsync();
        using var ann = house.Visitor();
        await ann.SignInAsync(house.Site.Passphrase);
        foreach (var (origin, status) in new[] { ("http", HttpStatusCode.Forbidden), ("https", HttpStatusCode.BadRequest) })
            (await ann.JsonAsync("POST", "/api/ledger", "{}", "application/json", ("Origin", $"{origin}://{house.Site.Addresses[1].Authority}")))
                .Status.Should().Be(status);
    }

    [Fact]
    public async Task A_name_of_the_certificate_is_a_name_of_the_house()
    {
        await using var house = await TlsHouse.OpenAsync();
        using var plain = await Visitor.HouseholdAsync(house.Site);
        foreach (var (name, status) in new[] { ("cellar.test", HttpStatusCode.OK), ("other.test", HttpStatusCode.MisdirectedRequest) })
        {
            var request = new HttpRequestMessage(HttpMethod.Get, "/bins");
            request.Headers.Host = name;
            (await plain.SendAsync(request)).Status.Should().Be(status, name);
        }
    }

    [Fact]
    public async Task A_reading_over_tls_is_judged_as_any_other()
    {
        await using var house = await TlsHouse.OpenAsync();
        await house.PublishAsync(house.Site.Addresses[3].Port, tls: true, "rootcellar/cellar/door", """{"temperature_c":21.5,"humidity_pct":60}""");
        await house.PublishAsync(house.Site.Addresses[2].Port, tls: false, "rootcellar/cellar/floor", """{"temperature_c":21.6}""");
        var cellar = await house.Site.Services.GetRequiredService<Pipeline>().AskAsync(
            (_, _, _) => true, TestContext.Current.CancellationToken) ? house.Site.Services.GetRequiredService<Pipeline>().Snapshot : null!;
        cellar.Sensor("cellar/door")!.Place.Should().Be("cellar");
        cellar.Sensor("cellar/floor")!.Place.Should().Be("cellar");
        (await house.Site.WordsAsync("/")).Should().Contain("Cellar").And.MatchRegex("too warm");
    }

    [Fact]
    public async Task A_client_that_does_not_trust_the_house_sends_nothing()
    {
        await using var house = await TlsHouse.OpenAsync();
        using var stranger = new OwnAuthority();
        using var visitor = new Visitor(house.Site, trusts: stranger);
        await visitor.Invoking(v => v.GetAsync("/health/live")).Should().ThrowAsync<HttpRequestException>();
    }

    [Fact]
    public async Task Connections_to_the_broker_are_counted_before_their_handshake()
    {
        await using var house = await TlsHouse.OpenAsync(change: s => s.Mqtt.Limits.ConnectionsPerAddress = 2);
        var port = house.Site.Addresses[3].Port;
        using TcpClient first = new(), second = new(), third = new();
        await first.ConnectAsync(IPAddress.Loopback, port, TestContext.Current.CancellationToken);
        await second.ConnectAsync(IPAddress.Loopback, port, TestContext.Current.CancellationToken);
        var refusals = house.Site.Services.GetRequiredService<Refusals>();
        await Sample.UntilAsync(() => house.Site.Services.GetRequiredService<BrokerDoor>().Connections == 2);
        await third.ConnectAsync(IPAddress.Loopback, port, TestContext.Current.CancellationToken);
        (await third.GetStream().ReadAsync(new byte[1], TestContext.Current.CancellationToken)).Should().Be(0, "it is closed");
        refusals.Total(Refusal.AddressConnections).Should().Be(1);
    }

    [Fact]
    public async Task Links_in_texts_go_to_https_once_a_phone_of_the_household_came_by_it_and_while_the_certificate_is_good()
    {
        await using var house = await TlsHouse.OpenAsync(until: Sample.At.AddDays(30));
        var address = house.Site.Services.GetRequiredService<HouseAddress>();
        using var ann = await Visitor.HouseholdAsync(house.Site);
        await OpenAsync(ann, "cellar.local:8080");
        address.Now.Should().Be(new Uri("http://cellar.local:8080"), "nobody has shown that phones trust the certificate");
        // The household's clock is a year behind the one that clients go by; what is asked is only what the house makes of it.
        house.Issue(until: DateTimeOffset.UtcNow.AddDays(400));
        await house.LookAsync(() => house.Site.Services.GetRequiredService<RootCellar.Tls.HouseCertificate>().Now.Left > TimeSpan.FromDays(300));
        using var secure = house.Visitor();
        await secure.SignInAsync(house.Site.Passphrase);
        await OpenAsync(secure, "cellar.local:8443");
        address.Now.Should().Be(new Uri("https://cellar.local:8443"));
        await OpenAsync(ann, "cellar.local:8080");
        address.Now.Should().Be(new Uri("https://cellar.local:8443"), "a plain visit beside it does not take it back");
        house.Issue(until: Sample.At.AddDays(-1));
        await house.LookAsync(() => !house.Site.Services.GetRequiredService<RootCellar.Tls.HouseCertificate>().Now.IsGood);
        address.Now.Should().Be(new Uri("http://cellar.local:8080"));
    }

    private static async Task OpenAsync(Visitor who, string host)
    {
        var request = new HttpRequestMessage(HttpMethod.Get, "/bins");
        request.Headers.Host = host;
        (await who.SendAsync(request)).Status.Should().Be(HttpStatusCode.OK);
    }

    private static async Task AskAsync(TlsHouse house, string cookies, HttpStatusCode then)
    {
        using var handler = new SocketsHttpHandler { UseCookies = false, AllowAutoRedirect = false };
        handler.SslOptions.CertificateChainPolicy = house.Authority.Trust;
        using var client = new HttpClient(handler) { BaseAddress = house.Site.Addresses[1] };
        using var request = new HttpRequestMessage(HttpMethod.Get, "/bins");
        request.Headers.TryAddWithoutValidation("Cookie", cookies);
        using var answer = await client.SendAsync(request, TestContext.Current.CancellationToken);
        answer.StatusCode.Should().Be(then);
    }
}
