using RootCellar.Places;
using RootCellar.Storage;

namespace RootCellar.Tests.Lots;

/// <summary>Air that was not measured, or not wholly, and what it does to a lot on paper.</summary>
public sealed class AssumedAirTests
{
    [Fact]
    public async Task The_first_sensor_in_a_warm_cellar_does_not_make_the_crop_wet()
    {
        await using var cellar = await Cellar.WithRoomsAsync();
        cellar.Book = Books.Of(Books.Lot("l", Cellar.Start, [Books.Bin("b", Cellar.Start, 20, (Cellar.StoreRoom, Cellar.Start))]));
        // Ten days nobody measured, so the middle of the band is assumed; then a sensor in air that is six degrees warmer and damp.
        var hung = Cellar.Start.AddDays(10);
        await cellar.AirAsync(Cellar.StoreRoom, hung, hung.AddDays(5), 12, 96);
        var bin = (await cellar.AtAsync(hung.AddDays(4))).Bins["b"];
        (bin.WetHours, bin.Advice.Code).Should().Be((0, bin.Advice.Code));
        bin.Advice.Code.Should().NotBe("wet");
        bin.PulpC.Should().BeApproximately(12.2, 0.1, "the produce starts from what is measured");

        // And back: a hole in the readings after a cold spell, of which the means of the last day stand in.
        await cellar.AirAsync(Cellar.StoreRoom, hung.AddDays(5), hung.AddDays(6), t => (t.Hour < 12 ? 12 : 4, 96));
        (await cellar.AtAsync(hung.AddDays(9))).Bins["b"].WetHours.Should().Be(0);
        cellar.Replay().Agree.Should().BeTrue();
    }

    [Fact]
    public async Task Produce_that_really_is_colder_than_the_air_still_gets_wet()
    {
        await using var cellar = await Cellar.WithRoomsAsync();
        cellar.Book = Books.Of(Books.Lot("l", Cellar.Start, [Books.Bin("b", Cellar.Start, 20, (Cellar.StoreRoom, Cellar.Start))]));
        await cellar.AirAsync(Cellar.StoreRoom, Cellar.Start, Cellar.Start.AddDays(2), t => (t < Cellar.Start.AddDays(1) ? 4 : 12, 96));
        (await cellar.AtAsync(Cellar.Start.AddDays(2))).Bins["b"].WetHours.Should().BeGreaterThan(3);
    }

    [Fact]
    public async Task Air_at_the_top_of_the_scale_is_no_dark_air_but_the_interval_is_as_wide_as_what_it_may_be()
    {
        await using var cellar = await Cellar.WithRoomsAsync();
        cellar.Book = Books.Of(Books.Lot("l", Cellar.Start,
            [Books.Bin("top", Cellar.Start, 20, (Cellar.StoreRoom, Cellar.Start)),
             Books.Bin("known", Cellar.Start, 20, (Cellar.CuringRoom, Cellar.Start))]));
        foreach (var room in new[] { Cellar.StoreRoom, Cellar.CuringRoom })
            await cellar.AirAsync(room, Cellar.Start, Cellar.Start.AddDays(61), 5, 97.5);
        await cellar.Record.WriteAsync(c => c.Execute(
            "UPDATE air SET quality = $top WHERE place = $place", ("$top", (int)AirQuality.AtTop), ("$place", Cellar.StoreRoom)));
        var bins = (await cellar.AtAsync(Cellar.Start.AddDays(60))).Bins;
        var (top, known) = (bins["top"], bins["known"]);
        (top.DarkHours, top.Kg.Value).Should().Be((0, known.Kg.Value));
        top.Kg.Low.Should().BeLessThan(known.Kg.Low);
        top.Kg.High.Should().BeGreaterThan(known.Kg.High);
    }
}
