using RootCellar.Science.Crops;
using RootCellar.Science.Keeping;
using RootCellar.Science.Tests.Keeping;

namespace RootCellar.Science.Tests.Published;

/// <summary>The losses held against trials are those the outlook shows.</summary>
public sealed class TrialLossesTests
{
    [Theory]
    [InlineData("potato", 12.8, 95, 30)]
    [InlineData("cabbage", 2, 92, 40)]
    public void A_trial_and_an_outlook_tell_the_same(string crop, double temperatureC, double humidity, int days)
    {
        var lot = LotPrior.Of(CropTable.Default.Find(crop)!);
        var air = new[] { AirSpan.Hold(temperatureC, humidity, days) };
        var ours = TrialLosses.Of(lot, air, [new Seen(0, days, 0)])[0];
        var outlook = Outlook.Run(lot, air).Days[^1].Lost;
        ours.Mid.Should().BeApproximately(100 * outlook.Value, 1e-9);
        // Both lie between the third and the fourth member from either end.
        ours.Low.Should().BeApproximately(100 * outlook.Low, 0.03 * ours.Low);
        ours.High.Should().BeApproximately(100 * outlook.High, 0.03 * ours.High);
    }
}
