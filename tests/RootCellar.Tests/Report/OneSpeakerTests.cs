using CsCheck;
using RootCellar.Advice;
using RootCellar.Household;
using RootCellar.Pages;
using RootCellar.Report;
using RootCellar.Science.Air;
using RootCellar.Watch;

namespace RootCellar.Tests.Report;

/// <summary>Pages, texts and report round alike.</summary>
public sealed class OneSpeakerTests
{
    [Theory]
    [InlineData("lb")]
    [InlineData("kg")]
    public void A_weight_with_its_interval_is_the_same_figure_on_a_page_and_in_the_report(string unit)
    {
        var household = new HouseholdOptions { TimeZone = "UTC", Weight = unit };
        var (show, report) = (new Show(household, TimeProvider.System), new ReportWords(household));
        Gen.Select(Gen.Double[0.5, 900], Gen.Double[0.001, 0.4]).Sample(
            g =>
            {
                var kg = new Interval(g.Item1 * (1 - g.Item2), g.Item1, g.Item1 * (1 + g.Item2));
                var page = show.About(kg).Replace('\u00A0', ' ');
                page.Should().StartWith("about ");
                report.Kg(kg).Should().StartWith(page["about ".Length..] + " (");
            },
            iter: 2_000);
    }

    [Fact]
    public void What_rounds_to_nought_has_no_sign_and_halves_go_away_from_it()
    {
        (Units.Number(-0.04, "0.0"), Units.Number(0.25, "0.0"), Units.Number(-0.25, "0.0"), Units.Number(2.5, "0")).Should()
            .Be(("0.0", "0.3", "-0.3", "3"));
        Wording.Temperature(-0.04, TemperatureScale.Celsius).Should().Be("0.0C");
        Wording.Figure(Measure.Air, 12.5, TemperatureScale.Fahrenheit).Should().Be("55F", "54.5 F");
    }
}
