using RootCellar.Readings;

namespace RootCellar.Tests.Readings;

public class BelieverTests
{
    private static readonly DateTimeOffset Start = new(2025, 10, 4, 6, 0, 0, TimeSpan.Zero);
    private readonly Believer believer = new();
    private TimeSpan mono = TimeSpan.FromHours(1);
    private TimeSpan clockOffset;

    private DateTimeOffset Wall => Start + mono + clockOffset;

    [Theory]
    [InlineData(Quantity.Temperature, 12.8, Quality.Good, null)]
    [InlineData(Quantity.Temperature, double.NaN, Quality.NotFinite, "not a finite number")]
    [InlineData(Quantity.Humidity, double.PositiveInfinity, Quality.NotFinite, "not a finite number")]
    [InlineData(Quantity.Temperature, 85.0, Quality.KnownFault, "DS18B20 says before it has measured")]
    [InlineData(Quantity.Pulp, 85.0, Quality.KnownFault, "DS18B20 says before it has measured")]
    [InlineData(Quantity.Temperature, -127, Quality.KnownFault, "no sensor answers")]
    [InlineData(Quantity.Temperature, 127.9375, Quality.KnownFault, "too little power")]
    [InlineData(Quantity.Temperature, -140, Quality.KnownFault, "BME280")]
    [InlineData(Quantity.Light, 85.0, Quality.Good, null)]
    [InlineData(Quantity.Temperature, 84.9, Quality.OutOfRange, "outside -45 to 70")]
    [InlineData(Quantity.Temperature, 70.0, Quality.Good, null)]
    [InlineData(Quantity.Temperature, -45.1, Quality.OutOfRange, "outside -45 to 70")]
    [InlineData(Quantity.Humidity, 100.4, Quality.Good, null)]
    [InlineData(Quantity.Humidity, 105.1, Quality.OutOfRange, "outside -0.5 to 105")]
    [InlineData(Quantity.Humidity, 1.0, Quality.KnownFault, "1 % is what a failed DHT")]
    [InlineData(Quantity.Light, -1, Quality.OutOfRange, "outside 0 to 200000")]
    [InlineData(Quantity.Co2, 0, Quality.OutOfRange, "outside 150 to 100000")]
    [InlineData(Quantity.Pressure, 1013.25, Quality.OutOfRange, "outside 50000 to 110000")]
    [InlineData(Quantity.Weight, 51_000, Quality.OutOfRange, "outside -50 to 50000")]
    [InlineData(Quantity.BatteryVolts, 61, Quality.OutOfRange, "outside 0 to 60")]
    [InlineData(Quantity.BatteryPercent, 111, Quality.OutOfRange, "outside 0 to 110")]
    [InlineData(Quantity.SignalStrength, 31, Quality.OutOfRange, "outside -200 to 20")]
    public void Each_quality_has_its_reason_and_the_value_stays_as_it_was(Enum quantity, double value, Enum quality, string? reason)
    {
        var reading = Hear((Quantity)quantity, value);
        reading.Quality.Should().Be((Quality)quality);
        if (reason is null) reading.Reason.Should().BeNull();
        else reading.Reason.Should().Contain(reason);
        reading.Value.Should().Be(value);
    }

    [Theory]
    [InlineData(185.0)] // 85 C
    [InlineData(-196.6)] // -127 C
    public void Fault_values_are_known_also_when_the_sensor_speaks_Fahrenheit(double fahrenheit)
    {
        QuantityNames.TryFind("temperature_f", out var scale).Should().BeTrue();
        Hear(Quantity.Temperature, scale.ToSi(fahrenheit)).Quality.Should().Be(Quality.KnownFault);
    }

    [Fact]
    public void One_degree_with_one_percent_is_a_failed_read_in_one_message_and_in_two()
    {
        Judge((Quantity.Temperature, 1), (Quantity.Humidity, 1)).Should().AllSatisfy(r => r.Reason.Should().Contain("1 C and 1 % together"));
        Hear(Quantity.Humidity, 1, "b").Quality.Should().Be(Quality.KnownFault);
        mono += TimeSpan.FromSeconds(1);
        Hear(Quantity.Temperature, 1, "b").Quality.Should().Be(Quality.KnownFault);
        Hear(Quantity.Temperature, 1, "c").Quality.Should().Be(Quality.Good, "one degree alone is a cellar in winter");
    }

    [Fact]
    public void A_jump_is_not_believed_until_three_readings_agree_over_two_minutes()
    {
        Hear(Quantity.Temperature, 5).Quality.Should().Be(Quality.Good);
        After(1, 11).Should().Be(Quality.Jump);
        After(1, 11.5).Should().Be(Quality.Jump);
        After(0.5, 11.2).Should().Be(Quality.Jump, "two minutes are not over");
        After(0.6, 11.3).Should().Be(Quality.Good);
        After(1, 11.4).Should().Be(Quality.Good);
    }

    [Fact]
    public void A_glitch_is_passed_over_and_the_old_level_stands()
    {
        Hear(Quantity.Temperature, 5);
        After(1, 20).Should().Be(Quality.Jump);
        After(1, 5.1).Should().Be(Quality.Good);
        After(1, 10.2).Should().Be(Quality.Jump, "5.1 is what it is held against");
        After(1, 15.3).Should().Be(Quality.Jump);
        After(1, 10.2).Should().Be(Quality.Jump, "they do not agree");
    }

    [Theory]
    [InlineData(Quantity.Temperature, 5, 10, Quality.Good)]
    [InlineData(Quantity.Temperature, 5, 10.1, Quality.Jump)]
    [InlineData(Quantity.Humidity, 60, 90, Quality.Good)]
    [InlineData(Quantity.Humidity, 60, 90.1, Quality.Jump)]
    [InlineData(Quantity.Light, 0, 50_000, Quality.Good)]
    public void How_far_a_value_may_step_in_a_minute(Enum quantity, double from, double to, Enum expected)
    {
        Hear((Quantity)quantity, from);
        mono += TimeSpan.FromMinutes(1);
        Hear((Quantity)quantity, to).Quality.Should().Be((Quality)expected);
    }

    [Fact]
    public void After_five_minutes_of_nothing_a_step_is_no_jump()
    {
        Hear(Quantity.Temperature, 5);
        After(5, 20).Should().Be(Quality.Good);
    }

    [Fact]
    public void The_first_reading_after_a_restart_is_held_against_the_last_one_before()
    {
        believer.Seed(new Reading("a/b", Quantity.Temperature, 5, Wall, Wall, TimeSource.Arrival, Quality.Good, null), mono);
        After(1, 20).Should().Be(Quality.Jump);
    }

    [Fact]
    public void Late_device_times_disturb_nothing()
    {
        Hear(Quantity.Temperature, 5);
        Hear(Quantity.Temperature, 15, deviceTime: Wall.AddHours(-3)).Should().Match<Reading>(r => r.Quality == Quality.Good && r.TimeSource == TimeSource.Device);
        After(1, 5.5).Should().Be(Quality.Good);
        After(1, 15).Should().Be(Quality.Jump, "5.5 is the newest, not the late 15");
    }

    [Fact]
    public void Hours_in_one_message_are_no_jumps_when_the_sensor_says_so_by_its_own_clock()
    {
        Measured[] night = [.. Enumerable.Range(0, 6).Select(h => new Measured(Quantity.Temperature, 5 + (6 * h), Wall.AddHours(h - 6)))];
        believer.JudgeMessage("a/b", night, Wall, mono).Should().AllSatisfy(r => r.Quality.Should().Be(Quality.Good));
    }

    [Theory]
    [InlineData(-3)]
    [InlineData(3)]
    public void A_clock_step_leaves_the_jump_check_at_work(int hours)
    {
        Hear(Quantity.Temperature, 5);
        clockOffset = TimeSpan.FromHours(hours);
        believer.ClockStepped(clockOffset);
        After(1, 20).Should().Be(Quality.Jump);
        After(1, 5).Should().Be(Quality.Good);
    }

    [Fact]
    public void Saturated_for_twelve_hours_is_not_taken_for_true()
    {
        for (var hour = 0; hour < 12; hour++)
        {
            Hear(Quantity.Humidity, 99.9).Quality.Should().Be(Quality.Good, "hour {0}", hour);
            mono += TimeSpan.FromHours(1);
        }

        var wet = Hear(Quantity.Humidity, 99.9);
        wet.Quality.Should().Be(Quality.Saturated);
        wet.Reason.Should().Contain("12 hours");
        wet.Value.Should().Be(99.9);
        mono += TimeSpan.FromHours(1);
        Hear(Quantity.Humidity, 99.4).Quality.Should().Be(Quality.Good);
        mono += TimeSpan.FromHours(1);
        Hear(Quantity.Humidity, 99.9).Quality.Should().Be(Quality.Good, "it counts from anew");
    }

    [Theory]
    [InlineData(null, 0, TimeSource.Arrival)]
    [InlineData(-60, -60, TimeSource.Device)]
    [InlineData(300, 300, TimeSource.Device)]
    [InlineData(301, 0, TimeSource.ArrivalForBadDeviceTime)]
    [InlineData(-30 * 86_400, -30 * 86_400, TimeSource.Device)]
    [InlineData((-30 * 86_400) - 1, 0, TimeSource.ArrivalForBadDeviceTime)]
    public void Whose_time_a_reading_is_filed_under(int? claimedSeconds, int filedSeconds, Enum source) =>
        DeviceClock.Settle(claimedSeconds is { } s ? Start.AddSeconds(s) : null, Start).Should().Be((Start.AddSeconds(filedSeconds), (TimeSource)source));

    [Theory]
    [InlineData(1_759_557_570, "2025-10-04T05:59:30.0000000+00:00")]
    [InlineData(1_759_557_570_123, "2025-10-04T05:59:30.1230000+00:00")]
    [InlineData(0, "1970-01-01T00:00:00.0000000+00:00")]
    [InlineData(-1e30, null)]
    [InlineData(double.NaN, null)]
    [InlineData(double.PositiveInfinity, null)]
    public void Unix_times(double given, string? expected) =>
        DeviceClock.FromUnix(given)?.ToString("o", System.Globalization.CultureInfo.InvariantCulture).Should().Be(expected);

    private Quality After(double minutes, double value)
    {
        mono += TimeSpan.FromMinutes(minutes);
        return Hear(Quantity.Temperature, value).Quality;
    }

    private Reading Hear(Quantity quantity, double value, string sensor = "a/b", DateTimeOffset? deviceTime = null) =>
        believer.JudgeMessage(sensor, [new Measured(quantity, value, deviceTime)], Wall, mono)[0];

    private List<Reading> Judge(params (Quantity Quantity, double Value)[] values) =>
        [.. believer.JudgeMessage("a/b", [.. values.Select(v => new Measured(v.Quantity, v.Value, null))], Wall, mono)];
}
