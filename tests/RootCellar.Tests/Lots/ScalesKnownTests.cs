using RootCellar.Ledger;
using RootCellar.Lots;
using static RootCellar.Tests.Lots.Cellar;

namespace RootCellar.Tests.Lots;

/// <summary>What a house's weigh-ins tell of its scale, and what a bin is thought to lose after one that fell short.</summary>
public sealed class ScalesKnownTests
{
    private static DateTimeOffset Day(double day) => Start.AddDays(day);

    /// <summary>Six lots of two bins, weighed every ten days: what is left each time, and by how much the scale was off that day.</summary>
    private static IEnumerable<LotView> Lots(double zeroKg) => Enumerable.Range(0, 6).Select(l =>
    {
        var bins = Enumerable.Range(0, 2).Select(b => Enumerable.Range(1, 6).Aggregate(
            Books.Bin($"b{l}{b}", Start, 20, (StoreRoom, Start)),
            (bin, i) =>
            {
                // Some other way every time, as a zero stands.
                double off = zeroKg * (((i * 7) + (l * 3)) % 5 - 2) / 1.41;
                double left = 20 - (0.3 * (1 - Math.Exp(-i))) - (0.04 * i);
                return bin.Weighed(Day((10 * i) + (0.01 * l)), Math.Round((left + off) / 0.05) * 0.05, resolution: 0.05);
            })).ToList();
        return Books.Lot($"l{l}", Start, bins);
    });

    private static async Task<(LotViews Views, double ZeroKg)> ToldAsync(double zeroKg)
    {
        await using var cellar = await WhatToDoTests.StoredAsync();
        cellar.Book = Books.Of([.. Lots(zeroKg)]);
        var views = await cellar.AtAsync(Day(63));
        return (views, views.House.Scales.ZeroSdKg(0.05, TimeStep.Of(Day(62))));
    }

    [Fact]
    public async Task A_scale_whose_zero_wanders_is_found_out_and_its_bins_are_known_less_well()
    {
        var (steady, wandering) = (await ToldAsync(0), await ToldAsync(0.15));
        steady.ZeroKg.Should().BeLessThan(0.05);
        wandering.ZeroKg.Should().BeInRange(0.08, 0.3);
        static double Width(LotViews views) => views.Bins.Values.Average(b => b.Kg.High - b.Kg.Low);
        Width(wandering.Views).Should().BeGreaterThan(1.3 * Width(steady.Views));
        // Before the first it is what is assumed of any scale, and what was weighed later changes nothing of that.
        wandering.Views.House.Scales.ZeroSdKg(0.05, TimeStep.Of(Day(5))).Should()
            .Be(ScalesKnown.Nothing.ZeroSdKg(0.05, TimeStep.Of(Day(5))));
        wandering.Views.House.Scales.ZeroSdKg(0.2, TimeStep.Of(Day(62))).Should()
            .Be(4 * ScalesKnown.Nothing.ZeroSdKg(0.05, 0), "another scale");
    }

    [Fact]
    public async Task A_bin_that_fell_short_by_little_stays_open_downwards_and_one_that_fits_again_does_not()
    {
        async Task<double> DownAsync(params (double Day, double Kg)[] weighed)
        {
            await using var cellar = await WhatToDoTests.StoredAsync();
            var bin = weighed.Aggregate(
                Books.Bin("c-1", Start, 20, (StoreRoom, Start)), (b, w) => b.Weighed(Day(w.Day), w.Kg, resolution: 0.02, check: true));
            cellar.Book = Books.Of(Books.Lot("l", Start, [bin]));
            var told = (await cellar.AtAsync(Day(80))).Bins["c-1"];
            return told.Kg.Value - told.Kg.Low;
        }

        (double, double)[] sound = [(20, 19.6), (40, 19.5), (55, 19.44)];
        double fits = await DownAsync(sound), shortOnce = await DownAsync([.. sound, (65, 19)]),
            again = await DownAsync([.. sound, (65, 19), (75, 18.95)]);
        shortOnce.Should().BeGreaterThan(0.5).And.BeGreaterThan(2 * fits, "it may go on");
        again.Should().BeLessThan(0.5 * shortOnce, "it did not");
    }
}
