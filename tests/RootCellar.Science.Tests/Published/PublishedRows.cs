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
        string? remark = null) =>
        Add(what, source, unit, published, ours, tolerance, fitted, remark,
            beyond => $"falls short by {beyond:G2} {unit} more than the {tolerance:G3} that would do");

    /// <summary>A published range: its middle, and half of it allowed.</summary>
    public void Within(string what, string source, string unit, double low, double high, double ours, bool fitted = false,
        string? remark = null) =>
        Add(what, source, unit, (low + high) / 2, ours, (high - low) / 2, fitted,
            $"published {low:0.##} to {high:0.##}{(remark is null ? "" : $"; {remark}")}", beyond => $"falls short by {beyond:G2} {unit}");

    /// <summary>A published loss, percent: allowed as far as our own 90 % interval goes.</summary>
    public void InsideInterval(string what, string source, double published, TrialLosses.Loss ours, bool fitted = false,
        string? remark = null) =>
        Add(what, source, "%", published, ours.Mid, published > ours.Mid ? ours.High - ours.Mid : ours.Mid - ours.Low, fitted, remark,
            _ => $"falls short: our 90 % interval is {ours.Low:0.0#} to {ours.High:0.0#}");

    private void Add(string what, string source, string unit, double published, double ours, double tolerance, bool fitted, string? remark,
        Func<double, string> shortBy)
    {
        // A hair for the last bits of a double at the very edge of a range.
        double allowed = tolerance + 1e-9 * Math.Abs(published);
        double distance = Math.Abs(ours - published);
        if (fallsShort.TryGetValue(what, out double listed))
        {
            if (distance <= allowed)
                throw new InvalidOperationException(
                    $"{topic}: {what} no longer falls short ({distance} away, {tolerance} would do): strike it from the list.");
            string by = shortBy(distance - tolerance);
            remark = remark is null ? by : $"{by}; {remark}";
            allowed = listed;
        }

        _rows.Add(new PublishedCheck(topic, what, source, unit, published, ours, allowed, fitted, remark));
    }
}
