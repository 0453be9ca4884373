using System.Net;
using System.Text.Json;
using Microsoft.Extensions.DependencyInjection;
using RootCellar.Monitoring;
using RootCellar.Places;

namespace RootCellar.Tests.Pages;

/// <summary>A crop that cold harms, on its way into a root cellar, as the grower meets it.</summary>
public class ChillPagesTests
{
    [Fact]
    public async Task The_move_is_asked_about_with_the_place_that_suits_and_done_all_the_same_it_is_a_job_with_that_place_on_top()
    {
        await using var site = await Site.OpenAsync();
        await site.Services.GetRequiredService<Pipeline>().AskAsync(
            (house, _, _) =>
            {
                house.SavePlace(new Place("pantry", "Pantry", Purpose.Storage, null, ["winter-squash"]));
                return true;
            },
            TestContext.Current.CancellationToken);
        await AirAsync(site, "cellar", 3.6);
        await AirAsync(site, "pantry", 13);
        await site.LogAsync("dug", null, ("lot", "2025-1"), ("crop", "winter-squash"));
        await site.LogAsync("filled", "S1", ("lot", "2025-1"), ("amount", "40"), ("unit", "lb"), ("place", "pantry"));
        await site.Lots.AdvanceAsync(TestContext.Current.CancellationToken);

        var form = await site.ReadAsync("/log/moved?bin=S1");
        var asked = await site.SendAsync("/log/moved", form, ("bin", "S1"), ("place", "cellar"));
        asked.Status.Should().Be(HttpStatusCode.OK);
        asked.Words.Should().Contain("is harmed below 50.0 °F, and Cellar is at 38.5 °F. Pantry (55.4 °F) suits it.");
        site.Book.Bins["S1"].Place.Should().Be("pantry");
        (await site.SendAsync("/log/moved", asked.Html, ("bin", "S1"), ("place", "cellar"), ("answer", "checked"))).Status.Should()
            .Be(HttpStatusCode.Found);
        site.Book.Bins["S1"].Place.Should().Be("cellar");

        site.Time.Advance(TimeSpan.FromHours(2));
        await AirAsync(site, "cellar", 3.6);
        await AirAsync(site, "pantry", 13);
        await site.Lots.AdvanceAsync(TestContext.Current.CancellationToken);
        var now = await site.ReadAsync("/");
        Site.Words(now).Should().MatchRegex("Check S1.*is chilled below 50.0 °F; about .* more of this harm it.*Bring it to Pantry");
        now.Should().Contain("/log/moved?bin=S1");
        (await site.ReadAsync("/log/moved?bin=S1")).Should().MatchRegex("class=\"big primary\"[^>]*value=\"pantry\"");
        (await site.ReadAsync("/api/bins/S1")).Should().Contain("\"code\":\"chilling\"");

        // By when: before the cold does harm.
        using var advice = JsonDocument.Parse(await site.ReadAsync("/api/advice"));
        advice.RootElement.EnumerateArray().Single(a => a.GetProperty("lot").GetString() == "2025-1").GetProperty("do")[0].GetProperty("by")
            .GetDateTimeOffset().Should().BeAfter(site.Time.GetUtcNow()).And.BeBefore(site.Time.GetUtcNow().AddDays(30));
    }

    [Theory]
    [InlineData("""{"event":"moved","bin":"S1","place":"cellar"}""")]
    [InlineData("""[{"event":"weighed","bin":"S1","weightKg":18},{"event":"moved","bin":"S1","place":"cellar"}]""")]
    [InlineData("""{"event":"filled","bin":"S2","lot":"2025-1","weightKg":5,"place":"cellar"}""")]
    [InlineData("""{"event":"sorted","bin":"S1","into":[{"bin":"S1","weightKg":10},{"bin":"S2","weightKg":8,"place":"cellar"}]}""")]
    public async Task Whatever_brings_it_into_the_cold_is_asked_about(string json)
    {
        await using var site = await Site.OpenAsync();
        await AirAsync(site, "cellar", 3.6);
        await AirAsync(site, "curing", 13);
        await site.WriteAsync(
            """[{"event":"dug","lot":"2025-1","crop":"winter-squash"},{"event":"filled","bin":"S1","lot":"2025-1","weightKg":18,"place":"curing"}]""");
        await site.Lots.AdvanceAsync(TestContext.Current.CancellationToken);
        using var asked = await site.PostJsonAsync("/api/ledger", json);
        asked.IsSuccessStatusCode.Should().BeFalse();
        (await asked.Content.ReadAsStringAsync(TestContext.Current.CancellationToken)).Should().Contain("\"would-harm\"").And.Contain("cellar is at 3.6 C");
        site.Book.Entries.Should().HaveCount(2);
        using var kept = await site.PostJsonAsync("/api/ledger", json.Replace("\"event\"", "\"checked\":true,\"event\"", StringComparison.Ordinal));
        kept.StatusCode.Should().Be(HttpStatusCode.Created);
    }

    /// <summary>Air of the hours up to now.</summary>
    private static Task AirAsync(Site site, string place, double c) => site.Store.WriteAsync(connection =>
    {
        var now = site.Time.GetUtcNow();
        for (var at = now.AddHours(-30); at <= now; at += TimeSpan.FromMinutes(5))
            PlaceRows.SaveAir(connection, new PlaceAir(place, at, c, 70, null, null, null, null, null, null, AirQuality.Good));
    });
}
