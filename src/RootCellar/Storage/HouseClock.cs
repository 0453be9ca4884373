namespace RootCellar.Storage;

/// <summary>The time came to be known: what was stamped from <see cref="From"/> to <see cref="To"/> happened so much later.</summary>
/// <param name="From">By the time as it was counted.</param>
/// <param name="To">The same.</param>
/// <param name="By">How far the counted time was behind; below zero where it was ahead.</param>
internal sealed record TimePutRight(DateTimeOffset From, DateTimeOffset To, TimeSpan By)
{
    /// <summary>When that was.</summary>
    public DateTimeOffset Of(DateTimeOffset at) => at >= From && at <= To ? at + By : at;

    /// <inheritdoc cref="Of(DateTimeOffset)"/>
    public DateTimeOffset? Of(DateTimeOffset? at) => at is { } known ? Of(known) : null;
}

/// <summary>What lies beside the record of the time while it is not known, so that a start within the same start of the machine goes on with it.</summary>
internal sealed record ClockNote
{
    /// <summary>The start of the machine it is of; see <see cref="MachineClock.Boot"/>.</summary>
    public string? Boot { get; init; }

    /// <summary>From where on, and since which stamp of the monotonic clock, the time is counted; null where it is known.</summary>
    public DateTimeOffset? From { get; init; }

    public long Stamp { get; init; }

    /// <summary>How far ahead of the machine's clock the time is that a phone gave; null where none did.</summary>
    public TimeSpan? Phone { get; init; }
}

/// <summary>
/// The time of the house. It is the machine's, unless that cannot be right: a machine without a battery clock starts with the time it had
/// when its power went, or an older one. While it waits to be set, or is earlier than when the service last watched, the time goes on from
/// there on the monotonic clock, so that no wrong clock, behind or ahead, is acted upon. When the time is known it makes one step, and what
/// was stamped meanwhile moves with it (<see cref="Set"/>). Without the internet a phone gives the time (<see cref="SetByPhone"/>).
/// </summary>
internal sealed class HouseClock : TimeProvider
{
    /// <summary>So long quiet hours, report and housekeeping wait for the time to be known; then they go by the counted one (assumed).</summary>
    public static readonly TimeSpan WaitsFor = TimeSpan.FromHours(1);

    // How long the power was off is not known: what was measured before says nothing about now (assumed, as at any start).
    private static readonly TimeSpan LongAway = TimeSpan.FromHours(2);

    // Within this a clock is being kept right, and the note of the last watch is a minute old at most.
    private static readonly TimeSpan Slack = TimeSpan.FromMinutes(2);

    private readonly MachineClock machine;
    private readonly KeptFile<ClockNote> file;
    private readonly DateTimeOffset startedAt;
    private readonly long started;
    private readonly bool goesOn;
    private volatile State current;

    /// <param name="folder">The data folder.</param>
    /// <param name="machine">The machine's clocks.</param>
    public HouseClock(string folder, MachineClock machine)
    {
        this.machine = machine;
        file = new KeptFile<ClockNote>(folder, DataFolder.Clock);
        (startedAt, started) = (machine.Now, machine.Time.GetTimestamp());
        var note = file.Read().Content;
        goesOn = note.Boot is not null && note.Boot == machine.Boot;
        if (goesOn && note.From is { } from)
        {
            current = new State(from, note.Stamp, TimeSpan.Zero);
            return;
        }

        var keeper = machine.Keeper;
        if (goesOn && note.Phone is { } ahead && keeper != ClockKeeper.HasSet)
        {
            current = new State(null, 0, ahead);
            return;
        }

        var last = LastWatched(folder);
        var earliest = last > machine.Built ? last.Value : machine.Built;
        var behind = startedAt < earliest - Slack;
        current = keeper == ClockKeeper.HasSet || (keeper == ClockKeeper.NotAsked && !behind) ? State.Known
            : new State(last is null && !behind ? startedAt : earliest, started, TimeSpan.Zero);
    }

    /// <summary>Whether the time is known.</summary>
    public bool IsKnown => current.From is null;

    /// <summary>Since when it is not, by the time as it is counted; null where it is.</summary>
    public DateTimeOffset? CountedSince => current.From;

    /// <summary>Whether what hangs on the hour goes by it: it is known, or was waited for long enough.</summary>
    public bool HourCounts => current is var now && (now.From is null || machine.Time.GetElapsedTime(now.Stamp) >= WaitsFor);

    /// <summary>How much longer than the time says the service may have been away at this start.</summary>
    public TimeSpan MayHaveBeenAway => IsKnown || goesOn ? TimeSpan.Zero : LongAway;

    public override TimeZoneInfo LocalTimeZone => machine.Time.LocalTimeZone;

    public override long TimestampFrequency => machine.Time.TimestampFrequency;

    /// <summary>Whether what hangs on the hour goes by a clock; every other clock's hour counts.</summary>
    public static bool HourCountsOn(TimeProvider time) => time is not HouseClock { HourCounts: false };

    public override DateTimeOffset GetUtcNow() => Now(current);

    public override long GetTimestamp() => machine.Time.GetTimestamp();

    public override ITimer CreateTimer(TimerCallback callback, object? state, TimeSpan dueTime, TimeSpan period) =>
        machine.Time.CreateTimer(callback, state, dueTime, period);

    /// <summary>Notes that the time is not known, before anything is stamped by it.</summary>
    /// <exception cref="IOException">It could not be written.</exception>
    /// <exception cref="UnauthorizedAccessException">The same.</exception>
    public void Begin()
    {
        if (current is { From: { } from } now) file.Write(new ClockNote { Boot = machine.Boot, From = from, Stamp = now.Stamp }, setAside: false);
    }

    /// <summary>Whether the machine's clock can be gone by now and was not before.</summary>
    public bool MachineIsRight
    {
        get
        {
            var (now, keeper) = (machine.Now, machine.Keeper);
            if (current.From is null) return current.Ahead != TimeSpan.Zero && keeper == ClockKeeper.HasSet;
            // Where nobody can be asked, and where somebody set it by hand while the time service waits.
            var wasSet = (now - startedAt - machine.Time.GetElapsedTime(started)).Duration() > Slack;
            return keeper == ClockKeeper.HasSet || ((keeper == ClockKeeper.NotAsked || wasSet) && now >= GetUtcNow() - Slack);
        }
    }

    /// <summary>From now on the machine's clock is gone by. What is to be moved; null where nothing is.</summary>
    public TimePutRight? Set() => SetAhead(TimeSpan.Zero);

    /// <summary>From now on the time is the one of a phone, until the machine's clock is set.</summary>
    /// <param name="now">What the phone's clock shows.</param>
    /// <returns>What is to be moved; null where nothing is.</returns>
    public TimePutRight? SetByPhone(DateTimeOffset now) => SetAhead(now - machine.Now);

    /// <summary>A moment this early is no time of this program.</summary>
    public bool IsTooEarly(DateTimeOffset now) => now < machine.Built - TimeSpan.FromDays(1);

    /// <summary>What was to be moved is moved.</summary>
    /// <exception cref="IOException">It could not be written; it is done again after a start within this one of the machine.</exception>
    /// <exception cref="UnauthorizedAccessException">The same.</exception>
    public void End() => file.Write(
        new ClockNote { Boot = machine.Boot, Phone = current.Ahead == TimeSpan.Zero ? null : current.Ahead }, setAside: false);

    private TimePutRight? SetAhead(TimeSpan ahead)
    {
        var before = current;
        var counted = Now(before);
        current = new State(null, 0, ahead);
        return before.From is { } from ? new TimePutRight(from, counted, GetUtcNow() - counted) : null;
    }

    private DateTimeOffset Now(State now) =>
        now.From is { } from ? from + machine.Time.GetElapsedTime(now.Stamp) : machine.Now + now.Ahead;

    // A record that was put back, or is of an earlier program, has no note of the last watch beside it.
    private static DateTimeOffset? LastWatched(string folder)
    {
        foreach (var name in new[] { DataFolder.Alive, StoreFile.Name })
        {
            var path = Path.Combine(folder, name);
            if (File.Exists(path)) return new DateTimeOffset(File.GetLastWriteTimeUtc(path));
        }

        return null;
    }

    /// <param name="From">Where counting began; null where the time is known.</param>
    /// <param name="Stamp">The monotonic clock then.</param>
    /// <param name="Ahead">How far a known time is ahead of the machine's clock.</param>
    private sealed record State(DateTimeOffset? From, long Stamp, TimeSpan Ahead)
    {
        public static readonly State Known = new(null, 0, TimeSpan.Zero);
    }
}
