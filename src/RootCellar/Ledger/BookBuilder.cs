using System.Collections.Frozen;
using System.Text.Json;

namespace RootCellar.Ledger;

/// <summary>
/// Makes the book out of entries. An entry the book doubts is counted as far as it can be, so that the book stands on any entries; the
/// door asks before one with a doubt comes in. A weight is never below 0: what goes out beyond what the book had was there all the same,
/// and is booked as found (shrink below 0), so that every balance closes.
/// </summary>
internal sealed partial class BookBuilder
{
    /// <summary>How much two scales may differ where nobody gave the step of theirs: 0.1 kg (assumed).</summary>
    private const double ResolutionKg = 0.1;

    // Clocks of phones and of the house differ (assumed).
    private static readonly TimeSpan ClockSlack = TimeSpan.FromMinutes(10);

    private readonly Dictionary<string, WorkingLot> lots = new(StringComparer.Ordinal);
    private readonly Dictionary<string, WorkingBin> bins = new(StringComparer.Ordinal);
    private readonly List<WorkingBin> fillings = [];
    private readonly List<WorkingPromise> promises = [];
    private readonly List<WayOut> outs = [];
    private readonly List<Doubt> doubts = [];
    private readonly Dictionary<long, string?> lotOf = [];
    private readonly HashSet<long> counted = [];
    private readonly Dictionary<string, DateTimeOffset> firstFilled = new(StringComparer.Ordinal);

    private BookBuilder()
    {
    }

    /// <param name="entries">In the order of writing.</param>
    public static Book Build(IReadOnlyList<Recorded> entries) => new BookBuilder().Make(entries);

    private Book Make(IReadOnlyList<Recorded> entries)
    {
        var corrections = new Corrections(entries.Select(r => r.Entry));
        var resolved = new Resolved[entries.Count];
        var happened = new List<(DateTimeOffset When, long Id, Fact Fact, Resolved How)>(entries.Count);
        var unreadable = new Dictionary<long, string>();
        for (var i = 0; i < entries.Count; i++)
        {
            var (recorded, how) = (entries[i], corrections.Resolve(entries[i].Entry));
            resolved[i] = how;
            if (recorded.Entry.Of is not null || how.Void || how.Aside) continue;
            var (fact, wrong) = (recorded.Fact, recorded.Unreadable);
            if (how.Changed) fact = FactReader.Read(recorded.Entry.Event, how.Fields, how.At, out wrong);
            if (fact is null)
            {
                doubts.Add(new Doubt(recorded.Entry.Id, QuestionCode.Unreadable, wrong!, Hard: true));
                continue;
            }

            // A row begins when it was planted and a lot when it was dug, though they may be written down in the evening.
            var when = Began(fact) is { } began && began < how.At ? began : how.At;
            happened.Add((when, recorded.Entry.Id, fact, how));
            Foresee(fact, when);
        }

        happened.Sort(static (a, b) => a.When != b.When ? a.When.CompareTo(b.When) : a.Id.CompareTo(b.Id));
        foreach (var (when, id, fact, how) in happened)
        {
            if (when > how.LatestRecorded + ClockSlack) Doubt(id, fact, QuestionCode.Future, $"{when:yyyy-MM-dd HH:mm} is in the future. Is the date right?", new { at = when });
            if (Apply(id, how.At, fact)) counted.Add(id);
        }

        return Finish(entries, resolved);
    }

    private Book Finish(IReadOnlyList<Recorded> entries, Resolved[] resolved)
    {
        var byEntry = doubts.ToLookup(d => d.Entry);
        var standings = new Standing[entries.Count];
        for (var i = 0; i < entries.Count; i++)
        {
            var (entry, how) = (entries[i].Entry, resolved[i]);
            var correction = entry.Of is not null;
            var question = how.Void ? null : how.Aside ? entry.Question : byEntry[entry.Id].FirstOrDefault()?.Question;
            standings[i] = new Standing(
                entry, how.At, how.Fields, lotOf.GetValueOrDefault(entry.Id) ?? Said(how.Fields, "lot"), correction ? !how.Void && !how.Aside : counted.Contains(entry.Id), how.Void, question, how.CorrectedBy);
        }

        var views = fillings.ConvertAll(b => b.View());
        return new Book(
            lots.ToFrozenDictionary(l => l.Key, l => l.Value.View(), StringComparer.Ordinal),
            bins.ToFrozenDictionary(b => b.Key, b => b.Value.View(), StringComparer.Ordinal),
            views,
            promises.ConvertAll(p => p.View()),
            outs,
            standings,
            doubts,
            RowViews());
    }

    private void Foresee(Fact fact, DateTimeOffset when)
    {
        if (fact is Fact.Filled filled) Note(filled.Bin);
        else if (fact is Fact.Sorted sorted) foreach (var into in sorted.Into) Note(into.Bin);

        void Note(string bin)
        {
            if (!firstFilled.TryGetValue(bin, out var known) || when < known) firstFilled[bin] = when;
        }
    }

    private static string? Said(JsonElement fields, string name) => fields.TryGetProperty(name, out var value) && value.ValueKind == JsonValueKind.String ? value.GetString() : null;

    // False: it cannot be counted.
    private bool Never(long id, string code, string question, object? figures = null)
    {
        doubts.Add(new Doubt(id, code, question, Hard: true, figures));
        return false;
    }

    private void Doubt(long id, Fact fact, string code, string question, object? figures = null)
    {
        if (!fact.Checked) doubts.Add(new Doubt(id, code, question, Hard: false, figures));
    }
}
