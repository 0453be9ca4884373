using RootCellar.Storage;

namespace RootCellar.Tests.Storage;

/// <summary>When the machine's clock is gone by, by what the machine says of it.</summary>
public sealed class HouseClockTests : IDisposable
{
    private static readonly DateTimeOffset Watched = Sample.At;

    private readonly TempFolder folder = new();
    private readonly TempFolder machine = new();
    private readonly HouseTime time = new(Sample.At.AddHours(3));

    public void Dispose()
    {
        folder.Dispose();
        machine.Dispose();
    }

    [Fact]
    public void Where_nobody_can_be_asked_a_clock_that_may_be_right_is_taken()
    {
        WatchedUntil(Watched);
        var clock = Clock(waiting: false);
        (clock.IsKnown, clock.HourCounts, clock.GetUtcNow()).Should().Be((true, true, Watched.AddHours(3)));
    }

    [Fact]
    public void Where_nobody_can_be_asked_one_that_is_behind_the_last_watch_is_not_until_it_is_set()
    {
        WatchedUntil(Watched);
        time.Offset = TimeSpan.FromDays(-21);
        var clock = Clock(waiting: false);
        (clock.IsKnown, clock.CountedSince, clock.GetUtcNow()).Should().Be((false, Watched, Watched));
        time.Advance(TimeSpan.FromMinutes(7));
        (clock.GetUtcNow(), clock.MachineIsRight).Should().Be((Watched.AddMinutes(7), false));
        time.Offset = TimeSpan.Zero;
        clock.MachineIsRight.Should().BeTrue();
        clock.Set().Should().Be(new TimePutRight(Watched, Watched.AddMinutes(7), TimeSpan.FromHours(3)));
        clock.GetUtcNow().Should().Be(Watched.AddHours(3).AddMinutes(7));
        clock.MachineIsRight.Should().BeFalse("it is gone by already");
    }

    [Fact]
    public void A_new_house_with_a_clock_from_before_this_program_was_built_does_not_go_by_it()
    {
        var clock = Clock(waiting: false, built: Watched.AddDays(200));
        (clock.IsKnown, clock.GetUtcNow()).Should().Be((false, Watched.AddDays(200)));
    }

    [Fact]
    public void While_the_time_service_waits_no_clock_is_gone_by_but_one_that_is_set_by_hand()
    {
        WatchedUntil(Watched);
        var clock = Clock(waiting: true);
        (clock.IsKnown, clock.HourCounts, clock.GetUtcNow(), clock.MachineIsRight).Should().Be((false, false, Watched, false));
        time.Offset = TimeSpan.FromHours(5);
        clock.MachineIsRight.Should().BeTrue("somebody set it");
        time.Offset = TimeSpan.FromDays(-5);
        clock.MachineIsRight.Should().BeFalse("not to a time that was before the last watch");
        time.Offset = TimeSpan.Zero;
        File.WriteAllText(Path.Combine(machine.Path, "synchronized"), "");
        clock.MachineIsRight.Should().BeTrue();
    }

    [Theory]
    [InlineData("1", 0, true)]
    [InlineData("1", -3600, false)]
    [InlineData("0", 0, false)]
    public void A_battery_clock_that_the_machine_started_by_is_gone_by(string used, int seconds, bool known)
    {
        WatchedUntil(Watched);
        File.WriteAllText(Path.Combine(machine.Path, "hctosys"), used + "\n");
        File.WriteAllText(Path.Combine(machine.Path, "since_epoch"), $"{time.GetUtcNow().ToUnixTimeSeconds() + seconds}\n");
        Clock(waiting: true).IsKnown.Should().Be(known);
    }

    [Fact]
    public void A_note_that_cannot_be_read_and_one_of_another_start_of_the_machine_count_for_nothing()
    {
        WatchedUntil(Watched);
        var first = Clock(waiting: true);
        first.Begin();
        time.Advance(TimeSpan.FromMinutes(10));
        WatchedUntil(Watched.AddMinutes(10));
        (Clock(waiting: true).GetUtcNow(), Clock(waiting: true).CountedSince).Should().Be((Watched.AddMinutes(10), Watched));
        (Clock(waiting: true, boot: "another").CountedSince, Clock(waiting: true, boot: null).CountedSince).Should()
            .Be((Watched.AddMinutes(10), Watched.AddMinutes(10)));
        File.WriteAllText(Path.Combine(folder.Path, "clock.json"), "{ what");
        Clock(waiting: true).CountedSince.Should().Be(Watched.AddMinutes(10));
    }

    private void WatchedUntil(DateTimeOffset at)
    {
        var file = Path.Combine(folder.Path, "alive.json");
        File.WriteAllText(file, "{}");
        File.SetLastWriteTimeUtc(file, at.UtcDateTime);
    }

    private HouseClock Clock(bool waiting, DateTimeOffset? built = null, string? boot = "this start") => new(
        folder.Path,
        new MachineClock(time, waiting ? machine.Path : Path.Combine(machine.Path, "none"), machine.Path, boot, built ?? DateTimeOffset.UnixEpoch));
}
