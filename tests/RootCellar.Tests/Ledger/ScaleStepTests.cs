using RootCellar.Household;
using RootCellar.Ledger;
using RootCellar.Lots;
using RootCellar.Science;
using RootCellar.Science.Air;
using RootCellar.Tests.Lots;
using static RootCellar.Tests.Lots.Cellar;

namespace RootCellar.Tests.Ledger;

/// <summary>How fine the scale is, and that nothing is told finer.</summary>
public sealed class ScaleStepTests
{
    [Theory]
    [InlineData("lb", 51.5, null, 0.5 * Pound.Kilograms)]
    [InlineData("lb", 52, null, 0.5 * Pound.Kilograms)]
    [InlineData("lb", 51.4, null, 0.1)]
    [InlineData("lb", 51.5, 0.05, 0.05)]
    [InlineData("kg", 23.5, null, 0.5)]
    [InlineData(null, 23.35, null, 0.1)]
    [InlineData("oz", 800, null, 0.1)]
    public void The_step_is_as_given_else_as_the_figure_shows_else_assumed(string? unit, double figure, double? given, double stepKg) =>
        ScaleStep.Of(given, new Amount(1000, unit, figure)).Should().BeApproximately(stepKg, 1e-9);

    [Theory]
    [InlineData("""{"amount":51.5,"unit":"lb","kgPerUnit":0.45359237}""", "", 0.5)]
    [InlineData("""{"amount":56.5,"unit":"lb","kgPerUnit":0.45359237}""", ""","tareKg":2.2679619""", 0.5)]
    [InlineData("""{"amount":51.4,"unit":"lb","kgPerUnit":0.45359237}""", "", 0.22)]
    public async Task An_interval_is_no_finer_than_scale_and_tare(string measure, string tare, double stepLb)
    {
        await using var cellar = await WithRoomsAsync();
        await cellar.AirAsync(StoreRoom, Start, Start.AddDays(10), 5, 92);
        cellar.Book = Books.Stored($$"""
            [{"event":"dug","at":"2025-09-20T09:00:00Z","lot":"l","crop":"potato"},
             {"event":"filled","at":"2025-09-20T10:00:00Z","bin":"b","lot":"l","weightKg":23.7,"place":"root-cellar"},
             {"event":"weighed","at":"2025-09-25T10:00:00Z","bin":"b","measure":{{measure}}{{tare}}}]
            """);
        var bin = (await cellar.AtAsync(Start.AddDays(5.5))).Bins["b"];
        bin.ScaleStepKg.Should().BeApproximately(stepLb * Pound.Kilograms, 0.001);
        double width = (bin.Kg.High - bin.Kg.Low) / Pound.Kilograms;
        width.Should().BeGreaterThan((tare.Length > 0 ? 2.5 : 1.5) * stepLb,
            "the figure is rounded, and neither the scale nor the tare is better than its step");
        bin.Kg.Value.Should().BeApproximately(51.4 * Pound.Kilograms, 0.2);
    }

    [Fact]
    public void A_weight_is_shown_in_steps_of_its_scale()
    {
        var show = new Show(new HouseholdOptions { Weight = "lb" }, TimeProvider.System);
        var kg = new Interval(51.3 * Pound.Kilograms, 51.42 * Pound.Kilograms, 51.6 * Pound.Kilograms);
        (show.About(kg, 0.5 * Pound.Kilograms), show.Between(kg, 0.5 * Pound.Kilograms))
            .Should().Be(("about 51.5\u00A0lb", "51 to 52\u00A0lb"));
        show.Between(kg, 0.05).Should().Be("51.3 to 51.6\u00A0lb", "a scale of 50 g shows tenths");
    }
}
