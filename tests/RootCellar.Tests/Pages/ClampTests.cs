using System.Text;
using Microsoft.Extensions.DependencyInjection;
using RootCellar.Monitoring;
using RootCellar.Readings;
using RootCellar.Tell;
using RootCellar.Watch;

namespace RootCellar.Tests.Pages;

/// <summary>Bins that stand outdoors, in a clamp or a pit.</summary>
public sealed class ClampTests
{
    [Fact]
    public async Task Bins_outdoors_are_watched_for_frost_by_a_probe_and_it_is_said_where_there_is_none()
    {
        await using var site = await Site.OpenAsync(zone: "UTC", change: s =>
        {
            (s.Watch.OnDelaySeconds, s.Watch.FreezingOnDelaySeconds, s.Watch.OffDelaySeconds) = (0, 0, 0);
            s.Tell.Post.Url = "http://127.0.0.1:9/";
        });
        using var made = await site.PostJsonAsync("/api/places", """{"place":"clamp","name":"Clamp","purpose":"outdoors"}""");
        await site.FillAsync("B1");
        await SayAsync(site, """{"temperature_c":-9,"humidity_pct":70}""");
        (await site.WordsAsync("/places/clamp")).Should().Contain("Outdoors: shown, not judged");

        await site.WriteAsync("""[{"event":"moved","bin":"B1","place":"clamp"}]""");
        await SayAsync(site, """{"temperature_c":-9,"humidity_pct":70}""");
        (await site.WordsAsync("/places/clamp")).Should().Contain("nothing watches them").And.NotContain("Keeps best at");
        Open(site).Should().BeEmpty("frosty air around a clamp harms nothing in it");

        await SayAsync(site, """{"temperature_c":-9,"humidity_pct":70,"pulp_c":3}""");
        (await site.WordsAsync("/places/clamp")).Should().Contain("only frost is watched, by the probe in the produce");
        Open(site).Should().BeEmpty();
        await SayAsync(site, """{"temperature_c":-9,"humidity_pct":70,"pulp_c":-0.3}""");
        Open(site).Should().Equal(Rule.FreezingNear);
        site.Store.Read(c => OutboxRows.Latest(c, 10)).Should().ContainSingle().Which.Sms.Should()
            .StartWith("URGENT CLAMP bins").And.Contain("Cover the bins.").And.NotContain("door");
        (await site.ReadAsync("/api/places/clamp")).Should().NotContain("\"bands\":{");
        await SayAsync(site, """{"temperature_c":-9,"humidity_pct":70,"pulp_c":2}""");
        await SayAsync(site, """{"temperature_c":-9,"humidity_pct":70,"pulp_c":2}""");
        site.Services.GetRequiredService<Pipeline>().Snapshot.OpenAlarms.Should().OnlyContain(a => !a.Active);
    }

    private static IEnumerable<Rule> Open(Site site) =>
        site.Services.GetRequiredService<Pipeline>().Snapshot.OpenAlarms.Where(a => a.Active && a.Place == "clamp").Select(a => a.Rule);

    private static async Task SayAsync(Site site, string payload)
    {
        var pipeline = site.Services.GetRequiredService<Pipeline>();
        await await pipeline.OfferAsync(new Arrived("rootcellar/clamp/heap", Encoding.UTF8.GetBytes(payload), WantsReceipt: true,
            Dup: false, Replay: false, null));
        site.Time.Advance(TimeSpan.FromMinutes(5));
        await pipeline.AskAsync((_, _, _) => true, TestContext.Current.CancellationToken);
    }
}
