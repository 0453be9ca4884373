namespace RootCellar.Science.Tests;

public sealed class PortableTests
{
    [Fact]
    public void Exp_agrees_with_the_platform_to_a_few_units_in_the_last_place()
    {
        for (double x = -700; x <= 700; x += 0.317)
            Portable.Exp(x).Should().BeApproximately(Math.Exp(x), 2e-15 * Math.Exp(x));
        Portable.Exp(0).Should().Be(1);
        Portable.Exp(-1000).Should().Be(0);
        Portable.Exp(1000).Should().Be(double.PositiveInfinity);
        Portable.Exp(double.NaN).Should().Be(double.NaN);
    }

    [Fact]
    public void Log_agrees_with_the_platform()
    {
        for (double x = 1e-12; x < 1e12; x *= 1.0317)
            Portable.Log(x).Should().BeApproximately(Math.Log(x), 2e-15 * Math.Max(0.5, Math.Abs(Math.Log(x))));
        Portable.Log(1).Should().Be(0);
        Portable.Log(0).Should().Be(double.NegativeInfinity);
        Portable.Log(-1).Should().Be(double.NaN);
    }

    [Theory]
    [InlineData(2.25, -0.5)]
    [InlineData(0.64, 1.585)]
    [InlineData(12.8, 0.29)]
    [InlineData(0, 1.585)]
    [InlineData(0, 0)]
    public void Pow_agrees_with_the_platform(double x, double y) =>
        Portable.Pow(x, y).Should().BeApproximately(Math.Pow(x, y), 1e-13 * Math.Pow(x, y));

    // Abramowitz and Stegun, Handbook of Mathematical Functions, Table 26.1 (from memory): the usual points.
    [Theory]
    [InlineData(0, 0.5)]
    [InlineData(1, 0.841344746068543)]
    [InlineData(-1.96, 0.024997895148220)]
    [InlineData(3, 0.998650101968370)]
    public void Normal_cdf_has_its_tabulated_values(double x, double p)
    {
        Portable.NormalCdf(x).Should().BeApproximately(p, 1e-13);
        Portable.NormalQuantile(p).Should().BeApproximately(x, 1e-9);
    }

    [Fact]
    public void Normal_quantile_is_the_inverse_of_the_cdf()
    {
        for (double p = 0.0005; p < 1; p += 0.0005)
            Portable.NormalCdf(Portable.NormalQuantile(p)).Should().BeApproximately(p, 1e-12);
        FluentActions.Invoking(() => Portable.NormalQuantile(1)).Should().Throw<ArgumentOutOfRangeException>();
    }

    // Bits written down once: a machine that rounds otherwise fails here, not in a replay.
    [Theory]
    [InlineData(1.0, 0x4005BF0A8B145769L)]
    [InlineData(-3.7, 0x3F99511FC6871044L)]
    public void The_bits_are_the_same_everywhere(double x, long bits) =>
        BitConverter.DoubleToInt64Bits(Portable.Exp(x)).Should().Be(bits);
}
