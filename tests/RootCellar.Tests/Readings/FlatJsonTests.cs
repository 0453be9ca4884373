using CsCheck;
using RootCellar.Readings;
using static RootCellar.Tests.Readings.Decoding;

namespace RootCellar.Tests.Readings;

public class FlatJsonTests
{
    private const string Topic = "rootcellar/cellar/shelf";

    [Fact]
    public void Known_quantities_are_taken_and_the_rest_is_left()
    {
        var m = Values(Topic,
            """{"name":"shelf","temperature_f":50,"wifi":{"temperature_c":99,"x":[1,2]},"humidity_pct":"91.5","pulp_c":null,"light_lx":true}""");

        m.Sensor.Should().Be("cellar/shelf");
        m.Values.Select(v => v.Quantity).Should().Equal(Quantity.Temperature, Quantity.Humidity);
        m.Values[0].Value.Should().BeApproximately(10, 1e-9);
        m.Values[1].Value.Should().Be(91.5);
    }

    [Theory]
    [InlineData("\"2026-11-25T11:59:00Z\"")]
    [InlineData("\"2026-11-25t11:59:00z\"")]
    [InlineData("\"2026-11-25 06:59:00-05:00\"")]
    [InlineData("\"2026-11-25T11:59:00.000000000+00:00\"")]
    [InlineData("1795607940")]
    [InlineData("1795607940.0")]
    [InlineData("\"1795607940\"")]
    [InlineData("1795607940000")]
    public void A_time_may_be_rfc_3339_or_unix_seconds_or_milliseconds(string time)
    {
        var m = Values(Topic, $$"""{"time":{{time}},"temperature_c":5,"humidity_pct":90}""");

        m.Values.Should().AllSatisfy(v => v.DeviceTime.Should().Be(Now.AddMinutes(-1)));
    }

    [Theory]
    [InlineData("\"2026-11-25T11:59:00\"")]
    [InlineData("\"11:59\"")]
    [InlineData("\"11/12/2026\"")]
    [InlineData("\"yesterday\"")]
    [InlineData("\"2026-11-25T11:61:00Z\"")]
    [InlineData("1e300")]
    [InlineData("null")]
    [InlineData("{\"temperature_c\":99}")]
    [InlineData("[1,2]")]
    public void What_is_no_moment_claims_no_time_and_costs_no_value(string time)
    {
        var m = Values(Topic, $$"""{"time":{{time}},"temperature_c":5}""");

        m.Values.Should().Equal(new Measured(Quantity.Temperature, 5, null));
    }

    [Theory]
    [InlineData("{}")]
    [InlineData("{\"temperature_c\":null}")]
    [InlineData("{\"temperature_c\":\"unknown\"}")]
    [InlineData("{\"temperature\":5}")]
    [InlineData("5")]
    [InlineData("\"temperature_c\"")]
    [InlineData("{\"temperature_c\":5")]
    [InlineData("{\"temperature_c\":5}{")]
    [InlineData("{'temperature_c':5}")]
    public void What_holds_no_quantity_is_unreadable(string payload)
    {
        Problem(Topic, payload).Sensor.Should().Be("cellar/shelf");
    }

    [Fact]
    public void A_number_too_large_is_a_reading_that_will_not_be_believed()
    {
        Values(Topic, """{"temperature_c":1e999}""").Values[0].Value.Should().Be(double.PositiveInfinity);
    }

    [Fact]
    public void Numbers_we_wrote_come_back_exactly() => Gen.Double.Where(double.IsFinite).Sample(number =>
        Values(Topic, System.Text.Json.JsonSerializer.Serialize(new { temperature_c = number })).Values[0].Value == number);
}
