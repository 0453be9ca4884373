using System.Text;
using Microsoft.Extensions.DependencyInjection;
using RootCellar.Monitoring;
using RootCellar.Readings;

namespace RootCellar.Tests.Pages;

/// <summary>Foreign sensors on the Sensors page.</summary>
public sealed class HeardPageTests
{
    private const string Topic = "tele/cellar1/SENSOR";

    [Fact]
    public async Task What_is_heard_is_offered_with_its_guesses_and_used_with_one_tap()
    {
        await using var site = await Site.OpenAsync();
        await SayAsync(site, """{"SI7021":{"Temperature":4.1,"Humidity":93,"DewPoint":3},"TempUnit":"C"}""");

        var page = await site.ReadAsync("/sensors");

        Site.Words(page).Should().Contain("Heard, and not used yet").And.Contain(Topic);
        page.Should().Contain("""<option value="temperature_c" selected="selected">""").And.Contain("""<option value="humidity_pct" selected="selected">""");
        // The place the topic speaks of is chosen, and the dew point, for which there is no guess, is left out.
        page.Should().Contain("""<option value="cellar" selected="selected">""");

        var done = await site.SendAsync("/sensors?handler=Use", page, ("topic", Topic), ("place", "cellar"), ("sensor", "cellar1"),
            ("at", "/SI7021/Temperature"), ("what", "temperature_c"), ("at", "/SI7021/Humidity"), ("what", "humidity_pct"),
            ("at", "/SI7021/DewPoint"), ("what", ""));

        done.Location.Should().Contain("done=mapped");
        var sensor = site.Services.GetRequiredService<Pipeline>().Snapshot.Sensor("cellar/cellar1")!;
        sensor.Place.Should().Be("cellar");
        sensor.Last.Select(r => (r.Quantity, r.Value)).Should().BeEquivalentTo([(Quantity.Temperature, 4.1), (Quantity.Humidity, 93.0)]);
        var after = await site.ReadAsync("/sensors");
        Site.Words(after).Should().NotContain("Heard, and not used yet").And.Contain("Sensors read in their own way");

        var ids = site.Services.GetRequiredService<MappingDesk>().Kept.Select(k => ("ids", k.Id)).ToArray();
        ids.Should().HaveCount(2);
        (await site.SendAsync("/sensors?handler=Unmap", after, ids)).Location.Should().Contain("done=unmapped");
        site.Services.GetRequiredService<MappingDesk>().Kept.Should().BeEmpty();
        await SayAsync(site, """{"SI7021":{"Temperature":9.1}}""");
        site.Services.GetRequiredService<Pipeline>().Snapshot.Sensor("cellar/cellar1")!.Last[0].Value.Should().Be(4.1);
    }

    [Theory]
    [InlineData("cellar", "a/b", "temperature_c", "humidity_pct", "A sensor’s name has 1 to 64 characters")]
    [InlineData("attic", "s", "temperature_c", "humidity_pct", "is not there any more")]
    [InlineData("cellar", "s", "", "", "Say of at least one figure what it is.")]
    [InlineData("cellar", "s", "temperature_c", "temperature_c F", "Two figures cannot both be")]
    public async Task What_cannot_be_used_so_is_said_and_nothing_is_kept(string place, string sensor, string first, string second, string words)
    {
        await using var site = await Site.OpenAsync();
        await SayAsync(site, """{"a":4.1,"b":93}""");

        var answer = await site.SendAsync("/sensors?handler=Use", await site.ReadAsync("/sensors"), ("topic", Topic), ("place", place), ("sensor", sensor),
            ("at", "/a"), ("what", first), ("at", "/b"), ("what", second));

        answer.Words.Should().Contain(words);
        site.Services.GetRequiredService<MappingDesk>().Kept.Should().BeEmpty();
    }

    private static async Task SayAsync(Site site, string payload)
    {
        var pipeline = site.Services.GetRequiredService<Pipeline>();
        await await pipeline.OfferAsync(new Arrived(Topic, Encoding.UTF8.GetBytes(payload), WantsReceipt: true, Dup: false, Replay: false));
    }
}
