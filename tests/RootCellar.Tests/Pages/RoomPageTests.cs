using System.Globalization;
using System.Net;
using System.Text;
using System.Text.Json;
using Microsoft.Extensions.DependencyInjection;
using RootCellar.Demo;
using RootCellar.Monitoring;
using RootCellar.Places;
using RootCellar.Readings;
using RootCellar.Science.Air;
using RootCellar.Tests.Storage;

namespace RootCellar.Tests.Pages;

/// <summary>What a room does: the section of its page and the call that gives the same figures.</summary>
public sealed class RoomPageTests
{
    /// <summary>Ten days of a room of the demo's kind with an open door each evening.</summary>
    private static async Task FillAsync(RootCellar.Storage.Store store, DateTimeOffset now, bool outdoors = true, double groundC = 12.2)
    {
        var (shape, weather) = (Homestead.CuringShape with { GroundC = groundC }, new Weather(Story.At(0, 12)));
        var state = Room.Start(shape, groundC, 90);
        var begin = now.AddDays(-10);
        await store.WriteAsync(c =>
        {
            for (int minute = -2880; minute < 14400; minute++)
            {
                var at = begin.AddMinutes(minute);
                var hour = minute / 60.0 % 24;
                var outside = weather.At(Story.At(0, 12).AddDays(-10).AddMinutes(minute));
                state = Room.Step(shape, state, new RoomDrive(outside, hour is >= 19 and < 19.7 ? 10 : 0), Room.LongestStep).State;
                if (minute < 0 || minute % 5 != 0) continue;
                PlaceRows.SaveAir(c, Air("curing", at, state.AirC, state.RelativeHumidityPercent(shape)));
                if (outdoors) PlaceRows.SaveAir(c, Air("yard", at, outside.TemperatureC, outside.RelativeHumidityPercent));
            }
        });
    }

    private static PlaceAir Air(string place, DateTimeOffset at, double c, double percent)
    {
        var (t, rh) = (Math.Round(c, 1), Math.Round(percent, 1));
        var dew = MoistAir.DewPointC(MoistAir.VapourPressurePa(t, rh));
        return new PlaceAir(place, at, t, rh, dew, MoistAir.DeficitPa(t, rh), null, null, null, null, AirQuality.Good);
    }

    private static async Task<Site> OpenAsync(double? volume = 30, bool outdoors = true, DateTimeOffset? at = null)
    {
        var site = await Site.OpenAsync(zone: "UTC", fill: s => FillAsync(s, at ?? Sample.At, outdoors), at: at);
        if (volume is { } m3)
        {
            await site.Services.GetRequiredService<Pipeline>().AskAsync(
                (house, _, _) =>
                {
                    house.SavePlace(new Place("curing", "Curing room", Purpose.Curing, m3, ["potato"]));
                    return true;
                },
                TestContext.Current.CancellationToken);
        }

        // During set-up a sensor that names a place is in it by itself.
        await SayAsync(site, 14, 90, 9, 70);
        return site;
    }

    private static async Task SayAsync(
        Site site, double c, double percent, double? outC, double outPercent, double? ppm = null, int minutes = 1)
    {
        var pipeline = site.Services.GetRequiredService<Pipeline>();
        for (var minute = 0; minute < minutes; minute++)
        {
            await Send("curing/door", c, percent, ppm);
            if (outC is { } o) await Send("yard/porch", o, outPercent, null);
            site.Time.Advance(TimeSpan.FromMinutes(1));
            await pipeline.AskAsync((_, _, _) => true, TestContext.Current.CancellationToken);
        }

        async Task Send(string sensor, double celsius, double humidity, double? co2) => await await pipeline.OfferAsync(new Arrived(
            "rootcellar/" + sensor,
            Encoding.UTF8.GetBytes(FormattableString.Invariant($$"""{"temperature_c":{{celsius}},"humidity_pct":{{humidity}}""")
                + (co2 is { } p ? FormattableString.Invariant($",\"co2_ppm\":{p}") : "") + "}"),
            WantsReceipt: true, Dup: false, Replay: false, null));
    }

    private static async Task<JsonElement> ApiAsync(Site site, string query = "")
    {
        using var answer = JsonDocument.Parse(await site.ReadAsync("/api/places/curing/room" + query));
        return answer.RootElement.Clone();
    }

    private static async Task<string> SectionAsync(Site site, string query = "", string place = "curing")
    {
        var page = await site.ReadAsync($"/places/{place}{query}");
        var from = page.IndexOf("id=\"room\"", StringComparison.Ordinal);
        return from < 0 ? "" : Site.Words(page[from..page.IndexOf("</section>", from, StringComparison.Ordinal)]);
    }

    [Fact]
    public async Task A_hot_room_with_cool_air_outside_is_told_how_long_the_door_takes()
    {
        await using var site = await OpenAsync();
        await SayAsync(site, 24, 60, 9, 70, minutes: 40);
        var api = await ApiAsync(site);
        var known = api.GetProperty("known");
        foreach (var part in (string[])["heatDoubt", "leakDoubt", "openingDoubt"])
            known.GetProperty(part).ValueKind.Should().Be(JsonValueKind.Null, part);
        known.GetProperty("openings").GetInt32().Should().BeInRange(2, 11, "on most evenings it is too nearly as warm out");
        // The demo's own room: 0.6 air changes an hour, 11 of 131 W/K to outdoors.
        var changes = known.GetProperty("airChangesPerHour");
        changes.GetProperty("low").GetDouble().Should().BeLessThan(0.6);
        changes.GetProperty("high").GetDouble().Should().BeGreaterThan(0.6);
        known.GetProperty("shareAtOnce").GetProperty("mid").GetDouble().Should().BeApproximately(0.084, 0.03);

        var door = api.GetProperty("door");
        door.GetProperty("says").GetString().Should().Be("open");
        var section = await SectionAsync(site);
        section.Should().Contain("Learned from the last").And.NotContain("assumed, with a wide range");
        var until = Fahrenheit(door.GetProperty("untilC").GetDouble());
        if (door.GetProperty("minutes").GetProperty("expected") is { ValueKind: JsonValueKind.Number } minutes)
        {
            section.Should().Contain($"Open now: {until} °F in about");
            if (minutes.GetDouble() < 20) section.Should().Contain($"in about {minutes.GetDouble():0} min");
        }
        else
        {
            section.Should().Contain($"the air won't come to {until} °F by that alone");
        }

        var after = door.GetProperty("after").GetProperty("temperatureC").GetDouble();
        after.Should().BeInRange(9, 24);
        (await site.WordsAsync("/places/curing")).Should()
            .Contain("open door + vent").And.Contain($"shut at {until}F", "the order of work says the same");
    }

    [Fact]
    public async Task Dry_air_is_told_in_water_for_the_floor()
    {
        await using var site = await OpenAsync();
        await SayAsync(site, 14, 70, 9, 70, minutes: 3);
        var floor = (await ApiAsync(site)).GetProperty("floor");
        floor.GetProperty("says").GetString().Should().Be("put");
        var litres = floor.GetProperty("litresPerDay");
        litres.GetProperty("mid").GetDouble().Should().BeInRange(0.3, 10);
        litres.GetProperty("low").GetDouble().Should().BeLessThan(litres.GetProperty("high").GetDouble());
        var quarts = Math.Round(litres.GetProperty("mid").GetDouble() / 0.946 * 4) / 4;
        (await SectionAsync(site)).Should().Contain(FormattableString.Invariant($"To hold 85 %: about {quarts:0.##} qt a day"));
        await SayAsync(site, 14, 92, 9, 70, minutes: 3);
        (await ApiAsync(site)).GetProperty("floor").GetProperty("says").GetString().Should().Be("no-need");
        (await SectionAsync(site)).Should().Contain("None needed");
    }

    [Fact]
    public async Task A_load_that_is_asked_about_is_the_same_on_the_page_and_in_the_API()
    {
        await using var site = await OpenAsync();
        var section = await SectionAsync(site, "?range=week&load=400&loadAt=75");
        var asked = FormattableString.Invariant($"?kg={400 * 0.45359237}&celsius={(75 - 32) / 1.8}");
        var load = (await ApiAsync(site, asked)).GetProperty("load");
        var hours = load.GetProperty("hoursToBand").GetProperty("expected").GetDouble();
        section.Should().Contain(FormattableString.Invariant($"400 lb at 75 °F: down to 60 °F in about {hours:0} h"));
        section.Should().Contain(FormattableString.Invariant($"{load.GetProperty("heatMegajoules").GetDouble() / 3.6:0.#} kWh"));
        var perDay = load.GetProperty("kgPerDay").GetProperty("mid").GetDouble() / 0.45359237;
        section.Should().Contain(FormattableString.Invariant($"It can take about {Math.Round(perDay / 10) * 10:0} lb a day"));
        section.Should().Contain("ASHRAE");

        (await SectionAsync(site, "?load=plenty")).Should().Contain("'plenty' is not a number");
        (await SectionAsync(site, "?load=400&loadAt=200")).Should().Contain("A load is over 0 up to");
        (await SectionAsync(site, "?load=-3")).Should().Contain("A load is over 0 up to");
        foreach (var wrong in (string[])["kg=0", "kg=1e9", "celsius=60", "kg=NaN"])
            (await site.LookAsync("/api/places/curing/room?" + wrong)).Status.Should().Be(HttpStatusCode.BadRequest, wrong);
    }

    [Fact]
    public async Task What_breathes_there_is_told_with_its_caution_and_never_as_safe()
    {
        await using var site = await OpenAsync();
        (await ApiAsync(site)).GetProperty("breath").ValueKind.Should().Be(JsonValueKind.Null, "nothing is there");
        await site.FillAsync(pounds: "900");
        await SayAsync(site, 14, 90, 9, 70, minutes: 15);
        await site.Lots.AdvanceAsync(TestContext.Current.CancellationToken);
        var breath = (await ApiAsync(site)).GetProperty("breath");
        breath.GetProperty("kg").GetDouble().Should().BeApproximately(408, 5);
        breath.GetProperty("steadyPpm").GetProperty("mid").GetDouble().Should().BeGreaterThan(500);
        breath.GetProperty("caution").GetString().Should().Contain("never alone");
        var section = await SectionAsync(site);
        section.Should().Contain("About 900 lb of crop here").And.Contain("air it before you go in, never alone").And.NotContain(" safe ");

        // A reading above all the sum allows for is not said to come down by itself.
        await SayAsync(site, 14, 90, 9, 70, ppm: 4900, minutes: 2);
        (await ApiAsync(site)).GetProperty("breath").GetProperty("readsMore").GetBoolean().Should().BeTrue();
        (await SectionAsync(site)).Should().Contain("It reads 4,900 ppm, more than").And.NotContain("settles near");
    }

    [Fact]
    public async Task Where_people_are_kept_out_no_work_is_put_into_figures()
    {
        await using var site = await OpenAsync();
        await SayAsync(site, 24, 60, 9, 70, ppm: 35_000, minutes: 20);
        var section = await SectionAsync(site, "?load=400");
        section.Should().NotContain("Open now").And.NotContain("To hold").And.NotContain("It can take");
        var api = await ApiAsync(site, "?kg=100");
        api.GetProperty("door").GetProperty("says").GetString().Should().Be("nothing");
        api.GetProperty("floor").GetProperty("says").GetString().Should().Be("nothing");
        api.GetProperty("load").ValueKind.Should().Be(JsonValueKind.Null);
    }

    [Fact]
    public async Task Warm_wet_air_and_frost_outside_keep_the_door_shut()
    {
        await using var site = await OpenAsync();
        await SayAsync(site, 11, 90, 25, 95, minutes: 3);
        (await SectionAsync(site)).Should().Contain("would wet the crop").And.NotContain("Open now");
        await SayAsync(site, 24, 60, -5, 70, minutes: 40);
        (await SectionAsync(site)).Should().Contain("could freeze the crop").And.NotContain("Open now");
    }

    [Fact]
    public async Task Without_volume_the_page_says_what_to_enter_and_where()
    {
        await using var site = await OpenAsync(volume: null);
        await SayAsync(site, 14, 70, 9, 70, minutes: 2);
        (await SectionAsync(site)).Should().Contain("need the room's volume").And.Contain("depends on the room's size");
        (await site.ReadAsync("/places/curing")).Should().Contain("/set-up?place=curing#places");
        var api = await ApiAsync(site, "?kg=100");
        api.GetProperty("volumeM3").ValueKind.Should().Be(JsonValueKind.Null);
        api.GetProperty("floor").GetProperty("litresPerDay").ValueKind.Should().Be(JsonValueKind.Null);
        api.GetProperty("load").GetProperty("kgPerDay").ValueKind.Should().Be(JsonValueKind.Null);
    }

    [Fact]
    public async Task Without_outdoor_air_all_is_assumed_and_said_to_be()
    {
        await using var site = await Site.OpenAsync(zone: "UTC", fill: s => FillAsync(s, Sample.At, outdoors: false));
        await SayAsync(site, 24, 60, null, 0, minutes: 40);
        (await SectionAsync(site)).Should().Contain("Nobody measures outdoors").And.NotContain("Open now");
        var known = (await ApiAsync(site)).GetProperty("known");
        known.GetProperty("heatDoubt").GetString().Should().Be("no-outdoor-air");
        (await site.LookAsync("/api/places/yard/room")).Status.Should().Be(HttpStatusCode.NotFound);
        (await site.LookAsync("/api/places/nowhere/room")).Status.Should().Be(HttpStatusCode.NotFound);
        (await SectionAsync(site, place: "yard")).Should().BeEmpty();
    }

    [Fact]
    public async Task The_room_is_learned_anew_once_an_hour_and_not_oftener()
    {
        await using var site = await OpenAsync();
        double Share(JsonElement api) => api.GetProperty("known").GetProperty("hours").GetDouble();
        var first = Share(await ApiAsync(site));
        first.Should().BeGreaterThan(200);
        await site.Store.WriteAsync(c =>
        {
            using var command = c.CreateCommand();
            command.CommandText = "DELETE FROM air WHERE at_ms < $at";
            command.Parameters.AddWithValue("$at", Sample.At.AddDays(-5).ToUnixTimeMilliseconds());
            command.ExecuteNonQuery();
        });
        await SayAsync(site, 14, 90, 9, 70, minutes: 50);
        Share(await ApiAsync(site)).Should().Be(first);
        await SayAsync(site, 14, 90, 9, 70, minutes: 15);
        Share(await ApiAsync(site)).Should().BeLessThan(150);
    }

    private static string Fahrenheit(double celsius) => (celsius * 1.8 + 32).ToString("0", CultureInfo.InvariantCulture);
}
