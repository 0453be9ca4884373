using System.Net;
using System.Text;
using Microsoft.Extensions.DependencyInjection;
using RootCellar.Monitoring;
using RootCellar.Readings;

namespace RootCellar.Tests.Pages;

/// <summary>Sensors and places that go, by page and API.</summary>
public sealed class ForgetPagesTests
{
    [Fact]
    public async Task A_sensor_is_forgotten_after_a_second_word_and_says_what_stays()
    {
        await using var site = await Site.OpenAsync();
        await SayAsync(site, "rootcellar/cellar/door");
        await SayAsync(site, "rootcellar/elsewhere/x");
        var page = await site.ReadAsync("/sensors");
        Site.Words(page).Should().Contain("Forget this sensor").And.Contain("What it measured stays in the record").And.Contain(
            "It never was in a place");

        (await site.SendAsync("/sensors?handler=Forget", page, ("key", "cellar/door"))).Location.Should().Be("/sensors?done=forgotten");
        (await site.WordsAsync("/sensors?done=forgotten")).Should()
            .Contain("That sensor is forgotten").And.NotContain("cellar/door").And.Contain("elsewhere/x");
        (await site.SendAsync("/sensors?handler=Forget", page, ("key", "cellar/door"))).Words.Should().Contain("is not there any more");
    }

    [Fact]
    public async Task Hundreds_that_wait_are_a_short_page_and_go_with_one_tap()
    {
        await using var site = await Site.OpenAsync();
        for (var i = 0; i < 30; i++) await SayAsync(site, $"rootcellar/invented/{i}");
        var page = await site.ReadAsync("/sensors");
        Site.Words(page).Should().Contain("10 more wait for a place").And.Contain("Forget all 30 that wait").And.NotContain("turned away");
        Site.Words(await site.ReadAsync("/sensors?all=true")).Should().NotContain("more wait");

        (await site.SendAsync("/sensors?handler=ForgetWaiting", page)).Location.Should().Be("/sensors?done=all-forgotten");
        (await site.WordsAsync("/sensors")).Should().NotContain("invented").And.NotContain("Waiting for a place");
    }

    [Fact]
    public async Task New_sensors_that_were_turned_away_are_one_line()
    {
        await using var site = await Site.OpenAsync(fill: null);
        for (var i = 0; i < 250; i++) await SayAsync(site, $"rootcellar/invented/{i}", "10.0.0.9");
        await site.Services.GetRequiredService<Pipeline>().AskAsync((_, _, _) => true, TestContext.Current.CancellationToken);
        var words = await site.WordsAsync("/sensors?all=true");
        words.Should().Contain("150 messages from new sensors turned away since").And.Contain("10.0.0.9 already brought 100");
        words.Split("turned away").Should().HaveCount(2);
        (await site.LookAsync("/api/sensors/turned-away")).Html.Should().Contain("\"messages\":150").And.Contain("\"byClient\":150");
    }

    [Fact]
    public async Task By_api_a_sensor_goes_with_delete()
    {
        await using var site = await Site.OpenAsync();
        await SayAsync(site, "rootcellar/cellar/door");
        (await site.DeleteAsync("/api/sensors/cellar/door")).Status.Should().Be(HttpStatusCode.NoContent);
        (await site.LookAsync("/api/sensors")).Html.Should().Be("[]");
        var again = await site.DeleteAsync("/api/sensors/cellar/door");
        again.Status.Should().Be(HttpStatusCode.NotFound);
        again.Html.Should().Contain("There is no sensor 'cellar/door'.");
    }

    [Fact]
    public async Task A_place_goes_only_when_nothing_stands_there_and_the_refusal_says_what_does()
    {
        await using var site = await Site.OpenAsync();
        await site.FillAsync("B1");
        await SayAsync(site, "rootcellar/curing/door");
        var page = await site.ReadAsync("/set-up?place=curing");
        Site.Words(page).Should().Contain("Remove this place").And.Contain("Only an empty place can go");
        (await site.SendAsync("/set-up?handler=RemovePlace", page, ("id", "curing"))).Words
            .Should().Contain("Curing room was not removed. Still there: sensors: 1 (curing/door), bins in the book: 1 (B1). Move them out, then remove it.");
        var refused = await site.DeleteAsync("/api/places/curing");
        refused.Status.Should().Be(HttpStatusCode.Conflict);
        refused.Html.Should().Contain("sensors are in it: curing/door; bins stand there by the book: B1");

        await site.DeleteAsync("/api/sensors/curing/door");
        (await site.DeleteAsync("/api/places/curing")).Html.Should()
            .NotContain("sensors are in it").And.Contain("bins stand there by the book: B1");
        await site.LogAsync("moved", "B1", ("place", "cellar"));
        (await site.SendAsync("/set-up?handler=RemovePlace", page, ("id", "curing"))).Location.Should()
            .StartWith("/set-up?done=place-removed");
        (await site.WordsAsync("/set-up?done=place-removed")).Should().Contain("The place is removed").And.NotContain("Curing room");
        (await site.LookAsync("/api/places")).Html.Should().NotContain("\"curing\"");
        (await site.DeleteAsync("/api/places/curing")).Status.Should().Be(HttpStatusCode.NotFound);
        (await site.DeleteAsync("/api/places/yard")).Status.Should().Be(HttpStatusCode.NoContent);
    }

    private static async Task SayAsync(Site site, string topic, string? client = null) =>
        await await site.Services.GetRequiredService<Pipeline>().OfferAsync(
            new Arrived(topic, Encoding.UTF8.GetBytes("""{"temperature_c":6,"humidity_pct":92}"""), WantsReceipt: client is null,
                Dup: false, Replay: false, client));
}
