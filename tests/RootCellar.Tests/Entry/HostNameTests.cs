using System.Net;
using RootCellar.Entry;
using RootCellar.Tests.Pages;

namespace RootCellar.Tests.Entry;

/// <summary>Under which names the service answers: another site may point its own name at this machine.</summary>
public class HostNameTests
{
    [Fact]
    public async Task Under_a_name_that_is_not_ours_nothing_of_the_house_is_told_and_the_page_says_which_setting_helps()
    {
        await using var site = await Site.OpenAsync();
        using var ann = await Visitor.HouseholdAsync(site);
        foreach (var name in new[] { "rebound.example", "127.0.0.1.rebound.example", "localhost.rebound.example",
            "cellar.local.rebound.example", "rootcellar-in-compose" })
        {
            var page = await AskAsync(ann, "GET", "/", name);
            page.Status.Should().Be(HttpStatusCode.MisdirectedRequest, name);
            page.Words.Should().Contain("Not under this name").And.Contain(name).And.Contain("Http:Hosts");
            page.Words.Should().NotContain("Curing").And.NotContain("Signed in as");
            var call = await AskAsync(ann, "GET", "/API/places", name);
            call.Status.Should().Be(HttpStatusCode.MisdirectedRequest, name);
            ann.Headers["Content-Type"].Should().Equal("application/problem+json");
            call.Html.Should().Contain("Http:Hosts").And.NotContain("curing");
            (await AskAsync(ann, "POST", "/sign-in", name)).Status.Should().Be(HttpStatusCode.MisdirectedRequest, name);
            (await AskAsync(ann, "GET", "/health/live", name)).Status.Should()
                .Be(HttpStatusCode.OK, "containers and monitors ask under names of their own");
            (await AskAsync(ann, "GET", "/health/ready", name)).Status.Should().NotBe(HttpStatusCode.MisdirectedRequest);
        }

        using var token = await Visitor.TokenAsync(site, Tokens.MayAll);
        (await AskAsync(token, "GET", "/api/places", "rootcellar-in-compose")).Status.Should()
            .Be(HttpStatusCode.OK, "no browser sends a token by itself");
    }

    [Fact]
    public async Task The_machines_own_names_and_those_of_the_settings_are_answered()
    {
        await using var site =
            await Site.OpenAsync(publicUrl: "https://farm.example/cellar", change: s => s.Http.Hosts = "potatoes.example, barn.lan");
        using var ann = await Visitor.HouseholdAsync(site);
        foreach (var name in new[] { "localhost", "LOCALHOST:8080", "127.0.0.1", "192.168.1.20:8080", "[::1]", "[fe80::1]:8080",
            Environment.MachineName, "cellar.local", "farm.example", "potatoes.example", "BARN.lan", "barn.lan." })
            (await AskAsync(ann, "GET", "/bins", name)).Status.Should().Be(HttpStatusCode.OK, name);
    }

    [Fact]
    public void What_is_no_name_and_no_network_is_told_with_what_would_be_right()
    {
        var settings = new Settings
        {
            Http = { Hosts = "http://farm.example, ok.example",
            TrustedProxies = "10.0.0.0/8, 10.1.2.3, fd00::/8, nowhere, 10.0.0.0/99" }
        };
        settings.Http.Problems().Should().SatisfyRespectively(
            p => p.Should().Be("Http:Hosts: 'http://farm.example' is not a name. Right: cellar.example, without http:// and port; several with commas between."),
            p => p.Should().StartWith("Http:TrustedProxies: 'nowhere'"),
            p => p.Should().StartWith("Http:TrustedProxies: '10.0.0.0/99'").And.Contain("172.18.0.0/16"));
        settings.Http.ProxyList.Should().HaveCount(3);
    }

    private static Task<Answer> AskAsync(Visitor who, string method, string path, string host)
    {
        var request = new HttpRequestMessage(new HttpMethod(method), path);
        request.Headers.Host = host;
        return who.SendAsync(request);
    }
}
