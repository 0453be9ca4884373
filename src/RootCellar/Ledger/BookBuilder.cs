using System.Collections.Concurrent;
using RootCellar.Household;
using RootCellar.Ledger.Events;

namespace RootCellar.Ledger;

/// <summary>
/// Makes the book out of entries, and goes on making it as they come. An entry the book doubts is counted as far as it can be, so that the
/// book stands on any entries; the door asks before one with a doubt comes in. A weight is never below 0: what goes out beyond what the book
/// had was there all the same, and is booked as found (shrink below 0), so that every balance closes.
/// </summary>
/// <remarks>
/// What happened is applied in the order it happened, and each step leaves marks to go back by. A new entry goes back to its moment and
/// forth again, so it costs what happened since, not the whole book; what it did not touch is shared with the book before. Parting the
/// entries into groups that know nothing of each other would not help: crates are filled again by other lots and orders take from many,
/// so within a year all is one group. Not for several threads at once; the books it makes never change.
/// </remarks>
internal sealed partial class BookBuilder
{
    /// <summary>By how much clocks of phones and of the house differ (assumed).</summary>
    public static readonly TimeSpan ClockSlack = TimeSpan.FromMinutes(10);

    private static readonly Comparer<Happening> InTime = Comparer<Happening>.Create(static (a, b) => a.When != b.When ? a.When.CompareTo(b.When) : a.Id.CompareTo(b.Id));

    private readonly List<Recorded> entries = [];
    private readonly List<Standing> standings = [];
    private readonly Dictionary<long, int> indexOf = [];
    private readonly Corrections corrections = new();
    private readonly List<Happening> happened = [];
    private readonly SortedDictionary<int, Doubt> unreadable = [];
    private readonly Dictionary<string, SortedSet<(DateTimeOffset When, long Id)>> fills = new(StringComparer.Ordinal);

    private readonly ConcurrentDictionary<string, EntryNumbers> naming = new(StringComparer.Ordinal);
    private readonly ConcurrentDictionary<string, EntryNumbers> namingLots = new(StringComparer.Ordinal);

    private readonly HouseholdCalendar calendar;
    private readonly WorkingBook working;

    /// <summary>An entry that is neither a correction nor taken back nor waiting, as it stands.</summary>
    private readonly record struct Happening(DateTimeOffset When, long Id, LedgerEvent Event, Resolved How);

    /// <param name="calendar">Whose days those of the book are.</param>
    public BookBuilder(HouseholdCalendar calendar)
    {
        this.calendar = calendar;
        working = new WorkingBook(calendar, FirstFilled);
    }

    /// <param name="entries">In the order of writing.</param>
    /// <param name="calendar">Whose days those of the book are.</param>
    public static Book Build(IReadOnlyList<Recorded> entries, HouseholdCalendar calendar) => new BookBuilder(calendar).Add(entries);

    /// <summary>The book with these as well.</summary>
    /// <param name="more">In the order of writing.</param>
    public Book Add(IReadOnlyList<Recorded> more)
    {
        var before = entries.Count;
        foreach (var recorded in more)
        {
            indexOf.Add(recorded.Entry.Id, entries.Count);
            entries.Add(recorded);
            standings.Add(null!);
        }

        var touched = Touched(before);
        Lift(touched.Where(i => i < before));
        for (var i = before; i < entries.Count; i++) corrections.Add(entries[i].Entry);
        Lay(touched);
        return Made();
    }

    /// <summary>As if the last so many had not been added.</summary>
    public void TakeBack(int count)
    {
        var left = entries.Count - count;
        var touched = Touched(left);
        Lift(touched);
        for (var i = entries.Count - 1; i >= left; i--)
        {
            corrections.Remove(entries[i].Entry);
            indexOf.Remove(entries[i].Entry.Id);
            working.Forget(entries[i].Entry.Id);
        }

        entries.RemoveRange(left, count);
        standings.RemoveRange(left, count);
        Lay(touched.Where(i => i < left));
    }

    /// <summary>The entries from <paramref name="first"/> on, and all that those among them which are corrections are of.</summary>
    private SortedSet<int> Touched(int first)
    {
        var touched = new SortedSet<int>();
        for (var i = first; i < entries.Count; i++)
        {
            touched.Add(i);
            for (var entry = entries[i].Entry; entry.Of is { } of && indexOf.TryGetValue(of, out var at); entry = entries[at].Entry) touched.Add(at);
        }

        return touched;
    }

    /// <summary>Takes entries out of what happened.</summary>
    private void Lift(IEnumerable<int> which)
    {
        foreach (var index in which)
        {
            unreadable.Remove(index);
            var id = entries[index].Entry.Id;
            if (entries[index].Entry.Of is not null || happened.FindLastIndex(h => h.Id == id) is not (>= 0 and var at)) continue;
            var old = happened[at];
            working.GoBack(at);
            happened.RemoveAt(at);
            foreach (var bin in old.Event.Fills()) Foresee(bin, fills => fills.Remove((old.When, old.Id)));
        }
    }

    /// <summary>Puts entries in as they stand now and goes on to the last that happened.</summary>
    private void Lay(IEnumerable<int> which)
    {
        var fresh = new List<Happening>();
        foreach (var index in which)
        {
            var (recorded, how) = (entries[index], corrections.Resolve(entries[index].Entry));
            var correction = recorded.Entry.Of is not null;
            var (told, wrong) = (recorded.Event, recorded.Unreadable);
            if (told is not null) Note(recorded.Entry.Id, told);
            if (how.Changed && !correction) told = recorded.Entry.Kind.Read(how.Fields, out wrong);
            if (how.Changed && told is not null) Note(recorded.Entry.Id, told);
            var question = how.Void || !how.Aside ? null : recorded.Entry.Question;
            if (!correction && !how.Void && !how.Aside)
            {
                if (told is not null)
                {
                    fresh.Add(new Happening(told.Happened(how.At, calendar), recorded.Entry.Id, told, how));
                    continue;
                }

                unreadable[index] = new Doubt(recorded.Entry.Id, wrong!, Hard: true);
                question = unreadable[index].Question;
            }

            standings[index] = new Standing(
                recorded.Entry, told, how.At, how.Fields, told?.About().Lot, correction && !how.Void && !how.Aside, how.Void, question, how.CorrectedBy);
        }

        fresh.Sort(InTime);
        Insert(fresh);
        Apply();
    }

    private void Insert(List<Happening> fresh)
    {
        if (fresh.Count == 0) return;
        var at = ~happened.BinarySearch(fresh[0], InTime);
        working.GoBack(at);
        foreach (var happening in fresh)
        {
            foreach (var bin in happening.Event.Fills()) Foresee(bin, fills => fills.Add((happening.When, happening.Id)));
        }

        var later = happened.GetRange(at, happened.Count - at);
        happened.RemoveRange(at, later.Count);
        var next = 0;
        foreach (var happening in fresh)
        {
            while (next < later.Count && InTime.Compare(later[next], happening) < 0) happened.Add(later[next++]);
            happened.Add(happening);
        }

        happened.AddRange(later[next..]);
    }

    private void Apply(in Happening what)
    {
        var before = working.Doubts.Count;
        working.Begin(what.Id, what.How.At, what.Event.Checked);
        var counts = false;
        try
        {
            counts = Post(what);
        }
        catch (Exception e) when (e is not OutOfMemoryException)
        {
            // A fault of the program with one entry is no reason to lose the book: it is as if only that entry were not there.
            working.GoBack(working.Posted - 1);
            working.Begin(what.Id, what.How.At, what.Event.Checked);
            working.Never(QuestionCode.Unreadable, $"It cannot be counted: {e.Message}");
        }

        var (index, how) = (indexOf[what.Id], what.How);
        standings[index] = new Standing(
            entries[index].Entry, what.Event, how.At, how.Fields, working.LotOf(what.Id) ?? what.Event.About().Lot, counts, Void: false,
            working.Doubts.Count > before ? working.Doubts[before].Question : null, how.CorrectedBy);
    }

    private bool Post(in Happening what)
    {
        var future = what.When > what.How.LatestRecorded + ClockSlack;
        if (future) working.Doubt(QuestionCode.Future, $"{working.Clock(what.When)} is in the future. Is the date right?", new { at = what.When });
        var counts = what.Event.Post(working);
        // After what the event itself asks, which says more.
        if (!future && GivenDates.Doubtful(what.How.Fields, what.How.At, what.How.LatestRecorded, calendar) is { } doubtful)
            working.Doubt(GivenDates.Ask(doubtful));
        return counts;
    }

    /// <param name="without">Entries that are not to be in it, by number; nothing of them is applied.</param>
    private Book Made(HashSet<long>? without = null) =>
        working.View(without is null ? [.. standings] : standings.FindAll(s => !without.Contains(s.Entry.Id)), unreadable.Values) with
        {
            // Read by many while it is written by one; what is in it too much is left out by who reads it.
            Naming = naming,
            NamingLots = namingLots,
        };

    private void Note(long id, LedgerEvent told)
    {
        foreach (var bin in told.Bins()) naming.GetOrAdd(bin, static _ => new EntryNumbers()).Add(id);
        if (told.About().Lot is { } lot) namingLots.GetOrAdd(lot, static _ => new EntryNumbers()).Add(id);
    }

    /// <summary>A question about a bin before its first filling names that, so with another first filling it is put anew.</summary>
    private void Foresee(string bin, Action<SortedSet<(DateTimeOffset When, long Id)>> change)
    {
        if (!fills.TryGetValue(bin, out var known)) fills.Add(bin, known = []);
        var was = FirstFilled(bin);
        change(known);
        if (FirstFilled(bin) == was) return;
        if (working.Doubts.Find(d => d.Code == QuestionCode.UnknownBin && standings[indexOf[d.Entry]].Event?.About().Bin == bin) is { } doubt)
            working.GoBack(working.IndexOf(doubt.Entry));
    }

    private DateTimeOffset? FirstFilled(string bin) => fills.TryGetValue(bin, out var known) && known.Count > 0 ? known.Min.When : null;
}
