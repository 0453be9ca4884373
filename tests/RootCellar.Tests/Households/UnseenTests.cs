using RootCellar.Monitoring;

namespace RootCellar.Tests.Households;

/// <summary>What a grower would not forgive: an alarm that never comes, never ends, or comes from time that nobody watched.</summary>
public class UnseenTests
{
    [Fact]
    public async Task Carbon_dioxide_is_judged_where_its_sensor_is_the_only_one()
    {
        await using var farm = await Farm.WithCellarAsync();
        for (var minute = 0; minute < 7; minute++)
        {
            await farm.SayAsync("rootcellar/cellar/gas/co2_ppm", "9000");
            await farm.GoAsync(1, null);
        }

        farm.Texts.Should().ContainSingle().Which.Should().StartWith("URGENT CELLAR CO2 9,000 ppm").And.Contain("Not a safety gauge");
    }

    [Fact]
    public async Task A_dead_element_is_told_although_the_sensors_other_topic_is_well()
    {
        await using var farm = await Farm.WithCellarAsync();
        for (var minute = 0; minute < 25; minute++)
        {
            await farm.SayAsync("rootcellar/cellar/door/temperature_c", "6");
            await farm.SayAsync("rootcellar/cellar/door/humidity_pct", "1");
            await farm.GoAsync(1, null);
        }

        farm.Texts.Should().ContainSingle().Which.Should().Contain("not used").And.Contain("DHT");
    }

    [Fact]
    public async Task Hours_that_nobody_saw_do_not_count_as_frost()
    {
        await using var farm = await Farm.WithCellarAsync();
        await farm.GoAsync(10, 6);
        await farm.GoAsync(1, -0.5);
        await farm.GoAsync(180, null);
        var told = farm.Texts.Count(t => t.Contains("freez", StringComparison.OrdinalIgnoreCase));
        await farm.SayAsync("rootcellar/cellar/door", """{"temperature_c":-0.5,"humidity_pct":92}""");
        await farm.SettledAsync();

        farm.Texts.Count(t => t.Contains("freez", StringComparison.OrdinalIgnoreCase)).Should()
            .Be(told, "one reading is not five minutes, however long ago the last one was");
        farm.Texts.Should().NotContain(t => t.Contains("for 3 h", StringComparison.Ordinal)
            && t.Contains("limit", StringComparison.Ordinal));
    }

    [Fact]
    public async Task A_place_that_lost_its_last_sensor_has_no_alarm_left()
    {
        await using var farm = await Farm.WithCellarAsync();
        await farm.GoAsync(22, 11.7);
        (await farm.SeeAsync(s => s.OpenAlarms)).Should().ContainSingle();

        await farm.Pipeline.AskAsync((house, wall, mono) => house.SaveSensor("cellar/door", null, null, mono, wall),
            TestContext.Current.CancellationToken);

        (await farm.SeeAsync(s => s.OpenAlarms)).Should().BeEmpty();
    }

    [Fact]
    public async Task A_sensor_whose_clock_went_back_is_judged_again_once_its_old_value_is_stale()
    {
        await using var farm = await Farm.WithCellarAsync();
        string At(double days) => FormattableString.Invariant(
            $$""","time":"{{farm.Time.GetUtcNow().AddDays(days):yyyy-MM-ddTHH:mm:ssZ}}" """);
        await farm.GoAsync(5, 6, () => At(0));
        await farm.GoAsync(90, 11.7, () => At(-2));

        farm.Texts.Should().Contain(t => t.StartsWith("CELLAR 3F too warm (53F)", StringComparison.Ordinal));
    }
}
