using RootCellar.Household;
using RootCellar.Lots;
using RootCellar.Pages.Bins;
using RootCellar.Science.Crops;
using RootCellar.Science.Keeping;
using RootCellar.Tests.Lots;
using RootCellar.Tests.Storage;
using static RootCellar.Tests.Lots.Cellar;

namespace RootCellar.Tests.Pages;

/// <summary>The line for a bin in the pages' own words and the household's units.</summary>
public class AdviceWordsTests
{
    private static readonly When Soon = new(Sample.At, Sample.At.AddDays(3), Sample.At.AddDays(9));

    /// <summary>What is said, its figures, and what must be read in pounds and Fahrenheit and in kilograms and Celsius.</summary>
    private static readonly (AdviceSays Says, AdviceFigures Figures, string American, string Metric)[] Cases =
    [
        (AdviceSays.Nothing, AdviceFigures.None, "Nothing to do.", "Nothing to do."),
        (AdviceSays.FitAbout, new AdviceFigures(When: Soon), "Fit to move about ", " to "),
        (AdviceSays.Freezing, new AdviceFigures(Crop("potato"), PulpC: -2), "Potato at 28.4 °F may be freezing now",
            "Potato at -2.0 °C may be freezing now"),
        (AdviceSays.NearFreezing, new AdviceFigures(Crop("potato"), PulpC: 0), "at 32.0 °F: the coldest corner", "at 0.0 °C: the coldest corner"),
        (AdviceSays.Chilling, new AdviceFigures(Crop("winter-squash"), PulpC: 4, Hours: 60, To: "pantry", ToName: "Pantry", ToC: 13),
            "at 39.2 °F is chilled below 50.0 °F; about 60 h more of this harm it. Bring it to Pantry (55.4 °F).", "Bring it to Pantry (13.0 °C)."),
        (AdviceSays.Chilling, new AdviceFigures(Crop("sweet-potato"), PulpC: 4, Hours: 0), "has had as much as harms it: look for pits",
            "Bring it where it is warmer"),
        (AdviceSays.Chilled, new AdviceFigures(Crop("sweet-potato")), "as much cold as harms sweet potato", "use the sound ones first"),
        (AdviceSays.NowhereToMove, new AdviceFigures(Crop("winter-squash")), "every storage place is too cold for it now: leave it until one is at 50",
            "leave it until one is at 10"),
        (AdviceSays.Move, new AdviceFigures(Crop("winter-squash"), To: "pantry", ToName: "Pantry"), "bring it to Pantry and keep it at 50",
            "bring it to Pantry and keep it at 10"),
        (AdviceSays.Wet, new AdviceFigures(Hours: 5), "about 5 h", "about 5 h"),
        (AdviceSays.RotSeen, new AdviceFigures(Seen: "soft", At: Sample.At), "It was soft on ", "sort it"),
        (AdviceSays.SignsFromTheField, new AdviceFigures(Signs: RotSigns.RainAtDigging),
            "Before curing, dry it with moving air for a couple of days", "Look for wet or smelly ones"),
        (AdviceSays.SignsFromTheField, new AdviceFigures(Signs: RotSigns.LateBlight), "Likely to rot: ", "skip the warm, damp cure"),
        (AdviceSays.SignsFromTheField, new AdviceFigures(Crop("carrot"), Signs: RotSigns.RainAtDigging | RotSigns.SaturatedSoil),
            "Store only what is sound and dry outside, use it first, and look", "Signs of rot from the field"),
        (AdviceSays.SignsFromTheField, new AdviceFigures(Crop("onion"), Signs: RotSigns.RotSeen), "dry it longer than usual in moving air, and look",
            "Signs of rot from the field"),
        (AdviceSays.SignsFromTheField, new AdviceFigures(Crop("beet"), Signs: (RotSigns)14), "Likely to rot: use or sell it first, and look",
            "Likely to rot: use or sell it first"),
        (AdviceSays.GreenLight, new AdviceFigures(Hours: 90), "(90 hours of strong light)", "cut away green skin"),
        (AdviceSays.Light, new AdviceFigures(Hours: 30), "30 hours' worth", "30 hours' worth"),
        (AdviceSays.Move, new AdviceFigures(Crop("potato")), "a degree or so a day to 38 to 45 °F", "half a degree or so a day to 3.3 to 7.2 °C"),
        (AdviceSays.DryAir, new AdviceFigures(Crop("potato"), Hours: 20, Kg: 1, Percent: 62, LowPercent: 90, HighPercent: 95),
            "about 2 lb a week: 62 % over 20 h, and potato wants 90 to 95 %. Wet the floor, clear of plugs", "about 1 kg a week"),
        (AdviceSays.DryAirCover, new AdviceFigures(Crop("potato"), Hours: 20, Kg: 1, Percent: 62, LowPercent: 85, HighPercent: 95),
            "about 2 lb a week: 62 % over 20 h, and potato wants 85 to 95 %. Cover it, and leave the floor dry",
            "about 1 kg a week"),
        (AdviceSays.SproutsSeen, new AdviceFigures(Crop("onion"), Seen: "few", At: Sample.At), "Sprouts were seen in it on ",
            "(a few): use it before the others"),
        (AdviceSays.SeedSprouting, AdviceFigures.None, "keep it colder until it is planted", "keep it colder until it is planted"),
        (AdviceSays.LongSprouts, AdviceFigures.None, "longer than an inch", "throw it out"),
        (AdviceSays.Sprouted, AdviceFigures.None, "Use first", "save for seed"),
        (AdviceSays.Sprouting, AdviceFigures.None, "sprouts are starting", "sprouts are starting"),
        (AdviceSays.WillPeep, new AdviceFigures(When: Soon), "sprouts show about ", "keep it colder"),
        (AdviceSays.Silent, new AdviceFigures(Crop("potato"), Hours: 9), "No readings here for 9 h", "Check the sensor"),
        (AdviceSays.Silent, new AdviceFigures(Crop("potato"), Hours: 96), "No readings here for 4 days", "Check the sensor"),
        (AdviceSays.NeverMeasured, new AdviceFigures(Crop("potato"), Hours: 900), "Nothing measures the air where it stands",
            "what potato should have there"),
        (AdviceSays.NoProbe, new AdviceFigures(Crop("beet"), Hours: 900), "put a probe in it", "what beet, topped should have there"),
    ];

    private static Crop Crop(string id) => CropTable.Default.Find(id)!;

    [Fact]
    public void Everything_that_can_be_said_has_words_in_the_households_units()
    {
        Cases.Select(c => c.Says).Distinct().Order().Should().Equal(Enum.GetValues<AdviceSays>());
        foreach (var (says, figures, american, metric) in Cases)
        {
            var advice = new BinAdvice(Urgency.Soon, "code", "TEXT FOR PROGRAMS") { Says = says, Figures = figures };
            Words("F", "lb").Of(advice).Replace('\u00A0', ' ').Should().Contain(american).And.NotContainAny("TEXT", "{", " C ", "kg");
            Words("C", "kg").Of(advice).Replace('\u00A0', ' ').Should().Contain(metric).And.NotContainAny("TEXT", "{", "°F", " lb");
        }
    }

    [Fact]
    public async Task A_place_that_was_never_measured_has_no_sensor_to_see_to()
    {
        await using var cellar = await WithRoomsAsync();
        await cellar.AirAsync(StoreRoom, Start, Start.AddDays(5), 5, 92);
        cellar.Book = Books.Of(
            Books.Lot("A", Start, [Books.Bin("a", Start, 20, (StoreRoom, Start))]),
            Books.Lot("B", Start, [Books.Bin("b", Start, 20, ("pantry", Start))]));
        var bins = (await cellar.AtAsync(Start.AddDays(8))).Bins;
        (bins["a"].Advice.Code, bins["a"].Advice.Says).Should().Be(("dark", AdviceSays.Silent));
        bins["a"].Advice.Text.Should().Contain("See to the sensor");
        (bins["b"].Advice.Code, bins["b"].Advice.Says).Should().Be(("dark", AdviceSays.NeverMeasured));
        bins["b"].Advice.Text.Should()
            .Be("Nothing measures the air in pantry: the estimate takes it for the middle of the crop's band and is that much less sure.");
    }

    private static AdviceWords Words(string temperature, string weight) =>
        new(new Show(new HouseholdOptions { TimeZone = "America/New_York", Temperature = temperature, Weight = weight },
            new HouseTime(Sample.At)));
}
