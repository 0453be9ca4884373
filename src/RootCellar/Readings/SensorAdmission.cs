using RootCellar.Monitoring;

namespace RootCellar.Readings;

/// <summary>Which limit turned a new sensor away.</summary>
internal enum SensorLimit
{
    /// <summary><see cref="SensorLimits.Most"/>.</summary>
    LiveState = 1,

    /// <summary><see cref="SensorLimits.MostWaitingPerClient"/>.</summary>
    Client = 2,
}

/// <summary>
/// Messages of new sensors that were turned away, summed up. How many sensors they name is not known: to know it, each would have to be
/// kept.
/// </summary>
/// <param name="Since">The first of this run; a day without one ends the run.</param>
/// <param name="Last">The latest.</param>
/// <param name="Messages">All of this run.</param>
/// <param name="ByHouse">Those of them that met the limit of the house; the others met the limit of their client.</param>
/// <param name="Client">The address that met its limit last; null where only the limit of the house was met.</param>
internal sealed record TurnedAway(DateTimeOffset Since, DateTimeOffset Last, long Messages, long ByHouse, string? Client)
{
    public long ByClient => Messages - ByHouse;
}

/// <summary>Whether a new sensor may come in. Used by one thread.</summary>
internal sealed class SensorAdmission(SensorLimits limits, ILogger log)
{
    private static readonly TimeSpan LogEvery = TimeSpan.FromHours(1);
    private static readonly TimeSpan RunEnds = TimeSpan.FromDays(1);

    private TurnedAway? now;
    private TimeSpan last;
    private TimeSpan? logged;
    private long loggedMessages;

    /// <summary>Counted since the start, by limit.</summary>
    public long ByHouse { get; private set; }

    public long ByClient { get; private set; }

    /// <summary>The present run; null when nothing was turned away for a day.</summary>
    public TurnedAway? Run(TimeSpan mono) => now is not null && mono - last < RunEnds ? now : null;

    /// <summary>The limit a new sensor meets, or null where it may come in.</summary>
    /// <param name="client">The address it comes from; null where that is not known.</param>
    public SensorLimit? Meets(IReadOnlyCollection<SensorState> known, string? client)
    {
        if (known.Count >= limits.Most) return SensorLimit.LiveState;
        if (client is null) return null;
        var waiting = 0;
        foreach (var sensor in known)
        {
            if (sensor.Client == client) waiting++;
        }

        return waiting >= limits.MostWaitingPerClient ? SensorLimit.Client : null;
    }

    /// <summary>Counts a message that was turned away; the log has the first at once and then a sum once an hour.</summary>
    public void Count(SensorLimit limit, string? client, DateTimeOffset wall, TimeSpan mono)
    {
        var house = limit == SensorLimit.LiveState;
        if (house) ByHouse++;
        else ByClient++;
        now = Run(mono) is { } run
            ? run with
            {
                Last = wall,
                Messages = run.Messages + 1,
                ByHouse = run.ByHouse + (house ? 1 : 0),
                Client = house ? run.Client : client
            }
            : new TurnedAway(wall, wall, 1, house ? 1 : 0, house ? null : client);
        if (now.Messages == 1) (logged, loggedMessages) = (null, 0);
        last = mono;
        if (logged is { } at && mono - at < LogEvery) return;
        log.LogWarning(
            "{Count} messages of new sensors were turned away: {Why}. Forget invented ones on the Sensors page, or raise the limit",
            now.Messages - loggedMessages,
            Why(limit, client));
        (logged, loggedMessages) = (mono, now.Messages);
    }

    public string Why(SensorLimit limit, string? client) => limit == SensorLimit.LiveState
        ? $"the house has its {limits.Most} sensors (Sensors:Most)"
        : $"{client} brought {limits.MostWaitingPerClient} sensors that nobody has put in a place (Sensors:MostWaitingPerClient)";
}
