using Microsoft.Extensions.Time.Testing;
using RootCellar.Demo;

namespace RootCellar.Tests.Demo;

public class StoryClockTests
{
    private static readonly DateTimeOffset Start = new(2026, 9, 5, 15, 0, 0, TimeSpan.Zero);
    private static readonly TimeSpan Patience = TimeSpan.FromSeconds(10);

    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    [Fact]
    public void It_stands_until_it_is_stepped()
    {
        var real = new FakeTimeProvider();
        using var clock = new StoryClock(Start, real: real);
        real.Advance(TimeSpan.FromHours(1));
        clock.GetUtcNow().Should().Be(Start);

        var before = clock.GetTimestamp();
        clock.Advance(TimeSpan.FromMinutes(10));
        clock.GetUtcNow().Should().Be(Start.AddMinutes(10));
        clock.GetElapsedTime(before).Should().Be(TimeSpan.FromMinutes(10));
    }

    [Fact]
    public void A_delay_ends_with_the_step_that_reaches_it_and_not_before()
    {
        using var clock = new StoryClock(Start);
        var delay = Task.Delay(TimeSpan.FromMinutes(10), clock, Cancel);
        clock.Advance(TimeSpan.FromMinutes(10) - TimeSpan.FromTicks(1));
        delay.IsCompleted.Should().BeFalse();
        clock.Advance(TimeSpan.FromTicks(1));
        delay.IsCompletedSuccessfully.Should().BeTrue("a step runs what is due before it returns");
    }

    [Fact]
    public void Timers_fire_in_the_order_they_fall_due_and_those_of_one_moment_in_the_order_they_were_made()
    {
        using var clock = new StoryClock(Start);
        List<string> fired = [];
        using var late = clock.CreateTimer(_ => fired.Add("late"), null, TimeSpan.FromSeconds(9), Timeout.InfiniteTimeSpan);
        using var first = clock.CreateTimer(_ => fired.Add("first"), null, TimeSpan.FromSeconds(3), Timeout.InfiniteTimeSpan);
        using var second = clock.CreateTimer(_ => fired.Add("second"), null, TimeSpan.FromSeconds(3), Timeout.InfiniteTimeSpan);
        clock.Advance(TimeSpan.FromMinutes(1));
        fired.Should().Equal("first", "second", "late");
    }

    [Fact]
    public void A_periodic_timer_that_missed_several_periods_fires_once_and_keeps_its_rhythm()
    {
        using var clock = new StoryClock(Start);
        List<DateTimeOffset> fired = [];
        using var timer = clock.CreateTimer(_ => fired.Add(clock.GetUtcNow()), null, TimeSpan.FromMinutes(1), TimeSpan.FromMinutes(1));
        clock.Advance(TimeSpan.FromMinutes(5.5));
        fired.Should().Equal(Start.AddMinutes(5.5));
        clock.Advance(TimeSpan.FromMinutes(0.25));
        fired.Should().HaveCount(1);
        clock.Advance(TimeSpan.FromMinutes(0.25));
        fired.Should().Equal(Start.AddMinutes(5.5), Start.AddMinutes(6));
    }

    [Fact]
    public async Task A_PeriodicTimer_ticks_with_the_steps()
    {
        using var clock = new StoryClock(Start);
        using var timer = new PeriodicTimer(TimeSpan.FromSeconds(10), clock);
        for (var i = 0; i < 3; i++)
        {
            var tick = timer.WaitForNextTickAsync(Cancel);
            tick.IsCompleted.Should().BeFalse();
            clock.Advance(TimeSpan.FromSeconds(10));
            (await tick).Should().BeTrue();
        }
    }

    [Fact]
    public void A_timer_disposed_or_disarmed_stays_silent_and_one_changed_fires_at_its_new_time()
    {
        using var clock = new StoryClock(Start);
        var fired = 0;
        var timer = clock.CreateTimer(_ => fired++, null, TimeSpan.FromSeconds(5), Timeout.InfiniteTimeSpan);
        timer.Change(TimeSpan.FromSeconds(20), Timeout.InfiniteTimeSpan).Should().BeTrue();
        clock.Advance(TimeSpan.FromSeconds(19));
        fired.Should().Be(0);
        clock.Advance(TimeSpan.FromSeconds(1));
        fired.Should().Be(1);

        timer.Change(TimeSpan.FromSeconds(5), TimeSpan.FromSeconds(5)).Should().BeTrue();
        timer.Change(Timeout.InfiniteTimeSpan, Timeout.InfiniteTimeSpan).Should().BeTrue();
        clock.Advance(TimeSpan.FromMinutes(1));
        fired.Should().Be(1);

        timer.Change(TimeSpan.FromSeconds(5), TimeSpan.FromSeconds(5)).Should().BeTrue();
        timer.Dispose();
        clock.Advance(TimeSpan.FromMinutes(1));
        fired.Should().Be(1);
        timer.Change(TimeSpan.Zero, TimeSpan.Zero).Should().BeFalse();
    }

    [Fact]
    public async Task It_flows_at_a_multiple_of_real_time_and_both_its_readings_agree()
    {
        var real = new FakeTimeProvider();
        using var clock = new StoryClock(Start, real: real);
        clock.Advance(TimeSpan.FromDays(12));
        var (wall, mono) = (clock.GetUtcNow(), clock.GetTimestamp());
        clock.RunAt(600);
        real.Advance(TimeSpan.FromSeconds(3));
        clock.GetUtcNow().Should().Be(wall.AddMinutes(30));
        clock.GetElapsedTime(mono).Should().Be(TimeSpan.FromMinutes(30));

        var delay = Task.Delay(TimeSpan.FromMinutes(10), clock, Cancel);
        real.Advance(TimeSpan.FromMilliseconds(999));
        delay.IsCompleted.Should().BeFalse();
        real.Advance(TimeSpan.FromMilliseconds(1));
        await delay.WaitAsync(Patience, Cancel);

        clock.RunAt(60);
        real.Advance(TimeSpan.FromSeconds(1));
        clock.GetUtcNow().Should().Be(wall.AddMinutes(41), "a change of speed goes on from where it is");

        clock.Pause();
        real.Advance(TimeSpan.FromHours(1));
        clock.GetUtcNow().Should().Be(wall.AddMinutes(41));
        clock.Advance(TimeSpan.FromMinutes(1));
        clock.GetUtcNow().Should().Be(wall.AddMinutes(42));
    }

    [Fact]
    public async Task A_timer_set_while_it_stood_fires_once_it_flows()
    {
        using var clock = new StoryClock(Start);
        var delay = Task.Delay(TimeSpan.FromMinutes(10), clock, Cancel);
        clock.RunAt(60_000);
        await delay.WaitAsync(Patience, Cancel);
        clock.GetUtcNow().Should().BeOnOrAfter(Start.AddMinutes(10));
    }

    [Fact]
    public async Task A_PeriodicTimer_goes_on_by_itself_on_the_systems_clock()
    {
        using var clock = new StoryClock(Start);
        using var timer = new PeriodicTimer(TimeSpan.FromMinutes(1), clock);
        clock.RunAt(60_000);
        var last = clock.GetTimestamp();
        for (var i = 0; i < 20; i++)
        {
            (await timer.WaitForNextTickAsync(Cancel).AsTask().WaitAsync(Patience, Cancel)).Should().BeTrue();
            var now = clock.GetTimestamp();
            now.Should().BeGreaterThan(last);
            last = now;
        }

        clock.GetUtcNow().Should().BeOnOrAfter(Start.AddMinutes(19));
    }

    [Fact]
    public async Task A_timer_due_at_once_fires_even_while_it_stands()
    {
        using var clock = new StoryClock(Start);
        var fired = new TaskCompletionSource(TaskCreationOptions.RunContinuationsAsynchronously);
        await using var timer = clock.CreateTimer(_ => fired.TrySetResult(), null, TimeSpan.Zero, Timeout.InfiniteTimeSpan);
        await fired.Task.WaitAsync(Patience, Cancel);
        clock.GetUtcNow().Should().Be(Start);
    }

    [Fact]
    public void It_neither_runs_backwards_nor_is_stepped_while_it_flows()
    {
        using var clock = new StoryClock(Start);
        var back = () => clock.AdvanceTo(Start.AddSeconds(-1));
        back.Should().Throw<ArgumentOutOfRangeException>();
        clock.RunAt(2);
        var step = () => clock.Advance(TimeSpan.FromDays(1));
        step.Should().Throw<InvalidOperationException>();
        var stop = () => clock.RunAt(0);
        stop.Should().Throw<ArgumentOutOfRangeException>();
    }

    [Fact]
    public async Task Many_threads_may_set_timers_while_one_steps()
    {
        using var clock = new StoryClock(Start);
        var fired = 0;
        var setters = Enumerable.Range(0, 4).Select(n => Task.Run(
            () =>
            {
                for (var i = 0; i < 500; i++)
                    clock.CreateTimer(_ => Interlocked.Increment(ref fired), null, TimeSpan.FromSeconds(1 + (n + i) % 7),
                        Timeout.InfiniteTimeSpan);
            },
            Cancel)).ToArray();
        var all = Task.WhenAll(setters);
        while (!all.IsCompleted)
            clock.Advance(TimeSpan.FromSeconds(1));
        await all;
        clock.Advance(TimeSpan.FromSeconds(8));
        // One that was set while a step was going on may be due at once, and such a timer comes on the thread pool.
        SpinWait.SpinUntil(() => Volatile.Read(ref fired) == 2000, Patience);
        fired.Should().Be(2000);
    }

    [Fact]
    public void Local_time_is_the_households()
    {
        using var clock = new StoryClock(Homestead.HistoryEnd, Homestead.Zone);
        clock.GetLocalNow().DateTime.Should().Be(new DateTime(2026, 9, 17, 11, 0, 0, DateTimeKind.Unspecified));
    }
}
