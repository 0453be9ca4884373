using CsCheck;
using RootCellar.Commands;

namespace RootCellar.Tests.Commands;

public sealed class MeasureTests
{
    [Theory]
    [InlineData("12.8C", 12.8)]
    [InlineData("55F", (55 - 32) * 5.0 / 9)]
    [InlineData("50F", 10.0)]
    [InlineData("-40F", -40.0)]
    [InlineData("-2C", -2.0)]
    [InlineData("+.5C", 0.5)]
    [InlineData("55 f", (55 - 32) * 5.0 / 9)]
    [InlineData("12.8°C", 12.8)]
    public void Temperatures_become_C(string written, double celsius) => Read(written, Measure.Temperature).Should().Be(celsius);

    [Theory]
    [InlineData("101325Pa", 101325)]
    [InlineData("1013hPa", 101300)]
    [InlineData("101.325kPa", 101325)]
    [InlineData("1013 mbar", 101300)]
    [InlineData("29.92inHg", 101320.8)]
    [InlineData("760mmHg", 101325.0)]
    public void Pressures_become_Pa(string written, double pascal) => Read(written, Measure.Pressure).Should().BeApproximately(pascal, 0.1);

    [Theory]
    [InlineData("50lb", 22.6796185)]
    [InlineData("22.7kg", 22.7)]
    [InlineData("16oz", 0.45359237)]
    [InlineData("500g", 0.5)]
    public void Weights_become_kg(string written, double kilograms) => Read(written, Measure.Weight).Should()
        .BeApproximately(kilograms, 1e-12);

    [Theory]
    [InlineData("14d", 14)]
    [InlineData("36h", 1.5)]
    public void Times_become_days(string written, double days) => Read(written, Measure.Days).Should().Be(days);

    [Theory]
    [InlineData("55", "\"55\" has no unit; write 55C or 55F")]
    [InlineData("12,8C", "\"12,8C\" has a decimal comma; write 12.8C")]
    [InlineData("55K", "\"55K\": K is not a unit of temperature; write 12.8C or 55F")]
    [InlineData("95%", "% is not a unit of temperature")]
    [InlineData("warm", "\"warm\" is not a temperature; write 12.8C or 55F")]
    [InlineData("", "is not a temperature")]
    [InlineData("NaNC", "is not a temperature")]
    [InlineData("1e3C", "is not a temperature")]
    [InlineData("--5C", "is not a temperature")]
    [InlineData("5CC", "CC is not a unit")]
    [InlineData("5 5C", "is not a temperature")]
    public void What_cannot_be_read_is_named_with_what_would_be_right(string written, string says)
    {
        Measure.TryRead(written, Measure.Temperature, out double value, out string problem).Should().BeFalse();
        problem.Should().Contain(says);
        value.Should().Be(double.NaN);
    }

    [Fact]
    public void Nothing_written_ever_throws() => Gen.String.Sample(written =>
    {
        bool read = Measure.TryRead(written, Measure.Temperature, out double value, out string problem);
        return read ? !double.IsNaN(value) : problem.Length > 0;
    });

    private static double Read(string written, Measure.Kind kind)
    {
        Measure.TryRead(written, kind, out double value, out string problem).Should().BeTrue(problem);
        return value;
    }
}
