using RootCellar.Places;
using RootCellar.Science.Crops;
using RootCellar.Watch;
using Band = RootCellar.Watch.Band;

namespace RootCellar.Tests.Watch;

public sealed class BandsInForceTests
{
    private static readonly Dictionary<string, CropBands> Crops = new CropBands[]
    {
        new("potato", "potato", new ClimateBand(10, 140.0 / 9, 85, 95), new ClimateBand(30.0 / 9, 65.0 / 9, 90, 95), -0.8, true, "test",
            Harm(1.1, 10, 80), Harm(7.2, 18.3, 80)),
        new("beet", "beet", null, new ClimateBand(0, 40.0 / 9, 90, 98), -0.9, false, "test", Harm(0, 7.2, 80)),
        new("leek", "leek", null, new ClimateBand(0, 1, 95, 100), -0.7, false, "test", Harm(0, 7.2, 80)),
        new("onion", "onion", null, new ClimateBand(0, 40.0 / 9, 65, 70), -0.8, false, "test", Harm(0, 10, 50, 80)),
    }.ToDictionary(crop => crop.Id);

    private static HarmLimits Harm(double cold, double warm, double dry, double? wet = null) => new(
        new Sourced(cold, "test"), new Sourced(warm, "test"), new Sourced(dry, "test"), wet is { } at ? new Sourced(at, "test") : null);

    private static Band? For(Purpose purpose, params string[] crops) =>
        new BandsInForce(id => Crops.GetValueOrDefault(id), new WatchOptions()).For(new Place("x", "X", purpose, null, crops));

    [Fact]
    public void Potatoes_cure_at_50_to_60_F_and_85_to_95_percent()
    {
        var band = For(Purpose.Curing, "potato")!;

        (band.Air.TemperatureLowC * 1.8 + 32).Should().BeApproximately(50, 1e-9);
        (band.Air.TemperatureHighC * 1.8 + 32).Should().BeApproximately(60, 1e-9);
        (band.Air.HumidityLowPercent, band.Air.HumidityHighPercent, band.FreezingPointC, band.LightLimitLux).Should()
            .Be((85, 95, -0.8, 10));
        band.Why.Single().Purpose.Should().Be(Purpose.Curing);
    }

    [Fact]
    public void Crops_that_agree_share_what_both_like()
    {
        var band = For(Purpose.Storage, "potato", "beet")!;

        band.Air.Should().Be(new ClimateBand(30.0 / 9, 40.0 / 9, 90, 95));
        band.Why.Select(reason => reason.Crop).Should().Equal("potato", "beet");
        band.Conflicts.Should().BeEmpty();
    }

    [Fact]
    public void A_crop_that_wants_other_air_is_named_and_the_first_one_decides()
    {
        var band = For(Purpose.Storage, "potato", "onion")!;

        band.Air.Should().Be(Crops["potato"].Storage);
        band.Conflicts.Single().Crop.Should().Be("onion");
    }

    [Fact]
    public void Bands_that_only_touch_do_not_agree() => For(Purpose.Storage, "potato", "leek")!.Conflicts.Single().Crop.Should().Be("leek");

    [Fact]
    public void The_freezing_point_is_the_one_nearest_to_danger_also_of_a_crop_in_conflict() =>
        For(Purpose.Storage, "potato", "leek")!.FreezingPointC.Should().Be(-0.7);

    [Fact]
    public void What_is_not_cured_is_held_to_storage() => For(Purpose.Curing, "beet")!.Why.Single().Purpose.Should().Be(Purpose.Storage);

    [Fact]
    public void Only_a_crop_that_greens_has_a_light_limit() => For(Purpose.Storage, "beet")!.LightLimitLux.Should().BeNull();

    [Fact]
    public void Outdoors_and_unknown_crops_are_not_judged()
    {
        For(Purpose.Outdoors, "potato").Should().BeNull();
        For(Purpose.Storage, "yam").Should().BeNull();
        For(Purpose.Storage, "potato", "yam")!.UnknownCrops.Should().Equal("yam");
    }

    [Fact]
    public void An_option_out_of_range_is_named_with_its_key_and_what_would_be_right()
    {
        new WatchOptions().Problems().Should().BeEmpty();
        new WatchOptions { OnDelaySeconds = -1, Temperature = { DeadbandC = double.NaN } }.Problems().Should().Equal(
            "Watch:OnDelaySeconds is -1; it must be 0 to 86400 seconds.",
            "Watch:Temperature:DeadbandC is NaN; it must be 0 to 5 degrees C.");
    }

    [Theory]
    [InlineData(1200, 300)]
    [InlineData(120, 120)]
    [InlineData(0, 0)]
    public void What_is_urgent_never_waits_longer(int onDelay, int urgent) =>
        new WatchOptions { OnDelaySeconds = onDelay }.UrgentOnDelay.Should().Be(TimeSpan.FromSeconds(urgent));
}
