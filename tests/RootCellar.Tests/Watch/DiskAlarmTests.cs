using RootCellar.Watch;

namespace RootCellar.Tests.Watch;

/// <summary>The card under the record is nearly full.</summary>
public sealed class DiskAlarmTests
{
    private static readonly DateTimeOffset Begin = new(2026, 11, 1, 6, 0, 0, TimeSpan.Zero);
    private readonly Watchman man = new(new WatchOptions());
    private readonly List<string> told = [];
    private TimeSpan mono = TimeSpan.FromHours(1);

    [Fact]
    public void It_is_raised_at_once_below_three_percent_and_over_once_there_is_room_for_good()
    {
        Look(12, 3, 2.9);
        told.Should().Equal("raised disk-full 2.9");
        man.Open.Should().ContainSingle().Which.Should().BeEquivalentTo(
            new { Place = "", Priority = AlarmPriority.High, Measure = Measure.DiskFree, Limit = 3.0, Active = true });
        // A little is freed and written again: neither over nor told anew.
        Look(3.5, 2.2, 3.9, 1.5);
        told.Should().ContainSingle();
        man.Open[0].Worst.Should().Be(1.5);
        Look([.. Enumerable.Repeat(12.0, 20)]);
        told.Should().Equal("raised disk-full 2.9", "over disk-full 12");
    }

    [Fact]
    public void A_card_that_does_not_say_neither_raises_nor_ends_it_and_a_restart_tells_nothing_twice()
    {
        Look(null, null);
        told.Should().BeEmpty();
        Look(1);
        Look([.. Enumerable.Repeat((double?)null, 100)]);
        man.Open.Should().ContainSingle(a => a.Active);

        var again = new Watchman(new WatchOptions());
        again.Restore(man.Open, TimeSpan.FromMinutes(5), Begin + mono, 7);
        again.Disk(1, 3, TimeSpan.FromMinutes(6), Begin + mono).Should().NotContain(c => c.Tell != Telling.None);
        var changes = new List<AlarmChange>();
        for (var minute = 7; minute < 30; minute++) changes.AddRange(again.Disk(50, 3, TimeSpan.FromMinutes(minute), Begin + mono));
        changes.Where(c => c.Tell == Telling.Over).Should().ContainSingle();
    }

    private void Look(params double?[] percents)
    {
        foreach (var percent in percents)
        {
            mono += TimeSpan.FromMinutes(1);
            told.AddRange(man.Disk(percent, 3, mono, Begin + mono).Where(c => c.Tell != Telling.None)
                .Select(c => FormattableString.Invariant($"{c.Tell.ToString().ToLowerInvariant()} {c.After.Rule.Slug()} {c.After.Value}")));
        }
    }
}
