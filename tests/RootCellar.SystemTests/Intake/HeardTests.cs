using System.Net;
using System.Net.Http.Json;
using System.Text.Json.Nodes;
using RootCellar.SystemTests.Running;

namespace RootCellar.SystemTests.Intake;

/// <summary>
/// Sensors as they come out of the box, on their own topics, over real MQTT: what is offered for each, and that what is confirmed counts.
/// The shapes are those of common firmware families; every payload is invented.
/// </summary>
public sealed class HeardTests
{
    private static CancellationToken Cancelled => TestContext.Current.CancellationToken;

    /// <summary>Topic, payload, and what is offered: pointer or pick, quantity, unit; those with no guess are left out.</summary>
    private static readonly (string Topic, string Payload, string Offered)[] Shapes =
    [
        // A block per chip with the unit beside it.
        ("tele/cellar1/SENSOR", """{"Time":"2026-11-02T06:10:00","SI7021":{"Temperature":12.8,"Humidity":91,"DewPoint":11.4},"TempUnit":"C"}""",
            "/SI7021/Temperature temperature_c; /SI7021/Humidity humidity_pct"),
        ("tele/barn/SENSOR", """{"AM2301":{"Temperature":55.1,"Humidity":88.2},"TempUnit":"F"}""",
            "/AM2301/Temperature temperature_c F; /AM2301/Humidity humidity_pct"),
        ("tele/probe/SENSOR", """{"DS18B20-1":{"Id":"0115","Temperature":3.9},"DS18B20-2":{"Id":"0116","Temperature":4.4},"TempUnit":"C"}""",
            "/DS18B20-1/Temperature temperature_c; /DS18B20-2/Temperature temperature_c"),
        // Flat JSON of a gateway.
        ("gateway/curing door", """{"battery":97,"humidity":88.1,"linkquality":120,"temperature":12.31,"voltage":2995}""",
            "/battery battery_pct; /humidity humidity_pct; /temperature temperature_c; /voltage battery_v mV"),
        ("gateway/light", """{"illuminance":14,"illuminance_lux":14}""", "/illuminance light_lx; /illuminance_lux light_lx"),
        // A state topic for each figure.
        ("node7/sensor/air_temperature/state", "12.3", "1 temperature_c"),
        ("node7/sensor/air_humidity/state", "90.5", "1 humidity_pct"),
        ("node7/sensor/outside_temperature_f/state", "48.2", "1 temperature_c F"),
        // Bluetooth gateways.
        ("home/gw/BTtoMQTT/A4C138001122", """{"id":"A4:C1:38:00:11:22","tempc":12.4,"tempf":54.3,"hum":88,"batt":83,"volt":2.9,"rssi":-71}""",
            "/tempc temperature_c; /tempf temperature_c F; /hum humidity_pct; /batt battery_pct; /rssi rssi_dbm"),
        // One topic for all that a radio receiver hears.
        ("radio/events", """{"model":"Weather-TX","id":1420,"channel":1,"battery_ok":1,"temperature_C":12.4,"humidity":88}""",
            "/temperature_C temperature_c; /humidity humidity_pct"),
        ("radio/raw", """{"model":"Fridge-2","id":9,"temperature_F":36.5}""", "/temperature_F temperature_c F"),
        // Status per component.
        ("plug3/status/temperature:0", """{"id":0,"tC":12.4,"tF":54.3}""", "/tC temperature_c; /tF temperature_c F"),
        ("plug3/status/humidity:0", """{"id":0,"rh":88.5}""", "/rh humidity_pct"),
        // LoRa, decoded three levels down.
        ("application/4/device/a84041/event/up", """{"rxInfo":[{"rssi":-97,"snr":7}],"object":{"TempC_SHT":12.4,"Hum_SHT":88.1,"BatV":3.05}}""",
            "/rxInfo/0/rssi rssi_dbm; /object/TempC_SHT temperature_c; /object/Hum_SHT humidity_pct; /object/BatV battery_v"),
        ("lora/a84041/up", """{"uplink_message":{"decoded_payload":{"temperature":3.9,"relative_humidity":95.2}}}""",
            "/uplink_message/decoded_payload/temperature temperature_c; /uplink_message/decoded_payload/relative_humidity humidity_pct"),
        // Text.
        ("shed/text", "12.8 °C", "1 temperature_c"),
        ("shed/temp", "54.5F", "1 temperature_c F"),
        ("shed/pairs", "t=12.8,h=91", "t temperature_c; h humidity_pct"),
        ("shed/named", "temp: 12,8 hum: 91", "temp temperature_c; hum humidity_pct"),
        ("shed/comma/temperature", "12,8", "1 temperature_c"),
        ("shed/list", "12.8°C;91%", "1 temperature_c; 2 humidity_pct"),
        ("shed/quoted", """{"temperature":"12.8 °C","humidity":"91 %"}""", "/temperature temperature_c; /humidity humidity_pct"),
        ("shed/array", """[{"name":"air","temperature":12.8}]""", "/0/temperature temperature_c"),
        ("shed/slash", """{"a/b":{"temp~1":4.2}}""", "/a~1b/temp~01 temperature_c"),
        ("shed/share", """{"humidity":0.91}""", "/humidity humidity_pct /"),
        ("shed/air", """{"pressure":1013.2,"co2":640}""", "/pressure pressure_pa hPa; /co2 co2_ppm"),
        // Not in the air: no guess.
        ("garden/soil", """{"soil_moisture":41,"soil_temperature":9.1}""", ""),
        // On our topics with other words.
        ("rootcellar/cellar/odd", """{"temperature":4.2,"humidity":93,"lux":0}""", "/temperature temperature_c; /humidity humidity_pct; /lux light_lx"),
        ("rootcellar/cellar/odd2/pressure_hpa", "1009", "1 pressure_pa hPa"),
    ];

    [Fact]
    public async Task Every_shape_is_listed_with_what_it_most_likely_is()
    {
        await using var service = await RunningService.StartAsync();
        foreach (var (topic, payload, _) in Shapes) await MosquittoClients.PublishAsync(service.MqttPort, topic, payload, "-q", "1");

        var heard = (await service.GetAsync("/api/heard")).AsArray();

        var offered = heard.ToDictionary(
            h => h!["topic"]!.GetValue<string>(),
            h => string.Join("; ", h!["values"]!.AsArray().Where(v => v!["guess"] is not null).Select(v =>
                $"{v!["pointer"]?.GetValue<string>() ?? v["pick"]!.GetValue<string>()} {v["guess"]!["quantity"]} {v["guess"]!["unit"]}".Trim())));
        offered.Should().BeEquivalentTo(Shapes.ToDictionary(s => s.Topic, s => s.Offered));
    }

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
