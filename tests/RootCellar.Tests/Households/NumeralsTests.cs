using System.Globalization;
using RootCellar.Household;

namespace RootCellar.Tests.Households;

/// <summary>How numbers are typed and read where a point is the decimal mark, and where a comma is.</summary>
public sealed class NumeralsTests
{
    [Theory]
    [InlineData("0,750", ".", 0.75)]
    [InlineData("0,750", ",", 0.75)]
    [InlineData("0.750", ",", 0.75)]
    [InlineData("41.5", ".", 41.5)]
    [InlineData("41,5", ".", 41.5)]
    [InlineData("41,5", ",", 41.5)]
    [InlineData("41.5", ",", 41.5)]
    [InlineData("1.250", ".", 1.25)]
    [InlineData("1,250", ",", 1.25)]
    [InlineData("1,250", ".", null)]
    [InlineData("1.250", ",", null)]
    [InlineData("1,250,000", ".", null)]
    [InlineData("1,250.5", ".", 1250.5)]
    [InlineData("1.250,5", ",", 1250.5)]
    [InlineData("1.250,5", ".", null)]
    [InlineData("1,250.5", ",", null)]
    [InlineData(" -2,5 ", ",", -2.5)]
    [InlineData("1,2,3", ".", null)]
    [InlineData("12 kg", ".", null)]
    [InlineData("", ".", null)]
    public void What_is_typed_is_read_or_asked_about(string text, string mark, double? number)
    {
        In(mark, () =>
        {
            Numerals.TryRead(text, out var read).Should().Be(number is not null);
            if (number is { } wanted) read.Should().Be(wanted);
            return 0;
        });
    }

    [Fact]
    public void Two_meanings_are_named_and_figures_are_written_as_the_household_writes_them()
    {
        In(",", () => Units.NotANumber("1.250")).Should().Contain("is it 1250 or 1,25?");
        In(".", () => Units.NotANumber("1,250")).Should().Contain("is it 1250 or 1.25?");
        In(".", () => Units.NotANumber("1,250,000")).Should().Contain("Right: 1250000,");
        In(",", () => Units.NotANumber("viel")).Should().Contain("Right: 41,5,");
        In(",", () => Units.Number(1234.5, "#,0.0")).Should().Be("1.234,5");
        In(",", () => FormattableString.CurrentCulture($"{1.5}")).Should().Be("1.5", "files, API and pictures keep the point");
    }

    private static T In<T>(string mark, Func<T> read)
    {
        var before = (CultureInfo.CurrentCulture, CultureInfo.CurrentUICulture);
        try
        {
            Language.Of(new HouseholdOptions { DecimalMark = mark }, ".").Speak();
            return read();
        }
        finally
        {
            (CultureInfo.CurrentCulture, CultureInfo.CurrentUICulture) = before;
        }
    }
}
