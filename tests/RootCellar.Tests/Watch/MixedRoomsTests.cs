using RootCellar.Places;
using RootCellar.Science.Crops;
using RootCellar.Watch;
using static RootCellar.Tests.Watch.Watching;
using Band = RootCellar.Watch.Band;

namespace RootCellar.Tests.Watch;

/// <summary>
/// Limits of rooms in which several crops stand, by the crop table as it is: what harms (crops.json, harm.json, each with its source),
/// and that every alarm can begin and end in them.
/// </summary>
public sealed class MixedRoomsTests
{
    private static readonly BandsInForce Bands = new(CropLookup.Find, new WatchOptions());

    private static Band Room(string crops, string set = "", Purpose purpose = Purpose.Storage) =>
        Bands.For(new Place("cellar", "Cellar", purpose, null, Ids(set)), Ids(crops))!;

    private static string[] Ids(string list) => list.Split(' ', StringSplitOptions.RemoveEmptyEntries);

    // Limits in F as the sources print them: a potato's cold is 1.1 C (NDSU), what chills is half a degree C under its edge.
    [Theory]
    [InlineData("potato", 33.98, 50, 80, 100, "")]
    [InlineData("beet carrot celeriac", 32, 45, 80, 100, "")]
    [InlineData("beet carrot potato", 33.98, 45, 80, 100, "")]
    [InlineData("apple carrot potato", 33.98, 45, 80, 100, "")]
    [InlineData("onion potato", 33.98, 50, 80, 100, "onion Wet")]
    [InlineData("carrot onion", 32, 45, 80, 100, "onion Wet")]
    [InlineData("garlic onion winter-squash", 32, 50, 50, 80, "winter-squash Cold")]
    [InlineData("onion sweet-potato winter-squash", 52.7, 65, 70, 80, "onion Warm")]
    [InlineData("sweet-potato winter-squash", 52.7, 65, 70, 85, "")]
    [InlineData("acorn-squash potato", 44.1, 50, 80, 100, "acorn-squash Wet")]
    [InlineData("beet carrot winter-squash", 32, 45, 80, 100, "winter-squash Cold, winter-squash Wet")]
    [InlineData("apple-tender cabbage leek potato turnip", 37.1, 45, 80, 100, "")]
    public void The_limits_are_the_strictest_that_a_room_can_hold_and_whom_it_does_not_suit_is_named(
        string crops, double coldF, double warmF, double dry, double wet, string unsuited)
    {
        var limits = Room(crops).Limits;

        (limits.ColdC * 1.8 + 32).Should().BeApproximately(coldF, 0.01);
        (limits.WarmC * 1.8 + 32).Should().BeApproximately(warmF, 0.01);
        (limits.DryPercent, limits.WetPercent).Should().Be((dry, wet));
        string.Join(", ", limits.Unsuited.Select(u => $"{u.Crop} {u.Side}")).Should().Be(unsuited);
    }

    [Fact]
    public void The_advice_band_is_not_the_limit()
    {
        var room = Room("carrot potato");

        (room.Air.TemperatureLowC, room.Air.TemperatureHighC).Should().Be((30.0 / 9, 40.0 / 9), "one potato bin among roots narrows it");
        (room.Limits.WarmC - room.Limits.ColdC).Should().BeGreaterThan(6);
    }

    [Fact]
    public void A_crop_the_place_is_set_up_for_comes_before_as_many_others()
    {
        Room("beet carrot", "winter-squash").Limits.Unsuited.Select(u => (u.Crop, u.Side)).Should().Equal(
            ("beet", LimitSide.Warm), ("carrot", LimitSide.Warm), ("beet", LimitSide.Dry), ("carrot", LimitSide.Dry));
        Room("beet carrot", "winter-squash").Air.TemperatureLowC.Should().Be(10, "and the band is its own");
    }

    [Fact]
    public void A_curing_room_alarms_where_healing_stops_and_rot_begins()
    {
        var limits = Room("", "potato", Purpose.Curing).Limits;

        (limits.ColdC * 1.8 + 32).Should().BeApproximately(45, 1e-9);
        (limits.WarmC * 1.8 + 32).Should().BeApproximately(65, 1e-9);
        limits.DryPercent.Should().Be(80);
    }

    [Fact]
    public void Of_every_two_crops_the_limits_are_apart_the_band_within_them_and_each_alarm_begins_and_ends()
    {
        var ids = CropTable.Default.Crops.Select(c => c.Id).ToList();
        foreach (var (a, b) in ids.SelectMany((a, i) => ids.Skip(i).Select(b => (a, b))))
        {
            var room = Room($"{a} {b}");
            var (limits, air) = (room.Limits, room.Air);

            (limits.WarmC - limits.ColdC).Should().BeGreaterThanOrEqualTo(3 - 1e-9, $"{a} and {b}");
            (limits.WetPercent - limits.DryPercent).Should().BeGreaterThanOrEqualTo(10, $"{a} and {b}");
            (limits.ColdC <= air.TemperatureLowC && air.TemperatureLowC < air.TemperatureHighC && air.TemperatureHighC <= limits.WarmC)
                .Should().BeTrue($"of {a} and {b} {air} lies within {limits.ColdC} to {limits.WarmC}");
            (limits.DryPercent <= air.HumidityLowPercent && air.HumidityLowPercent < air.HumidityHighPercent
                && air.HumidityHighPercent <= limits.WetPercent).Should().BeTrue($"{a} and {b}");
            Lives(room, $"{a} and {b}");
        }
    }

    [Theory]
    [InlineData("beet carrot celeriac parsnip potato")]
    [InlineData("apple cabbage carrot leek potato")]
    [InlineData("garlic onion shallot winter-squash")]
    [InlineData("onion pumpkin sweet-potato winter-squash")]
    [InlineData("apple beet cabbage carrot celeriac garlic leek onion parsnip potato pumpkin sweet-potato")]
    public void In_a_room_of_many_each_alarm_begins_and_ends(string crops) => Lives(Room(crops), crops);

    // From the advised air into each limit and back: the alarm begins, nothing else does, and it is over again.
    private static void Lives(Band room, string because)
    {
        var (air, limits) = (room.Air, room.Limits);
        // Not so damp that the deadband of dew still holds.
        var (c, rh) = ((air.TemperatureLowC + air.TemperatureHighC) / 2, Math.Min(93, (air.HumidityLowPercent + air.HumidityHighPercent) / 2));
        // Apples and other crops that bear frost are too cold only where they freeze: there the frost alarm speaks for both.
        bool frost = limits.ColdC - 0.6 < room.FreezingPointC + PlaceWatch.FreezingMarginC;
        foreach (var (rule, beyond) in new[]
        {
            (Rule.TooWarm, At(limits.WarmC + 0.6, rh)), (Rule.TooCold, At(limits.ColdC - 0.6, rh)),
            (Rule.TooDry, At(c, limits.DryPercent - 4)), (Rule.TooWet, At(c, Math.Min(99.5, limits.WetPercent + 4))),
        })
        {
            var w = new Watching();
            w.Hold(At(c, rh), 30, room).Told.Should().BeEmpty($"{because} in the advised air");
            w.Hold(beyond, 130, room).Told.Should().Be(
                rule == Rule.TooCold && frost ? "raised freezing-near" : $"raised {rule.Slug()}", because);
            w.Hold(At(c, rh), 40, room).Told.Should().Be(
                rule == Rule.TooCold && frost ? "over freezing-near" : $"over {rule.Slug()}", because);
        }
    }

    // Without a probe dew goes by the margin to the dew point: about 0.155 K for each % below 100 near 5 C.
    private static PlaceAir At(double c, double rh) => Air(c, rh, dew: c - ((100 - rh) * 0.155));
}
