using RootCellar.Science.Crops;
using RootCellar.Science.Keeping;

namespace RootCellar.Science.Tests.Keeping;

public sealed class KeepingEndsTests
{
    private static readonly Crop Carrot = CropTable.Default.Find("carrot")!;

    [Theory]
    [InlineData("7 to 9 months", 7 * 30.4, 9 * 30.4)]
    [InlineData("6, 8 months", 6 * 30.4, 8 * 30.4)]
    [InlineData("2 to 4 weeks", 14.0, 28.0)]
    [InlineData("2.5 months", 0.75 * 2.5 * 30.4, 1.25 * 2.5 * 30.4)]
    [InlineData("1 month; 3 at most", 0.75 * 30.4, 1.25 * 30.4)]
    [InlineData("2 3 4 months", 2 * 30.4, 3 * 30.4)]
    [InlineData("months", null, null)]
    [InlineData("for long", null, null)]
    [InlineData("5 to 6", null, null)]
    public void What_handbooks_print_is_read_as_days(string says, double? least, double? most)
    {
        var days = KeepingEnds.HandbookDays(Carrot with { StorageLife = says });
        days.HasValue.Should().Be(least.HasValue);
        if (days is not var (low, high)) return;
        low.Should().BeApproximately(least!.Value, 1e-9);
        high.Should().BeApproximately(most!.Value, 1e-9);
    }

    [Fact]
    public void Every_crop_of_the_table_that_prints_a_time_has_one()
    {
        foreach (var crop in CropTable.Default.Crops)
        {
            KeepingEnds.ShriveledShare(crop).Should().BeInRange(0.01, 0.5, crop.Id);
            if (KeepingEnds.HandbookDays(crop) is var (least, most)) (least > 5 && most > least && most < 800).Should().BeTrue(crop.Id);
        }
    }

    /// <summary>10.7 kJ for each gram of carbon dioxide: 36 mg an hour are 0.107 W.</summary>
    [Fact]
    public void Breath_is_turned_into_heat_and_weight()
    {
        Breath.MilliwattsPerKg(36).Should().BeApproximately(107, 1e-9);
        Breath.LossPerHour(44).Should().BeApproximately(12e-6, 1e-15, "12 of 44 is the carbon");
        Breath.FreshnessFactor(0).Should().Be(2.5);
        Breath.FreshnessFactor(14).Should().BeApproximately(1 + (1.5 / Math.E), 1e-9);
        Breath.SproutFactor(0.5, 10).Should().Be(1.375);
        Breath.SproutFactor(0.8, 20).Should().Be(1.75, "and no more");
    }
}
