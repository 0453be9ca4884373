using System.Net;
using System.Net.Http.Json;
using System.Text.Json.Nodes;
using RootCellar.SystemTests.Running;

namespace RootCellar.SystemTests.Intake;

/// <summary>
/// Sensors as they come out of the box, on their own topics, over real MQTT: what is offered for each, and that what is confirmed counts.
/// The shapes (<see cref="Shapes"/>) are those of common firmware families and of whatever else a grower may meet.
/// </summary>
public sealed class HeardTests
{
    private static CancellationToken Cancelled => TestContext.Current.CancellationToken;

    [Fact]
    public async Task Every_shape_is_listed_with_what_it_most_likely_is()
    {
        await using var service = await RunningService.StartAsync();
        await service.AddPlaceAsync("cellar", "Cellar", "storage");
        var shapes = Shapes.All.ToList();
        shapes.Should().HaveCountGreaterThan(50).And.OnlyHaveUniqueItems(s => s.Topic);
        var file = Path.Combine(service.Data, "payload");
        foreach (var (topic, payload, _) in shapes)
        {
            await File.WriteAllBytesAsync(file, payload, Cancelled);
            await MosquittoClients.PublishFileAsync(service.MqttPort, topic, file);
        }

        var heard = (await service.GetAsync("/api/heard")).AsArray();

        var offered = heard.ToDictionary(
            h => h!["topic"]!.GetValue<string>(),
            h => h!["nothing"] is { } nothing ? $"none: {nothing}" : string.Join("; ", h["values"]!.AsArray().Where(v => v!["guess"] is not null).Select(v =>
                $"{v!["pointer"]?.GetValue<string>() ?? v["pick"]!.GetValue<string>()} {v["guess"]!["quantity"]} {v["guess"]!["unit"]}".Trim())));
        offered.Should().BeEquivalentTo(shapes.ToDictionary(s => s.Topic, s => s.Offered));

        // The page has the same chosen for each figure, the rest left out, and says of what it cannot read that it cannot.
        var page = await (await service.ApiAsync()).GetStringAsync(new Uri("/sensors?all=true", UriKind.Relative), Cancelled);
        foreach (var (topic, _, says) in shapes)
        {
            if (says.StartsWith("none", StringComparison.Ordinal)) PageSaysOf(page, topic).Should().Be(says, topic);
            else PageOffersFor(page, topic).Should().BeEquivalentTo(says.Split("; ", StringSplitOptions.RemoveEmptyEntries), topic);
        }
    }

    private static IEnumerable<string> PageOffersFor(string page, string topic)
    {
        var card = page.Split("<article").Single(a => a.Contains($"><code>{Encoded(topic)}</code></h3>", StringComparison.Ordinal)).Split("</article>")[0];
        card.Should().Contain("name=\"what\">", "there is something to say");
        return card.Split("name=\"at\" value=\"").Skip(1).Select(f => f.Split("</select>")[0]).Where(f => f.Contains("selected=", StringComparison.Ordinal)).Select(f =>
            WebUtility.HtmlDecode($"{f.Split('"')[0]} {f.Split("option value=\"").Skip(1).Single(o => o.Contains("selected=", StringComparison.Ordinal)).Split('"')[0]}")
                .Replace("pick:", "", StringComparison.Ordinal));
    }

    private static string PageSaysOf(string page, string topic)
    {
        var line = page.Split("id=\"heard-nothing\"")[1].Split("</details>")[0].Split("<li>").Single(l => l.Contains($"<code>{Encoded(topic)}</code> <", StringComparison.Ordinal));
        return line.Contains("bytes that are no text", StringComparison.Ordinal) ? "none: binary" : line.Contains("too long: at most 16000 are read", StringComparison.Ordinal) ? "none: too-long"
            : line.Contains("in a way RootCellar does not read", StringComparison.Ordinal) ? "none: no-figure" : line;
    }

    private static string Encoded(string text) => System.Text.Encodings.Web.HtmlEncoder.Default.Encode(text);

    [Fact]
    public async Task One_tap_and_it_counts_with_what_it_sent_before_and_one_tap_takes_it_back()
    {
        await using var service = await RunningService.StartAsync();
        await service.AddPlaceAsync("cellar", "Cellar", "storage");
        var before = DateTimeOffset.UtcNow;
        await MosquittoClients.PublishAsync(service.MqttPort, "tele/cellar1/LWT", "Online", "-q", "1");
        foreach (var c in new[] { 4.1, 4.2, 4.3 })
            await MosquittoClients.PublishAsync(service.MqttPort, "tele/cellar1/SENSOR",
                FormattableString.Invariant($$"""{"SI7021":{"Temperature":{{c}},"Humidity":93},"TempUnit":"C"}"""), "-q", "1");
        using var api = await service.ApiAsync();
        var heard = (await service.GetAsync("/api/heard")).AsArray().Single(h => h!["topic"]!.GetValue<string>() == "tele/cellar1/SENSOR")!;
        heard["device"]!.GetValue<string>().Should().Be("cellar1");
        heard["statusTopic"]!.GetValue<string>().Should().Be("tele/cellar1/LWT");

        var made = await api.PostAsJsonAsync("/api/mappings", new
        {
            topic = "tele/cellar1/SENSOR",
            pointer = "/SI7021/Temperature",
            quantity = "temperature_c",
            place = "cellar",
            sensor = "cellar1",
            status = new { topic = "tele/cellar1/LWT" },
        }, Cancelled);

        made.StatusCode.Should().Be(HttpStatusCode.Created, await made.Content.ReadAsStringAsync(Cancelled));
        var last = await service.LastAsync("cellar/cellar1", "temperature");
        last["value"]!.GetValue<double>().Should().Be(4.3);
        (await service.SensorAsync("cellar/cellar1"))["place"]!.GetValue<string>().Should().Be("cellar");
        await Eventually.HoldsAsync(
            () => service.Query("SELECT count(*) FROM reading", r => r.GetInt64(0)).Single() >= 3, "earlier values are kept too",
            details: () => service.Everything);
        (await service.GetAsync("/api/heard")).AsArray().Should().NotContain(h => h!["topic"]!.GetValue<string>().StartsWith("tele/cellar1"));

        // A new message, and its last will.
        await MosquittoClients.PublishAsync(service.MqttPort, "tele/cellar1/SENSOR", """{"SI7021":{"Temperature":5.5,"Humidity":93}}""", "-q", "1");
        (await service.LastAsync("cellar/cellar1", "temperature"))["value"]!.GetValue<double>().Should().Be(5.5);
        await MosquittoClients.PublishAsync(service.MqttPort, "tele/cellar1/LWT", "Offline", "-q", "1");
        await Eventually.HoldsAsync(async () => (await service.SensorAsync("cellar/cellar1"))["online"]?.GetValue<bool>() == false, "it is gone",
            details: () => service.Everything);

        // Through a restart, and taken back.
        await service.StopAsync();
        await service.StartAsync();
        await MosquittoClients.PublishAsync(service.MqttPort, "tele/cellar1/SENSOR", """{"SI7021":{"Temperature":6.5,"Humidity":93}}""", "-q", "1");
        (await service.LastAsync("cellar/cellar1", "temperature"))["value"]!.GetValue<double>().Should().Be(6.5);
        using var again = await service.ApiAsync();
        var id = (await made.Content.ReadFromJsonAsync<JsonNode>(Cancelled))!["id"]!.GetValue<string>();
        (await again.DeleteAsync(new Uri($"/api/mappings/{id}", UriKind.Relative), Cancelled)).StatusCode.Should().Be(HttpStatusCode.NoContent);
        await MosquittoClients.PublishAsync(service.MqttPort, "tele/cellar1/SENSOR", """{"SI7021":{"Temperature":9.9,"Humidity":93}}""", "-q", "1");
        (await service.GetAsync("/api/heard")).AsArray().Should().Contain(h => h!["topic"]!.GetValue<string>() == "tele/cellar1/SENSOR");
        (await service.LastAsync("cellar/cellar1", "temperature"))["value"]!.GetValue<double>().Should().Be(6.5);
        before.Should().BeBefore(DateTimeOffset.UtcNow);
    }

    [Fact]
    public async Task A_neighbours_sensor_on_the_same_topic_is_never_taken_for_mine()
    {
        await using var service = await RunningService.StartAsync();
        await service.AddPlaceAsync("cellar", "Cellar", "storage");
        using var api = await service.ApiAsync();
        await api.PostAsJsonAsync("/api/mappings", new
        {
            topic = "radio/events",
            pointer = "/temperature_C",
            quantity = "temperature_c",
            place = "cellar",
            sensor = "radio",
            where = new Dictionary<string, string> { ["/id"] = "1420", ["/channel"] = "1" },
        }, Cancelled);

        await MosquittoClients.PublishAsync(service.MqttPort, "radio/events", """{"id":1420,"channel":1,"temperature_C":4.5}""", "-q", "1");
        foreach (var other in new[] { """{"id":1420,"channel":2,"temperature_C":24.5}""", """{"id":77,"channel":1,"temperature_C":21}""" })
            await MosquittoClients.PublishAsync(service.MqttPort, "radio/events", other, "-q", "1");

        (await service.LastAsync("cellar/radio", "temperature"))["value"]!.GetValue<double>().Should().Be(4.5);
        (await service.GetAsync("/api/sensors")).AsArray().Should().ContainSingle();
        // It is offered as another one.
        (await service.GetAsync("/api/heard")).AsArray().Single()!["where"]!["/id"]!.GetValue<string>().Should().Be("77");
    }

    [Fact]
    public async Task One_filter_may_be_of_many_devices_by_level_or_by_a_field()
    {
        await using var service = await RunningService.StartAsync();
        await service.AddPlaceAsync("cellar", "Cellar", "storage");
        using var api = await service.ApiAsync();
        foreach (object mapping in new object[]
        {
            new { topic = "gw/+/climate", pointer = "/t", quantity = "temperature_c", place = "cellar", sensor = new { level = 2 } },
            new { topic = "lora/up", pointer = "/temp", quantity = "temperature_c", unit = "F", offset = -0.5, place = "cellar", sensor = new { pointer = "/dev" } },
        })
        {
            var made = await api.PostAsJsonAsync("/api/mappings", mapping, Cancelled);
            made.StatusCode.Should().Be(HttpStatusCode.Created, await made.Content.ReadAsStringAsync(Cancelled));
        }

        await MosquittoClients.PublishAsync(service.MqttPort, "gw/a1/climate", """{"t":4.5}""", "-q", "1");
        await MosquittoClients.PublishAsync(service.MqttPort, "gw/b2/climate", """{"t":5.5}""", "-q", "1");
        await MosquittoClients.PublishAsync(service.MqttPort, "lora/up", """{"dev":"shelf/3","temp":41}""", "-q", "1");

        (await service.LastAsync("cellar/a1", "temperature"))["value"]!.GetValue<double>().Should().Be(4.5);
        (await service.LastAsync("cellar/b2", "temperature"))["value"]!.GetValue<double>().Should().Be(5.5);
        (await service.LastAsync("cellar/shelf-3", "temperature"))["value"]!.GetValue<double>().Should().BeApproximately(4.5, 1e-9);
    }

    [Fact]
    public async Task A_mapping_that_cannot_be_is_refused_with_what_would_be_right()
    {
        await using var service = await RunningService.StartAsync();
        using var api = await service.ApiAsync();
        foreach (var (body, says) in new (object, string)[]
        {
            (new { topic = "a/#/b", quantity = "temperature_c" }, "is not an MQTT topic filter. Right: shed/+/climate or shed/#."),
            (new { topic = "a", quantity = "warmth" }, "is not one of temperature_c"),
            (new { topic = "a", quantity = "temperature_c", pointer = "t" }, "is not a JSON Pointer"),
            (new { topic = "a", quantity = "temperature_c", place = "cellar" }, "Place and Sensor go together"),
            (new { topic = "a", quantity = "temperature_c", place = "cellar", sensor = 7 }, "sensor: right are a name"),
            (new { topic = "a", quantity = "temperature_c", pointer = "/t", pick = "1" }, "Pointer and Pick: give one of them."),
        })
        {
            var answer = await api.PostAsJsonAsync("/api/mappings", body, Cancelled);
            answer.StatusCode.Should().Be(HttpStatusCode.BadRequest);
            (await answer.Content.ReadFromJsonAsync<JsonNode>(Cancelled))!["detail"]!.GetValue<string>().Should().Contain(says);
        }

        (await service.GetAsync("/api/mappings")).AsArray().Should().BeEmpty();
    }

    [Fact]
    public async Task A_flood_of_invented_topics_takes_no_room_from_what_was_there()
    {
        await using var service = await RunningService.StartAsync();
        await MosquittoClients.PublishAsync(service.MqttPort, "tele/cellar1/SENSOR", """{"Temperature":4.1}""", "-q", "1");
        using var flood = new Publisher(service.MqttPort, "flood");
        await flood.ConnectAsync(Cancelled);
        for (var i = 0; i < 2_000; i++) await flood.PublishAsync($"invented/{i}", new string('x', 3_000), $"{i}", Cancelled, qos: 0);
        await flood.PublishAsync("invented/last", "1", "last", Cancelled);

        var heard = (await service.GetAsync("/api/heard")).AsArray();

        heard.Should().HaveCount(200).And.Contain(h => h!["topic"]!.GetValue<string>() == "tele/cellar1/SENSOR");
    }

    [Fact]
    public async Task With_a_broker_of_the_households_own_all_is_heard_and_what_is_confirmed_is_asked_for_at_once()
    {
        using var mosquitto = await Mosquitto.StartAsync();
        await using var service = await RunningService.StartAsync(("Mqtt:Broker:Host", "127.0.0.1"), ("Mqtt:Broker:Port", mosquitto.Port.ToString()));
        await service.AddPlaceAsync("cellar", "Cellar", "storage");
        await MosquittoClients.PublishAsync(mosquitto.Port, "node7/sensor/air_temperature/state", "4.5", "-q", "1");
        await Eventually.HoldsAsync(async () => (await service.GetAsync("/api/heard")).AsArray().Count == 1, "it is heard", details: () => service.Everything);
        using var api = await service.ApiAsync();

        await api.PostAsJsonAsync("/api/mappings",
            new { topic = "node7/sensor/air_temperature/state", quantity = "temperature_c", place = "cellar", sensor = "node7" }, Cancelled);

        (await service.LastAsync("cellar/node7", "temperature"))["value"]!.GetValue<double>().Should().Be(4.5);
        var before = await service.CountAsync("rootcellar_readings_total");
        await MosquittoClients.PublishAsync(mosquitto.Port, "node7/sensor/air_temperature/state", "4.6", "-q", "1");
        await Eventually.HoldsAsync(async () => await service.CountAsync("rootcellar_readings_total") > before, "it counts", details: () => service.Everything);
        await Task.Delay(TimeSpan.FromSeconds(1), Cancelled);
        (await service.CountAsync("rootcellar_readings_total")).Should().Be(before + 1, "once, though two filters match it");
    }
}
