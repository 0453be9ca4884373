using RootCellar.Readings;
using static RootCellar.Tests.Readings.PayloadDecoderTests;

namespace RootCellar.Tests.Readings;

public class MappingTests
{
    // The document of RFC 6901 section 5.
    private const string Rfc6901 = """{"foo":["bar","baz"],"":0,"a/b":1,"c%d":2,"e^f":3,"g|h":4,"i\\j":5,"k\"l":6," ":7,"m~n":8}""";

    [Theory]
    [InlineData("/", 0)]
    [InlineData("/a~1b", 1)]
    [InlineData("/c%d", 2)]
    [InlineData("/e^f", 3)]
    [InlineData("/g|h", 4)]
    [InlineData("/i\\j", 5)]
    [InlineData("/k\"l", 6)]
    [InlineData("/ ", 7)]
    [InlineData("/m~0n", 8)]
    public void The_examples_of_RFC_6901_section_5(string pointer, int expected) =>
        Shown(Decode("a/b", Rfc6901, new Mapping { Topic = "a/b", Pointer = pointer, Quantity = "light_lx" })).Should().Be($"a/b: Light {expected}");

    [Theory]
    [InlineData("/foo")]
    [InlineData("/foo/0")]
    [InlineData("/foo/2")]
    [InlineData("/foo/-")]
    [InlineData("/nothing")]
    public void Where_no_number_stands_the_pointer_is_named(string pointer) =>
        Decode("a/b", Rfc6901, new Mapping { Topic = "a/b", Pointer = pointer, Quantity = "light_lx" })
            .Should().BeOfType<Decoded.Unreadable>().Subject.Problem.Should().Contain(pointer);

    [Theory]
    [InlineData("shed/+/climate", "shed/north/climate", "/t", "temperature_c", null, null, """{"t":4.5}""", "shed/north/climate: Temperature 4.5")]
    [InlineData("shed/#", "shed/a/b/c", "/t", "temperature_c", null, null, """{"t":"4.5"}""", "shed/a/b/c: Temperature 4.5")]
    [InlineData("shed/#", "barn/a", "/t", "temperature_c", null, null, """{"t":4.5}""", "not ours")]
    [InlineData("shed/t", "shed/t", null, "temperature_c", "F", null, "41", "shed/t: Temperature 5")]
    [InlineData("shed/t", "shed/t", "", "temperature_c", "K", null, "278.15", "shed/t: Temperature 5")]
    [InlineData("shed/t", "shed/t", null, "temperature_c", "F", 0.1, "410", "shed/t: Temperature 5")]
    [InlineData("shed/t", "shed/t", null, "temperature_f", null, null, "41", "shed/t: Temperature 5")]
    [InlineData("shed/t", "shed/t", null, "temperature_f", "Cel", null, "5", "shed/t: Temperature 5")]
    [InlineData("shed/p", "shed/p", null, "pressure_pa", "hPa", null, "1013.25", "shed/p: Pressure 101325")]
    [InlineData("shed/w", "shed/w", null, "weight_kg", "lb", null, "1", "shed/w: Weight 0.453592")]
    [InlineData("shed/h", "shed/h", null, "humidity_pct", "/", null, "0.91", "shed/h: Humidity 91")]
    [InlineData("shed/l", "shed/l", "/on", "light_lx", null, 50.0, """{"on":true}""", "shed/l: Light 50")]
    [InlineData("shed/t", "shed/t", null, "temperature_c", null, null, """{"t":4.5}""", "unreadable shed/t")]
    [InlineData("shed/t", "shed/t", "/t", "temperature_c", null, null, """{"t":{"v":4.5}}""", "unreadable shed/t")]
    [InlineData("shed/t", "shed/t", "/t", "temperature_c", null, null, """{"t":4.5""", "unreadable shed/t")]
    [InlineData("shed/t", "shed/t", "/t", "temperature_c", null, null, """{"t":4.5,"t":5}""", "unreadable shed/t")]
    [InlineData("#", "rootcellar/out/cellar/air", "/temperatureC", "temperature_c", null, null, """{"temperatureC":4.5}""", "not ours")]
    public void Mapped(string filter, string topic, string? pointer, string quantity, string? unit, double? scale, string payload, string expected)
    {
        var mapping = new Mapping { Topic = filter, Pointer = pointer, Quantity = quantity, Unit = unit, Scale = scale };
        MappingRules.Validate(mapping).Should().BeEmpty();
        Shown(Decode(topic, payload, mapping)).Should().Be(expected);
    }

    [Fact]
    public void Several_mappings_of_a_topic_make_one_message_and_place_and_sensor_name_it()
    {
        Mapping[] two =
        [
            new() { Topic = "gw/x", Pointer = "/t", Quantity = "temperature_c", Place = "cellar", Sensor = "gw" },
            new() { Topic = "gw/+", Pointer = "/h", Quantity = "humidity_pct", Place = "cellar", Sensor = "gw" },
        ];
        var decoded = Decode("gw/x", """{"t":5,"h":91}""", two);
        Shown(decoded).Should().Be("cellar/gw: Temperature 5, Humidity 91");
        decoded.Should().BeOfType<Decoded.Measurements>().Subject.PlaceNamed.Should().Be("cellar");
        Shown(Decode("gw/x", """{"h":91}""", two)).Should().Be("cellar/gw: Humidity 91");
    }

    [Theory]
    [InlineData("", "/t", "temperature_c", null, null, null, null, "Right: shed/+/climate")]
    [InlineData("shed/#/x", "/t", "temperature_c", null, null, null, null, "Right: shed/+/climate")]
    [InlineData("shed#", "/t", "temperature_c", null, null, null, null, "Right: shed/+/climate")]
    [InlineData("shed/a+/x", "/t", "temperature_c", null, null, null, null, "Right: shed/+/climate")]
    [InlineData("shed/t", "t", "temperature_c", null, null, null, null, "Right: /climate/temp")]
    [InlineData("shed/t", "/t~2", "temperature_c", null, null, null, null, "Right: /climate/temp")]
    [InlineData("shed/t", "/t", "temp", null, null, null, null, "temperature_c, temperature_f")]
    [InlineData("shed/t", "/t", "temperature_c", "lx", null, null, null, "Right: Cel, C, F, K")]
    [InlineData("shed/t", "/t", "temperature_c", null, 0.0, null, null, "number to multiply by")]
    [InlineData("shed/t", "/t", "temperature_c", null, double.NaN, null, null, "number to multiply by")]
    [InlineData("shed/t", "/t", "temperature_c", null, null, "cellar", null, "both or neither")]
    public void What_is_wrong_with_a_mapping_is_said_with_what_would_be_right(
        string topic, string? pointer, string quantity, string? unit, double? scale, string? place, string? sensor, string expected) =>
        MappingRules.Validate(new Mapping { Topic = topic, Pointer = pointer, Quantity = quantity, Unit = unit, Scale = scale, Place = place, Sensor = sensor })
            .Should().ContainSingle().Which.Should().Contain(expected);
}
