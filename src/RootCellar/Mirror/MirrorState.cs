using System.Text.Json.Serialization;
using RootCellar.Household;

namespace RootCellar.Mirror;

internal enum MirrorWord
{
    Off,

    /// <summary>Not looked yet.</summary>
    Starting,

    /// <summary>All that is kept is there.</summary>
    UpToDate,

    /// <summary>Points are on their way.</summary>
    Sending,

    /// <summary>The server is away; what is kept waits.</summary>
    Waiting,

    /// <summary>The server refuses: somebody has to see to it.</summary>
    Refused,
}

/// <summary>How the mirror stands at one moment; unchanging.</summary>
/// <param name="BehindRows">Points that wait, at the last look.</param>
/// <param name="CaughtUpAt">When nothing waited last.</param>
/// <param name="Problem">Why it waits or is refused, in words; null while it gets through.</param>
/// <param name="LastError">The last of those, also when it is over.</param>
/// <param name="Dropped">Points that were taken off the record before they were sent.</param>
/// <param name="Aside">Points the server called malformed.</param>
internal sealed record MirrorStanding(
    MirrorWord State,
    long BehindRows,
    DateTimeOffset? CaughtUpAt,
    DateTimeOffset? LastSuccessAt,
    string? Problem,
    string? LastError,
    DateTimeOffset? LastErrorAt,
    long Sent,
    long Dropped,
    long Aside,
    DateTimeOffset? Since)
{
    public static readonly MirrorStanding Off = new(MirrorWord.Off, 0, null, null, null, null, null, 0, 0, 0, null);

    /// <summary>How old the oldest that waits may be, s: since when something has waited.</summary>
    public double LagSeconds(DateTimeOffset now) => BehindRows == 0 ? 0 : Math.Max(0, (now - (CaughtUpAt ?? Since ?? now)).TotalSeconds);

    [JsonIgnore]
    public bool On => State != MirrorWord.Off;
}

/// <summary>What pages and metrics read; safe from any thread.</summary>
internal sealed class MirrorState
{
    private volatile MirrorStanding standing = MirrorStanding.Off;

    public MirrorStanding Now
    {
        get => standing;
        set => standing = value;
    }
}
