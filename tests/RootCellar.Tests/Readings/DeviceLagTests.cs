using RootCellar.Readings;

namespace RootCellar.Tests.Readings;

/// <summary>How far a device's clock runs behind; a reading speaks for now for 60 s here.</summary>
public sealed class DeviceLagTests
{
    private readonly DeviceLag lag = new();

    [Fact]
    public void A_clock_that_stays_as_late_as_it_is_for_five_minutes_and_three_messages_is_slow()
    {
        Hear(3_600, 0).Should().Be(0, "it may be emptying its store");
        Hear(3_590, 100).Should().Be(0);
        Hear(3_570, 299).Should().Be(0, "three messages, not yet five minutes");
        Hear(3_630, 300).Should().Be(3_630, "thirty seconds either way are the same");
        Hear(3_690, 360).Should().Be(3_630, "it speaks for now");
        Hear(3_600, 420).Should().Be(3_600, "never more behind by and by, less at once");
        Hear(3_620, 480).Should().Be(3_600);
        Hear(-5, 540).Should().Be(0, "its clock was set");
    }

    [Fact]
    public void Two_messages_are_too_few_however_far_apart_and_a_store_that_is_emptied_catches_up()
    {
        Hear(3_600, 0);
        Hear(3_600, 400).Should().Be(0);
        Hear(3_600, 401).Should().Be(3_600);

        var emptying = new DeviceLag();
        for (var i = 0; i < 20; i++) emptying.Heard(TimeSpan.FromSeconds(36_000 - (i * 31)), TimeSpan.FromSeconds(60), TimeSpan.FromSeconds(i * 60));
        emptying.Behind.Should().Be(TimeSpan.Zero);
    }

    [Fact]
    public void One_that_is_right_again_in_between_begins_anew()
    {
        Hear(3_600, 0);
        Hear(3_600, 100);
        Hear(60, 200).Should().Be(0, "as late as it may be");
        Hear(3_600, 301).Should().Be(0);
        Hear(3_600, 400).Should().Be(0);
        Hear(3_600, 601).Should().Be(3_600);
    }

    [Fact]
    public void When_our_clock_is_set_the_devices_did_not_step_with_it()
    {
        for (var i = 0; i <= 3; i++) Hear(600, i * 100);
        Step(120).Should().Be(720);
        Step(-700).Should().Be(20);
        Step(-30).Should().Be(0);
        Hear(600, 400);
        Hear(600, 700);
        Step(1).Should().Be(1);
        Hear(600, 701).Should().Be(1, "what was counted up to then does not count");
    }

    private double Hear(double late, double at)
    {
        lag.Heard(TimeSpan.FromSeconds(late), TimeSpan.FromSeconds(60), TimeSpan.FromSeconds(at));
        return lag.Behind.TotalSeconds;
    }

    private double Step(double by)
    {
        lag.ClockStepped(TimeSpan.FromSeconds(by));
        return lag.Behind.TotalSeconds;
    }
}
