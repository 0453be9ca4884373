
namespace RootCellar.Demo;

/// <summary>
/// A clock for invented time: stepped by hand while it stands, or flowing at a multiple of real time. Wall time and the
/// monotonic timestamp come from the same count, so they always agree. It never runs backwards. Thread safe.
/// </summary>
/// <remarks>
/// While it stands, a step runs every timer that fell due, on the caller's thread, before it returns. While it flows,
/// callbacks come on the thread pool, as they do from the system's clock. In both, a periodic timer that missed several
/// periods fires once and goes on in its old rhythm: a reader that fell behind wants the next beat, not a burst.
/// </remarks>
internal sealed class StoryClock : TimeProvider, IDisposable
{
    private readonly Lock gate = new();
    private readonly TimeProvider real;
    private readonly DateTimeOffset start;
    private readonly SortedSet<StoryTimer> armed = new(StoryTimer.ByDue);
    private readonly ITimer pump;
    private long anchorTicks;
    private long anchorReal;
    private double speed;
    private long lastTicks;
    private long timersMade;
    private bool disposed;

    /// <param name="start">The instant the story begins; the timestamp counts from here.</param>
    /// <param name="zone">The household's time zone; UTC when none is given.</param>
    /// <param name="real">What flowing time is a multiple of; the system's clock when none is given.</param>
    public StoryClock(DateTimeOffset start, TimeZoneInfo? zone = null, TimeProvider? real = null)
    {
        this.start = start.ToUniversalTime();
        LocalTimeZone = zone ?? TimeZoneInfo.Utc;
        this.real = real ?? System;
        pump = this.real.CreateTimer(_ => Pump(), null, Timeout.InfiniteTimeSpan, Timeout.InfiniteTimeSpan);
    }

    public override TimeZoneInfo LocalTimeZone { get; }

    public override long TimestampFrequency => TimeSpan.TicksPerSecond;

    /// <summary>How many times faster than real time it flows; 0 while it stands.</summary>
    public double Speed
    {
        get
        {
            lock (gate)
                return speed;
        }
    }

    public override DateTimeOffset GetUtcNow() => start.AddTicks(GetTimestamp());

    public override long GetTimestamp()
    {
        lock (gate)
            return Ticks();
    }

    /// <summary>Lets time flow from where it stands.</summary>
    public void RunAt(double timesRealTime)
    {
        if (!(timesRealTime > 0 && timesRealTime <= 1e6))
            throw new ArgumentOutOfRangeException(nameof(timesRealTime), timesRealTime,
                "The speed must be above 0 and at most 1,000,000 times real time.");

        lock (gate)
        {
            ObjectDisposedException.ThrowIf(disposed, this);
            Anchor();
            speed = timesRealTime;
            Arm();
        }
    }

    /// <summary>Stops the flow; from here on it moves by steps only.</summary>
    public void Pause()
    {
        lock (gate)
        {
            Anchor();
            speed = 0;
            Arm();
        }
    }

    public void Advance(TimeSpan by) => AdvanceTo(GetUtcNow() + by);

    /// <summary>Steps to an instant and runs what fell due on the way. Callbacks see the instant stepped to.</summary>
    /// <exception cref="InvalidOperationException">It is flowing.</exception>
    public void AdvanceTo(DateTimeOffset instant)
    {
        lock (gate)
        {
            if (speed > 0)
                throw new InvalidOperationException("The clock is flowing; pause it before stepping it.");

            var target = (instant - start).Ticks;
            if (target < Ticks())
                throw new ArgumentOutOfRangeException(nameof(instant), instant, "The clock does not run backwards.");

            anchorTicks = target;
        }

        while (NextDue() is { } timer)
            timer.Run();
    }

    public override ITimer CreateTimer(TimerCallback callback, object? state, TimeSpan dueTime, TimeSpan period)
    {
        ArgumentNullException.ThrowIfNull(callback);
        lock (gate)
        {
            ObjectDisposedException.ThrowIf(disposed, this);
            var timer = new StoryTimer(this, callback, state, ++timersMade);
            Change(timer, dueTime, period);
            return timer;
        }
    }

    public void Dispose()
    {
        lock (gate)
        {
            disposed = true;
            armed.Clear();
        }

        pump.Dispose();
    }

    internal bool Change(StoryTimer timer, TimeSpan dueTime, TimeSpan period)
    {
        RequireDelay(dueTime, nameof(dueTime));
        RequireDelay(period, nameof(period));
        lock (gate)
        {
            if (disposed || timer.Disposed)
                return false;

            armed.Remove(timer);
            // A period of nought means "once", as with the system's timers.
            timer.PeriodTicks = period > TimeSpan.Zero ? period.Ticks : 0;
            if (dueTime != Timeout.InfiniteTimeSpan)
            {
                timer.DueTicks = Ticks() + dueTime.Ticks;
                armed.Add(timer);
            }

            Arm();
            return true;
        }
    }

    internal void Remove(StoryTimer timer)
    {
        lock (gate)
        {
            timer.Disposed = true;
            armed.Remove(timer);
        }
    }

    private static void RequireDelay(TimeSpan delay, string name)
    {
        if (delay < TimeSpan.Zero && delay != Timeout.InfiniteTimeSpan)
            throw new ArgumentOutOfRangeException(name, delay, "The delay must be nought or more, or infinite.");
    }

    private long Ticks()
    {
        var flowed = speed > 0 ? real.GetElapsedTime(anchorReal).Ticks * speed : 0;
        return lastTicks = Math.Max(lastTicks, anchorTicks + (long)flowed);
    }

    private void Anchor()
    {
        anchorTicks = Ticks();
        anchorReal = real.GetTimestamp();
    }

    private void Pump()
    {
        while (NextDue() is { } timer)
            ThreadPool.UnsafeQueueUserWorkItem(static due => due.Run(), timer, preferLocal: false);

        lock (gate)
            Arm();
    }

    private StoryTimer? NextDue()
    {
        lock (gate)
        {
            var now = Ticks();
            if (armed.Min is not { } timer || timer.DueTicks > now)
                return null;

            armed.Remove(timer);
            if (timer.PeriodTicks > 0)
            {
                timer.DueTicks += ((now - timer.DueTicks) / timer.PeriodTicks + 1) * timer.PeriodTicks;
                armed.Add(timer);
            }

            return timer;
        }
    }

    private void Arm()
    {
        if (disposed)
            return;

        pump.Change(RealDelay(), Timeout.InfiniteTimeSpan);

        TimeSpan RealDelay()
        {
            if (armed.Min is not { } timer)
                return Timeout.InfiniteTimeSpan;

            var left = timer.DueTicks - Ticks();
            if (left <= 0)
                return TimeSpan.Zero;
            if (speed <= 0)
                return Timeout.InfiniteTimeSpan;

            // Whole milliseconds, rounded up: real timers know nothing finer, and one that came early would only be set again.
            // Far ones are looked at again in an hour, well inside what a real timer can hold.
            return TimeSpan.FromMilliseconds(Math.Min(Math.Ceiling(left / speed / TimeSpan.TicksPerMillisecond), 3_600_000));
        }
    }
}

/// <summary>One timer of a <see cref="StoryClock"/>; its fields belong to the clock and its lock.</summary>
internal sealed class StoryTimer(StoryClock clock, TimerCallback callback, object? state, long number) : ITimer
{
    private readonly ExecutionContext? context = ExecutionContext.Capture();

    internal static IComparer<StoryTimer> ByDue { get; } = Comparer<StoryTimer>.Create(
        static (a, b) => a.DueTicks != b.DueTicks ? a.DueTicks.CompareTo(b.DueTicks) : a.Number.CompareTo(b.Number));

    internal long Number { get; } = number;

    internal long DueTicks { get; set; }

    internal long PeriodTicks { get; set; }

    internal bool Disposed { get; set; }

    public bool Change(TimeSpan dueTime, TimeSpan period) => clock.Change(this, dueTime, period);

    public void Dispose() => clock.Remove(this);

    public ValueTask DisposeAsync()
    {
        Dispose();
        return ValueTask.CompletedTask;
    }

    internal void Run()
    {
        if (context is null)
            Call();
        else
            ExecutionContext.Run(context, static timer => ((StoryTimer)timer!).Call(), this);
    }
    private void Call() => callback(state);
}
