using RootCellar.Science.Tests.Keeping;

namespace RootCellar.Science.Tests.Published;

/// <summary>
/// The rows of one topic. What falls short is listed by hand with its distance, so that it can neither creep nor stay listed
/// once it is mended.
/// </summary>
/// <param name="topic">The topic.</param>
/// <param name="fallsShort">By the case: the true distance, rounded up.</param>
internal sealed class PublishedRows(string topic, IReadOnlyDictionary<string, double> fallsShort)
{
    private readonly List<PublishedCheck> _rows = [];

    /// <summary>The rows, once all are in.</summary>
    public IReadOnlyList<PublishedCheck> All
    {
        get
        {
            string[] unknown = [.. fallsShort.Keys.Except(_rows.Select(row => row.What))];
            return unknown is [] ? _rows : throw new InvalidOperationException(
                $"{topic}: listed as falling short, but there is no such case: {string.Join("; ", unknown)}");
        }
    }

    /// <summary>A single published figure.</summary>
    public void Near(string what, string source, string unit, double published, double ours, double tolerance, bool fitted = false,
        string? remark = null, bool worked = false) =>
        Add(new(topic, what, source, unit, published, ours, tolerance, fitted, remark, Worked: worked),
            beyond => $"falls short by {beyond:G2} {unit} more than the {tolerance:G3} that would do");

    /// <summary>A published range: its middle, and half of it allowed.</summary>
    public void Within(string what, string source, string unit, double low, double high, double ours, bool fitted = false,
        string? remark = null) =>
        Add(new(topic, what, source, unit, (low + high) / 2, ours, (high - low) / 2, fitted,
                $"published {low:0.##} to {high:0.##}{(remark is null ? "" : $"; {remark}")}"),
            beyond => $"falls short by {beyond:G2} {unit}");

    /// <summary>"Less than": a limit.</summary>
    public void AtMost(string what, string source, string unit, double limit, double ours, bool worked, string? remark = null) =>
        Add(new(topic, what, source, unit, limit, ours, 0, Remark: remark, AtMost: true, Worked: worked),
            beyond => $"falls short by {beyond:G2} {unit}");

    /// <summary>A published loss, percent, a figure or a limit: allowed as far as our own 90 % interval goes.</summary>
    public void InsideInterval(string what, string source, Seen published, TrialLosses.Loss ours, bool fitted = false,
        string? remark = null, bool worked = false) =>
        Add(new(topic, what, source, "%", published.LossPercent, ours.Mid,
                published.LossPercent > ours.Mid ? ours.High - ours.Mid : ours.Mid - ours.Low, fitted, remark, published.AtMost, worked),
            _ => $"falls short: our 90 % interval is {ours.Low:0.0#} to {ours.High:0.0#}");

    private void Add(PublishedCheck row, Func<double, string> shortBy)
    {
        // A hair for the last bits of a double at the very edge of a range.
        double allowed = row.Allowed + 1e-9 * Math.Abs(row.Published);
        row = row with { Allowed = allowed };
        if (fallsShort.TryGetValue(row.What, out double known))
        {
            double distance = Math.Abs(row.Distance);
            if (distance <= allowed)
                throw new InvalidOperationException(
                    $"{topic}: {row.What} no longer falls short ({distance} away, {allowed} would do): strike it from the list.");
            string by = shortBy(distance - allowed);
            row = row with { KnownShort = known, Remark = row.Remark is null ? by : $"{by}; {row.Remark}" };
        }

        _rows.Add(row);
    }
}
