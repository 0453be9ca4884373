using System.Text;
using RootCellar.Readings;
using static RootCellar.Tests.Readings.Decoding;

namespace RootCellar.Tests.Readings;

/// <summary>How much of a message is read, to the last byte.</summary>
public sealed class DecoderBoundsTests
{
    [Fact]
    public void A_message_has_64_KiB_at_most()
    {
        Values("rootcellar/c/s/temperature_c", "5" + new string(' ', 65_535)).Values[0].Value.Should().Be(5);
        Problem("rootcellar/c/s/temperature_c", "5" + new string(' ', 65_536)).Problem.Should()
            .Be("the message has 65537 bytes; at most 65536 are read");
    }

    [Fact]
    public void A_topic_has_256_characters_at_most()
    {
        var all = new Mapping { Topic = "#", Quantity = "temperature_c" };
        Values(new string('t', 256), "5", all).Values[0].Value.Should().Be(5);
        Problem(new string('t', 257), "5", all).Problem.Should().Be("the topic has 257 characters; at most 256 are read");
    }

    [Theory]
    [InlineData("a\u0001b", "s")]
    [InlineData("c", "s\u007f")]
    [InlineData("", "s")]
    [InlineData("c", "")]
    [InlineData("12345678901234567890123456789012345678901234567890123456789012345", "s")]
    public void Names_in_a_topic_have_1_to_64_characters_that_can_be_seen(string place, string sensor)
    {
        Problem($"rootcellar/{place}/{sensor}", """{"temperature_c":5}""").Problem.Should().Be("place and sensor in the topic have 1 to 64 characters");
        Values($"rootcellar/{new string('p', 64)}/{new string('s', 64)}", """{"temperature_c":5}""").Sensor.Should().HaveLength(129);
    }

    [Fact]
    public void A_senml_pack_has_2000_values_at_most()
    {
        Values("rootcellar/c/s", Pack(2_000)).Values.Should().HaveCount(2_000);
        Problem("rootcellar/c/s", Pack(2_001)).Problem.Should().Be("SenML: more than 2000 values in one message; send them in several");

        static string Pack(int count) =>
            $$"""[{"bn":"temperature","bu":"Cel"},{{string.Join(',', Enumerable.Range(0, count).Select(i => $$"""{"v":5,"t":-{{i}}}"""))}}]""";
    }

    [Fact]
    public void Json_is_read_no_deeper_than_16_levels_and_senml_8()
    {
        Values("rootcellar/c/s", $$"""{"temperature_c":5,"x":{{Deep(15)}}}""").Values[0].Value.Should().Be(5);
        Problem("rootcellar/c/s", $$"""{"temperature_c":5,"x":{{Deep(16)}}}""").Problem.Should().StartWith("not JSON");
        Values("rootcellar/c/s", $$"""[{"n":"temperature","u":"Cel","v":5,"x":{{Deep(6)}}}]""").Values[0].Value.Should().Be(5);
        Problem("rootcellar/c/s", $$"""[{"n":"temperature","u":"Cel","v":5,"x":{{Deep(7)}}}]""").Problem.Should().StartWith("not JSON");

        static string Deep(int levels) => new string('[', levels) + new string(']', levels);
    }

    [Fact]
    public void A_flood_of_invented_topics_is_not_remembered_without_end()
    {
        var decoder = new PayloadDecoder([]);
        for (var i = 0; i < 9_000; i++) decoder.Decode($"flood/{i}", "5"u8.ToArray(), Now);
        decoder.Remembered.Should().BeInRange(1, 4_000);
        decoder.Decode("rootcellar/c/s/temperature_c", "5"u8.ToArray(), Now).Should().BeOfType<Decoded.Measurements>();
        var before = decoder.Remembered;
        decoder.Decode(new string('t', 257), "5"u8.ToArray(), Now);
        decoder.Remembered.Should().Be(before, "one that is too long is not remembered at all");
    }

    [Fact]
    public void What_is_no_reading_says_what_would_be_right()
    {
        Problem("rootcellar/c/s", """{"warmth":5}""").Problem.Should()
            .StartWith("no quantity in it that is known; known are temperature_c, temperature_f, humidity_pct, ");
        Problem("rootcellar/c/s/warmth", "5").Problem.Should().StartWith("'warmth' is not a known quantity; known are temperature_c, ");
        Problem("rootcellar/c", "5").Problem.Should().Be("the topic is not rootcellar/PLACE/SENSOR or rootcellar/PLACE/SENSOR/QUANTITY");
        Problem("rootcellar/c/s/status", "on").Problem.Should().Be("a status is online or offline");
        Problem("rootcellar/c/s/temperature_c", "").Problem.Should().Be("the message is empty");
        new PayloadDecoder([]).Decode("rootcellar/c/s", Encoding.UTF8.GetBytes(""), Now).Should().BeOfType<Decoded.NotOurs>();
    }
}
