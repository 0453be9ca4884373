using RootCellar.Readings;
using static RootCellar.Tests.Readings.Decoding;

namespace RootCellar.Tests.Readings;

public class BelieverTests
{
    private readonly Believer believer = new();
    private TimeSpan mono = TimeSpan.FromHours(100);

    [Theory]
    [InlineData(null, 0, TimeSource.Arrival)]
    [InlineData(0.0, 0, TimeSource.Device)]
    [InlineData(4.9, 4.9, TimeSource.Device)]
    [InlineData(5.1, 0, TimeSource.ArrivalForBadDeviceTime)]
    [InlineData(-60.0, -60, TimeSource.Device)]
    [InlineData(-29.9 * 1440, -29.9 * 1440, TimeSource.Device)]
    [InlineData(-30.1 * 1440, 0, TimeSource.ArrivalForBadDeviceTime)]
    [InlineData(-20_000_000.0, 0, TimeSource.ArrivalForBadDeviceTime)]
    internal void A_device_time_counts_unless_it_cannot_be(double? claimedMinutes, double atMinutes, TimeSource source)
    {
        var reading = Judge(new Measured(Quantity.Temperature, 5, claimedMinutes is { } c ? Now.AddMinutes(c) : null));

        reading.At.Should().Be(Now.AddMinutes(atMinutes));
        reading.TimeSource.Should().Be(source);
        reading.ArrivedAt.Should().Be(Now);
    }

    [Fact]
    public void Before_2020_no_device_is_believed_even_when_our_own_clock_says_so_too()
    {
        var unset = new DateTimeOffset(1970, 1, 1, 0, 10, 0, TimeSpan.Zero);

        believer.JudgeMessage("s", [new Measured(Quantity.Temperature, 5, unset)], unset, mono)[0].TimeSource.Should()
            .Be(TimeSource.ArrivalForBadDeviceTime);
    }

    // Values and meanings: notes of the Arduino Temperature Control Library 4.0.6 (85, 127.94), issues 432, 848 and 170 of
    // opendata-stuttgart/sensors-software (DHT); -127 and the BME280 rows from memory. Ranges: see Believer.
    [Theory]
    [InlineData(Quantity.Temperature, 85.00, Quality.KnownFault)]
    [InlineData(Quantity.Pulp, 85.00, Quality.KnownFault)]
    [InlineData(Quantity.Temperature, 84.99, Quality.OutOfRange)]
    [InlineData(Quantity.Pulp, -127, Quality.KnownFault)]
    [InlineData(Quantity.Pulp, 127.94, Quality.KnownFault)]
    [InlineData(Quantity.Pulp, 127.9375, Quality.KnownFault)]
    [InlineData(Quantity.Temperature, -140, Quality.KnownFault)]
    [InlineData(Quantity.Humidity, 1, Quality.KnownFault)]
    [InlineData(Quantity.Humidity, 260, Quality.OutOfRange)]
    [InlineData(Quantity.Humidity, 100.4, Quality.Good)]
    [InlineData(Quantity.Humidity, -0.3, Quality.Good)]
    [InlineData(Quantity.Humidity, 99.9, Quality.Good)]
    [InlineData(Quantity.Temperature, 1, Quality.Good)]
    [InlineData(Quantity.Temperature, -40, Quality.Good)]
    [InlineData(Quantity.Temperature, double.NaN, Quality.NotFinite)]
    [InlineData(Quantity.Light, double.PositiveInfinity, Quality.NotFinite)]
    [InlineData(Quantity.Light, -1, Quality.OutOfRange)]
    [InlineData(Quantity.Light, 0, Quality.Good)]
    [InlineData(Quantity.Co2, 0, Quality.OutOfRange)]
    [InlineData(Quantity.Co2, 420, Quality.Good)]
    [InlineData(Quantity.Pressure, 1013, Quality.OutOfRange)]
    [InlineData(Quantity.Weight, -0.2, Quality.Good)]
    [InlineData(Quantity.BatteryVolts, 120.1, Quality.OutOfRange)]
    [InlineData(Quantity.SignalStrength, -71, Quality.Good)]
    internal void A_single_value_is_marked_never_changed_and_the_mark_has_a_reason(Quantity quantity, double value, Quality quality)
    {
        var reading = Judge(new Measured(quantity, value, null));

        reading.Quality.Should().Be(quality);
        reading.Value.Should().Be(value);
        (reading.Reason is null).Should().Be(quality == Quality.Good);
    }

    [Theory]
    [InlineData(1, 1, Quality.KnownFault, Quality.KnownFault)]
    [InlineData(-40, 0, Quality.KnownFault, Quality.KnownFault)]
    [InlineData(-40, 100, Quality.KnownFault, Quality.KnownFault)]
    [InlineData(-140, 100, Quality.KnownFault, Quality.KnownFault)]
    [InlineData(12, 1, Quality.Good, Quality.KnownFault)]
    [InlineData(1, 90, Quality.Good, Quality.Good)]
    [InlineData(-40, 60, Quality.Good, Quality.Good)]
    [InlineData(12, 100, Quality.Good, Quality.Good)]
    internal void Some_faults_show_only_in_two_values_in_either_order(
        double temperature, double humidity, Quality ofTemperature, Quality ofHumidity)
    {
        Measured t = new(Quantity.Temperature, temperature, null), h = new(Quantity.Humidity, humidity, null);

        new Believer().JudgeMessage("s", [t, h], Now, mono).Select(r => r.Quality).Should().Equal(ofTemperature, ofHumidity);
        new Believer().JudgeMessage("s", [h, t], Now, mono).Select(r => r.Quality).Should().Equal(ofHumidity, ofTemperature);
    }

    [Fact]
    public void A_pair_may_come_in_two_messages_a_moment_apart()
    {
        Judge(new Measured(Quantity.Humidity, 1, null));
        Judge(new Measured(Quantity.Temperature, 1, null), seconds: 2).Quality.Should().Be(Quality.KnownFault);
        Judge(new Measured(Quantity.Temperature, 1, null), seconds: 60).Quality.Should().Be(Quality.Good, "the humidity is long past");
    }

    [Fact]
    public void Another_sensor_has_nothing_to_do_with_it()
    {
        believer.JudgeMessage("a", [new Measured(Quantity.Temperature, 5, null)], Now, mono);

        believer.JudgeMessage("b", [new Measured(Quantity.Temperature, 20, null)], Now, mono)[0].IsGood.Should().BeTrue();
    }

    [Fact]
    public void Humidity_at_the_top_for_12_hours_is_saturated_until_it_falls()
    {
        for (var minutes = 0; minutes < 12 * 60; minutes += 10)
            Judge(new Measured(Quantity.Humidity, minutes % 20 == 0 ? 99.9 : 99.5, null), seconds: minutes == 0 ? 0 : 600).Quality.Should()
                .Be(Quality.Good);
        Judge(new Measured(Quantity.Humidity, 99.9, null), seconds: 600).Quality.Should().Be(Quality.Saturated);
        Judge(new Measured(Quantity.Humidity, 99.4, null), seconds: 600).Quality.Should().Be(Quality.Good);
        Judge(new Measured(Quantity.Humidity, 99.9, null), seconds: 600).Quality.Should().Be(Quality.Good);
    }

    [Fact]
    public void A_sensor_not_heard_for_half_a_day_was_not_seen_to_be_saturated_meanwhile()
    {
        Judge(new Measured(Quantity.Humidity, 99.9, null));

        Judge(new Measured(Quantity.Humidity, 99.9, null), seconds: 13 * 3600).Quality.Should().Be(Quality.Good);
    }

    [Fact]
    public void A_saturated_sensor_is_not_trusted_again_by_a_restart()
    {
        believer.Seed(new Reading("s", Quantity.Humidity, 99.9, Now, Now, TimeSource.Arrival, Quality.Saturated, "wet"), mono);

        Judge(new Measured(Quantity.Humidity, 99.9, null), seconds: 600).Quality.Should().Be(Quality.Saturated);
    }

    [Theory]
    [InlineData(Quantity.Temperature, 10, 15, true)]
    [InlineData(Quantity.Temperature, 10, 15.1, false)]
    [InlineData(Quantity.Temperature, 10, 4.9, false)]
    [InlineData(Quantity.Pulp, 10, 16, false)]
    [InlineData(Quantity.Humidity, 90, 60, true)]
    [InlineData(Quantity.Humidity, 90, 59, false)]
    [InlineData(Quantity.Light, 0, 5000, true)]
    [InlineData(Quantity.Weight, 10, 500, true)]
    internal void A_step_is_believed_up_to_what_cellar_air_can_make(Quantity quantity, double before, double after, bool believed)
    {
        Judge(new Measured(quantity, before, null));

        Judge(new Measured(quantity, after, null), seconds: 60).Quality.Should().Be(believed ? Quality.Good : Quality.Jump);
    }

    [Fact]
    public void After_five_minutes_any_value_may_be_true()
    {
        Judge(new Measured(Quantity.Temperature, 10, null));

        Judge(new Measured(Quantity.Temperature, 20, null), seconds: 300).IsGood.Should().BeTrue();
    }

    // Seconds between readings, their values, and what is believed of each (after a first good 10 C).
    [Theory]
    [InlineData("three that agree over two minutes are the new level", 60, "20 20.3 20.5 20.2", "JJGG")]
    [InlineData("quick readings must last two minutes", 20, "20 20 20 20 20 20 20 20", "JJJJJJGG")]
    [InlineData("slow ones must be three", 240, "20 20 20", "JJG")]
    [InlineData("a single glitch is forgotten", 60, "40 10 10.2", "JGG")]
    [InlineData("glitches do not agree", 60, "40 20 35 -10 28 10", "JJJJJG")]
    [InlineData("agreement is among all of them, not from one to the next", 60, "20 20.9 21.8 21.8 21.8", "JJJJG")]
    [InlineData("a glitch amid good ones starts anew", 60, "20 20 10 20 20 20", "JJGJJG")]
    [InlineData("what keeps rising for ten minutes is no glitch", 120, "20 24 28 32 36 40 44", "JJJJJGG")]
    [InlineData("the next glitch has ten minutes of its own", 120, "40 10 10 10 10 40", "JGGGGJ")]
    public void A_jump_is_confirmed_by_three_that_agree(string why, int seconds, string values, string believed)
    {
        Judge(new Measured(Quantity.Temperature, 10, null));

        var marks = values.Split(' ').Select(v => Judge(new Measured(Quantity.Temperature, double.Parse(v), null), seconds).Quality switch
        {
            Quality.Good => 'G',
            Quality.Jump => 'J',
            _ => '?',
        });

        string.Concat(marks).Should().Be(believed, why);
    }

    [Fact]
    public void A_fault_neither_confirms_a_jump_nor_becomes_the_level()
    {
        Judge(new Measured(Quantity.Pulp, 10, null));
        for (var i = 0; i < 5; i++) Judge(new Measured(Quantity.Pulp, 85, null), seconds: 60).Quality.Should().Be(Quality.KnownFault);

        Judge(new Measured(Quantity.Pulp, 10.2, null), seconds: 10).IsGood.Should().BeTrue();
    }

    [Fact]
    public void A_late_reading_of_the_devices_own_time_leaves_the_level_as_it_is()
    {
        Judge(new Measured(Quantity.Temperature, 10, Now.AddMinutes(-1)));
        Judge(new Measured(Quantity.Temperature, 18, Now.AddHours(-3)), seconds: 5).IsGood.Should()
            .BeTrue("three hours ago it may have been so");

        Judge(new Measured(Quantity.Temperature, 18, Now), seconds: 5).Quality.Should().Be(Quality.Jump);
        Judge(new Measured(Quantity.Temperature, 10.1, Now.AddSeconds(10)), seconds: 5).IsGood.Should().BeTrue();
    }

    [Fact]
    public void An_hour_of_values_in_one_message_is_judged_by_the_devices_clock()
    {
        var values = Enumerable.Range(0, 7).Select(i => new Measured(Quantity.Temperature, 10 + (i * 6), Now.AddMinutes(-60 + (i * 10))))
            .ToArray();

        believer.JudgeMessage("s", values, Now, mono).Should().OnlyContain(r => r.IsGood, "6 C in ten minutes is no jump");
    }

    [Fact]
    public void Our_own_clock_set_back_makes_no_reading_late()
    {
        Judge(new Measured(Quantity.Temperature, 10, null));

        believer.JudgeMessage("s", [new Measured(Quantity.Temperature, 30, null)], Now.AddDays(-1),
            mono + TimeSpan.FromMinutes(1))[0].Quality.Should().Be(Quality.Jump);
    }

    [Fact]
    public void After_a_restart_the_first_reading_is_held_against_the_last_believed()
    {
        believer.Seed(new Reading("s", Quantity.Temperature, 10, Now, Now, TimeSource.Arrival, Quality.Good, null), mono);

        Judge(new Measured(Quantity.Temperature, 20, null), seconds: 60).Quality.Should().Be(Quality.Jump);
        Judge(new Measured(Quantity.Temperature, 11, null), seconds: 60).IsGood.Should().BeTrue();
    }

    [Fact]
    public void After_a_restart_what_a_device_had_stored_is_no_level_and_the_hours_at_the_top_go_on()
    {
        Seed(Quantity.Temperature, 10, Now.AddMinutes(-1), TimeSource.Device, Quality.Good, mono);
        Seed(Quantity.Temperature, 30, Now.AddHours(-3), TimeSource.Device, Quality.Good, mono);
        Judge(new Measured(Quantity.Temperature, 20, null), seconds: 60).Quality.Should().Be(Quality.Jump, "the last was 10");

        var start = mono;
        for (var hour = -12; hour < 0; hour++)
            Seed(Quantity.Humidity, 99.8, Now.AddHours(hour), TimeSource.Arrival, Quality.Good, start + TimeSpan.FromHours(hour));
        Judge(new Measured(Quantity.Humidity, 99.8, null)).Quality.Should().Be(Quality.Saturated, "for 12 hours it has been");
        believer.Forget("s");
        Judge(new Measured(Quantity.Humidity, 99.8, null)).Quality.Should().Be(Quality.Good);
        Seed(Quantity.Humidity, 99.8, Now, TimeSource.Arrival, Quality.Saturated, mono);
        Judge(new Measured(Quantity.Humidity, 99.8, null), seconds: 60).Quality.Should().Be(Quality.Saturated);

        void Seed(Quantity quantity, double value, DateTimeOffset at, TimeSource source, Quality quality, TimeSpan then) =>
            believer.Seed(new Reading("s", quantity, value, at, source == TimeSource.Device ? Now : at, source, quality, null), then);
    }

    private Reading Judge(Measured m, int seconds = 0)
    {
        mono += TimeSpan.FromSeconds(seconds);
        return believer.JudgeMessage("s", [m], Now, mono)[0];
    }
}
