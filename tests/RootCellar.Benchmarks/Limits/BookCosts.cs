using RootCellar.Household;
using RootCellar.Ledger;
using RootCellar.Tests.Ledger;

namespace RootCellar.Benchmarks.Limits;

/// <summary>What a book of fifty thousand entries costs, and one more entry in it.</summary>
internal static class BookCosts
{
    private const int Entries = 50_000;

    /// <summary>What is over its limit.</summary>
    public static IEnumerable<string> Measure(TimeProvider clock, Action<string> say)
    {
        var entries = BookProperties.ManyYears(Entries);
        var recorded = entries.ConvertAll(Bookkeeping.Recorded);
        BookBuilder.Build(recorded, HouseholdCalendar.Utc);
        var begun = clock.GetTimestamp();
        recorded = entries.ConvertAll(Bookkeeping.Recorded);
        var reading = clock.GetElapsedTime(begun);
        begun = clock.GetTimestamp();
        BookBuilder.Build(recorded, HouseholdCalendar.Utc);
        var whole = clock.GetElapsedTime(begun);
        say($"{Entries:n0} events: read in {reading.TotalMilliseconds:0} ms, made into a book in {whole.TotalMilliseconds:0} ms");
        // About twice what reading them takes. A square somewhere in it would be far above.
        if (whole > (8 * reading) + TimeSpan.FromSeconds(2)) yield return $"the whole book: {whole.TotalMilliseconds:0} ms";
        foreach (var (what, timesLess) in ((string, int)[])[("now", 20), ("a week late", 10), ("a correction of a year ago", 1)])
        {
            var median = OneMore(what, entries, recorded, clock);
            say($"one more event, {what}: {median.TotalMilliseconds:0.0} ms");
            if (median > whole / timesLess) yield return $"one more event, {what}: {median.TotalMilliseconds:0} ms, limit {(whole / timesLess).TotalMilliseconds:0} ms";
        }
    }

    /// <summary>The middle of seven.</summary>
    private static TimeSpan OneMore(string what, List<LedgerEntry> entries, List<Recorded> recorded, TimeProvider clock)
    {
        var builder = new BookBuilder(HouseholdCalendar.Utc);
        builder.Add(recorded);
        var last = entries[^1].At;
        var of = entries.FindIndex(e => e.Event == "eaten" && e.At > last.AddYears(-1)) + 1;
        var times = new List<TimeSpan>();
        for (var i = 0; i < 7; i++)
        {
            var correction = what.Contains("correction", StringComparison.Ordinal);
            var fields = EventReader.Element(correction ? BookProperties.New(null, ("weightKg", 0.8)) : BookProperties.New(null, ("bin", $"B{i}"), ("weightKg", 1)));
            var next = what switch
            {
                "now" => new LedgerEntry(Entries + 1 + i, "eaten", last.AddMinutes(i), last.AddMinutes(i), null, null, fields, null, null),
                "a week late" => new LedgerEntry(Entries + 1 + i, "eaten", last.AddDays(-7), last, null, null, fields, null, null),
                _ => new LedgerEntry(Entries + 1 + i, "correction", last, last, null, null, fields, null, of),
            };
            var begun = clock.GetTimestamp();
            builder.Add([Bookkeeping.Recorded(next)]);
            times.Add(clock.GetElapsedTime(begun));
        }

        times.Sort();
        return times[3];
    }
}
