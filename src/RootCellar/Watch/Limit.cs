namespace RootCellar.Watch;

internal enum Side
{
    Above,
    Below,
}

internal enum LimitStep
{
    None,
    Raised,
    Returned,
}

/// <summary>
/// One limit's life on monotonic time; the wall clock has no part in it. A value must stay beyond the limit for the
/// on-delay to raise, and back inside by the deadband for the off-delay to return. A missing value freezes everything:
/// neither delay runs, and the time until the next value does not count either, because nobody saw what the air did.
/// A value that comes back inside the limit before the on-delay is over starts it afresh.
/// </summary>
internal sealed class Limit(Side side, double deadband, TimeSpan onDelay, TimeSpan offDelay)
{
    private TimeSpan? lastSeen;
    private TimeSpan held;
    private bool pending;

    /// <summary>Raised and not yet returned.</summary>
    public bool Active { get; private set; }

    /// <summary>The last value seen was beyond the limit.</summary>
    public bool Beyond { get; private set; }

    /// <summary>Beyond the limit or raised: there is a run of time with a beginning.</summary>
    public bool Running => pending || Active;

    /// <summary>When the present run began.</summary>
    public TimeSpan Since { get; private set; }

    /// <summary>When the value came back inside for good so far; null while it has not.</summary>
    public TimeSpan? ReturningSince { get; private set; }

    /// <param name="value">In the limit's unit; null or NaN when it is not known.</param>
    /// <param name="limit">May change between calls: bands follow the crops in a place.</param>
    public LimitStep Observe(double? value, double limit, TimeSpan mono)
    {
        if (value is not { } v || double.IsNaN(v))
        {
            lastSeen = null;
            return LimitStep.None;
        }

        var elapsed = lastSeen is { } last && mono > last ? mono - last : TimeSpan.Zero;
        lastSeen = mono;
        Beyond = side == Side.Above ? v > limit : v < limit;
        var inside = side == Side.Above ? v <= limit - deadband : v >= limit + deadband;
        return Active ? Leave(inside, elapsed, mono) : Enter(elapsed, mono);
    }

    /// <summary>Takes up a raised limit after a restart.</summary>
    public void Resume(TimeSpan since)
    {
        Active = true;
        Since = since;
        ReturningSince = null;
    }

    /// <summary>Forgets everything: the limit no longer applies.</summary>
    public void Reset()
    {
        Active = Beyond = pending = false;
        ReturningSince = null;
        lastSeen = null;
    }

    private LimitStep Enter(TimeSpan elapsed, TimeSpan mono)
    {
        if (!Beyond)
        {
            pending = false;
            return LimitStep.None;
        }

        if (pending)
        {
            held += elapsed;
        }
        else
        {
            pending = true;
            held = TimeSpan.Zero;
            Since = mono;
        }

        if (held < onDelay)
            return LimitStep.None;

        pending = false;
        Active = true;
        ReturningSince = null;
        return LimitStep.Raised;
    }

    private LimitStep Leave(bool inside, TimeSpan elapsed, TimeSpan mono)
    {
        if (!inside)
        {
            ReturningSince = null;
            return LimitStep.None;
        }

        if (ReturningSince is null)
        {
            ReturningSince = mono;
            held = TimeSpan.Zero;
        }
        else
        {
            held += elapsed;
        }

        if (held < offDelay)
            return LimitStep.None;

        Active = false;
        return LimitStep.Returned;
    }
}
