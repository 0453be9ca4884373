using RootCellar.Ledger;
using RootCellar.Lots;
using static RootCellar.Tests.Lots.Cellar;

namespace RootCellar.Tests.Lots;

/// <summary>What was on the scale with the crop: its soil, and the empty bin.</summary>
public sealed class SoilAndTareTests
{
    private static DateTimeOffset Day(double day) => Start.AddDays(day);

    private static BinView Bin(double? tare = null) => Books.Bin("c-1", Day(0.3), 20, (StoreRoom, Day(0.3))) with { TareKg = tare };

    private static async Task<BinEstimate> ToldAsync(double day, BinView bin, params string[] flags)
    {
        await using var cellar = await WhatToDoTests.StoredAsync();
        cellar.Book = Books.Of(Books.Lot("l", Start, [bin]) with { Flags = flags });
        return (await cellar.AtAsync(Day(day))).Bins["c-1"];
    }

    private static double Width(BinEstimate bin) => bin.Kg.High - bin.Kg.Low;

    [Fact]
    public async Task What_falls_off_a_bin_filled_out_of_wet_soil_is_no_loss_of_the_crop()
    {
        var (dry, muddy) = (await ToldAsync(1, Bin()), await ToldAsync(1, Bin(), "wet-soil"));
        Width(muddy).Should().BeGreaterThan(1.5 * Width(dry), "its soil is on it");
        muddy.Kg.Value.Should().BeApproximately(dry.Kg.Value, 1e-9);

        // Four percent lighter after eight days, and then as usual.
        var weighed = Bin().Weighed(Day(8), 19.2).Weighed(Day(30), 19.05).Weighed(Day(50), 18.97);
        var (fast, soiled) = (await ToldAsync(60, weighed), await ToldAsync(60, weighed, "wet-soil"));
        soiled.Questions.Should().BeEmpty();
        var first = Bin().Weighed(Day(8), 19.2);
        (await ToldAsync(9, first, "wet-soil")).WaterMultiplier.Value.Should()
            .BeLessThan(0.85 * (await ToldAsync(9, first)).WaterMultiplier.Value, "part of it was soil");
        soiled.WaterMultiplier.Value.Should().BeLessThanOrEqualTo(fast.WaterMultiplier.Value);
    }

    [Fact]
    public async Task How_much_of_the_shrink_is_soil_is_told_once_it_was_weighed_again()
    {
        (await ToldAsync(9, Bin())).Soil.Should().BeNull("it did not come out of wet soil");
        var unknown = (await ToldAsync(6, Bin(), "wet-soil")).Soil!.Value;
        unknown.Should().BeEquivalentTo(new { Low = 0.0, Value = 0.0 });
        unknown.High.Should().BeInRange(0.5, 1.2);

        var told = await ToldAsync(9, Bin().Weighed(Day(8), 19.2), "wet-soil");
        var soil = told.Soil!.Value;
        soil.Value.Should().BeInRange(0.2, 0.6, "its own water and breath come to some 0.3 kg of the 0.8");
        (soil.Low < soil.Value && soil.Value < soil.High && soil.High < 1.1).Should().BeTrue();
        ShrinkShape.Of(told.Shrink, told.Soil).SoilKg!.Mid.Should().BeApproximately(soil.Value, 1e-3);
        (await ToldAsync(9, Bin().Weighed(Day(8), 19.7), "wet-soil")).Soil!.Value.Value.Should().BeLessThan(0.1);
        // Taken from since, it is the same soil.
        (await ToldAsync(20, Bin().Weighed(Day(8), 19.2).Out(Day(12), 18, "eaten"), "wet-soil")).Soil.Should().Be(soil);
    }

    [Fact]
    public async Task A_bin_weighed_with_the_empty_weight_that_was_taken_off_at_filling_is_asked_about_as_that()
    {
        var told = await ToldAsync(21, Bin(tare: 2).Weighed(Day(20), 21.7));
        told.Questions.Should().ContainSingle().Which.Asked.Kind.Should().Be(RootCellar.Science.Keeping.ScaleQuestionKind.TareForgotten);
    }

    [Fact]
    public async Task A_bin_that_is_filled_days_after_digging_has_left_its_soil_behind()
    {
        var bin = Books.Bin("c-1", Day(10), 20, (StoreRoom, Day(10)));
        Width(await ToldAsync(11, bin, "wet-soil")).Should().BeApproximately(Width(await ToldAsync(11, bin)), 1e-9);
    }

    [Fact]
    public async Task The_error_of_an_empty_weight_that_was_taken_off_is_in_what_the_bin_holds_from_its_filling_on()
    {
        Width(await ToldAsync(1, Bin(tare: 8))).Should().BeGreaterThan(1.02 * Width(await ToldAsync(1, Bin())));
    }
}
