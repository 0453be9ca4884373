using System.Globalization;
using CsCheck;
using RootCellar.Readings;
using static RootCellar.Tests.Readings.Decoding;

namespace RootCellar.Tests.Readings;

public class PlainNumberTests
{
    // 32 F = 0 C and 212 F = 100 C by definition; lb = 0.45359237 kg exactly (NIST Handbook 44, appendix C).
    [Theory]
    [InlineData("temperature_c", "12.8", 1, 12.8)]
    [InlineData("temperature_f", "32", 1, 0)]
    [InlineData("temperature_f", "212", 1, 100)]
    [InlineData("temperature_f", "-40", 1, -40)]
    [InlineData("humidity_pct", "91", 2, 91)]
    [InlineData("pulp_c", " 7.5\r\n", 3, 7.5)]
    [InlineData("pulp_f", "50", 3, 10)]
    [InlineData("light_lx", "+3", 4, 3)]
    [InlineData("co2_ppm", "1e3", 5, 1000)]
    [InlineData("pressure_pa", "101325", 6, 101325)]
    [InlineData("weight_kg", ".5", 7, 0.5)]
    [InlineData("weight_lb", "100", 7, 45.359237)]
    [InlineData("battery_v", "2.9\0", 8, 2.9)]
    [InlineData("battery_pct", "80", 9, 80)]
    [InlineData("rssi_dbm", "-71", 10, -71)]
    public void A_quantity_is_named_by_the_topic_and_held_in_si(string name, string payload, int quantity, double value)
    {
        var m = Values($"rootcellar/cellar/shelf/{name}", payload);

        m.Sensor.Should().Be("cellar/shelf");
        m.PlaceNamed.Should().Be("cellar");
        var only = m.Values.Should().ContainSingle().Subject;
        only.Quantity.Should().Be((Quantity)quantity);
        only.Value.Should().BeApproximately(value, 1e-9);
        only.DeviceTime.Should().BeNull();
    }

    [Theory]
    [InlineData("")]
    [InlineData(" ")]
    [InlineData("1e999")]
    [InlineData("null")]
    [InlineData("unknown")]
    [InlineData("unavailable")]
    [InlineData("12,8")]
    [InlineData("12.8 C")]
    [InlineData("+-5")]
    [InlineData("--5")]
    [InlineData("-")]
    [InlineData("0x10")]
    [InlineData("{\"temperature_c\":5}")]
    public void What_is_no_plain_number_is_unreadable(string payload)
    {
        Problem("rootcellar/cellar/shelf/temperature_c", payload).Sensor.Should().Be("cellar/shelf");
    }

    [Fact]
    public void A_number_we_wrote_comes_back_exactly() => Gen.Double.Where(double.IsFinite).Sample(number =>
        Values("rootcellar/cellar/shelf/temperature_c", number.ToString("R", CultureInfo.InvariantCulture)).Values[0].Value == number);

    [Fact]
    public void Fahrenheit_and_celsius_of_the_same_warmth_agree() => Gen.Double[-60, 160].Sample(fahrenheit =>
    {
        var text = fahrenheit.ToString("R", CultureInfo.InvariantCulture);
        var celsius = Values("rootcellar/a/b/temperature_f", text).Values[0].Value;
        return Math.Abs((celsius * 9 / 5) + 32 - fahrenheit) < 1e-9;
    });
}

public class TopicTests
{
    [Theory]
    [InlineData("rootcellar/out/status")]
    [InlineData("rootcellar/out/cellar/air")]
    [InlineData("rootcellar/out")]
    [InlineData("rootcellar")]
    [InlineData("shed/temp")]
    [InlineData("")]
    [InlineData("$SYS/broker/uptime")]
    public void Other_topics_are_not_ours(string topic)
    {
        Decode(topic, "5").Should().BeOfType<Decoded.NotOurs>();
    }

    [Fact]
    public void What_the_service_says_itself_is_not_read_even_where_a_mapping_takes_everything()
    {
        Decode("rootcellar/out/cellar/air", "5", new Mapping { Topic = "#", Quantity = "temperature_c" }).Should()
            .BeOfType<Decoded.NotOurs>();
        Decode("rootcellar/out/cellar/air", "5", new Mapping { Topic = "rootcellar/#", Quantity = "temperature_c" }).Should()
            .BeOfType<Decoded.NotOurs>();
    }

    [Theory]
    [InlineData("rootcellar/cellar")]
    [InlineData("rootcellar/cellar/shelf/temperature_c/more")]
    [InlineData("rootcellar//shelf/temperature_c")]
    [InlineData("rootcellar/cellar//temperature_c")]
    public void A_topic_of_another_shape_is_unreadable(string topic)
    {
        Problem(topic, "5").Sensor.Should().BeNull();
    }

    [Fact]
    public void An_unknown_quantity_is_counted_with_its_sensor_and_the_known_ones_are_named()
    {
        var problem = Problem("rootcellar/cellar/shelf/temperature", "5");

        problem.Sensor.Should().Be("cellar/shelf");
        problem.Problem.Should().Contain("temperature_c");
    }

    [Fact]
    public void Names_are_kept_as_they_are_up_to_64_characters()
    {
        Values("rootcellar/Omas Keller/Fühler 1/temperature_c", "5").Sensor.Should().Be("Omas Keller/Fühler 1");
        Values($"rootcellar/{new string('p', 64)}/s/temperature_c", "5").PlaceNamed.Should().HaveLength(64);
        Problem($"rootcellar/{new string('p', 65)}/s/temperature_c", "5").Problem.Should().Contain("64");
    }

    [Fact]
    public void Too_long_topics_and_payloads_are_refused()
    {
        Problem($"rootcellar/{new string('p', 300)}", "5").Problem.Should().Contain("256");
        Problem("rootcellar/cellar/shelf", $"{{\"temperature_c\":5,\"x\":\"{new string('x', 64 * 1024)}\"}}").Problem.Should()
            .Contain("65536");
        Decode(new string('p', 300), "5").Should().BeOfType<Decoded.NotOurs>("a neighbour's long topic is no fault of ours");
    }

    [Fact]
    public void A_sensor_is_still_read_after_a_flood_of_invented_topics()
    {
        var decoder = new PayloadDecoder([]);
        for (var i = 0; i < 20_000; i++) decoder.Decode($"rootcellar/p{i}/s/temperature_c", "5"u8.ToArray(), Now);

        decoder.Decode("rootcellar/cellar/shelf/temperature_c", "5"u8.ToArray(), Now).Should().BeOfType<Decoded.Measurements>();
    }

    [Theory]
    [InlineData("online", true)]
    [InlineData("Offline", false)]
    public void Status_is_online_or_offline(string payload, bool online)
    {
        Decode("rootcellar/cellar/shelf/status", payload).Should().Be(new Decoded.Status("cellar/shelf", online));
    }

    [Fact]
    public void Another_status_is_unreadable() => Problem("rootcellar/cellar/shelf/status", "sleeping").Problem.Should()
        .Contain("online or offline");

    private static readonly Mapping[] Some =
    [
        new() { Topic = "#", Pointer = "/a/0/b", Quantity = "temperature_f" },
        new() { Topic = "rootcellar/+/mapped", Pointer = "/t", Quantity = "humidity_pct", Unit = "/" },
        new() { Topic = "shed/+", Quantity = "weight_kg", Unit = "lb" },
    ];

    [Fact]
    public void Whatever_bytes_come_on_whatever_topic_nothing_is_thrown()
    {
        var decoder = new PayloadDecoder(Some);
        var piece = OneOf("[", "]", "{", "}", ",", ":", "\"a\"", "\"b\"", "\"t\"", "\"v\"", "\"bn\"", "\"bt\"", "\"u\"", "\"Cel\"",
            "\"time\"", "\"temperature_c\"", "\"\\ud800\"", "null", "true", "1e999", "-5", "1e308", "\0");
        var bytes = Gen.OneOf(
            Gen.Byte.Array[0, 60],
            piece.Array[0, 14].Select(p => System.Text.Encoding.UTF8.GetBytes(string.Concat(p))),
            Gen.Select(piece.Array[0, 8], Gen.Byte.Array[0, 3],
                (p, b) => (byte[])[.. System.Text.Encoding.UTF8.GetBytes(string.Concat(p)), .. b]));
        var topic = Gen.OneOf(
            Gen.String,
            OneOf("rootcellar/a/b", "rootcellar/a/b/temperature_c", "rootcellar/a/b/status", "rootcellar/a/mapped", "shed/a", "x"),
            Gen.String.Select(s => "rootcellar/" + s));

        Gen.Select(topic, bytes).Sample((t, b) => decoder.Decode(t, b, Now) is not null, iter: 20_000);
    }

    private static Gen<string> OneOf(params string[] texts) => Gen.Int[0, texts.Length - 1].Select(i => texts[i]);
}
