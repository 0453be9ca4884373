using RootCellar.Science.Crops;
using RootCellar.Science.Keeping;

namespace RootCellar.Science.Tests.Keeping;

/// <summary>The early part of each crop's water loss, and how wide its lots spread.</summary>
public sealed class CropEarlyTests
{
    [Theory]
    [InlineData("onion", 0.1)]
    [InlineData("winter-squash", 0.1)]
    [InlineData("carrot", 0.1)]
    [InlineData("beet", 0.1)]
    [InlineData("apple", 0.1)]
    public void The_table_has_the_percent_that_fits(string crop, double rounded) =>
        CropTable.Default.Find(crop)!.Early!.Percent.Should().BeApproximately(CropEarlyFit.Percent(crop), rounded / 2 + 0.01);

    [Theory]
    [InlineData("potato", CuringRule.Potato)]
    [InlineData("sweet-potato", CuringRule.SweetPotato)]
    [InlineData("winter-squash", CuringRule.Rind)]
    public void What_curing_closes_is_closed_when_it_is_sealed(string crop, CuringRule rule) =>
        CropTable.Default.Find(crop)!.Early!.CuringDays.Should().Be(Curing.DaysTo(rule, HealingStage.Sealed));

    [Fact]
    public void A_potato_spreads_as_the_lot_nothing_is_known_of() =>
        CropTable.Default.Find("potato")!.Spread.Value.Should().Be(WaterLoss.UnknownLotFactor);

    [Theory]
    [InlineData("carrot", 0.0)]
    [InlineData("onion", 0.0)]
    [InlineData("apple", 4.0)]
    public void A_third_of_the_early_loss_is_left_after_its_days_whatever_the_air(string crop, double c)
    {
        var row = CropTable.Default.Find(crop)!;
        double More(double days, double humidity)
        {
            double Lost(Crop of) => TrialLosses.Middle(LotPrior.Of(of), new Seen(0, days, 0), AirSpan.Hold(c, humidity, days));
            return Lost(row) - Lost(row with { Early = null });
        }

        double all = row.Early!.Percent, month = all * (1 - Math.Exp(-1));
        // Of the weight still there: a little less than of the first.
        More(row.Early.Days, 95).Should().BeInRange(0.93 * month, month);
        More(row.Early.Days, 75).Should().BeInRange(0.9 * month, month);
        More(8 * row.Early.Days, 95).Should().BeInRange(0.7 * all, all);
    }

    [Fact]
    public void Curing_hastens_what_it_closes_and_no_onion()
    {
        double Early(string crop, double c, double humidity)
        {
            var row = CropTable.Default.Find(crop)!;
            var window = new Seen(0, 10, 0);
            return TrialLosses.Middle(LotPrior.Of(row), window, AirSpan.Hold(c, humidity, 10))
                - TrialLosses.Middle(LotPrior.Of(row with { Early = null }), window, AirSpan.Hold(c, humidity, 10));
        }

        Early("winter-squash", 28, 75).Should().BeGreaterThan(2 * Early("winter-squash", 9, 75));
        Early("onion", 27, 65).Should().BeApproximately(Early("onion", 1, 65), 0.1);
    }

    [Fact]
    public void A_crop_without_an_early_part_begins_as_it_goes_on()
    {
        var lot = LotPrior.Of(CropTable.Default.Find("cabbage")!);
        var losses = TrialLosses.Middles(lot, [AirSpan.Hold(1, 95, 90)], [new Seen(5, 35, 0), new Seen(60, 90, 0)]);
        losses[0].Should().BeApproximately(losses[1], 0.01);
    }

    [Fact]
    public void A_lot_spreads_as_its_crop_does()
    {
        foreach (var crop in CropTable.Default.Crops)
        {
            crop.Spread.Value.Should().BeInRange(1.3, 4, crop.Id);
            LotPrior.Of(crop).WaterFactor.Should().Be(crop.Spread.Value);
        }

        var air = new[] { AirSpan.Hold(1, 95, 60) };
        double Width(string crop)
        {
            var loss = TrialLosses.Of(LotPrior.Of(CropTable.Default.Find(crop)!), air, [new Seen(0, 60, 0)])[0];
            return loss.High / loss.Low;
        }

        Width("carrot").Should().BeGreaterThan(Width("cabbage"));
    }

    [Fact]
    public void A_crop_of_ones_own_takes_over_the_early_part_of_its_like_or_says_its_own()
    {
        var onion = CropTable.Default.Find("onion")!;
        var like = OwnCrop.Read("Potato onion", "onion", figures: null)!;
        (like.Early, like.Spread).Should().Be((onion.Early, onion.Spread));
        var own = OwnCrop.Read("Potato onion", "onion", """{ "early": { "percent": 8, "days": 20 }, "spread": { "factor": 1.5 } }""")!;
        own.Early.Should().Be(new EarlyLoss(8, FreshCoefficient: null, 20, CuringDays: null, "the household"));
        LotPrior.Of(own).WaterFactor.Should().Be(1.5);
    }
}
