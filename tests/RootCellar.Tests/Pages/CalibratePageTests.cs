using System.Net;
using System.Text.Json;
using Microsoft.Extensions.DependencyInjection;
using RootCellar.Monitoring;
using RootCellar.Readings;
using RootCellar.Tests.Entry;
using RootCellar.Tests.Households;

namespace RootCellar.Tests.Pages;

/// <summary>A sensor is calibrated on a page, with what it sends over real MQTT.</summary>
public sealed class CalibratePageTests
{
    private static CancellationToken Cancelled => TestContext.Current.CancellationToken;

    [Fact]
    public async Task The_salt_jar_waits_until_the_reading_stands_still_and_a_second_salt_makes_a_line_of_it()
    {
        await using var house = await HouseOnAir.OpenAsync();
        var site = house.Site;
        await SayAsync(house, 30, _ => 85, celsius: 12);
        (await site.ReadAsync("/sensors")).Should().Contain("href=\"/sensors/calibrate?sensor=cellar%2Fdoor\"");
        // Greenspan 1977 at 12 C: sodium chloride 75.7, potassium sulphate 98.1.
        (await site.WordsAsync("/sensors/calibrate?sensor=cellar/door")).Should().Contain("Salt jar: table salt 75.7 %")
            .And.Contain("Salt jar: potassium sulfate 98.1 %").And.Contain("Not calibrated.").And.NotContain("Ice bath", "a bare humidity sensor is drowned in it");

        var table = await BeginAsync(site, "what=Humidity&against=Salt&with=NaCl", takeOut: true);
        Place(site).Should().BeNull("the cellar does not go by the jar's air");
        await RefusedAsync(site, table, "not lain there long enough", "it stood still, but where it was before");

        // Ten minutes down into the jar's air, eight of standing still: too short by the clock.
        await SayAsync(house, 10, minute => 85 - (1.1 * minute), celsius: 12);
        await SayAsync(house, 8, _ => 73.1, celsius: 12);
        (await site.WordsAsync(table)).Should().Contain("Wait until it stands still").And.Contain("Should read 75.7 %").And.Contain("Reads 73.1 %")
            .And.Contain("At least 2 min more").And.NotContain("Use it");
        // Long enough by the clock, and something moves it again.
        await SayAsync(house, 4, minute => 73.1 + (0.4 * minute), celsius: 12);
        (await site.WordsAsync(table)).Should().Contain("Still moving. It may move by 0.5 % at most.").And.NotContain("Use it");
        await RefusedAsync(site, table, "still moves", "it moves");

        await SayAsync(house, 14, _ => 73.1, celsius: 12);
        (await site.WordsAsync(table)).Should().Contain("It stands still").And.Contain("Use it: 2.6 % is added");
        var taken = await TakeAsync(site, table);
        (await site.WordsAsync(taken)).Should().Contain("Calibrated. The room goes by the corrected figure")
            .And.Contain("Over table salt, where 75.7 % is true, it read 73.1 %.").And.Contain("One salt corrects near itself only").And.Contain("Put it back into Cellar");
        Corrected(site, 73.1).Should().BeApproximately(75.66, 0.02);
        (await site.SendAsync("/sensors/calibrate?handler=Back", await site.ReadAsync(taken), Fields(taken))).Location.Should().Contain("done=back");
        Place(site).Should().Be("cellar");
        (await site.WordsAsync("/sensors/calibrate?sensor=cellar/door&done=back")).Should().Contain("It is back in its room.").And.NotContain("Put it back into");

        var sulphate = await BeginAsync(site, "what=Humidity&against=Salt&with=K2SO4", takeOut: false);
        await SayAsync(house, 32, minute => minute < 12 ? 73.1 + (1.9 * minute) : 94, celsius: 12);
        (await site.WordsAsync(sulphate)).Should().Contain("Used together with the one before, it corrects the range between. Over table salt");
        (await site.WordsAsync(sulphate + "&alone=true")).Should().NotContain("Used together");
        var both = await TakeAsync(site, sulphate);
        (Corrected(site, 73.1), Corrected(site, 94)).Should().Be((75.66, 98.07));

        // Back by one step, and by one more: what was in force before stands again.
        await DoAsync(site, both, "Undo", "done=undone");
        Corrected(site, 94).Should().Be(96.56);
        await DoAsync(site, both, "Off", "done=off");
        Corrected(site, 94).Should().BeNull();
        await DoAsync(site, both, "Undo", "done=undone");
        Corrected(site, 94).Should().Be(96.56);
    }

    [Fact]
    public async Task What_is_no_matter_of_calibrating_is_said_and_nothing_is_taken()
    {
        await using var house = await HouseOnAir.OpenAsync();
        var site = house.Site;
        await SayAsync(house, 30, _ => 55, celsius: 12);
        var jar = await BeginAsync(site, "what=Humidity&against=Salt&with=NaCl", takeOut: false);
        Place(site).Should().Be("cellar", "nobody asked for it to be taken out");
        await SayAsync(house, 32, _ => 55, celsius: 12);
        await RefusedAsync(site, jar, "It reads 55.0 % where 75.7 % is true. More than 15.0 % off is no matter of calibrating", "20 % is a broken sensor");

        // A salt that says the opposite of the first.
        await site.SendJsonAsync(HttpMethod.Patch, "/api/sensors/cellar/door", """{"calibration":{"humidity":[{"standard":"MgCl2","temperatureC":12,"reads":48}]}}""");
        jar = await BeginAsync(site, "what=Humidity&against=Salt&with=NaCl", takeOut: false);
        await SayAsync(house, 32, _ => 61, celsius: 12);
        await RefusedAsync(site, jar, "These two don't go together, so one of them is wrong. Over magnesium chloride", "the slope would be above three");
        (await site.WordsAsync(jar)).Should().Contain("Without the one before").And.NotContain("Use it");
        await TakeAsync(site, jar + "&alone=true");
        Corrected(site, 61).Should().Be(75.66);
    }

    [Fact]
    public async Task Side_by_side_and_beside_an_instrument_and_in_ice()
    {
        await using var house = await HouseOnAir.OpenAsync();
        var site = house.Site;
        async Task BothAsync(int minutes, double ours, double other)
        {
            for (var i = 0; i < minutes; i++)
            {
                await house.Radio.SayAsync("rootcellar/cellar/shelf", $$"""{"humidity_pct":{{other}}}""");
                await SayAsync(house, 1, _ => ours, celsius: 12, pulp: 0.4);
            }
        }

        await BothAsync(30, 88, 90);
        await site.SendJsonAsync(HttpMethod.Patch, "/api/sensors/cellar/shelf", """{"calibration":{"humidity":[{"reference":92,"plusOrMinus":1,"reads":90}]}}""");
        var beside = await BeginAsync(site, "what=Humidity&against=Sensor&with=cellar/shelf", takeOut: true);
        Place(site).Should().Be("cellar", "both lie in one air");
        await BothAsync(30, 88, 90);
        (await site.WordsAsync(beside)).Should().Contain("Should read 92.0 %", "the other one's corrected figure").And.NotContain("Use it");
        await BothAsync(31, 88, 90);
        (await site.WordsAsync(beside)).Should().Contain("Use it: 4.0 % is added");
        await TakeAsync(site, beside);
        Corrected(site, 88).Should().Be(92);

        // What a person reads off is asked for in words, and what is no number is said.
        var instrument = await BeginAsync(site, "what=Humidity&against=Instrument", takeOut: false);
        await BothAsync(62, 88, 90);
        (await site.WordsAsync(instrument)).Should().Contain("What the other one shows, %");
        (await site.SendAsync("/sensors/calibrate?handler=Take", await site.ReadAsync(instrument), [.. Fields(instrument), ("typed", "ninety")])).Words
            .Should().Contain("ninety");
        Corrected(site, 88).Should().Be(92);
        (await site.SendAsync("/sensors/calibrate?handler=Take", await site.ReadAsync(instrument), [.. Fields(instrument), ("typed", "90")])).Location
            .Should().Contain("done=taken");
        Corrected(site, 88).Should().Be(90);

        var ice = await BeginAsync(site, "what=Pulp&against=Ice", takeOut: true);
        Place(site).Should().BeNull();
        await BothAsync(14, 88, 90);
        (await site.WordsAsync(ice)).Should().Contain("Should read 32.0 °F").And.Contain("Use it: 0.7 °F is taken off");
    }

    [Fact]
    public async Task A_sensor_that_is_not_there_and_what_cannot_be_asked_leads_to_the_choice()
    {
        await using var house = await HouseOnAir.OpenAsync();
        var site = house.Site;
        (await site.WordsAsync("/sensors/calibrate")).Should().Contain("is not there any more");
        (await site.WordsAsync("/sensors/calibrate?sensor=nobody/x")).Should().Contain("is not there any more");
        await house.Radio.SayAsync("rootcellar/cellar/door", $$"""{"co2_ppm":600}""");
        (await site.WordsAsync("/sensors/calibrate?sensor=cellar/door")).Should().Contain("Nothing heard from it yet that can be calibrated");
        await SayAsync(house, 1, _ => 80, celsius: 12);
        foreach (var odd in (string[])["what=Humidity&against=Ice", "what=Humidity&against=Salt&with=sugar", "what=Light&against=Instrument",
            "what=Humidity&against=Sensor&with=nobody/x", "what=nonsense&against=9&since=x"])
            (await site.WordsAsync("/sensors/calibrate?sensor=cellar/door&" + odd)).Should().Contain("Salt jar: table salt", odd);
        // An hour ahead, and of last week: begun anew.
        foreach (var since in new[] { site.Time.GetUtcNow().AddHours(1), site.Time.GetUtcNow().AddDays(-7) })
        {
            (await site.WordsAsync($"/sensors/calibrate?sensor=cellar/door&what=Humidity&against=Salt&with=NaCl&since={since.ToUnixTimeSeconds()}")).Should()
                .Contain("It's in the jar");
        }

        using var sam = await Visitor.HelperAsync(site);
        (await sam.GetAsync("/sensors")).Html.Should().NotContain("/sensors/calibrate");
        (await sam.GetAsync("/sensors/calibrate?sensor=cellar/door")).Words.Should().NotContain("Salt jar");
    }

    private static double? Corrected(Site site, double reads) =>
        site.Services.GetRequiredService<Pipeline>().Snapshot.Sensor("cellar/door")!.Calibrations.FirstOrDefault(c => c.Quantity == Quantity.Humidity) is { } c
            ? Math.Round(c.Correction.Apply(reads).Value, 2) : null;

    private static string? Place(Site site) => site.Services.GetRequiredService<Pipeline>().Snapshot.Sensor("cellar/door")!.Place;

    // From what there is to choose to the page that waits; its address.
    private static async Task<string> BeginAsync(Site site, string what, bool takeOut)
    {
        var address = "/sensors/calibrate?sensor=cellar/door&" + what;
        var begun = await site.SendAsync("/sensors/calibrate?handler=Begin", await site.ReadAsync(address),
            takeOut ? [.. Fields(address), ("takeOut", "true")] : Fields(address));
        begun.Status.Should().Be(HttpStatusCode.Found, begun.Words);
        return begun.Location!;
    }

    private static async Task<string> TakeAsync(Site site, string address)
    {
        var taken = await site.SendAsync("/sensors/calibrate?handler=Take", await site.ReadAsync(address), Fields(address));
        taken.Location.Should().Contain("done=taken", taken.Words);
        return taken.Location!;
    }

    private static async Task RefusedAsync(Site site, string address, string why, string because)
    {
        var before = site.Services.GetRequiredService<Pipeline>().Snapshot.Sensor("cellar/door")!.Calibrations;
        // The page has no button to press then; whoever left an older one open has.
        (await site.SendAsync("/sensors/calibrate?handler=Take", await site.ReadAsync("/sensors"), Fields(address))).Words.Should().Contain(why, because);
        site.Services.GetRequiredService<Pipeline>().Snapshot.Sensor("cellar/door")!.Calibrations.Should().BeEquivalentTo(before);
    }

    private static async Task DoAsync(Site site, string address, string handler, string leads) =>
        (await site.SendAsync("/sensors/calibrate?handler=" + handler, await site.ReadAsync(address), ("sensor", "cellar/door"), ("what", "Humidity")))
            .Location.Should().Contain(leads);

    // What a form of the page sends stands in the page's address.
    private static (string Name, string Value)[] Fields(string address) => [.. address[(address.IndexOf('?') + 1)..].Split('&')
        .Select(p => p.Split('=', 2)).Where(p => p[0] != "done").Select(p => (p[0], Uri.UnescapeDataString(p[1])))];

    // A reading each minute.
    private static async Task SayAsync(HouseOnAir house, int minutes, Func<int, double> percent, double celsius, double? pulp = null)
    {
        for (var minute = 0; minute < minutes; minute++)
        {
            await house.Radio.SayAsync("rootcellar/cellar/door", pulp is { } probe
                ? (FormattableString)$$"""{"humidity_pct":{{percent(minute)}},"temperature_c":{{celsius}},"pulp_c":{{probe}}}"""
                : $$"""{"humidity_pct":{{percent(minute)}},"temperature_c":{{celsius}}}""");
            house.Site.Time.Advance(TimeSpan.FromMinutes(1));
            await house.Site.Services.GetRequiredService<Pipeline>().AskAsync((_, _, _) => true, Cancelled);
        }

        await house.Site.Store.WriteAsync(_ => { });
    }
}
