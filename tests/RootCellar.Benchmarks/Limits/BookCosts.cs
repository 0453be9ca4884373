using RootCellar.Household;
using RootCellar.Ledger;
using RootCellar.Tests.Ledger;

namespace RootCellar.Benchmarks.Limits;

/// <summary>What a book of fifty thousand entries costs; it is made anew with every entry that comes.</summary>
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
        var times = new List<TimeSpan>();
        for (var i = 0; i < 7; i++)
        {
            begun = clock.GetTimestamp();
            BookBuilder.Build(recorded, HouseholdCalendar.Utc);
            times.Add(clock.GetElapsedTime(begun));
        }

        times.Sort();
        say($"{Entries:n0} events: read in {reading.TotalMilliseconds:0} ms, made into a book in {times[3].TotalMilliseconds:0} ms, at best in {times[0].TotalMilliseconds:0} ms");
        // About what reading them takes. A square somewhere in it would be far above.
        if (times[3] > (4 * reading) + TimeSpan.FromSeconds(1)) yield return $"the whole book: {times[3].TotalMilliseconds:0} ms";
    }
}
