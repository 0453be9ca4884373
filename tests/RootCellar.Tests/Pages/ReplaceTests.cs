using System.Globalization;
using System.Net;
using System.Text.Json;
using Microsoft.Extensions.DependencyInjection;
using RootCellar.Monitoring;
using RootCellar.Tell;
using RootCellar.Tests.Entry;
using RootCellar.Tests.Households;
using RootCellar.Tests.Storage;
using RootCellar.Watch;

namespace RootCellar.Tests.Pages;

/// <summary>Sensors with a name, and sensors that take another's place; by real MQTT, page and API.</summary>
public sealed class ReplaceTests
{
    private const string Ours = "the probe by the door";

    private static CancellationToken Cancelled => TestContext.Current.CancellationToken;

    [Fact]
    public async Task A_sensor_is_called_by_its_name_wherever_it_is_spoken_of_and_keeps_its_topic()
    {
        await using var place = await HouseAsync();
        var (site, radio) = (place.Site, place.Radio);
        await radio.SayAsync("rootcellar/cellar/door", $$"""{"temperature_c":5,"humidity_pct":92}""");
        await radio.SayAsync("rootcellar/cellar/shelf", $$"""{"temperature_c":5,"humidity_pct":92}""");
        await NameAsync(site, "cellar/door", " " + Ours + " ");
        (await site.WordsAsync("/sensors")).Should().Contain(Ours).And.Contain("cellar/door");

        await SilentAsync(place, "cellar/door", "rootcellar/cellar/shelf");

        var text = Texts(site).Single();
        text.Sms.Should().Be("CELLAR sensor the probe by the door: nothing heard for 50 min. Check its battery and its signal.");
        text.Body.Should().Contain(Ours);
        (await site.WordsAsync("/alarms")).Should().Contain($"Cellar sensor {Ours}: nothing heard");
        (await site.WordsAsync("/")).Should().Contain(Ours);
        var alarm = (await JsonAsync(site, "/api/alarms"))[0];
        (alarm.GetProperty("sensor").GetString(), alarm.GetProperty("sensorName").GetString()).Should().Be(("cellar/door", Ours));
        (await JsonAsync(site, "/api/places/cellar")).GetProperty("alarms")[0].GetProperty("sensorName").GetString().Should().Be(Ours);
        // A running week is told as far as the last ten minutes.
        await PassAsync(site, TimeSpan.FromMinutes(10));
        await radio.SayAsync("rootcellar/cellar/shelf", $$"""{"temperature_c":5,"humidity_pct":92}""");
        var week = $"{ISOWeek.GetYear(Sample.At.DateTime)}-W{ISOWeek.GetWeekOfYear(Sample.At.DateTime):00}";
        (await site.WordsAsync("/report?week=" + week)).Should().Contain(Ours);
        (await site.ReadAsync("/api/export?what=alarms&for=import")).Should().Contain($",{Ours},");
        var readings = await site.ReadAsync("/api/export?what=readings&for=import");
        readings.Split('\n')[0].Trim().Should().EndWith(",sensor_name");
        readings.Split('\n')[1].Should().StartWith("cellar/door,").And.EndWith("," + Ours);

        // Taken back by an empty one, and by null.
        await NameAsync(site, "cellar/door", "  ");
        (await site.WordsAsync("/alarms")).Should().NotContain(Ours).And.Contain("Cellar sensor door: nothing heard");
        await PatchAsync(site, "cellar/door", $$"""{"name":"{{Ours}}"}""");
        (await PatchAsync(site, "cellar/door", """{"name":null}""")).Html.Should().Contain("\"name\":null").And.Contain("\"place\":\"cellar\"");
    }

    [Theory]
    [InlineData("""{"name":7}""", "name: right is a text")]
    [InlineData("""{"place":{}}""", "place: right is a text")]
    [InlineData("""{"replaces":true}""", "replaces: right is a text")]
    [InlineData("""{"name":"a\u202Eb"}""", "(U+202E)")]
    [InlineData("""{"name":"../x"}""", "reads like a path")]
    [InlineData("""{"name":"LONG"}""", "at most 80 letters")]
    [InlineData("""{"replaces":"cellar/door"}""", "cannot take its own place")]
    [InlineData("""{"replaces":"nobody/x"}""", "there is no sensor 'nobody/x'")]
    [InlineData("""{"replaces":"bench/new"}""", "'bench/new' is in no place")]
    [InlineData("""{"replaces":"bench/new","place":"curing"}""", "Leave out place")]
    public async Task What_cannot_be_is_said_and_nothing_is_changed(string body, string why)
    {
        await using var place = await HouseAsync();
        await place.Radio.SayAsync("rootcellar/cellar/door", $$"""{"temperature_c":5}""");
        await place.Radio.SayAsync("rootcellar/bench/new", $$"""{"temperature_c":5}""");
        await NameAsync(place.Site, "cellar/door", "door");
        var answer = await PatchAsync(place.Site, "cellar/door", body.Replace("LONG", new string('x', 81), StringComparison.Ordinal));
        answer.Status.Should().Be(HttpStatusCode.BadRequest);
        using var said = JsonDocument.Parse(answer.Html);
        said.RootElement.GetProperty("detail").GetString().Should().Contain(why);
        Stand(place.Site).Should().Equal("bench/new in none called none", "cellar/door in cellar called door");
    }

    [Fact]
    public async Task A_page_says_what_is_wrong_with_a_name_and_with_a_replacement()
    {
        await using var place = await HouseAsync();
        var site = place.Site;
        await place.Radio.SayAsync("rootcellar/cellar/door", $$"""{"temperature_c":5}""");
        await place.Radio.SayAsync("rootcellar/bench/new", $$"""{"temperature_c":5}""");
        var page = await site.ReadAsync("/sensors");
        (await site.SendAsync("/sensors?handler=Put", page, ("key", "cellar/door"), ("place", "cellar"), ("name", "a\u202Eb"))).Words.Should()
            .Contain("cannot be a name");
        (await site.SendAsync("/sensors?handler=Replace", page, ("key", "cellar/door"), ("old", "cellar/door"))).Words.Should()
            .Contain("cannot take its own place");
        (await site.SendAsync("/sensors?handler=Replace", page, ("key", "cellar/door"), ("old", "bench/new"))).Words.Should()
            .Contain("bench/new is in no place");
        (await site.SendAsync("/sensors?handler=Replace", page, ("key", "cellar/door"), ("old", "nobody/x"))).Words.Should()
            .Contain("is not there any more");
        (await site.SendAsync("/sensors?handler=TakeBack", page, ("key", "cellar/door"))).Words.Should().Contain("nothing left to undo");
        Stand(site).Should().Equal("bench/new in none called none", "cellar/door in cellar called none");
    }

    [Fact]
    public async Task Two_sensors_of_a_place_are_not_called_alike_and_those_of_two_places_may_be()
    {
        await using var place = await HouseAsync();
        var site = place.Site;
        foreach (var key in (string[])["cellar/door", "cellar/shelf", "curing/hook"]) await place.Radio.SayAsync("rootcellar/" + key, $$"""{"temperature_c":5}""");
        await NameAsync(site, "cellar/door", Ours);
        (await site.SendAsync("/sensors?handler=Put", await site.ReadAsync("/sensors"), ("key", "cellar/shelf"), ("place", "cellar"), ("name", "The Probe  by the door"))).Words
            .Should().Contain($"Another sensor in Cellar is called '{Ours}'. Give this one another name.");
        (await PatchAsync(site, "cellar/shelf", $$"""{"name":"{{Ours}}"}""")).Html.Should().Contain("a name of its own for each sensor of a place");
        (await PatchAsync(site, "curing/hook", $$"""{"name":"{{Ours}}"}""")).Status.Should().Be(HttpStatusCode.OK);
        (await PatchAsync(site, "curing/hook", """{"place":"cellar"}""")).Status.Should().Be(HttpStatusCode.BadRequest, "there they would be");
        (await PatchAsync(site, "cellar/door", $$"""{"name":"{{Ours}}"}""")).Status.Should().Be(HttpStatusCode.OK, "its own name is no other's");
        Stand(site).Should().Equal($"cellar/door in cellar called {Ours}", "cellar/shelf in cellar called none", $"curing/hook in curing called {Ours}");
    }

    [Fact]
    public async Task A_new_sensor_takes_a_silent_one_s_place_and_name_its_alarm_ends_and_who_was_told_is_told_why()
    {
        using var record = new TempFolder();
        await using (var place = await HouseAsync(record))
        {
            var (site, radio) = (place.Site, place.Radio);
            await radio.SayAsync("rootcellar/cellar/door", $$"""{"temperature_c":11.7,"humidity_pct":92}""");
            await radio.SayAsync("rootcellar/cellar/shelf", $$"""{"temperature_c":11.7,"humidity_pct":92}""");
            await PatchAsync(site, "cellar/door", $$$"""{"name":"{{{Ours}}}","calibration":{"temperature":[{"reads":0.4,"reference":0}]}}""");
            await SilentAsync(place, "cellar/door", "rootcellar/cellar/shelf", 11.7);
            var warm = site.Services.GetRequiredService<Pipeline>().Snapshot.OpenAlarms.Single(a => a.Rule == Rule.TooWarm);
            var before = await AirAsync(site);
            before.Should().BeGreaterThan(5);

            // On the bench it is warmer: that is not the cellar's air.
            await radio.SayAsync("rootcellar/bench/new", $$"""{"temperature_c":21,"humidity_pct":50}""");
            await PassAsync(site, TimeSpan.FromMinutes(3));
            await radio.SayAsync("rootcellar/bench/new", $$"""{"temperature_c":11.8,"humidity_pct":91}""");
            (await site.ReadAsync("/sensors")).Should().Contain("href=\"/sensors?by=bench%2Fnew#replace\"");
            var choice = await site.ReadAsync("/sensors?by=bench%2Fnew");
            Site.Words(choice).Should().Contain("Use bench/new in place of").And.Contain("calibrate this one")
                .And.Contain($"{Ours} · Cellar · Silent").And.Contain("cellar/shelf · Cellar");
            choice.IndexOf("value=\"cellar/door\"", StringComparison.Ordinal).Should()
                .BeLessThan(choice.IndexOf("value=\"cellar/shelf\"", StringComparison.Ordinal), "the silent first");
            (await site.SendAsync("/sensors?handler=Replace", choice, ("key", "bench/new"), ("old", "cellar/door"))).Location.Should()
                .StartWith("/sensors?done=replaced#s");

            Stand(site).Should().Equal($"bench/new in cellar called {Ours}", "cellar/shelf in cellar called none");
            Texts(site)[^1].Sms.Should().Be(
                $"CELLAR no longer watched for sensor silent ({Ours}): another sensor has taken its place.");
            var over = (await JsonAsync(site, "/api/alarms?state=normal")).EnumerateArray().Single(a => a.GetProperty("rule").GetString() == "sensor-silent");
            (over.GetProperty("sensor").GetString(), over.GetProperty("endedWhy").GetString()).Should().Be(("cellar/door", "sensor-replaced"));
            await radio.SayAsync("rootcellar/bench/new", $$"""{"temperature_c":11.8,"humidity_pct":91}""");
            for (var i = 0; i < 4; i++)
            {
                await PassAsync(site, TimeSpan.FromMinutes(20));
                foreach (var topic in new[] { "rootcellar/bench/new", "rootcellar/cellar/shelf" })
                    await radio.SayAsync(topic, $$"""{"temperature_c":11.8,"humidity_pct":91}""");
            }

            var open = site.Services.GetRequiredService<Pipeline>().Snapshot.OpenAlarms.Should().ContainSingle("one record, and nobody misses the old one").Which;
            (open.Id, open.Count).Should().Be((warm.Id, warm.Count));
            (await AirAsync(site)).Should().BeGreaterThan(before, "the room's history goes on");
            (await site.WordsAsync("/sensors?done=replaced")).Should().Contain("Replaced. The room's history goes on.")
                .And.MatchRegex("In place of cellar/door since .* Not calibrated yet");
        }

        await using var again = await HouseAsync(record, known: "as before", at: Sample.At.AddHours(4));
        var reopened = again.Site;
        Stand(reopened).Should().Equal($"bench/new in cellar called {Ours}", "cellar/shelf in cellar called none");

        // Set-up is not finished, and its topic names the cellar; yet it was replaced: it waits, also when the room is given another name.
        await again.Radio.SayAsync("rootcellar/cellar/door", $$"""{"temperature_c":30}""");
        (await reopened.SendJsonAsync(HttpMethod.Patch, "/api/places/cellar", """{"name":"Old cellar"}""")).Status.Should().Be(HttpStatusCode.OK);
        Stand(reopened).Should().Contain("cellar/door in none called none");
        (await reopened.WordsAsync("/sensors")).Should().Contain($"{Ours} has taken its place.");
        (await reopened.WordsAsync("/")).Should().NotContain("waiting to be let in");

        // Back as they stood, also with what put the old one right.
        var page = await reopened.ReadAsync("/sensors");
        (await reopened.SendAsync("/sensors?handler=TakeBack", page, ("key", "bench/new"))).Location.Should().Be("/sensors?done=taken-back");
        Stand(reopened).Should().Equal("bench/new in none called none", $"cellar/door in cellar called {Ours}", "cellar/shelf in cellar called none");
        await again.Radio.SayAsync("rootcellar/cellar/door", $$"""{"temperature_c":4.4}""");
        (await JsonAsync(reopened, "/api/sensors")).EnumerateArray().Single(s => s.GetProperty("sensor").GetString() == "cellar/door")
            .GetProperty("last")[0].GetProperty("corrected").GetProperty("value").GetDouble().Should().BeApproximately(4, 0.001);
        (await reopened.WordsAsync("/sensors")).Should().NotContain("In place of").And.NotContain("has taken its place");
    }

    [Fact]
    public async Task What_it_measured_on_the_bench_is_not_the_place_s_air()
    {
        await using var place = await HouseAsync();
        var site = place.Site;
        await place.Radio.SayAsync("rootcellar/cellar/door", $$"""{"temperature_c":5}""");
        await place.Radio.SayAsync("rootcellar/bench/new", $$"""{"temperature_c":21}""");
        await PassAsync(site, TimeSpan.FromMinutes(10));
        (await PatchAsync(site, "bench/new", """{"replaces":"cellar/door"}""")).Html.Should().Contain("\"replaces\":\"cellar/door\"");
        site.Store.Text("SELECT place FROM sensor_stay WHERE sensor = 2 AND since_ms <= 0").Should().Be("NULL", "it stood nowhere then");
        site.Store.Text("SELECT place FROM sensor_stay WHERE sensor = 2 AND since_ms > 0").Should().Be("cellar");
        site.Store.Text("SELECT count(*) FROM sensor_stay WHERE sensor = 1 AND place IS NULL").Should().Be("1");
    }

    [Fact]
    public async Task One_that_is_in_another_place_is_asked_about_and_undone_it_is_there_again()
    {
        await using var place = await HouseAsync();
        var (site, radio) = (place.Site, place.Radio);
        await radio.SayAsync("rootcellar/cellar/door", $$"""{"temperature_c":5}""");
        await radio.SayAsync("rootcellar/curing/hook", $$"""{"temperature_c":14}""");
        var refused = await PatchAsync(site, "curing/hook", """{"replaces":"cellar/door"}""");
        refused.Status.Should().Be(HttpStatusCode.Conflict);
        refused.Html.Should().Contain("'curing/hook' is in 'curing'").And.Contain("carriedOver");
        var asked = await site.SendAsync("/sensors?handler=Replace", await site.ReadAsync("/sensors"), ("key", "curing/hook"), ("old", "cellar/door"));
        asked.Location.Should().Be("/sensors?by=curing%2Fhook&old=cellar%2Fdoor");
        Stand(site).Should().Equal("cellar/door in cellar called none", "curing/hook in curing called none");

        var question = await site.ReadAsync(asked.Location!);
        Site.Words(question).Should().Contain("curing/hook is in Curing room. Was it carried to Cellar? Then Curing room is watched without it.");
        (await site.SendAsync("/sensors?handler=Replace", question, ("key", "curing/hook"), ("old", "cellar/door"), ("carriedOver", "true")))
            .Location.Should().StartWith("/sensors?done=replaced");
        Stand(site).Should().Equal("curing/hook in cellar called none");
        site.Services.GetRequiredService<Pipeline>().Snapshot.Place("curing")!.Sensors.Should().BeEmpty();

        (await PatchAsync(site, "curing/hook", """{"replaces":null}""")).Status.Should().Be(HttpStatusCode.OK);
        Stand(site).Should().Equal("cellar/door in cellar called none", "curing/hook in curing called none");
        (await PatchAsync(site, "curing/hook", """{"replaces":"cellar/door","carriedOver":true}""")).Status.Should().Be(HttpStatusCode.OK);
        Stand(site).Should().Equal("curing/hook in cellar called none");

        // Moved by hand since: there is nothing to take back any more.
        (await PatchAsync(site, "curing/hook", """{"place":"curing"}""")).Html.Should().Contain("\"replaces\":null");
        await PatchAsync(site, "curing/hook", """{"replaces":null}""");
        Stand(site).Should().Equal("curing/hook in curing called none");
    }

    [Fact]
    public async Task A_room_s_only_sensor_is_replaced_and_the_room_is_heard_again()
    {
        await using var place = await HouseAsync();
        var (site, radio) = (place.Site, place.Radio);
        await radio.SayAsync("rootcellar/cellar/door", $$"""{"temperature_c":5}""");
        await SilentAsync(place, "cellar/door", "rootcellar/curing/hook");
        var silent = site.Services.GetRequiredService<Pipeline>().Snapshot.OpenAlarms.Should().ContainSingle(a => a.Rule == Rule.PlaceSilent).Which;
        await radio.SayAsync("rootcellar/bench/new", $$"""{"temperature_c":5}""");
        (await PatchAsync(site, "bench/new", """{"replaces":"cellar/door"}""")).Status.Should().Be(HttpStatusCode.OK);
        for (var i = 0; i < 3; i++)
        {
            await PassAsync(site, TimeSpan.FromMinutes(8));
            await radio.SayAsync("rootcellar/bench/new", $$"""{"temperature_c":5}""");
            await radio.SayAsync("rootcellar/curing/hook", $$"""{"temperature_c":14}""");
        }

        var over = (await JsonAsync(site, "/api/alarms")).EnumerateArray().Single(a => a.GetProperty("id").GetString() == silent.Id);
        (over.GetProperty("active").GetBoolean(), over.TryGetProperty("endedWhy", out _)).Should().Be((false, false), "it is heard again");
        Texts(site)[^1].Sms.Should().StartWith("CELLAR is heard again");
    }

    [Fact]
    public async Task A_helper_sees_names_and_changes_none()
    {
        await using var place = await HouseAsync();
        var site = place.Site;
        await place.Radio.SayAsync("rootcellar/cellar/door", $$"""{"temperature_c":5}""");
        await place.Radio.SayAsync("rootcellar/cellar/new", $$"""{"temperature_c":5}""");
        await PatchAsync(site, "cellar/new", """{"replaces":"cellar/door","name":"by the door"}""");
        using var sam = await Visitor.HelperAsync(site);
        (await sam.GetAsync("/sensors?by=cellar%2Fnew")).Words.Should().Contain("by the door").And.Contain("In place of cellar/door")
            .And.NotContain("Undo").And.NotContain("in place of another").And.NotContain("Name it or move it").And.NotContain("Use by the door");
    }

    private static IReadOnlyList<string> Stand(Site site) => [.. site.Services.GetRequiredService<Pipeline>().Snapshot.Sensors
        .Select(s => $"{s.Key} in {s.Place ?? "none"} called {s.Name ?? "none"}")];

    private static IReadOnlyList<Outgoing> Texts(Site site) =>
        [.. site.Store.Read(c => OutboxRows.Latest(c, 100)).OrderBy(t => t.CreatedAt).Where(t => t.Priority == "low" || t.Sms.Contains("heard again", StringComparison.Ordinal))];

    private static async Task NameAsync(Site site, string key, string name) =>
        (await site.SendAsync("/sensors?handler=Put", await site.ReadAsync("/sensors"), ("key", key), ("place", "cellar"), ("name", name))).Status
            .Should().Be(HttpStatusCode.Found);

    private static Task<Answer> PatchAsync(Site site, string key, string body) => site.SendJsonAsync(HttpMethod.Patch, "/api/sensors/" + key, body);

    private static async Task<JsonElement> JsonAsync(Site site, string path)
    {
        using var read = JsonDocument.Parse(await site.ReadAsync(path));
        return read.RootElement.Clone();
    }

    private static async Task<int> AirAsync(Site site) => (await JsonAsync(site, "/api/places/cellar/air")).GetArrayLength();

    // Another goes on speaking, until the first has been missed for long enough.
    private static async Task SilentAsync(HouseOnAir place, string key, string other, double celsius = 5)
    {
        for (var i = 0; i < 5; i++)
        {
            await place.Radio.SayAsync(other, $$"""{"temperature_c":{{celsius}},"humidity_pct":92}""");
            await PassAsync(place.Site, TimeSpan.FromMinutes(10));
        }

        await place.Radio.SayAsync(other, $$"""{"temperature_c":{{celsius}},"humidity_pct":92}""");
        await PassAsync(place.Site, TimeSpan.FromMinutes(1));
        place.Site.Services.GetRequiredService<Pipeline>().Snapshot.Sensor(key)!.Silent.Should().BeTrue();
    }

    private static async Task PassAsync(Site site, TimeSpan time)
    {
        for (var gone = TimeSpan.Zero; gone < time; gone += TimeSpan.FromSeconds(10))
        {
            site.Time.Advance(TimeSpan.FromSeconds(10));
            await site.Services.GetRequiredService<Pipeline>().AskAsync((_, _, _) => true, Cancelled);
        }

        // What was decided is on disk.
        await site.Store.WriteAsync(_ => { });
    }

    private static async Task<HouseOnAir> HouseAsync(TempFolder? record = null, string? known = null, DateTimeOffset? at = null)
    {
        var house = await HouseOnAir.OpenAsync(
            s => (s.Tell.Modem.On, s.Tell.Modem.Program, s.Tell.Modem.Answers) = (true, "/bin/true", false), record, known, at);
        if (known is null)
        {
            (await house.Site.SendJsonAsync(HttpMethod.Post, "/api/contacts", """{"name":"Nell","channel":"modem","address":"+15551234567"}""")).Status
                .Should().Be(HttpStatusCode.Created);
        }

        return house;
    }
}
