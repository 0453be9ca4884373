using System.Globalization;
using RootCellar.Ledger;
using RootCellar.Lots;
using RootCellar.Places;
using RootCellar.Science.Crops;
using RootCellar.Science.Keeping;
using RootCellar.Storage;
using RootCellar.Tests.Pages;
using RootCellar.Tests.Storage;

namespace RootCellar.Tests.Households;

/// <summary>Every crop of the table through its life by forms: it comes in, cures where it does, is moved, harmed, and used to the last.</summary>
public sealed class EveryCropTests
{
    /// <summary>Rooms to cure in, one for each rule, and rooms to keep in: each with its air.</summary>
    private static readonly (string Place, Purpose Purpose, double C, double Percent)[] Rooms =
    [
        ("cure-potato", Purpose.Curing, 13, 90), ("cure-sweet-potato", Purpose.Curing, 28, 90), ("cure-drying", Purpose.Curing, 27, 65),
        ("cure-rind", Purpose.Curing, 28, 75), ("cellar", Purpose.Storage, 4, 92), ("cool-dry", Purpose.Storage, 3, 65),
        ("warm", Purpose.Storage, 13, 70), ("ice", Purpose.Storage, -31, 80),
    ];

    [Fact]
    public async Task Every_crop_comes_in_cures_is_moved_harmed_and_used_to_the_last()
    {
        await using var site = await Site.OpenAsync("kg", zone: "UTC", fill: FurnishAsync, change: s => s.Household.Temperature = "C");
        var cures = CropTable.Default.Crops.ToDictionary(c => c.Id, c => Curing.RuleOf(c), StringComparer.Ordinal);
        var day = new DateTimeOffset(site.Time.GetUtcNow().AddDays(-30).Date.AddHours(18), TimeSpan.Zero);
        foreach (var crop in CropTable.Default.Crops)
        {
            var form = await site.WordsAsync("/log/dug?crop=" + crop.Id);
            form.Should().Contain(HarvestWords.On(crop.Harvest), crop.Id);
            await site.LogAsync("dug", null, ("lot", crop.Id), ("crop", crop.Id),
                ("dugOn", day.ToString("yyyy-MM-dd", CultureInfo.InvariantCulture)), ("amount", "42"), ("unit", "kg"));
            await site.LogAsync("filled", Bin(crop), ("lot", crop.Id), ("amount", "40"), ("unit", "kg"), ("place", FirstOf(crop)),
                ("when", day.ToString("yyyy-MM-ddTHH:mm", CultureInfo.InvariantCulture)));
        }

        await EstimatedAsync(site);
        foreach (var crop in CropTable.Default.Crops)
        {
            var bin = site.Lots.Views.Bins[Bin(crop)];
            (crop.Id, bin.Cured).Should().Be((crop.Id, cures[crop.Id] != CuringRule.None));
            bin.Kg.Value.Should().BeInRange(20, 40, crop.Id);
            if (bin.Cured)
            {
                // It has healed, and goes where its like is not harmed; the page has one tap for it.
                (crop.Id, bin.FitNow, bin.Advice.Code).Should().Be((crop.Id, true, "move"));
                var to = bin.Way.Place!;
                HarmTable.Default.Of(crop).Cold.Value.Should().BeLessThan(AirOf(to).C, crop.Id);
                var words = await site.WordsAsync("/bins/" + Bin(crop));
                words.Should().Contain("Move it to " + (to == "cellar" ? "Cellar" : to), crop.Id).And.NotContain("°F", crop.Id);
                if (crop.Harvest != Harvest.Dug) words.Should().NotMatchRegex("(?i)\\bdug\\b", crop.Id);
                await site.LogAsync("moved", Bin(crop), ("place", to));
            }

            // Where it is too cold for it the form asks, and says where it would be better.
            var page = await site.ReadAsync("/log/moved?bin=" + Bin(crop));
            var asked = await site.SendAsync("/log/moved", page, ("bin", Bin(crop)), ("place", "ice"));
            asked.Words.Should().Contain("The book asks", crop.Id).And.NotContain("°F", crop.Id);
            await site.LogAsync("moved", Bin(crop), ("place", "ice"), ("answer", "checked"));
        }

        site.Time.Advance(TimeSpan.FromDays(2));
        await EstimatedAsync(site);
        foreach (var crop in CropTable.Default.Crops)
        {
            var bin = site.Lots.Views.Bins[Bin(crop)];
            (crop.Id, bin.Advice.Code, bin.Advice.Urgency).Should().Be((crop.Id, "freezing", Urgency.Now));
            bin.Advice.Text.Should().Contain(" C").And.NotContain(" F ", crop.Id);
            bin.Advice.InSi!.BelowC.Should().BeApproximately(crop.FreezingPointC, 0.06, crop.Id);
            (await site.WordsAsync("/bins/" + Bin(crop))).Should().Contain("freezing", crop.Id).And.NotContain("°F", crop.Id);

            // For what it is culled, and the last of it.
            await site.LogAsync("culled", Bin(crop), ("amount", "5"), ("unit", "kg"), ("choice", HarvestWords.CullReasons(crop)[0]));
            await site.LogAsync(crop.Food ? "eaten" : "planted", Bin(crop), ("amount", "12"), ("unit", "kg"), ("empties", "true"));
            site.Book.Bins[Bin(crop)].EmptiedAt.Should().NotBeNull(crop.Id);
        }

        // All of it is accounted for, to the gram, and nothing asks for a hand any more.
        await EstimatedAsync(site);
        site.Lots.Views.Bins.Should().BeEmpty();
        foreach (var lot in site.Book.Lots.Values)
            (lot.Id, lot.Bins.Sum(b => b.Grams)).Should().Be((lot.Id, 0));
        (await site.WordsAsync("/")).Should().NotContain("Needs a look");
    }

    private static string Bin(Crop crop) => "B-" + crop.Id;

    private static string FirstOf(Crop crop) => Curing.RuleOf(crop) switch
    {
        CuringRule.None => Rooms.Where(r => r.Purpose == Purpose.Storage && r.C > HarmTable.Default.Of(crop).Cold.Value)
            .MinBy(r => Math.Abs(r.Percent - crop.Storage.HumidityLowPercent) + Math.Abs(r.C - crop.Storage.TemperatureLowC)).Place,
        var rule => Rooms.First(r => r.Place == "cure-" + RootCellar.Household.Slug.Of(rule)).Place,
    };

    private static (double C, double Percent) AirOf(string place) =>
        Rooms.First(r => r.Place == place) is var (_, _, c, percent) ? (c, percent) : default;

    private static Task FurnishAsync(Store store) => store.WriteAsync(c =>
    {
        foreach (var (place, purpose, celsius, percent) in Rooms)
        {
            PlaceRows.Save(c, new Place(place, place, purpose, null, []));
            for (var i = -6 * 24 * 3; i < 6 * 24 * 31; i++)
            {
                PlaceRows.SaveAir(c, new PlaceAir(place, Sample.At.AddMinutes(-10 * i), celsius, percent, null, null, null, null, null, null,
                    AirQuality.Good));
            }
        }
    });

    private static async Task EstimatedAsync(Site site)
    {
        site.Time.Advance(TimeSpan.FromMinutes(6));
        await site.Lots.AdvanceAsync(TestContext.Current.CancellationToken);
    }
}
