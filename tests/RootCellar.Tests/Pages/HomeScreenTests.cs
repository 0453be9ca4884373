using System.Buffers.Binary;
using System.Globalization;
using System.Text.Json;
using System.Text.RegularExpressions;

namespace RootCellar.Tests.Pages;

/// <summary>What a phone asks for to put the pages on its home screen (W3C Web Application Manifest), before anybody has signed in.</summary>
public class HomeScreenTests
{
    [Fact]
    public async Task The_pages_name_a_manifest_and_every_icon_of_it_is_there_in_the_size_it_says()
    {
        await using var site = await Site.OpenAsync();
        using var client = new HttpClient { BaseAddress = site.Address };
        var page = await client.GetStringAsync(new Uri("/sign-in", UriKind.Relative), TestContext.Current.CancellationToken);
        var address = Regex.Match(page, "<link rel=\"manifest\" href=\"(?<at>[^\"]+)\"", RegexOptions.ExplicitCapture, TimeSpan.FromSeconds(5))
            .Groups["at"].Value;
        using var answer = await client.GetAsync(new Uri(address, UriKind.Relative), TestContext.Current.CancellationToken);
        answer.Content.Headers.ContentType!.MediaType.Should().Be("application/manifest+json");
        using var manifest = JsonDocument.Parse(await answer.Content.ReadAsStringAsync(TestContext.Current.CancellationToken));
        (manifest.RootElement.GetProperty("start_url").GetString(), manifest.RootElement.GetProperty("scope").GetString()).Should().Be(("/", "/"));
        page.Should().Contain($"<meta name=\"theme-color\" content=\"{manifest.RootElement.GetProperty("theme_color").GetString()}\"");
        var icons = manifest.RootElement.GetProperty("icons").EnumerateArray().ToList();
        icons.Should().HaveCount(3);
        foreach (var icon in icons)
        {
            var bytes = await client.GetByteArrayAsync(
                new Uri("/assets/" + icon.GetProperty("src").GetString(), UriKind.Relative), TestContext.Current.CancellationToken);
            if (icon.GetProperty("type").GetString() != "image/png") continue;
            // PNG (ISO/IEC 15948, 11.2.2): width and height stand in the first chunk.
            var side = int.Parse(icon.GetProperty("sizes").GetString()!.Split('x')[0], CultureInfo.InvariantCulture);
            (BinaryPrimitives.ReadInt32BigEndian(bytes.AsSpan(16)), BinaryPrimitives.ReadInt32BigEndian(bytes.AsSpan(20))).Should()
                .Be((side, side));
        }
    }

    [Fact]
    public async Task The_page_for_the_cellar_begins_there_from_the_home_screen_and_what_keeps_it_names_just_what_it_is_made_of_now()
    {
        await using var site = await Site.OpenAsync();
        using var client = new HttpClient { BaseAddress = site.Address };
        var page = await site.ReadAsync("/cellar");
        using var manifest = JsonDocument.Parse(await client.GetStringAsync(
            new Uri(Found(page, "<link rel=\"manifest\" href=\"(?<at>[^\"]+)\"").Single(), UriKind.Relative), TestContext.Current.CancellationToken));
        (manifest.RootElement.GetProperty("start_url").GetString(), manifest.RootElement.GetProperty("id").GetString()).Should().Be(("/cellar", "/cellar"));

        using var answer = await client.GetAsync(new Uri("/assets/cellar-worker.js", UriKind.Relative), TestContext.Current.CancellationToken);
        answer.Content.Headers.ContentType!.MediaType.Should().Be("text/javascript");
        answer.Headers.GetValues("Service-Worker-Allowed").Should().Equal("/cellar");
        answer.Headers.CacheControl!.NoCache.Should().BeTrue("browsers ask whether there is a new one");
        var worker = await answer.Content.ReadAsStringAsync(TestContext.Current.CancellationToken);
        worker.Should().NotContain("{parts}").And.NotContain("{kept}");
        var parts = Found(worker, "'(?<at>/assets/[^']+)'").ToList();
        // All that the page itself asks for, but the icons of its place on the home screen.
        Found(page, "(?:href|src)=\"(?<at>/assets/[^\"]+)\"").Where(a => !a.Contains("webmanifest", StringComparison.Ordinal) && !a.Contains("icon-180", StringComparison.Ordinal))
            .Distinct().Should().BeEquivalentTo(parts);
        foreach (var part in parts)
        {
            using var there = await client.GetAsync(new Uri(part, UriKind.Relative), TestContext.Current.CancellationToken);
            there.Headers.CacheControl!.ToString().Should().Contain("immutable", "{0} is of this program", part);
        }
    }

    private static IEnumerable<string> Found(string text, string pattern) =>
        Regex.Matches(text, pattern, RegexOptions.ExplicitCapture, TimeSpan.FromSeconds(5)).Select(m => m.Groups["at"].Value);
}
