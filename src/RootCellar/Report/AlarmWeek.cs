using RootCellar.Watch;

namespace RootCellar.Report;

/// <summary>How long something took, over the alarms where it happened.</summary>
internal sealed record HowFast(int Count, TimeSpan Median, TimeSpan Slowest);

/// <summary>
/// The week's alarms, each raising by itself, and how fast they were seen to. One that another mutes by now was told before it, and is
/// counted.
/// </summary>
/// <param name="Open">Those that still held at the end of the week.</param>
/// <param name="Unseen">Raised and acknowledged by nobody by then.</param>
/// <param name="Acknowledged">From raising; null where none was.</param>
/// <param name="Returned">How long they lasted, see <see cref="Alarm.Lasted"/>.</param>
internal sealed record AlarmWeek(int Raised, IReadOnlyList<Alarm> Open, int Unseen, HowFast? Acknowledged, HowFast? Returned,
    IReadOnlyList<Alarm> All)
{
    public static AlarmWeek Of(IReadOnlyList<Alarm> alarms, DateTimeOffset until)
    {
        var all = alarms.OrderByDescending(a => a.Priority).ThenBy(a => a.RaisedAt).ThenBy(a => a.Id, StringComparer.Ordinal).ToList();
        var seen = all.Where(a => a.AcknowledgedAt is { } at && at < until).Select(a => a.AcknowledgedAt!.Value - a.RaisedAt);
        var over = all.Where(a => a.ReturnedAt is { } at && at < until).Select(a => a.Lasted(until));
        return new AlarmWeek(
            all.Count, [.. all.Where(a => a.ReturnedAt is not { } at || at >= until)],
            all.Count(a => a.AcknowledgedAt is not { } at || at >= until), Fast(seen), Fast(over), all);
    }

    /// <summary>The median of an even number is the mean of the two in the middle.</summary>
    private static HowFast? Fast(IEnumerable<TimeSpan> times)
    {
        var sorted = times.Select(t => t < TimeSpan.Zero ? TimeSpan.Zero : t).Order().ToList();
        return sorted.Count == 0 ? null : new HowFast(
            sorted.Count, (sorted[(sorted.Count - 1) / 2] + sorted[sorted.Count / 2]) / 2, sorted[^1]);
    }
}
