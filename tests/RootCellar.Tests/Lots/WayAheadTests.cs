using RootCellar.Ledger;
using RootCellar.Lots;
using RootCellar.Places;
using static RootCellar.Tests.Lots.Cellar;

namespace RootCellar.Tests.Lots;

/// <summary>The way a bin is thought to take, and what that makes of its dates.</summary>
public sealed class WayAheadTests
{
    private const string Loft = "loft";

    private static DateTimeOffset Day(double day) => Start.AddDays(day);

    /// <summary>A warm curing room and a cool cellar, steady.</summary>
    private static async Task<Cellar> OpenAsync(double curing = 22, double cellar = 6, double days = 60)
    {
        var made = await WithRoomsAsync();
        await made.AirAsync(CuringRoom, Start, Day(days), curing, 90);
        await made.AirAsync(StoreRoom, Start, Day(days), cellar, 92);
        return made;
    }

    private static LotView Kennebec(params IReadOnlyList<BinView> bins) => Books.Lot("k", Start, bins, variety: "Kennebec");

    [Fact]
    public async Task What_is_foretold_while_it_cures_holds_when_it_is_in_the_cellar()
    {
        await using var cellar = await OpenAsync();
        cellar.Book = Books.Of(Kennebec(Books.Bin("c-1", Start, 20, (CuringRoom, Start))));
        var cured = (await cellar.AtAsync(Day(3))).Bins["c-1"];
        cured.Way.Place.Should().Be(StoreRoom);
        cured.Way.Assumed.Should().BeFalse();
        cured.Way.Since.Should().BeCloseTo(cured.FitToMove!.Likely!.Value, TimeSpan.FromMinutes(1));

        cellar.Book = Books.Of(Kennebec(Books.Bin("c-1", Start, 20, (CuringRoom, Start), (StoreRoom, Day(12)))));
        var stored = (await cellar.AtAsync(Day(30))).Bins["c-1"];
        stored.Way.Should().Be(new WayAhead(StoreRoom, null, Assumed: false));
        foreach (var (before, after) in new[] { (cured.Peeping!, stored.Peeping!), (cured.Sprouted!, stored.Sprouted!) })
        {
            after.Likely.Should().BeAfter(before.Early!.Value).And.BeBefore(before.Late ?? DateTimeOffset.MaxValue);
            (after.Likely!.Value - before.Likely!.Value).Duration().Should().BeLessThan(TimeSpan.FromDays(25));
        }
    }

    [Fact]
    public async Task Left_in_the_warm_it_would_lose_more_and_that_is_what_if_left_says()
    {
        await using var cellar = await OpenAsync();
        cellar.Book = Books.Of(Kennebec(Books.Bin("c-1", Start, 20, (CuringRoom, Start))));
        var bin = (await cellar.AtAsync(Day(3))).Bins["c-1"];
        double alongTheWay = bin.Kg.Value - bin.Outlook.KgIn(bin.IfLeft.Days).Value;
        bin.IfLeft.Kg.Value.Should().BeGreaterThan(1.3 * alongTheWay);
    }

    [Fact]
    public async Task It_goes_where_its_lot_went_else_where_its_crop_stands_else_where_the_air_suits_it()
    {
        await using var cellar = await OpenAsync();
        await cellar.Record.WriteAsync(c => PlaceRows.Save(c, new Place(Loft, "Loft", Purpose.Storage, 30, ["potato"])));
        await cellar.AirAsync(Loft, Start, Day(60), 15, 60);
        var mine = Books.Bin("c-1", Start, 20, (CuringRoom, Start));
        (await WentAsync(Kennebec(mine))).Should().Be(StoreRoom, "its air suits potatoes better");
        var others = Books.Lot("other", Start, [Books.Bin("o-1", Start, 20, (Loft, Start))]);
        (await WentAsync(Kennebec(mine), others)).Should().Be(Loft, "there the potatoes stand");
        var moved = Books.Bin("c-2", Start, 20, (CuringRoom, Start), (StoreRoom, Day(5)));
        (await WentAsync(Kennebec(mine, moved), others)).Should().Be(StoreRoom, "the lot itself says more");

        async Task<string?> WentAsync(params LotView[] lots)
        {
            cellar.Book = Books.Of(lots);
            var later = cellar.Time.GetUtcNow().AddHours(2);
            return (await cellar.AtAsync(later > Day(8) ? later : Day(8))).Bins["c-1"].Way.Place;
        }
    }

    [Fact]
    public async Task Where_no_store_is_known_the_middle_of_the_crops_band_stands_in_and_the_dates_are_less_sure()
    {
        await using var known = await OpenAsync();
        await using var none = await OpenAsync();
        await none.Record.WriteAsync(c => PlaceRows.Save(c, new Place(StoreRoom, "Root cellar", Purpose.Outdoors, 30, ["potato"])));
        known.Book = none.Book = Books.Of(Kennebec(Books.Bin("c-1", Start, 20, (CuringRoom, Start))));
        // Four weeks on the trend of the cellar is known.
        var sure = (await known.AtAsync(Day(30))).Bins["c-1"];
        var guessed = (await none.AtAsync(Day(30))).Bins["c-1"];
        guessed.Way.Should().Match<WayAhead>(w => w.Place == null && w.Moves && w.Assumed);
        var band = PlaceAirRecord.BandMiddle(Science.Crops.CropTable.Default.Find("potato")!, Purpose.Storage);
        band.TemperatureC.Should().BeInRange(3, 10);
        Width(guessed.Peeping!).Should().BeGreaterThan(Width(sure.Peeping!));

        // In the cold cellar sprouts may hardly grow at all: its late end lies beyond what is looked at.
        static TimeSpan Width(When when) => when.Likely!.Value - when.Early!.Value;
    }

    [Fact]
    public async Task A_cellar_that_cools_goes_on_cooling_for_a_while()
    {
        await using var steady = await OpenAsync(cellar: 9, days: 40);
        await using var cooling = await WithRoomsAsync();
        // Half a degree a week, and at 9 C today.
        await cooling.AirAsync(StoreRoom, Start, Day(40), t => (9 + ((Day(40) - t).TotalDays / 14), 92));
        steady.Book = cooling.Book = Books.Of(Kennebec(Books.Bin("c-1", Start, 20, (StoreRoom, Start))));
        var (now, then) = ((await steady.AtAsync(Day(40))).Bins["c-1"], (await cooling.AtAsync(Day(40))).Bins["c-1"]);
        // It has used more of its rest in the warmer weeks, and still sprouts later than that alone would have it.
        var left = (now.Peeping!.Likely!.Value - now.At) / (1 - now.RestUsed!.Value.Value);
        (then.Peeping!.Likely!.Value - then.At).Should().BeGreaterThan(1.05 * left * (1 - then.RestUsed!.Value.Value));
    }
}
