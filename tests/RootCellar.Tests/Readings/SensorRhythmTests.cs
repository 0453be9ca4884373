using CsCheck;
using RootCellar.Readings;

namespace RootCellar.Tests.Readings;

public class SensorRhythmTests
{
    [Fact]
    public void Ten_minutes_are_assumed_until_three_gaps_are_known()
    {
        var rhythm = SensorRhythm.Fresh(TimeSpan.Zero);
        rhythm.Expected.Should().Be(TimeSpan.FromMinutes(10));
        rhythm.IsSilent(TimeSpan.FromMinutes(30)).Should().BeFalse();
        rhythm.IsSilent(TimeSpan.FromMinutes(30.1)).Should().BeTrue();

        rhythm.Arrive(TimeSpan.FromMinutes(1));
        rhythm.Arrive(TimeSpan.FromMinutes(2));
        rhythm.Expected.Should().Be(TimeSpan.FromMinutes(10));
        rhythm.Arrive(TimeSpan.FromMinutes(3));
        rhythm.Expected.Should().Be(TimeSpan.FromMinutes(1));
    }

    // What is worth remembering over a restart: a change of more than a fifth.
    [Theory]
    [InlineData(100, false)]
    [InlineData(119, false)]
    [InlineData(121, true)]
    [InlineData(81, false)]
    [InlineData(79, true)]
    public void A_change_of_more_than_a_fifth_is_told(int seconds, bool told)
    {
        var rhythm = SensorRhythm.Resume(100, TimeSpan.Zero);
        var at = TimeSpan.FromSeconds(5);
        rhythm.Arrive(at).Should().BeFalse("from our start to its first word is no interval");
        for (var gap = 1; gap <= 3; gap++) rhythm.Arrive(at += TimeSpan.FromSeconds(seconds)).Should().Be(told && gap == 3, $"gap {gap}");
        rhythm.Expected.Should().Be(TimeSpan.FromSeconds(seconds));
        rhythm.Arrive(at + TimeSpan.FromSeconds(seconds)).Should().BeFalse("it is known");
    }

    [Theory]
    [InlineData(null, 600)]
    [InlineData(0.0, 600)]
    [InlineData(-5.0, 600)]
    [InlineData(1e9, 600)]
    [InlineData(999_999_999.0, 7_200)]
    [InlineData(1.0, 10)]
    public void What_cannot_have_been_remembered_is_not_gone_by(double? seconds, int expected) =>
        SensorRhythm.Resume(seconds, TimeSpan.Zero).Expected.TotalSeconds.Should().Be(expected);

    // Seconds between readings, what is learned, and after how many seconds it is missed: three intervals, at least five minutes.
    [Theory]
    [InlineData(1, 10, 300)]
    [InlineData(5, 10, 300)]
    [InlineData(30, 30, 300)]
    [InlineData(60, 60, 300)]
    [InlineData(300, 300, 900)]
    [InlineData(1800, 1800, 5400)]
    [InlineData(4 * 3600, 2 * 3600, 6 * 3600)]
    public void The_interval_is_learned_within_bounds(int every, int learned, int missedAfter)
    {
        var rhythm = SensorRhythm.Fresh(TimeSpan.Zero);
        var at = TimeSpan.Zero;
        for (var i = 0; i < 60; i++) rhythm.Arrive(at += TimeSpan.FromSeconds(every));

        rhythm.Expected.Should().Be(TimeSpan.FromSeconds(learned));
        rhythm.LastSeen.Should().Be(at);
        rhythm.IsSilent(at + TimeSpan.FromSeconds(missedAfter)).Should().BeFalse();
        rhythm.IsSilent(at + TimeSpan.FromSeconds(missedAfter + 1)).Should().BeTrue();
    }

    [Theory]
    [InlineData(0)]
    [InlineData(0.4)]
    [InlineData(2.5)]
    public void Several_topics_of_one_wake_up_are_one_beat(double apart)
    {
        var rhythm = SensorRhythm.Fresh(TimeSpan.Zero);
        for (var wake = 1; wake < 20; wake++)
        {
            for (var topic = 0; topic < 4; topic++) rhythm.Arrive(TimeSpan.FromSeconds((wake * 600) + (topic * apart)));
        }

        rhythm.Expected.Should().Be(TimeSpan.FromMinutes(10));
    }

    [Fact]
    public void A_missed_beat_and_an_outage_do_not_change_what_is_expected()
    {
        var (rhythm, at) = Steady(TimeSpan.FromMinutes(5));
        rhythm.Arrive(at += TimeSpan.FromMinutes(10));
        rhythm.Arrive(at += TimeSpan.FromHours(9));
        rhythm.Arrive(at += TimeSpan.FromMinutes(5));

        rhythm.Expected.Should().Be(TimeSpan.FromMinutes(5));
    }

    [Fact]
    public void A_sensor_set_to_report_less_often_is_believed_after_three_long_gaps()
    {
        var (rhythm, at) = Steady(TimeSpan.FromMinutes(1));
        for (var i = 0; i < 2; i++) rhythm.Arrive(at += TimeSpan.FromMinutes(30));
        rhythm.Expected.Should().Be(TimeSpan.FromMinutes(1));
        rhythm.Arrive(at += TimeSpan.FromMinutes(30));

        rhythm.Expected.Should().Be(TimeSpan.FromMinutes(30));
        rhythm.IsSilent(at + TimeSpan.FromMinutes(80)).Should().BeFalse();
    }

    [Fact]
    public void A_sensor_set_to_report_twice_as_slowly_or_quickly_is_never_missed_for_it()
    {
        foreach (var next in new[] { 10, 20, 40 })
        {
            var (rhythm, at) = Steady(TimeSpan.FromMinutes(20));
            for (var i = 0; i < 20; i++)
            {
                rhythm.IsSilent(at + TimeSpan.FromMinutes(next)).Should().BeFalse();
                rhythm.Arrive(at += TimeSpan.FromMinutes(next));
            }

            rhythm.Expected.Should().Be(TimeSpan.FromMinutes(next));
        }
    }

    [Fact]
    public void A_restart_remembers_the_interval_waits_anew_and_learns_nothing_from_the_wait()
    {
        var rhythm = SensorRhythm.Resume(1800, TimeSpan.Zero);
        rhythm.Expected.Should().Be(TimeSpan.FromMinutes(30));
        rhythm.IsSilent(TimeSpan.FromMinutes(90)).Should().BeFalse();

        // The wait of 12 s, then two of its beats: three gaps, of which one is none of its own.
        foreach (var seconds in new[] { 12, 1812, 3612 }) rhythm.Arrive(TimeSpan.FromSeconds(seconds)).Should().BeFalse();
        rhythm.Expected.Should().Be(TimeSpan.FromMinutes(30));
    }

    [Theory]
    [InlineData(null, 600)]
    [InlineData(0.0, 600)]
    [InlineData(-5.0, 600)]
    [InlineData(double.NaN, 600)]
    [InlineData(1e300, 600)]
    [InlineData(1.0, 10)]
    [InlineData(86400.0, 7200)]
    public void What_is_remembered_is_taken_within_bounds(double? seconds, double expected)
    {
        SensorRhythm.Resume(seconds, TimeSpan.Zero).Expected.TotalSeconds.Should().Be(expected);
    }

    [Fact]
    public void A_jittering_sensor_is_expected_within_its_own_gaps() => Gen.Double[240, 360].Array[20, 60].Sample(gaps =>
    {
        var rhythm = SensorRhythm.Fresh(TimeSpan.Zero);
        var at = TimeSpan.Zero;
        foreach (var gap in gaps)
        {
            at += TimeSpan.FromSeconds(gap);
            if (rhythm.IsSilent(at)) return false;
            rhythm.Arrive(at);
        }

        return rhythm.Expected.TotalSeconds is >= 239.99 and <= 360.01;
    });

    private static (SensorRhythm Rhythm, TimeSpan At) Steady(TimeSpan every)
    {
        var rhythm = SensorRhythm.Fresh(TimeSpan.Zero);
        var at = TimeSpan.Zero;
        for (var i = 0; i < 20; i++) rhythm.Arrive(at += every);
        return (rhythm, at);
    }
}
