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
    private double dose;
    private double excess;
    private double doubt;
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

    /// <summary>
    /// How long until it is raised, or returned, if the value stays as it was last seen; null where neither delay runs.
    /// </summary>
    public TimeSpan? Left
    {
        get
        {
            if (lastSeen is null) return null;
            if (Active) return ReturningSince is null ? null : Positive(offDelay - held);
            if (!pending || excess <= 0) return null;
            var byDose = TimeSpan.FromSeconds(Math.Min(1e9, Math.Max(0, (doubt * onDelay.TotalSeconds) - dose) / excess));
            var byTime = Positive(onDelay - held);
            return byDose > byTime ? byDose : byTime;
        }
    }

    /// <param name="value">In the limit's unit; null or NaN when it is not known.</param>
    /// <param name="limit">May change between calls: bands follow the crops in a place.</param>
    /// <param name="mono">When it was seen.</param>
    /// <param name="accuracy">
    /// How far the sensor may be off, in the limit's unit. A value beyond the limit by less than this must hold longer, so that how far
    /// times how long is at least the accuracy times the on-delay: 79.7 % against 80 % by a sensor good to 3 % takes ten on-delays
    /// (assumed).
    /// </param>
    public LimitStep Observe(double? value, double limit, TimeSpan mono, double accuracy = 0)
    {
        if (value is not { } v || double.IsNaN(v))
        {
            lastSeen = null;
            return LimitStep.None;
        }

        var elapsed = lastSeen is { } last && mono > last ? mono - last : TimeSpan.Zero;
        lastSeen = mono;
        Beyond = side == Side.Above ? v > limit : v < limit;
        excess = Math.Abs(v - limit);
        doubt = accuracy;
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

    private static TimeSpan Positive(TimeSpan span) => span > TimeSpan.Zero ? span : TimeSpan.Zero;

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
            dose += excess * elapsed.TotalSeconds;
        }
        else
        {
            pending = true;
            held = TimeSpan.Zero;
            dose = 0;
            Since = mono;
        }

        if (held < onDelay || dose < (doubt * onDelay.TotalSeconds) - 1e-6)
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
