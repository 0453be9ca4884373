using RootCellar.Household;
using RootCellar.Ledger.Events;
using RootCellar.Science.Crops;

namespace RootCellar.Ledger;

/// <summary>
/// Makes the book out of entries, always all of it: what happened is posted one after the other in the order it happened. An entry the book
/// doubts is counted as far as it can be, so that the book stands on any entries; the door asks before one with a doubt comes in. A weight
/// is never below 0: what goes out beyond what the book had was there all the same, and is booked as found (shrink below 0), so that every
/// balance closes.
/// </summary>
internal sealed class BookBuilder
{
    /// <summary>By how much clocks of phones and of the house differ (assumed).</summary>
    public static readonly TimeSpan ClockSlack = TimeSpan.FromMinutes(10);

    private readonly IReadOnlyList<Recorded> entries;
    private readonly HouseholdCalendar calendar;
    private readonly Corrections corrections;
    private readonly Standing[] standings;
    private readonly List<Happening> happened;
    private readonly List<Doubt> unreadable = [];
    private readonly Dictionary<string, DateTimeOffset> firstFilled = new(StringComparer.Ordinal);

    /// <summary>An entry that is neither a correction nor taken back nor waiting, as it stands.</summary>
    /// <param name="Index">Which of the entries.</param>
    private sealed record Happening(int Index, DateTimeOffset When, long Id, LedgerEvent Event, Resolved How);

    private BookBuilder(IReadOnlyList<Recorded> entries, HouseholdCalendar calendar)
    {
        (this.entries, this.calendar) = (entries, calendar);
        (standings, happened) = (new Standing[entries.Count], new List<Happening>(entries.Count));
        corrections = new Corrections(entries);
    }

    /// <param name="entries">In the order of writing.</param>
    /// <param name="calendar">Whose days those of the book are.</param>
    public static Book Build(IReadOnlyList<Recorded> entries, HouseholdCalendar calendar) => new BookBuilder(entries, calendar).Made();

    /// <summary>The book with these as well.</summary>
    /// <param name="more">In the order of writing.</param>
    public static Book With(Book book, IReadOnlyList<Recorded> more) =>
        Build([.. book.Entries.Select(s => s.Written), .. more], book.Calendar);

    /// <summary>
    /// The book as it was at a moment gone by: what had happened before it, in the light of all corrections made since. A correction goes
    /// with what it corrects, whenever it was written. The one rule of the house for it: report, CSV and mirror go by it alike.
    /// </summary>
    public static Book Then(Book book, DateTimeOffset end)
    {
        var before = book.Entries.Where(s => HappenedAt(LedgerSelection.Root(book, s), book.Calendar) < end).Select(s => s.Written)
            .ToList();
        return before.Count == book.Entries.Count ? book : Build(before, book.Calendar);
    }

    /// <summary>Dug or planted on a day and written down weeks after it: the day counts.</summary>
    internal static DateTimeOffset HappenedAt(Standing standing, HouseholdCalendar calendar) =>
        standing.Event?.Happened(standing.At, calendar) ?? standing.At;

    private Book Made()
    {
        for (var i = 0; i < entries.Count; i++) Resolve(i);
        happened.Sort(static (a, b) => a.When != b.When ? a.When.CompareTo(b.When) : a.Id.CompareTo(b.Id));
        foreach (var happening in happened)
        {
            foreach (var bin in happening.Event.Fills()) firstFilled.TryAdd(bin, happening.When);
        }

        var crops = CropDescribed.Table(happened.OrderBy(h => h.Id).Select(h => h.Event).OfType<CropDescribed>());
        var faults = new Dictionary<long, string>();
        while (true)
        {
            var working = new WorkingBook(calendar, firstFilled, crops);
            if (happened.TrueForAll(h => Apply(working, h, faults))) return working.View(standings, unreadable);
        }
    }

    /// <summary>How an entry stands with the corrections of it; what happened by it is posted later, in its time.</summary>
    private void Resolve(int index)
    {
        var (recorded, how) = (entries[index], corrections.Resolve(entries[index].Entry));
        var correction = recorded.Entry.Of is not null;
        var (told, wrong) = (recorded.Event, recorded.Unreadable);
        if (how.Changed && !correction) told = recorded.Entry.Kind.Read(how.Fields, out wrong);
        var question = how.Void || !how.Aside ? null : recorded.Entry.Question;
        if (!correction && !how.Void && !how.Aside)
        {
            if (told is not null)
            {
                happened.Add(new Happening(index, told.Happened(how.At, calendar), recorded.Entry.Id, told, how));
                return;
            }

            unreadable.Add(new Doubt(recorded.Entry.Id, wrong!, Hard: true));
            question = wrong;
        }

        standings[index] = new Standing(
            recorded, told, how.At, how.Fields, told?.About().Lot, correction && !how.Void && !how.Aside, how.Void, question,
            how.CorrectedBy);
    }

    /// <summary>False: it was a fault of the program, and is among the faults now; all is to be made anew.</summary>
    private bool Apply(WorkingBook working, Happening what, Dictionary<long, string> faults)
    {
        var (before, how, counts) = (working.Doubts.Count, what.How, false);
        working.Begin(what.Id, how.At, what.Event.Checked);
        if (faults.TryGetValue(what.Id, out var fault))
        {
            working.Never(QuestionCode.Unreadable, $"It cannot be counted: {fault}");
        }
        else
        {
            try
            {
                counts = Post(working, what);
            }
            catch (Exception e) when (e is not OutOfMemoryException)
            {
                // A fault of the program with one entry is no reason to lose the book: it is as if only that entry were not there.
                faults.Add(what.Id, e.Message);
                return false;
            }
        }

        standings[what.Index] = new Standing(
            entries[what.Index], what.Event, how.At, how.Fields, working.OfLot ?? what.Event.About().Lot, counts, Void: false,
            working.Doubts.Count > before ? working.Doubts[before].Question : null, how.CorrectedBy);
        return true;
    }

    private bool Post(WorkingBook working, Happening what)
    {
        var future = what.When > what.How.LatestRecorded + ClockSlack;
        if (future)
            working.Doubt(QuestionCode.Future, $"{working.Clock(what.When)} is in the future. Is the date right?", new { at = what.When });
        var counts = what.Event.Post(working);
        // After what the event itself asks, which says more.
        if (!future && GivenDates.Doubtful(what.Event.Kind(), what.How.Fields, what.How.At, what.How.LatestRecorded,
            calendar) is { } doubtful)
            working.Doubt(GivenDates.Ask(doubtful));
        return counts;
    }
}
