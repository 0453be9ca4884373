using RootCellar.Science.Crops;
using RootCellar.Science.Keeping;

namespace RootCellar.Science.Tests.Crops;

/// <summary>Where harm begins, held against the bands that crops keep best in.</summary>
public sealed class HarmTableTests
{
    public static TheoryData<string> Crops => [.. CropTable.Default.Crops.Select(c => c.Id)];

    [Theory]
    [MemberData(nameof(Crops))]
    public void The_band_a_crop_keeps_in_harms_it_nowhere_and_a_room_can_hold_the_limits_apart(string id)
    {
        var crop = CropTable.Default.Find(id)!;
        Band[] bands = crop.Curing is { } curing ? [crop.Storage, curing] : [crop.Storage];
        foreach (var band in bands)
        {
            var harm = HarmTable.Default.Of(crop, band is CuringBand);

            harm.Cold.Value.Should().BeLessThanOrEqualTo(band.TemperatureLowC);
            harm.Warm.Value.Should().BeGreaterThan(band.TemperatureHighC);
            harm.Dry.Value.Should().BeLessThan(band.HumidityLowPercent);
            (harm.Wet?.Value ?? 101).Should().BeGreaterThan(band.HumidityHighPercent);
            (harm.Warm.Value - harm.Cold.Value).Should().BeGreaterThanOrEqualTo(HarmLimits.LeastApartC);
            ((harm.Wet?.Value ?? 100) - harm.Dry.Value).Should().BeGreaterThanOrEqualTo(HarmLimits.LeastApartPercent);
            new[] { harm.Cold, harm.Warm, harm.Dry, harm.Wet ?? harm.Dry }.Should().OnlyContain(l => l.Source.Length > 0);
        }
    }

    [Fact]
    public void Every_crop_of_the_table_is_one_of_the_crop_table() =>
        HarmTable.Default.Crops.Should().OnlyContain(id => CropTable.Default.Find(id)!.Id == id);

    [Fact]
    public void Cold_is_the_cold_that_a_move_into_it_is_asked_about()
    {
        foreach (var crop in CropTable.Default.Crops)
            HarmTable.Default.Of(crop).Cold.Value.Should().Be(Math.Min(Cold.HarmBelowC(crop), crop.Storage.TemperatureLowC));
    }

    [Fact]
    public void A_crop_without_a_row_is_held_five_F_and_ten_percent_beyond_its_band()
    {
        var table = HarmTable.Parse("[]");
        var carrot = table.Of(CropTable.Default.Find("carrot")!);
        (carrot.Warm.Value, carrot.Dry.Value, carrot.Wet).Should().Be((45.0.InC(), 80, null));
        table.Of(CropTable.Default.Find("onion")!).Wet!.Value.Should().Be(85);
        carrot.Warm.Source.Should().StartWith("assumed");
    }

    [Theory]
    [InlineData("""[{ "id": "x", "crops": ["a"], "storage": { "dry": { "below": "80 %", "source": "s" } } }]""", "warm")]
    [InlineData("""[{ "id": "x", "crops": ["a"], "storage": { "warm": { "above": "45 to 50 F", "source": "s" }, "dry": { "below": "80 %", "source": "s" } } }]""",
        "storage.warm.above")]
    [InlineData("""[{ "id": "x", "crops": ["a"], "storage": { "warm": { "above": "45 F" }, "dry": { "below": "80 %", "source": "s" } } }]""",
        "storage.warm.source")]
    public void What_cannot_be_read_is_named(string json, string field) =>
        FluentActions.Invoking(() => HarmTable.Parse(json)).Should().Throw<FormatException>().WithMessage($"*row 1 (x), field {field}*");

    [Fact]
    public void Bare_carrots_shrivel_within_a_week_at_their_limit_of_dryness()
    {
        // What harm.json says of it, by the program's own loss: 8 % at 80 % and 2 C (Robinson, Browne and Burton 1975, from memory).
        var carrot = CropTable.Default.Find("carrot")!;
        double deficit = 1000 * 0.7060 * (carrot.VapourPressureLowering.Value - 0.8);
        double days = 0.08 / (carrot.Transpiration.Value * 1e-12 * deficit * 86_400);
        days.Should().BeInRange(5, 7);
    }
}

file static class Degrees
{
    public static double InC(this double fahrenheit) => RootCellar.Science.Fahrenheit.ToCelsius(fahrenheit);
}
