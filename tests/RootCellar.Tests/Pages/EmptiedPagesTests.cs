using System.Net;
using System.Text;
using Microsoft.Extensions.DependencyInjection;
using RootCellar.Monitoring;
using RootCellar.Readings;

namespace RootCellar.Tests.Pages;

/// <summary>What pages and API say of a room that was emptied, and of an urgent alarm that is to be quiet.</summary>
public class EmptiedPagesTests
{
    [Fact]
    public async Task An_emptied_room_is_shown_and_not_watched_until_it_is_asked_for()
    {
        await using var site = await Site.OpenAsync();
        await site.FillAsync("B1");
        await SayAsync(site, "curing", """{"temperature_c":3,"humidity_pct":60}""");
        (await site.WordsAsync("/")).Should().NotContain("Empty: shown, not watched");
        await site.LogAsync("moved", "B1", ("place", "cellar"));
        await SayAsync(site, "curing", """{"temperature_c":3,"humidity_pct":60}""");
        (await site.WordsAsync("/")).Should().Contain("Empty: shown, not watched").And.Contain("CO2 is watched all the same");
        (await site.ReadAsync("/api/places/curing")).Should().Contain("\"emptied\":true").And.NotContain("\"bands\":{");

        var form = await site.ReadAsync("/set-up?place=curing");
        form.Should().Contain("Watch the air here also while nothing stands here");
        (await site.SendAsync("/set-up?handler=Place", form, ("id", "curing"), ("name", "Curing room"), ("purpose", "Curing"),
            ("existing", "true"), ("crops", "potato"), ("watchEmpty", "true"))).Status.Should().Be(HttpStatusCode.Found);
        (await site.ReadAsync("/api/places/curing")).Should().Contain("\"emptied\":false").And.Contain("\"watchEmpty\":true")
            .And.Contain("\"bands\":{");
        (await site.WordsAsync("/")).Should().NotContain("Empty: shown, not watched");
    }

    [Fact]
    public async Task An_urgent_alarm_is_shelved_for_an_hour_at_most()
    {
        await using var site = await Site.OpenAsync(change: s => s.Watch.FreezingOnDelaySeconds = 0);
        await SayAsync(site, "cellar", """{"temperature_c":4,"humidity_pct":92,"co2_ppm":6000}""");
        var alarm = site.Services.GetRequiredService<Pipeline>().Snapshot.OpenAlarms.Single().Id;
        (await site.WordsAsync("/")).Should().Contain("Quiet for 1 hour").And.NotContain("Quiet for 8 hours");
        using var refused = await site.PostJsonAsync($"/api/alarms/{alarm}/shelve", """{"hours":2}""");
        refused.StatusCode.Should().Be(HttpStatusCode.BadRequest);
        (await refused.Content.ReadAsStringAsync(TestContext.Current.CancellationToken)).Should().Contain("at most 1");
        using var taken = await site.PostJsonAsync($"/api/alarms/{alarm}/shelve", "{}");
        taken.StatusCode.Should().Be(HttpStatusCode.OK);
        site.Services.GetRequiredService<Pipeline>().Snapshot.OpenAlarms.Single().ShelvedUntil.Should()
            .Be(site.Time.GetUtcNow().AddHours(1));
    }

    private static async Task SayAsync(Site site, string place, string payload)
    {
        var pipeline = site.Services.GetRequiredService<Pipeline>();
        await await pipeline.OfferAsync(new Arrived($"rootcellar/{place}/door", Encoding.UTF8.GetBytes(payload), WantsReceipt: true,
            Dup: false, Replay: false, null));
        site.Time.Advance(TimeSpan.FromSeconds(2));
        await pipeline.AskAsync((_, _, _) => true, TestContext.Current.CancellationToken);
    }
}
