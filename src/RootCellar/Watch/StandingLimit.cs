namespace RootCellar.Watch;

/// <summary>Where a broken limit stands.</summary>
internal enum StandingState
{
    /// <summary>Beyond the limit, not yet for the on-delay.</summary>
    Pending,

    /// <summary>Raised, and still beyond the limit.</summary>
    Alarm,

    /// <summary>Raised, and back inside the limit, but not yet far or long enough to be over.</summary>
    Returning,
}

/// <summary>A limit of a room's air that is broken or was until just now.</summary>
/// <param name="Since">When it was first beyond the limit.</param>
/// <param name="Until">When it will be raised, or over, if the air stays as it is; null where that is not foreseen.</param>
/// <param name="Alarm">The open alarm; null while it is pending.</param>
internal readonly record struct StandingLimit(
    Rule Rule, StandingState State, Shown Shown, double? Worst, DateTimeOffset Since, DateTimeOffset? Until, string? Alarm);
