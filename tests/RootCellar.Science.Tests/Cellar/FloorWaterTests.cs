using CsCheck;
using RootCellar.Science.Air;
using RootCellar.Science.Cellar;

namespace RootCellar.Science.Tests.Cellar;

public sealed class FloorWaterTests
{
    /// <summary>docs/science/cellar.md, example 2.</summary>
    [Fact]
    public void Worked_example_potatoes_of_5_and_of_4_C_in_air_of_5_C()
    {
        FloorWater.HighestHumidityPercent(5, 5).Should().BeApproximately(93.24, 0.01);
        FloorWater.HighestHumidityPercent(5, 4).Should().BeApproximately(86.88, 0.01);
    }

    [Fact]
    public void At_the_dampest_air_the_margin_is_just_kept() =>
        Gen.Select(Gen.Double[-2, 20], Gen.Double[-3, 3], Gen.Double[0, 5]).Sample(drawn =>
        {
            var (c, pulpAbove, margin) = drawn;
            double dampest = FloorWater.HighestHumidityPercent(c, c + pulpAbove, margin);
            double kept = MoistAir.At(c, dampest).CondensationMarginC(c + pulpAbove);
            return dampest == 100 ? kept >= margin - 1e-6 : Math.Abs(kept - margin) < 1e-6;
        });

    [Fact]
    public void Warm_produce_allows_any_humidity() => FloorWater.HighestHumidityPercent(5, 8).Should().Be(100);

    [Theory]
    [InlineData(-5, 45, 0)]
    [InlineData(45, -5, 10)]
    public void The_ends_of_the_ranges_are_taken(double airC, double pulpC, double marginC) =>
        FloorWater.HighestHumidityPercent(airC, pulpC, marginC).Should().BeInRange(0, 100);

    [Theory]
    [InlineData(-5.1, 5, 1, "airC")]
    [InlineData(45.1, 5, 1, "airC")]
    [InlineData(5, -5.1, 1, "coldestPulpC")]
    [InlineData(5, double.NaN, 1, "coldestPulpC")]
    [InlineData(5, 5, -0.1, "marginC")]
    [InlineData(5, 5, 10.1, "marginC")]
    public void A_figure_outside_its_range_is_refused_by_name(double airC, double pulpC, double marginC, string name)
    {
        var act = () => FloorWater.HighestHumidityPercent(airC, pulpC, marginC);
        act.Should().Throw<ArgumentOutOfRangeException>().WithParameterName(name);
    }
}
