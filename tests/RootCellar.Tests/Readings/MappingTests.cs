using RootCellar.Readings;
using static RootCellar.Tests.Readings.Decoding;

namespace RootCellar.Tests.Readings;

public class MappingTests
{
    // The document of RFC 6901, section 5. Its pointers evaluate there to these numbers.
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
    public void Pointers_of_rfc_6901_section_5_lead_to_their_numbers(string pointer, double value)
    {
        Values("shed/node", Rfc6901,
            new Mapping { Topic = "shed/node", Pointer = pointer, Quantity = "temperature_c" }).Values[0].Value.Should().Be(value);
    }

    [Theory]
    [InlineData("/foo/0")]
    [InlineData("/foo")]
    [InlineData("/foo/2")]
    [InlineData("/nothing")]
    public void What_is_no_number_there_is_unreadable(string pointer)
    {
        Problem("shed/node", Rfc6901, new Mapping { Topic = "shed/node", Pointer = pointer, Quantity = "temperature_c" }).Problem.Should()
            .Contain(pointer);
    }

    [Theory]
    [InlineData("{\"t\":true}")]
    [InlineData("{\"t\":\"unknown\"}")]
    [InlineData("{\"t\":null}")]
    [InlineData("{\"t\":{}}")]
    [InlineData("null")]
    [InlineData("[]")]
    [InlineData("7")]
    [InlineData("not json")]
    public void Truths_words_and_nothing_are_no_numbers(string payload)
    {
        Problem("shed/node", payload, new Mapping { Topic = "shed/node", Pointer = "/t", Quantity = "temperature_c" }).Sensor.Should()
            .Be("shed/node");
    }

    [Fact]
    public void A_key_that_stands_twice_is_read_and_not_thrown_over()
    {
        // Which of the two counts is left open by RFC 8259, section 4.
        Values("shed/node", """{"t":1,"t":2}""",
            new Mapping { Topic = "shed/node", Pointer = "/t", Quantity = "temperature_c" }).Values[0].Value.Should().BeOneOf(1, 2);
    }

    // MQTT 5.0, section 4.7.1.
    [Theory]
    [InlineData("shed/+/temp", "shed/n1/temp", true)]
    [InlineData("shed/+/temp", "shed/n1/n2/temp", false)]
    [InlineData("shed/#", "shed", true)]
    [InlineData("shed/#", "shed/n1/temp", true)]
    [InlineData("shed/+", "shed/n1/temp", false)]
    [InlineData("+/temp", "shed/temp", true)]
    public void Filters_match_as_mqtt_has_it(string filter, string topic, bool matches)
    {
        (Decode(topic, "5", new Mapping { Topic = filter, Quantity = "temperature_c" }) is Decoded.Measurements).Should().Be(matches);
    }

    [Theory]
    [InlineData("temperature_c", "C", null, 12.5, 12.5)]
    [InlineData("temperature_c", "F", null, 50, 10)]
    [InlineData("temperature_c", "°F", null, 50, 10)]
    [InlineData("temperature_c", "K", null, 283.15, 10)]
    [InlineData("temperature_c", null, 0.1, 125, 12.5)]
    [InlineData("temperature_c", "F", 0.1, 500, 10)]
    [InlineData("temperature_f", null, null, 50, 10)]
    [InlineData("humidity_pct", "%", null, 91, 91)]
    [InlineData("humidity_pct", "/", null, 0.91, 91)]
    [InlineData("humidity_pct", "0-1", null, 0.91, 91)]
    [InlineData("light_lx", "lx", null, 5, 5)]
    [InlineData("co2_ppm", "ppm", null, 800, 800)]
    [InlineData("pressure_pa", "hPa", null, 1013.25, 101325)]
    [InlineData("pressure_pa", "kPa", null, 101.325, 101325)]
    [InlineData("weight_kg", "g", null, 1500, 1.5)]
    [InlineData("weight_kg", "lb", null, 100, 45.359237)]
    [InlineData("weight_kg", "oz", null, 16, 0.45359237)]
    [InlineData("battery_v", "mV", null, 2900, 2.9)]
    public void Units_and_scales_come_to_si(string quantity, string? unit, double? scale, double given, double value)
    {
        var mapping = new Mapping { Topic = "shed/node", Quantity = quantity, Unit = unit, Scale = scale };

        MappingRules.Validate(mapping).Should().BeEmpty();
        Values("shed/node", FormattableString.Invariant($"{given}"), mapping).Values[0].Value.Should().BeApproximately(value, 1e-9);
    }

    [Fact]
    public void The_topic_is_the_name_of_a_sensor_that_was_given_none()
    {
        var unnamed = Values("shed/node", "5", new Mapping { Topic = "shed/+", Quantity = "temperature_c" });
        (unnamed.Sensor, unnamed.PlaceNamed).Should().Be(("shed/node", null));

        var named = Values("shed/node", "5",
            new Mapping { Topic = "shed/+", Quantity = "temperature_c", Place = "cellar", Sensor = "shelf" });
        (named.Sensor, named.PlaceNamed).Should().Be(("cellar/shelf", "cellar"));
    }

    [Fact]
    public void Two_rooms_in_one_message_stay_two_sensors()
    {
        const string gateway = """{"cellar":{"t":5,"h":92},"curing":{"t":14}}""";
        var m = Values("gateway", gateway,
            new Mapping { Topic = "gateway", Pointer = "/cellar/t", Quantity = "temperature_c", Place = "cellar", Sensor = "a" },
            new Mapping { Topic = "gateway", Pointer = "/curing/t", Quantity = "temperature_c", Place = "curing", Sensor = "b" },
            new Mapping { Topic = "gateway", Pointer = "/cellar/h", Quantity = "humidity_pct", Place = "cellar", Sensor = "a" });

        m.Sensor.Should().Be("cellar/a");
        m.Values.Should().Equal(new Measured(Quantity.Temperature, 5, null), new Measured(Quantity.Humidity, 92, null));
        m.Next!.Sensor.Should().Be("curing/b");
        m.Next.PlaceNamed.Should().Be("curing");
        m.Next.Values.Should().Equal(new Measured(Quantity.Temperature, 14, null));
        m.Next.Next.Should().BeNull();
    }

    [Fact]
    public void A_filter_for_everything_leaves_our_own_topics_alone_but_one_that_names_them_is_heeded()
    {
        Values("rootcellar/cellar/shelf/temperature_c", "5",
            new Mapping { Topic = "#", Quantity = "temperature_f" }).Values[0].Value.Should().Be(5);
        Values("rootcellar/cellar/shelf", """{"t":5}""",
            new Mapping { Topic = "rootcellar/+/+", Pointer = "/t", Quantity = "temperature_c" }).Values[0].Value.Should().Be(5);
    }

    [Theory]
    [InlineData("", null, "temperature_c", null, null, null, null, "Topic")]
    [InlineData("a/#/b", null, "temperature_c", null, null, null, null, "Topic")]
    [InlineData("a+/b", null, "temperature_c", null, null, null, null, "Topic")]
    [InlineData("a", "temp", "temperature_c", null, null, null, null, "Pointer")]
    [InlineData("a", "/x~2", "temperature_c", null, null, null, null, "Pointer")]
    [InlineData("a", null, "temperature", null, null, null, null, "temperature_c")]
    [InlineData("a", null, "temperature_c", "Pa", null, null, null, "Cel")]
    [InlineData("a", null, "pressure_pa", "bar", null, null, null, "hPa")]
    [InlineData("a", null, "temperature_c", null, 0.0, null, null, "Scale")]
    [InlineData("a", null, "temperature_c", null, double.NaN, null, null, "Scale")]
    [InlineData("a", null, "temperature_c", null, null, "cellar", null, "go together")]
    [InlineData("a", null, "temperature_c", null, null, "cellar/x", "s", "Place")]
    [InlineData("a", null, "temperature_c", null, null, "cellar", "", "Sensor")]
    public void What_is_wrong_is_said_with_what_would_be_right(
        string topic, string? pointer, string quantity, string? unit, double? scale, string? place, string? sensor, string says)
    {
        var mapping = new Mapping
        {
            Topic = topic,
            Pointer = pointer,
            Quantity = quantity,
            Unit = unit,
            Scale = scale,
            Place = place,
            Sensor = sensor
        };

        MappingRules.Validate(mapping).Should().ContainSingle().Which.Should().Contain(says);
    }

    [Fact]
    public void Only_the_messages_of_its_device_are_read_and_another_ones_are_nobodys()
    {
        var mine = new Mapping { Topic = "radio/+", Pointer = "/t", Quantity = "temperature_c", Place = "cellar", Sensor = "s" };
        (mine.Where["/id"], mine.Where["/channel"]) = ("1420", "A");

        Values("radio/x", """{"id":1420,"channel":"A","t":4}""", mine).Values[0].Value.Should().Be(4);
        Values("radio/x", """{"id":"1420","channel":"A","t":5}""", mine).Values[0].Value.Should().Be(5);
        foreach (var other in new[] { """{"id":1421,"channel":"A","t":4}""", """{"id":1420,"channel":"B","t":4}""", """{"id":1420,"t":4}""", "4" })
            Decode("radio/x", other, mine).Should().BeOfType<Decoded.NotOurs>(other);
    }

    [Theory]
    [InlineData("gw/a1/climate", """{"t":4}""", "cellar/a1")]
    [InlineData("gw/b 2/climate", """{"t":4}""", "cellar/b 2")]
    [InlineData("lora/up", """{"dev":"shelf/3","t":4}""", "cellar/shelf-3")]
    [InlineData("lora/up", """{"dev":7,"t":4}""", "cellar/7")]
    [InlineData("lora/up", """{"dev":"a+b#c","t":4}""", "cellar/a-b-c")]
    [InlineData("lora/up", """{"dev":"0123456789012345678901234567890123456789012345678901234567890123456789","t":4}""",
        "cellar/0123456789012345678901234567890123456789012345678901234567890123")]
    public void One_filter_is_of_many_devices_by_a_level_or_a_field(string topic, string payload, string sensor)
    {
        var read = Values(topic, payload, OfMany);
        (read.Sensor, read.PlaceNamed, read.Values.Single().Value).Should().Be((sensor, "cellar", 3.5));
        Decoder().SensorsOf(topic, System.Text.Encoding.UTF8.GetBytes(payload)).Should().Contain(sensor);
    }

    [Theory]
    [InlineData("""{"t":4}""")]
    [InlineData("""{"dev":" ","t":4}""")]
    public void A_message_that_does_not_say_whose_it_is_counts_as_no_sensors(string payload) =>
        Problem("lora/up", payload, OfMany).Problem.Should().Be("it does not say which sensor it is of");

    [Fact]
    public void Who_a_message_is_of_is_known_before_it_is_let_in()
    {
        Decoder().SensorsOf("radio/x", default).Should().Equal("cellar/fixed");
        Decoder().SensorsOf("radio/x/lwt", default).Should().Equal("cellar/fixed");
        Decoder().SensorsOf("rootcellar/cellar/s/temperature_c", default).Should().Equal("cellar/s");
        Decoder().SensorsOf("elsewhere", default).Should().BeEmpty();
        Decoder().SensorsOf("lora/up", "{"u8.ToArray()).Should().NotContain("cellar/fixed");
    }

    [Theory]
    [InlineData("a", 0, null, null, null, "SensorLevel: 0 is no level of a topic. Right: 1 is the first.")]
    [InlineData("a", 33, null, null, null, "SensorLevel: 33 is no level")]
    [InlineData("a", null, "id", null, null, "SensorPointer: 'id' is not a JSON Pointer (RFC 6901). Right: /id, with / at the start.")]
    [InlineData("a", 2, "/id", null, null, "Sensor, SensorLevel and SensorPointer: give one of them.")]
    [InlineData("a", 2, null, "x/#", null, "StatusTopic: 'x/#' is not one topic.")]
    [InlineData("a", 2, null, "+/x", null, "StatusTopic: '+/x' is not one topic.")]
    [InlineData("a", 2, null, "", null, "StatusTopic: '' is not one topic.")]
    [InlineData("a", 2, null, null, "id", "Where: 'id' is not a JSON Pointer")]
    public void What_is_wrong_with_one_of_many_is_said(string topic, int? level, string? pointer, string? status, string? where, string says)
    {
        var mapping = new Mapping
        {
            Topic = topic,
            Quantity = "temperature_c",
            Place = "cellar",
            SensorLevel = level,
            SensorPointer = pointer,
            StatusTopic = status,
        };
        if (where is not null) mapping.Where[where] = "7";
        MappingRules.Validate(mapping).Should().ContainSingle().Which.Should().StartWith(says);
    }

    [Fact]
    public void The_ends_of_what_a_mapping_may_say()
    {
        static Mapping With(Action<Mapping> change)
        {
            var mapping = new Mapping { Topic = "a", Quantity = "temperature_c", Place = "cellar", Sensor = "s" };
            change(mapping);
            return mapping;
        }

        MappingRules.Validate(With(m => m.Pick = new string('k', 64))).Should().BeEmpty();
        MappingRules.Validate(With(m => m.Pick = new string('k', 65))).Should().Equal("Pick: at most 64 characters.");
        MappingRules.Validate(With(m => (m.Pick, m.Pointer) = ("t", "/t"))).Should().Equal("Pointer and Pick: give one of them.");
        MappingRules.Validate(With(m => m.Offset = double.NaN)).Should().Equal("Offset: NaN is not a number to add.");
        MappingRules.Validate(With(m => (m.Sensor, m.SensorLevel) = (null, 1))).Should().BeEmpty();
        MappingRules.Validate(With(m => (m.Sensor, m.SensorLevel) = (null, 32))).Should().BeEmpty();
        MappingRules.Validate(With(m => (m.Sensor, m.SensorPointer) = (new string('s', 64), null))).Should().BeEmpty();
        MappingRules.Validate(With(m => m.Sensor = new string('s', 65))).Should().ContainSingle().Which.Should().Contain("1 to 64 characters");
        // After the unit, in the unit of the quantity.
        Values("a", "50", With(m => (m.Unit, m.Offset) = ("F", 0.25))).Values[0].Value.Should().BeApproximately(10.25, 1e-9);
        // An empty field of a form is none.
        Values("a", "5", With(m => (m.Pick, m.Pointer, m.Unit) = ("", "", ""))).Values[0].Value.Should().Be(5);
        (new Mapping().Online, new Mapping().Offline).Should().Be(("online", "offline"));
        // Given anew, it holds from the next message on.
        var decoder = new PayloadDecoder([]);
        decoder.Decode("a", "5"u8.ToArray(), Now).Should().BeOfType<Decoded.NotOurs>();
        decoder.Use([With(_ => { })]);
        decoder.Decode("a", "5"u8.ToArray(), Now).Should().BeOfType<Decoded.Measurements>();
    }

    private static Mapping[] OfMany =>
    [
        new() { Topic = "gw/+/climate", Pointer = "/t", Quantity = "temperature_c", Offset = -0.5, Place = "cellar", SensorLevel = 2 },
        new() { Topic = "lora/up", Pointer = "/t", Quantity = "temperature_c", Offset = -0.5, Place = "cellar", SensorPointer = "/dev" },
    ];

    private static PayloadDecoder Decoder() => new(
    [
        .. OfMany,
        new() { Topic = "radio/+", Quantity = "temperature_c", Place = "cellar", Sensor = "fixed", StatusTopic = "radio/x/lwt" },
    ]);
}
