using System.Globalization;
using System.Text;
using RootCellar.Readings;
using static RootCellar.Tests.Readings.Decoding;

namespace RootCellar.Tests.Readings;

/// <summary>What is found in the messages of sensors that do not follow our convention, and what it is taken for.</summary>
public sealed class HeardShapesTests
{
    /// <param name="offered">Pointer or pick, quantity, unit and how likely; those with no guess are left out.</param>
    [Theory]
    [InlineData("tele/cellar1/SENSOR", """{"Time":"2026-11-02","SI7021":{"Temperature":12.8,"Humidity":91,"DewPoint":11.4},"TempUnit":"C"}""",
        "/SI7021/Temperature temperature_c 0.8; /SI7021/Humidity humidity_pct 0.8")]
    [InlineData("tele/barn/SENSOR", """{"AM2301":{"Temperature":40.1,"Humidity":88.2},"TempUnit":"F"}""",
        "/AM2301/Temperature temperature_c F 0.8; /AM2301/Humidity humidity_pct 0.8")]
    [InlineData("tele/barn/SENSOR", """{"Temperature":46.1,"TempUnit":"C"}""", "/Temperature temperature_c 0.8")]
    [InlineData("tele/barn/SENSOR", """{"Temperature":46.1}""", "/Temperature temperature_c F 0.8")]
    [InlineData("tele/barn/SENSOR", """{"Temperature":45}""", "/Temperature temperature_c 0.8")]
    [InlineData("gw/door", """{"battery":97,"humidity":88.1,"linkquality":120,"temperature":12.31,"voltage":2995}""",
        "/battery battery_pct 0.8; /humidity humidity_pct 0.8; /temperature temperature_c 0.8; /voltage battery_v mV 0.8")]
    // A cold room in F, where the figure alone would pass for C: the name says it, wherever it stands.
    [InlineData("node7/sensor/outside_temperature_f/state", "38.2", "1 temperature_c F 0.8")]
    [InlineData("n", """{"temperature_F":{"value":38.2}}""", "/temperature_F/value temperature_c F 0.8")]
    [InlineData("n", """{"tF":38.2,"tC":3.4,"f":38.2}""", "/tF temperature_c F 0.8; /tC temperature_c 0.8")]
    [InlineData("n/f/temp", "8.2", "1 temperature_c 0.8")]
    [InlineData("n", """{"battery":2.9}""", "/battery battery_v 0.8")]
    [InlineData("n", """{"battery":1}""", "/battery battery_pct / 0.8")]
    [InlineData("n", """{"battery":0.5}""", "/battery battery_v 0.8")]
    [InlineData("n", """{"battery":5}""", "/battery battery_pct 0.8")]
    [InlineData("n", """{"battery":"3 %"}""", "/battery battery_pct 0.8")]
    [InlineData("n", """{"battery":"2900 mV"}""", "/battery battery_v mV 0.95")]
    [InlineData("n", """{"battery_ok":1,"battery_low":0}""", "")]
    [InlineData("n", """{"soil_moisture":41,"soil_temperature":9.1,"feelslike":9}""", "")]
    [InlineData("n", """{"pressure":1013.2,"co2":640}""", "/pressure pressure_pa hPa 0.8; /co2 co2_ppm 0.8")]
    [InlineData("n", """{"pressure":101320,"eco2":640}""", "/pressure pressure_pa 0.8")]
    [InlineData("n", """{"pressure":2000}""", "/pressure pressure_pa 0.8")]
    [InlineData("n", """{"p":1009,"v":3.1,"bat":80,"rh":91,"h":92,"t":4.1,"tc":4.2,"tvoc":5,"moisture":7}""",
        "/p pressure_pa hPa 0.8; /v battery_v 0.8; /bat battery_pct 0.8; /rh humidity_pct 0.8; /h humidity_pct 0.8; /t temperature_c 0.8; /tc temperature_c 0.8")]
    [InlineData("n", """{"carbonDioxide":800,"light_level":5,"weight":3.2,"batV":3.1,"vBat":3000}""",
        "/carbonDioxide co2_ppm 0.8; /light_level light_lx 0.8; /weight weight_kg 0.8; /batV battery_v 0.8; /vBat battery_v mV 0.8")]
    [InlineData("n", """{"a":"5 lx","b":"5 lux","c":"1009 hPa","d":"1009 mbar","e":"100900 Pa","f":"-70 dBm"}""",
        "/a light_lx 0.6; /b light_lx 0.6; /c pressure_pa hPa 0.6; /d pressure_pa hPa 0.6; /e pressure_pa 0.6; /f rssi_dbm 0.6")]
    [InlineData("n", """{"a":"3 V","b":"3000 mV","c":"5 kg","d":"500 g","e":"91 %RH","f":"91 % RH","g":"4 ° C","k":"40 ° F","i":"4 furl"}""",
        "/a battery_v 0.6; /b battery_v mV 0.6; /c weight_kg 0.6; /d weight_kg g 0.6; /e humidity_pct 0.6; /f humidity_pct 0.6; /g temperature_c 0.6; /k temperature_c F 0.6")]
    [InlineData("n", """{"vbat":101}""", "/vbat battery_v mV 0.8")]
    [InlineData("n", """{"vbat":100}""", "/vbat battery_v 0.8")]
    [InlineData("n", """{"humidity":0.91}""", "/humidity humidity_pct / 0.8")]
    [InlineData("n", """{"humidity":0}""", "/humidity humidity_pct 0.8")]
    [InlineData("n", """{"hum":"91 %","x":"640ppm","y":"12 lb"}""", "/hum humidity_pct 0.95; /x co2_ppm 0.6; /y weight_kg lb 0.6")]
    // What cannot be is not guessed.
    [InlineData("n", """{"humidity":102,"co2":199,"lux":-1,"rssi":0}""", "")]
    [InlineData("n", """{"humidity":101,"co2":200,"lux":0,"rssi":-1}""",
        "/humidity humidity_pct 0.8; /co2 co2_ppm 0.8; /lux light_lx 0.8; /rssi rssi_dbm 0.8")]
    [InlineData("n", """{"co2":100001,"lux":200001,"rssi":-150,"a":"140 F","b":"-40 C"}""", "")]
    [InlineData("n", """{"co2":100000,"lux":200000,"rssi":-149}""", "/co2 co2_ppm 0.8; /lux light_lx 0.8; /rssi rssi_dbm 0.8")]
    [InlineData("n", """{"a":"139 F","b":"59 C","c":"60 C","d":"-39 F","e":"-40 F"}""",
        "/a temperature_c F 0.6; /b temperature_c 0.6; /d temperature_c F 0.6")]
    // Text.
    [InlineData("shed/text", "12.8 °C", "1 temperature_c 0.6")]
    [InlineData("shed/text", "38 °F", "1 temperature_c F 0.6")]
    [InlineData("shed/temp", "54.5F", "1 temperature_c F 0.95")]
    [InlineData("shed/pairs", "t=12.8,h=91", "t temperature_c 0.8; h humidity_pct 0.8")]
    [InlineData("shed/named", "temp: 12,8 hum: 91", "temp temperature_c 0.8; hum humidity_pct 0.8")]
    [InlineData("shed/comma/temperature", "12,8", "1 temperature_c 0.8")]
    [InlineData("shed/list", "12.8°C;91%", "1 temperature_c 0.6; 2 humidity_pct 0.6")]
    [InlineData("shed/list", "12.8 C,91 %", "1 temperature_c 0.6; 2 humidity_pct 0.6")]
    [InlineData("shed/list", "12.8C 91%", "1 temperature_c 0.6; 2 humidity_pct 0.6")]
    [InlineData("shed/array", """[{"name":"air","temperature":12.8}]""", "/0/temperature temperature_c 0.8")]
    [InlineData("shed/slash", """{"a/b":{"temp~1":4.2}}""", "/a~1b/temp~01 temperature_c 0.8")]
    // Not quite JSON, as a microcontroller's printf makes it.
    [InlineData("n", """{"temperature":4.2,"humidity":nan,}""", "/temperature temperature_c 0.8")]
    public void What_a_sensor_of_any_make_sends_is_offered_as_what_it_most_likely_is(string topic, string payload, string offered) =>
        string.Join("; ", Of(topic, payload).Values.Where(v => v.Guess is not null).Select(v =>
            string.Join(' ', new[] { v.Found.Pointer ?? v.Found.Pick, v.Guess!.Quantity, v.Guess.Unit, v.Guess.Likely.ToString(CultureInfo.InvariantCulture) }
                .OfType<string>()))).Should().Be(offered);

    [Theory]
    [InlineData("""{"SI7021":{"Temperature":4.1,"Humidity":93},}""")]
    [InlineData("""{"Temperature":4.1,"Humidity":nan}""")]
    [InlineData("""{"a":["x",{"Temperature":"4,1 °C"}]}""")]
    [InlineData("4.1")]
    [InlineData("4,1 C")]
    [InlineData("temp=4.1 hum=93")]
    [InlineData("temp: 4,1; hum: 93")]
    [InlineData("on;4.1")]
    [InlineData("93% 4.1C")]
    [InlineData("time;temp;rh\n2026-11-02T06:10:00Z;4,1;93")]
    [InlineData("\"4.1\"")]
    [InlineData(""" "{\"t\":4.1}" """)]
    [InlineData("""[{"n":"air","u":"Cel","v":4.1}]""")]
    [InlineData("Temperature = 4.1 *C, Humidity = 93 %")]
    [InlineData("4.1 degC|93 %")]
    [InlineData("\uFEFF4.1")]
    public void Each_figure_that_is_offered_is_read_by_the_mapping_that_is_made_of_it(string payload)
    {
        var recipe = Of("shed/x", payload);
        recipe.IsUseful.Should().BeTrue();
        foreach (var value in recipe.Values.Where(v => v.Found.Value is not null))
        {
            var mapping = recipe.Mappings([(value.Found, "temperature_c", null)], "cellar", "s").Should().ContainSingle().Subject;
            MappingRules.Validate(mapping).Should().BeEmpty();
            var read = Values("shed/x", payload, mapping);
            (read.Sensor, read.Values.Single().Value).Should().Be(("cellar/s", value.Found.Value!.Value));
        }
    }

    [Fact]
    public void No_more_than_forty_values_are_offered_and_long_texts_are_cut()
    {
        PayloadValues.Of(Bytes(string.Join(';', Enumerable.Repeat("1", 50)))).Should().HaveCount(40);
        PayloadValues.Of(Bytes($"[{string.Join(',', Enumerable.Repeat("1", 50))}]")).Should().HaveCount(40);
        PayloadValues.Of(Bytes($$"""{"a":"{{new string('x', 60)}}","b":"{{new string('y', 61)}}","c":true,"d":null}""")).Select(v => v.Text)
            .Should().Equal(new string('x', 60), new string('y', 60) + "...", "true");
        Of("n", """{"a":"x"}""").IsUseful.Should().BeFalse("there is no figure in it");
    }

    // Which device of a shared topic it is, and what it is called.
    [Theory]
    [InlineData("radio/events", """{"model":"Weather-TX","id":1420,"channel":1,"temperature_C":12.4}""", "radio-1420-1", "/id 1420, /channel 1, /model Weather-TX")]
    [InlineData("radio/raw", """{"model":"Fridge-2","temperature_F":36.5}""", "radio-raw", "")]
    [InlineData("tele/cellar1/SENSOR", """{"Temperature":4}""", "cellar1", "")]
    [InlineData("a/b/c/d/e", """{"mac":"A4:C1","t":4}""", "c-d-e-A4:C1", "/mac A4:C1")]
    [InlineData("node7/sensor/air_temperature/state", "12.3", "node7", "")]
    [InlineData("plug3/status/temperature:0", """{"id":0,"tC":12.4}""", "plug3-0", "/id 0")]
    [InlineData("stat/sensor", "5", "sensor", "")]
    [InlineData("x+y/z#", "5", "x-y-z-", "")]
    public void Its_name_and_what_tells_it_from_its_neighbours_come_from_topic_and_message(string topic, string payload, string device, string where)
    {
        var recipe = Of(topic, payload);
        recipe.Device.Should().Be(device);
        string.Join(", ", recipe.Where.Select(w => $"{w.Key} {w.Value}")).Should().Be(where);
        recipe.Values.Should().NotContain(v => recipe.Where.ContainsKey(v.Found.Pointer ?? ""));
        recipe.Mappings([(recipe.Values[0].Found, "temperature_c", null)], "cellar", "s")[0].Where.Should().BeEquivalentTo(recipe.Where);
    }

    [Theory]
    [InlineData("/id", "/channel", "/mac", "/address", "/devEui", "/device")]
    public void Each_of_these_fields_tells_one_device_from_another(params string[] fields)
    {
        foreach (var field in fields)
            Of("radio/x", $$"""{"{{field[1..]}}":"A7","t":4}""").Where.Should().Equal(new Dictionary<string, string> { [field] = "A7" });
        Of("radio/x", $$"""{"id":"{{new string('a', 60)}}","t":4}""").Where.Should().BeEmpty("so long a text is no name");
        foreach (var level in new[] { "tele", "stat", "sensor", "sensors", "state", "status", "result", "event", "events", "up", "uplink", "data", "rootcellar" })
            Of($"porch/{level}", "4").Device.Should().Be("porch", level);
    }

    [Fact]
    public void A_long_name_keeps_its_end_which_tells_it_from_others()
    {
        Of(new string('a', 40) + "/" + new string('b', 40), "5").Device.Should().Be(new string('a', 23) + "-" + new string('b', 40));
        Of("a/" + new string('b', 62), "5").Device.Should().Be("a-" + new string('b', 62));
    }

    [Theory]
    [InlineData("tele/cellar1/LWT", "Online", "online offline")]
    [InlineData("tele/cellar1/LWT", "Offline", "online offline")]
    [InlineData("tele/availability", """{"state":"online"}""", "online offline")]
    [InlineData("tele/cellar1/SENSOR/status", "1", "1 0")]
    [InlineData("tele/cellar1/connected", " false ", "true false")]
    [InlineData("tele/cellar1/online", "disconnected", "connected disconnected")]
    [InlineData("tele/cellar1/LWT", "gone", null)]
    [InlineData("tele/cellar2/LWT", "Online", null)]
    [InlineData("tele/cellar1/other", "online", null)]
    public void The_topic_that_says_whether_it_is_there_is_found_beside_or_above_its_own(string topic, string payload, string? words)
    {
        var all = Heard((topic, payload), ("tele/cellar1/SENSOR", """{"t":4}"""));
        var recipe = Recipe.Of(all["tele/cellar1/SENSOR"], all);
        recipe.Status.Should().Be(words is null ? null : (topic, words.Split(' ')[0], words.Split(' ')[1]));
        var mapping = recipe.Mappings([(recipe.Values[0].Found, "temperature_c", null)], "cellar", "s")[0];
        if (words is null) return;
        // Its words are then read as its status, whatever their letters' case.
        mapping.StatusTopic.Should().Be(topic);
        Decode(topic, mapping.Online.ToUpperInvariant(), mapping).Should().Be(new Decoded.Status("cellar/s", true));
        Decode(topic, $$"""{"state":"{{mapping.Offline}}"}""", mapping).Should().Be(new Decoded.Status("cellar/s", false));
        Problem(topic, "perhaps", mapping).Problem.Should().Be($"a status here is {mapping.Online} or {mapping.Offline}");
    }

    private static Recipe Of(string topic, string payload)
    {
        var all = Heard((topic, payload));
        return Recipe.Of(all[topic], all);
    }

    private static IReadOnlyDictionary<string, HeardTopic> Heard(params (string Topic, string Payload)[] said)
    {
        var heard = new HeardTopics(new Microsoft.Extensions.Time.Testing.FakeTimeProvider(Now));
        foreach (var (topic, payload) in said) heard.Note(topic, Bytes(payload), Now);
        return heard.All;
    }

    private static byte[] Bytes(string text) => Encoding.UTF8.GetBytes(text);
}
