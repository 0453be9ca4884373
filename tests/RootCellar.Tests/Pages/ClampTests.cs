using System.Text;
using Microsoft.Extensions.DependencyInjection;
using RootCellar.Monitoring;
using RootCellar.Readings;
using RootCellar.Tell;
using RootCellar.Tests.Storage;
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
        (await site.WordsAsync("/places/clamp")).Should().Contain("Outdoors: shown, not watched");

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

    [Fact]
    public async Task A_clamp_is_set_up_filled_and_shown_on_pages_and_the_weather_around_it_is_not_its_air()
    {
        await using var site = await Site.OpenAsync(weight: "kg", zone: "UTC", change: s =>
        {
            (s.Watch.OnDelaySeconds, s.Watch.FreezingOnDelaySeconds, s.Watch.OffDelaySeconds) = (0, 0, 0);
            s.Household.Temperature = "C";
        });
        var setUp = await site.ReadAsync("/set-up");
        Site.Words(setUp).Should().Contain("a clamp or a pit");
        (await site.SendAsync("/set-up?handler=Place", setUp, ("existing", "false"), ("name", "Clamp"), ("purpose", "Outdoors"), ("id", "clamp")))
            .Status.Should().Be(System.Net.HttpStatusCode.Found);
        await site.LogAsync("dug", null, ("lot", "B"), ("crop", "beet"));
        (await site.ReadAsync("/log/filled")).Should().Contain("<option value=\"clamp\"");
        await site.LogAsync("filled", "B1", ("lot", "B"), ("amount", "100"), ("unit", "kg"), ("place", "cellar"), ("lies", "heap"));
        await site.LogAsync("moved", "B1", ("place", "clamp"));

        // The yard's weather is freezing; nothing is said of the beets by it, and that nothing tells of them is.
        await SayAsync(site, """{"temperature_c":-9,"humidity_pct":40,"light_lx":9000}""", hours: 8);
        await Sample.UntilAsync(() => Advice(site).Says == RootCellar.Lots.AdviceSays.NoProbe);
        (await site.WordsAsync("/")).Should().Contain("nothing watches them");
        (await site.WordsAsync("/bins/B1")).Should().Contain("Nothing in it tells of frost: put a probe in it.").And.NotContain("green");

        await SayAsync(site, """{"temperature_c":-9,"humidity_pct":40,"pulp_c":3}""", hours: 8);
        await Sample.UntilAsync(() => Advice(site).Code == "none");
        (await site.WordsAsync("/")).Should().MatchRegex("Clamp .{0,40}In the produce ?3 ?[.]0 °C").And.NotContain("nothing watches them");
        (await site.WordsAsync("/places/clamp")).Should().Contain("only frost is watched, by the probe in the produce");

        await SayAsync(site, """{"temperature_c":-9,"humidity_pct":40,"pulp_c":-0.4}""", hours: 1);
        await Sample.UntilAsync(() => Advice(site).Code == "freezing");
        (await site.WordsAsync("/")).Should().Contain("Clamp").And.Contain("freezing");
        var advice = await site.ReadAsync("/api/advice");
        advice.Should().Contain("\"place\":\"clamp\"").And.Contain("\"pulpC\":-0.4");
    }

    private static RootCellar.Lots.BinAdvice Advice(Site site) =>
        site.Lots.Views.Bins.GetValueOrDefault("B1")?.Advice ?? new RootCellar.Lots.BinAdvice(default, "", "");

    private static async Task SayAsync(Site site, string payload, int hours)
    {
        for (var i = 0; i < 12 * hours; i++) await SayAsync(site, payload);
        await site.Lots.AdvanceAsync(TestContext.Current.CancellationToken);
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
