using RootCellar.Tests.Storage;
using RootCellar.Watch;

namespace RootCellar.Tests.Households;

/// <summary>One sensor in a cold spot among others, and sensors that do not agree.</summary>
public sealed class ColdestSensorTests
{
    [Fact]
    public async Task One_honest_sensor_below_freezing_among_three_warm_ones_is_an_urgent_alarm_that_names_it()
    {
        await using var farm = await Farm.WithCellarAsync();
        await TellAsync(farm, 7, ("corner", -2.5), ("door", 6), ("shelf", 6), ("beam", 6));
        var frost = (await farm.SeeAsync(s => s.OpenAlarms)).Should().ContainSingle(a => a.Rule == Rule.FreezingNear).Subject;
        (frost.Sensor, frost.Value, frost.Measure, frost.Priority).Should().Be(("cellar/corner", -2.5, Measure.Air, AlarmPriority.Urgent));
        farm.Texts.Should().ContainSingle().Which.Should()
            .MatchRegex("^URGENT CELLAR air at corner 28F, crops freeze near 31F since .*1 keep door . vent shut 2 cover the bins\\. Don.t move frozen ones\\.$");
        var air = (await farm.SeeAsync(s => s.Place("cellar")))!.Air!;
        (air.TemperatureC, air.Coldest!.Sensor, air.Coldest.TemperatureC, air.Coldest.InProduce).Should()
            .Be((6, "cellar/corner", -2.5, false));
    }

    [Fact]
    public async Task A_sensor_that_is_not_believed_is_not_the_coldest()
    {
        await using var farm = await Farm.WithCellarAsync();
        await TellAsync(farm, 10, ("corner", -127), ("door", 6), ("shelf", 6));
        farm.Texts.Should().BeEmpty();
        (await farm.SeeAsync(s => s.Place("cellar")))!.Air!.Coldest!.TemperatureC.Should().Be(6);
    }

    [Fact]
    public async Task The_sensor_that_raised_it_falling_silent_does_not_end_it()
    {
        await using var farm = await Farm.WithCellarAsync();
        await TellAsync(farm, 7, ("corner", -2.5), ("door", 6), ("shelf", 6));
        await TellAsync(farm, 60, ("door", 6), ("shelf", 6));
        (await farm.SeeAsync(s => s.OpenAlarms)).Should().Contain(a => a.Rule == Rule.FreezingNear && a.Active);
        // Carried away it is not waited for.
        await farm.AskAsync(h => h.SaveSensor("cellar/corner", null, null, TimeSpan.FromHours(2), farm.Time.GetUtcNow()));
        await TellAsync(farm, 20, ("door", 6), ("shelf", 6));
        (await farm.SeeAsync(s => s.OpenAlarms)).Should().NotContain(a => a.Rule == Rule.FreezingNear && a.Active);
    }

    [Fact]
    public async Task A_restart_does_not_forget_which_sensor_is_waited_for()
    {
        await using var farm = await Farm.WithCellarAsync();
        await TellAsync(farm, 7, ("corner", -2.5), ("door", 6), ("shelf", 6));
        await farm.RestartAsync(TimeSpan.FromMinutes(20));
        await TellAsync(farm, 40, ("door", 6), ("shelf", 6));
        (await farm.SeeAsync(s => s.OpenAlarms)).Should().ContainSingle(a => a.Rule == Rule.FreezingNear && a.Active).Which.Sensor.Should()
            .Be("cellar/corner");
    }

    [Fact]
    public async Task Sensors_that_disagree_are_an_alarm_of_low_priority_that_names_both_and_ends_when_they_agree()
    {
        await using var farm = await Farm.WithCellarAsync();
        await TellAsync(farm, 19, ("door", 5), ("shelf", 7.8));
        farm.Texts.Should().BeEmpty("a door may have been opened");
        await TellAsync(farm, 3, ("door", 5), ("shelf", 7.8));
        farm.Texts.Should().ContainSingle().Which.Should().Be(
            "CELLAR sensors door and shelf 5.0F apart for 20 min, should be within 4.5F. Lay them side by side for an hour. Swap or calibrate the one that is off.");
        var alarm = (await farm.SeeAsync(s => s.OpenAlarms)).Should().ContainSingle().Subject;
        (alarm.Rule, alarm.Priority, alarm.Sensor, alarm.Other, alarm.Measure).Should()
            .Be((Rule.SensorsDisagree, AlarmPriority.Low, "cellar/door", "cellar/shelf", Measure.AirSpread));
        alarm.Value.Should().BeApproximately(2.8, 1e-9);
        // Inside the limit, but not by the deadband.
        await TellAsync(farm, 20, ("door", 5), ("shelf", 7.3));
        farm.Texts.Should().HaveCount(1);
        await farm.RestartAsync(TimeSpan.FromMinutes(1));
        await TellAsync(farm, 20, ("door", 5), ("shelf", 6));
        farm.Texts.Should().HaveCount(2);
        farm.Texts[1].Should().StartWith("CELLAR sensors door and shelf agree again");
    }

    [Fact]
    public async Task What_their_accuracy_explains_is_no_alarm()
    {
        await using var farm = await Farm.WithCellarAsync(Farm.AtOnce());
        await TellAsync(farm, 10, ("door", 5), ("shelf", 7.4));
        farm.Texts.Should().BeEmpty();
    }

    [Fact]
    public async Task Humidity_has_an_accuracy_of_its_own()
    {
        await using var farm = await Farm.WithCellarAsync(Farm.AtOnce());
        for (var minute = 0; minute < 3; minute++)
        {
            await farm.SayAsync("rootcellar/cellar/door", """{"temperature_c":6,"humidity_pct":95}""");
            await farm.SayAsync("rootcellar/cellar/shelf", """{"temperature_c":6,"humidity_pct":77}""");
            await farm.GoAsync(1, null);
        }

        (await farm.SeeAsync(s => s.OpenAlarms)).Should().ContainSingle(a => a.Rule == Rule.SensorsDisagree).Which.Measure.Should()
            .Be(Measure.HumiditySpread);
    }

    /// <summary>Every sensor tells its temperature each minute.</summary>
    private static async Task TellAsync(Farm farm, int minutes, params (string Name, double TemperatureC)[] sensors)
    {
        for (var minute = 0; minute < minutes; minute++)
        {
            foreach (var (name, c) in sensors)
                await farm.SayAsync($"rootcellar/cellar/{name}",
                    FormattableString.Invariant($$"""{"temperature_c":{{c}},"humidity_pct":92}"""));
            await farm.GoAsync(1, null);
        }
    }
}
