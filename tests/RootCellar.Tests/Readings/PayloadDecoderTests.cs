using System.Text;
using RootCellar.Readings;

namespace RootCellar.Tests.Readings;

public class PayloadDecoderTests
{
    private static readonly DateTimeOffset Now = new(2025, 10, 4, 6, 0, 0, TimeSpan.Zero);

    internal static Decoded Decode(string topic, string payload, params Mapping[] mappings) =>
        new PayloadDecoder(mappings).Decode(topic, Encoding.UTF8.GetBytes(payload), Now);

    internal static string Shown(Decoded decoded) => decoded switch
    {
        Decoded.Measurements m =>
            $"{m.Sensor}: {string.Join(", ", m.Values.Select(v => FormattableString.Invariant($"{v.Quantity} {Math.Round(v.Value, 6)}")))}",
        Decoded.Status s => $"{s.Sensor} {(s.Online ? "online" : "offline")}",
        Decoded.Unreadable u => $"unreadable {u.Sensor}",
        _ => "not ours",
    };

    [Theory]
    [InlineData("rootcellar/cellar/door/temperature_c", "12.8", "cellar/door: Temperature 12.8")]
    [InlineData("rootcellar/cellar/door/temperature_c", " -3.5\r\n", "cellar/door: Temperature -3.5")]
    [InlineData("rootcellar/cellar/door/temperature_c", "+1.25e1", "cellar/door: Temperature 12.5")]
    [InlineData("rootcellar/cellar/door/temperature_c", "12.8\0", "cellar/door: Temperature 12.8")]
    [InlineData("rootcellar/cellar/door/temperature_f", "55", "cellar/door: Temperature 12.777778")]
    [InlineData("rootcellar/cellar/door/pulp_f", "32", "cellar/door: Pulp 0")]
    [InlineData("rootcellar/cellar/scale/weight_lb", "50", "cellar/scale: Weight 22.679618")]
    [InlineData("rootcellar/cellar/door/temperature_c", "nan", "cellar/door: Temperature NaN")]
    [InlineData("rootcellar/cellar/door/temperature_c", "-NaN", "cellar/door: Temperature NaN")]
    [InlineData("rootcellar/cellar/door/temperature_c", "-inf", "cellar/door: Temperature -Infinity")]
    [InlineData("rootcellar/cellar/door/temperature_f", "Infinity", "cellar/door: Temperature Infinity")]
    [InlineData("rootcellar/cellar/door/temperature_c", "\uFEFF12.8", "cellar/door: Temperature 12.8")]
    [InlineData("rootcellar/cellar/door/status", "\uFEFFonline", "cellar/door online")]
    [InlineData("rootcellar/cellar/door/temperature_c", "", "unreadable cellar/door")]
    [InlineData("rootcellar/cellar/door/temperature_c", " ", "unreadable cellar/door")]
    [InlineData("rootcellar/cellar/door/temperature_c", "unknown", "unreadable cellar/door")]
    [InlineData("rootcellar/cellar/door/temperature_c", "unavailable", "unreadable cellar/door")]
    [InlineData("rootcellar/cellar/door/temperature_c", "12,8", "unreadable cellar/door")]
    [InlineData("rootcellar/cellar/door/temperature_c", "1,012.8", "unreadable cellar/door")]
    [InlineData("rootcellar/cellar/door/temperature_c", "12.8C", "unreadable cellar/door")]
    [InlineData("rootcellar/cellar/door/temperature_c", "+-5", "unreadable cellar/door")]
    [InlineData("rootcellar/cellar/door/temperature_c", "0x1F", "unreadable cellar/door")]
    [InlineData("rootcellar/cellar/door/colour", "12.8", "unreadable cellar/door")]
    [InlineData("rootcellar/cellar/door/status", "Online", "cellar/door online")]
    [InlineData("rootcellar/cellar/door/status", "offline", "cellar/door offline")]
    [InlineData("rootcellar/cellar/door/status", "maybe", "unreadable cellar/door")]
    [InlineData("rootcellar/cellar", "12.8", "unreadable ")]
    [InlineData("rootcellar//door/temperature_c", "12.8", "unreadable ")]
    [InlineData("rootcellar/a/b/c/temperature_c", "12.8", "unreadable ")]
    [InlineData("rootcellar/out/cellar/air", "{\"temperature_c\":1}", "not ours")]
    [InlineData("rootcellar/out/status", "online", "not ours")]
    [InlineData("shed/temperature", "12.8", "not ours")]
    [InlineData("rootcellar/cellar/door", "", "not ours")]
    public void Topics_and_plain_numbers(string topic, string payload, string expected) =>
        Shown(Decode(topic, payload)).Should().Be(expected);

    [Theory]
    [InlineData("""{"temperature_c":12.8,"humidity_pct":91}""", "cellar/door: Temperature 12.8, Humidity 91")]
    [InlineData("""{"temperature_c":"12.8"}""", "cellar/door: Temperature 12.8")]
    [InlineData("""{"temperature_c":null,"humidity_pct":91}""", "cellar/door: Humidity 91")]
    [InlineData("""{"temperature_c":"nan","humidity_pct":91}""", "cellar/door: Temperature NaN, Humidity 91")]
    [InlineData("""{"temperature_c":true}""", "unreadable cellar/door")]
    [InlineData("""{"id":"x7","uptime":[1,2,{"a":3}],"nested":{"temperature_c":1},"light_lx":3}""", "cellar/door: Light 3")]
    [InlineData("""{"temperature_c":1,"temperature_c":2}""", "cellar/door: Temperature 2")]
    [InlineData("""{"temperature_f":50,"temperature_c":10.02}""", "cellar/door: Temperature 10.02")]
    [InlineData("""{"battery_v":3.1,"battery_pct":88,"rssi_dbm":-71,"co2_ppm":900,"pressure_pa":98500}""",
        "cellar/door: BatteryVolts 3.1, BatteryPercent 88, SignalStrength -71, Co2 900, Pressure 98500")]
    [InlineData("""{"temperature_c":12.8,"humidity_pct":9""", "unreadable cellar/door")]
    [InlineData("""{"temperature_c":12.8} {"temperature_c":1}""", "unreadable cellar/door")]
    [InlineData("""{"temperature_c":NaN}""", "cellar/door: Temperature NaN")]
    [InlineData("""{"temperature_c":nan,"humidity_pct":91}""", "cellar/door: Temperature NaN, Humidity 91")]
    [InlineData("""{"humidity_pct": -inf ,"temperature_c":12.8,"note":"nan inf \" nan"}""",
        "cellar/door: Humidity -Infinity, Temperature 12.8")]
    [InlineData("""{"other":[nan,Infinity],"temperature_c":12.8}""", "cellar/door: Temperature 12.8")]
    [InlineData("""{"time":nan,"temperature_c":12.8}""", "cellar/door: Temperature 12.8")]
    [InlineData("""{"temperature_c":nan,"humidity_pct":9""", "unreadable cellar/door")]
    [InlineData("""{"temperature_c":nano,"humidity_pct":91}""", "unreadable cellar/door")]
    [InlineData("\uFEFF{\"temperature_c\":12.8,\"humidity_pct\":91}", "cellar/door: Temperature 12.8, Humidity 91")]
    [InlineData("""[{"n":"temperature","u":"Cel","v":nan},{"n":"humidity","u":"%RH","v":91}]""",
        "cellar/door: Temperature NaN, Humidity 91")]
    [InlineData("""[{"n":"temperature","u":"Cel","v":"12"},{"n":"humidity","u":"%RH","v":91}]""", "cellar/door: Humidity 91")]
    [InlineData("""{}""", "unreadable cellar/door")]
    [InlineData("12.8", "unreadable cellar/door")]
    [InlineData("\"text\"", "unreadable cellar/door")]
    [InlineData("""{"x":[[[[[[[[[[[[[[[[[[[[1]]]]]]]]]]]]]]]]]]]],"temperature_c":1}""", "unreadable cellar/door")]
    [InlineData("""{"x":"\ud800","temperature_c":1}""", "cellar/door: Temperature 1")]
    [InlineData("""{"\ud800":1,"temperature_c":1}""", "unreadable cellar/door")]
    public void Flat_json(string payload, string expected) => Shown(Decode("rootcellar/cellar/door", payload)).Should().Be(expected);

    [Theory]
    [InlineData("\"2025-10-04T05:59:30Z\"", "2025-10-04T05:59:30Z")]
    [InlineData("\"2025-10-04t05:59:30.25z\"", "2025-10-04T05:59:30.25Z")]
    [InlineData("\"2025-10-04T01:59:30-04:00\"", "2025-10-04T05:59:30Z")]
    [InlineData("1759557570", "2025-10-04T05:59:30Z")]
    [InlineData("1759557570.5", "2025-10-04T05:59:30.5Z")]
    [InlineData("1759557570000", "2025-10-04T05:59:30Z")]
    [InlineData("\"1759557570\"", "2025-10-04T05:59:30Z")]
    [InlineData("\"05:59\"", null)]
    [InlineData("\"10/04/2025 05:59\"", null)]
    [InlineData("\"yesterday\"", null)]
    [InlineData("1e300", null)]
    [InlineData("null", null)]
    [InlineData("[1759557570]", null)]
    public void The_time_of_a_message(string time, string? expected)
    {
        var decoded = Decode("rootcellar/cellar/door", $$"""{"humidity_pct":91,"time":{{time}},"temperature_c":12.8}""");
        var values = decoded.Should().BeOfType<Decoded.Measurements>().Subject.Values;
        values.Should().HaveCount(2);
        values.Should().AllSatisfy(v => v.DeviceTime.Should()
            .Be(expected is null ? null : DateTimeOffset.Parse(expected, System.Globalization.CultureInfo.InvariantCulture)));
    }

    [Fact]
    public void Text_that_is_not_utf_8_is_said_to_be_so()
    {
        var decoder = new PayloadDecoder([]);
        byte[] payload = [.. "{\"time\":\""u8, 0xC3, 0x28, .. "\",\"temperature_c\":1}"u8];
        decoder.Decode("rootcellar/cellar/door", payload, Now).Should().BeOfType<Decoded.Unreadable>().Subject.Problem.Should()
            .Contain("UTF-8");
    }

    [Fact]
    public void What_is_too_large_is_refused_with_its_size()
    {
        Decode("rootcellar/cellar/door", new string(' ', 64 * 1024 - 20) + """{"temperature_c":1}""").Should()
            .BeOfType<Decoded.Measurements>();
        Decode("rootcellar/cellar/door", new string(' ', 64 * 1024) + """{"temperature_c":1}""").Should()
            .BeOfType<Decoded.Unreadable>().Subject.Problem.Should().Contain("65555 bytes; at most 65536");
        Decode($"rootcellar/{new string('p', 250)}/door", "{}").Should().BeOfType<Decoded.Unreadable>().Subject.Problem.Should()
            .Contain("at most 256");
        Decode($"rootcellar/{new string('p', 65)}/door", "{}").Should().BeOfType<Decoded.Unreadable>().Subject.Problem.Should()
            .Contain("1 to 64");
    }

    [Fact]
    public void A_flood_of_topics_is_still_read_right()
    {
        var decoder = new PayloadDecoder([]);
        for (var i = 0; i < 5_000; i++)
        {
            Shown(decoder.Decode($"rootcellar/p/s{i}/light_lx", "1"u8.ToArray(), Now)).Should().Be($"p/s{i}: Light 1");
        }
    }
}
