using RootCellar.Mirror;
using RootCellar.Readings;
using RootCellar.Tests.Storage;

namespace RootCellar.Tests.Mirror;

public sealed class PointsTests
{
    private static readonly long At = Sample.At.ToUnixTimeMilliseconds();

    [Fact]
    public void A_reading_is_one_field_named_with_its_unit() =>
        Points.Reading("cellar/door", Quantity.Temperature, At, 5, 4.25, Quality.Good).Should()
            .Be($"reading,quality=good,sensor=cellar/door temperature_c=4.25 {At}000005");

    [Fact]
    public void Two_of_one_millisecond_are_two_points() =>
        Points.Reading("a", Quantity.Humidity, At, -1_759_557_600_000_001, 90, Quality.Good).Should().EndWith($" {At}000001")
            .And.NotBe(Points.Reading("a", Quantity.Humidity, At, -1_759_557_600_000_002, 90, Quality.Good));

    [Theory]
    [InlineData(null)]
    [InlineData(double.PositiveInfinity)]
    [InlineData(double.NaN)]
    public void What_is_no_number_is_no_point(double? value) => Points.Reading("a", Quantity.Humidity, At, 1, value, Quality.NotFinite)
        .Should().BeNull();

    [Theory]
    [InlineData("curing room,x=1", @"sensor=curing\ room\,x\=1 ")]
    [InlineData("a\nreading b=1", @"sensor=a\ reading\ b\=1 ")]
    [InlineData(@"a\", "sensor=a ")]
    [InlineData("Keller-Süd/Ü", "sensor=Keller-Süd/Ü ")]
    public void Hostile_names_stay_names(string name, string tag)
    {
        var line = Points.Reading(name, Quantity.Temperature, At, 1, 4, Quality.Saturated);
        line.Should().Contain(tag).And.NotContain("\n").And.EndWith($" temperature_c=4 {At}000001");
    }
}
