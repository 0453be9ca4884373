using RootCellar.Tests.Storage;
using RootCellar.Watch;

namespace RootCellar.Tests.Households;

public class WatchTests
{
    // Potato storage, harmed over 50 F: 11.7 C is too warm, 7 C is well.
    private const double Warm = 11.7;
    private const double Well = 7;

    [Fact]
    public async Task A_sensor_that_names_a_known_place_comes_in_by_itself_and_another_waits()
    {
        await using var farm = await Farm.WithCellarAsync();
        await farm.SayAsync("rootcellar/cellar/door/temperature_c", "6");
        await farm.SayAsync("rootcellar/barn/north/temperature_c", "6");
        (await farm.SeeAsync(s => s.Sensors)).Select(s => $"{s.Key} in {s.Place ?? "none"}, named {s.NamedPlace}")
            .Should().Equal("barn/north in none, named barn", "cellar/door in cellar, named cellar");
        await farm.PlaceAsync("barn");
        (await farm.SeeAsync(s => s.Sensors))[0].Place.Should().Be("barn");
        await farm.RestartAsync(TimeSpan.Zero);
        (await farm.SeeAsync(s => s.Sensors)).Select(s => s.Place).Should().Equal("barn", "cellar");
    }

    [Fact]
    public async Task Too_warm_is_told_after_20_minutes_and_over_15_minutes_after_it_is_well_again()
    {
        await using var farm = await Farm.WithCellarAsync();
        await farm.GoAsync(5, Well);
        await farm.GoAsync(19, Warm);
        farm.Texts.Should().BeEmpty();
        await farm.GoAsync(2, Warm);
        farm.Texts.Should().ContainSingle().Which.Should()
            .MatchRegex("^CELLAR 3F too warm .53F. since .*Open door . vent only while it.s under 45F out\\.$");
        await farm.GoAsync(14, Well);
        farm.Texts.Should().HaveCount(1);
        await farm.GoAsync(3, Well);
        farm.Texts.Should().HaveCount(2);
        farm.Texts[1].Should()
            .MatchRegex("^CELLAR fine again: 45F at .*, after 21 min .worst 53F.\\. If door or vent is still open, shut it\\.");
        await Sample.UntilAsync(() => farm.Channel.Taken.Count == 2);
    }

    [Fact]
    public async Task A_restart_in_the_middle_of_the_delay_does_not_begin_it_again()
    {
        await using var farm = await Farm.WithCellarAsync();
        await farm.GoAsync(5, Well);
        await farm.GoAsync(12, Warm);
        await farm.RestartAsync(TimeSpan.FromMinutes(1));
        await farm.GoAsync(5, Warm);
        farm.Texts.Should().BeEmpty("18 minutes are not 20");
        await farm.GoAsync(4, Warm);
        farm.Texts.Should().ContainSingle().Which.Should().StartWith("CELLAR 3F too warm (53F) since ");
    }

    [Fact]
    public async Task An_open_alarm_outlives_a_restart_and_is_not_told_twice()
    {
        await using var farm = await Farm.WithCellarAsync();
        await farm.GoAsync(22, Warm);
        var before = await farm.SeeAsync(s => s.OpenAlarms);
        before.Should().ContainSingle();
        await farm.RestartAsync(TimeSpan.FromMinutes(1));
        await farm.GoAsync(30, Warm);
        (await farm.SeeAsync(s => s.OpenAlarms)).Select(a => a.Id).Should().Equal(before.Select(a => a.Id));
        farm.Texts.Should().ContainSingle();
        await farm.GoAsync(17, Well);
        farm.Texts.Should().HaveCount(2);
    }

    [Theory]
    [InlineData(5)]
    [InlineData(-5)]
    public async Task A_clock_step_neither_fires_nor_clears_anything_but_is_told(int hours)
    {
        await using var farm = await Farm.WithCellarAsync();
        await farm.GoAsync(10, Warm);
        farm.Time.Offset = TimeSpan.FromHours(hours);
        await farm.GoAsync(5, Warm);
        farm.Texts.Should().ContainSingle().Which.Should().Contain($"the clock jumped 5 h {(hours > 0 ? "ahead" : "back")}");
        await farm.GoAsync(7, Warm);
        (await farm.SeeAsync(s => s.OpenAlarms)).Select(a => a.Rule).Should().BeEquivalentTo([Rule.ClockStepped, Rule.TooWarm]);

        farm.Time.Offset = TimeSpan.Zero;
        await farm.GoAsync(5, Warm);
        (await farm.SeeAsync(s => s.OpenAlarms)).Should().Contain(a => a.Rule == Rule.TooWarm && a.Active);
        await farm.GoAsync(17, Well);
        (await farm.SeeAsync(s => s.OpenAlarms)).Should().Contain(a => a.Rule == Rule.TooWarm && !a.Active);
    }

    [Theory]
    [InlineData(3)]
    [InlineData(-3)]
    public async Task A_sensor_with_a_clock_of_its_own_is_still_heard_after_ours_was_set(int hours)
    {
        await using var farm = await Farm.WithCellarAsync();
        string Own() => $",\"time\":{(farm.Time.GetUtcNow() - farm.Time.Offset).ToUnixTimeSeconds()}";
        await farm.GoAsync(5, Well, Own);
        farm.Time.Offset = TimeSpan.FromHours(hours);
        await farm.GoAsync(1, Well, Own);
        await farm.GoAsync(10, Well + 1, Own);
        (await farm.SeeAsync(s => s.Place("cellar")))!.Air!.TemperatureC.Should().Be(Well + 1);
    }

    [Fact]
    public async Task All_sensors_silent_are_one_alarm()
    {
        await using var farm = await Farm.WithCellarAsync();
        await farm.PlaceAsync("loft");
        for (var i = 0; i < 8; i++)
        {
            await farm.SayAsync("rootcellar/loft/beam/temperature_c", "6");
            await farm.GoAsync(1, Well);
        }

        await farm.GoAsync(40, null);
        farm.Texts.Should().ContainSingle().Which.Should().StartWith("ROOTCELLAR: no sensor heard for");
        (await farm.SeeAsync(s => s.OpenAlarms)).Where(a => a.MutedBy is null).Should().ContainSingle().Which.Rule.Should()
            .Be(Rule.AllSilent);
    }
}
