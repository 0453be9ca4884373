using System.Net;
using Microsoft.Extensions.DependencyInjection;
using RootCellar.Monitoring;
using RootCellar.Tests.Households;
using RootCellar.Tests.Storage;

namespace RootCellar.Tests.Pages;

/// <summary>Once set-up is finished nobody comes in by himself.</summary>
public sealed class LetInTests
{
    [Fact]
    public async Task A_new_sensor_comes_in_by_itself_until_set_up_is_finished_and_then_waits_for_one_tap()
    {
        var port = Radio.FreePort();
        await using var site = await Site.OpenAsync(change: s => s.Mqtt.Listen = $"127.0.0.1:{port}");
        await using var radio = await Radio.OnAsync(port);
        await radio.SayAsync("rootcellar/cellar/door", $$"""{"temperature_c":6}""");
        PlaceOf(site, "cellar/door").Should().Be("cellar");

        (await site.SendAsync("/set-up?handler=Finish", await site.ReadAsync("/set-up"))).Status.Should().Be(HttpStatusCode.Found);
        await radio.SayAsync("rootcellar/cellar/corner", $$"""{"temperature_c":-8}""");
        PlaceOf(site, "cellar/corner").Should().BeNull();
        await radio.SayAsync("rootcellar/cellar/door", $$"""{"temperature_c":6.1}""");
        PlaceOf(site, "cellar/door").Should().Be("cellar", "who is in stays in");
        (await site.WordsAsync("/")).Should().Contain("Sensors waiting to be let in: 1.");

        var page = await site.ReadAsync("/sensors");
        Site.Words(page).Should().Contain("Let in to Cellar").And.Contain("Put into Curing room");
        (await site.SendAsync("/sensors?handler=Put", page, ("key", "cellar/corner"), ("name", ""), ("place", "cellar"))).Status.Should()
            .Be(HttpStatusCode.Found);
        PlaceOf(site, "cellar/corner").Should().Be("cellar");
        (await site.WordsAsync("/")).Should().NotContain("waiting to be let in");
        (await site.WordsAsync("/places/cellar")).Should().Contain("Coldest spot");

        // Set-up taken up again, they come in by themselves as before.
        (await site.SendAsync("/set-up?handler=Reopen", await site.ReadAsync("/set-up"))).Status.Should().Be(HttpStatusCode.Found);
        await radio.SayAsync("rootcellar/curing/new", $$"""{"temperature_c":12}""");
        PlaceOf(site, "curing/new").Should().Be("curing");
    }

    [Fact]
    public async Task A_start_remembers_that_set_up_is_finished_and_a_new_place_lets_nobody_in()
    {
        await using var farm = await Farm.WithCellarAsync();
        await farm.Store.WriteAsync(c => RootCellar.Storage.Meta.Set(c, RootCellar.Storage.Meta.SetUpFinished, "yes"));
        await farm.RestartAsync(TimeSpan.FromMinutes(1));
        await farm.SayAsync("rootcellar/cellar/x/temperature_c", "6");
        await farm.SayAsync("rootcellar/loft/y/temperature_c", "6");
        await farm.PlaceAsync("loft");
        (await farm.SeeAsync(s => s.Sensors)).Should().AllSatisfy(s => s.Place.Should().BeNull());
        (await farm.SeeAsync(s => s.Place("cellar")))!.Sensors.Should().BeEmpty();
    }

    private static string? PlaceOf(Site site, string sensor) =>
        site.Services.GetRequiredService<Pipeline>().Snapshot.Sensors.Single(s => s.Key == sensor).Place;
}
