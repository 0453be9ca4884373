using RootCellar.Readings;

namespace RootCellar.Tests.Readings;

public class SensorRhythmTests
{
    private static readonly TimeSpan Begin = TimeSpan.FromHours(5);

    [Theory]
    [InlineData(5, 10, 300)] // faster than every 10 s is taken as that, and never silent under five minutes
    [InlineData(60, 60, 300)]
    [InlineData(300, 300, 900)]
    [InlineData(3_600, 3_600, 10_800)]
    [InlineData(20_000, 7_200, 21_600)] // no more than two hours are expected
    public void The_interval_is_learned_and_silence_is_three_of_it(int every, int expected, int silentAfter)
    {
        var rhythm = SensorRhythm.Fresh(Begin);
        rhythm.SilentAfter.Should().Be(TimeSpan.FromMinutes(30), "ten minutes are assumed at first");
        var last = Speak(rhythm, Begin, TimeSpan.FromSeconds(every), 8);
        rhythm.Expected.Should().Be(TimeSpan.FromSeconds(expected));
        rhythm.SilentAfter.Should().Be(TimeSpan.FromSeconds(silentAfter));
        rhythm.IsSilent(last + rhythm.SilentAfter).Should().BeFalse();
        rhythm.IsSilent(last + rhythm.SilentAfter + TimeSpan.FromSeconds(1)).Should().BeTrue();
    }

    [Fact]
    public void Several_topics_of_one_wake_up_are_one_beat()
    {
        var rhythm = SensorRhythm.Fresh(Begin);
        for (var i = 0; i < 10; i++)
        {
            foreach (var ms in new[] { 0, 300, 900 }) rhythm.Arrive(Begin + TimeSpan.FromMinutes(i) + TimeSpan.FromMilliseconds(ms));
        }

        rhythm.Expected.Should().BeCloseTo(TimeSpan.FromMinutes(1), TimeSpan.FromSeconds(1));
    }

    [Fact]
    public void A_skipped_beat_and_an_outage_are_no_rhythm()
    {
        var rhythm = SensorRhythm.Fresh(Begin);
        var at = Speak(rhythm, Begin, TimeSpan.FromMinutes(5), 8);
        at += TimeSpan.FromMinutes(10);
        rhythm.Arrive(at);
        at += TimeSpan.FromHours(9);
        rhythm.Arrive(at);
        Speak(rhythm, at, TimeSpan.FromMinutes(5), 3);
        rhythm.Expected.Should().Be(TimeSpan.FromMinutes(5));
    }

    [Fact]
    public void A_sensor_set_to_speak_less_often_is_learned_after_three_long_gaps()
    {
        var rhythm = SensorRhythm.Fresh(Begin);
        var at = Speak(rhythm, Begin, TimeSpan.FromMinutes(1), 10);
        at = Speak(rhythm, at, TimeSpan.FromMinutes(30), 2);
        rhythm.Expected.Should().Be(TimeSpan.FromMinutes(1));
        Speak(rhythm, at, TimeSpan.FromMinutes(30), 1);
        rhythm.Expected.Should().Be(TimeSpan.FromMinutes(30));
    }

    [Fact]
    public void Only_a_noticeable_change_is_worth_remembering()
    {
        var rhythm = SensorRhythm.Resume(60, Begin);
        Enumerable.Range(1, 10).Any(i => rhythm.Arrive(Begin + TimeSpan.FromSeconds(66 * i))).Should().BeFalse();
        var at = Begin + TimeSpan.FromSeconds(660);
        Enumerable.Range(1, 20).Count(i => rhythm.Arrive(at + TimeSpan.FromSeconds(90 * i))).Should().Be(1);
    }

    [Theory]
    [InlineData(120.0, 360)]
    [InlineData(null, 1_800)]
    [InlineData(0.0, 1_800)]
    public void After_a_restart_the_interval_is_known_and_the_waiting_begins_anew(double? seconds, int silentAfter)
    {
        var rhythm = SensorRhythm.Resume(seconds, Begin);
        rhythm.IsSilent(Begin + TimeSpan.FromSeconds(silentAfter)).Should().BeFalse();
        rhythm.IsSilent(Begin + TimeSpan.FromSeconds(silentAfter + 1)).Should().BeTrue();
    }

    private static TimeSpan Speak(SensorRhythm rhythm, TimeSpan from, TimeSpan every, int times)
    {
        for (var i = 0; i < times; i++) rhythm.Arrive(from += every);
        return from;
    }
}
