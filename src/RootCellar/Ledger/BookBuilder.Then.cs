using RootCellar.Household;

namespace RootCellar.Ledger;

/// <summary>The book of a moment gone by.</summary>
internal sealed partial class BookBuilder
{
    /// <summary>
    /// The book as it was at a moment gone by: what had happened before it, in the light of all corrections made since. The one rule of the
    /// house for it: report, CSV and mirror go by it alike.
    /// </summary>
    public static Book Then(Book book, DateTimeOffset end)
    {
        var later = Later(book.Entries, book.Find, end, book.Calendar);
        return later.Count == 0 ? book : Build([.. book.Entries.Where(s => !later.Contains(s.Entry.Id)).Select(s => Recorded.Of(s.Entry))], book.Calendar);
    }

    /// <summary>
    /// The same out of what is being written on. Goes back and forth again, so it costs what happened
    /// since then; where that is most of the book, the few before are put together anew.
    /// </summary>
    public Book Then(DateTimeOffset end)
    {
        var later = Later(standings, id => indexOf.TryGetValue(id, out var at) ? standings[at] : null, end, calendar);
        if (later.Count == 0) return Made();
        var first = happened.FindIndex(h => later.Contains(h.Id));
        if (first < 0) first = happened.Count;
        if (happened.Count - first > first) return Build(entries.FindAll(e => !later.Contains(e.Entry.Id)), calendar);
        var since = happened.GetRange(first, happened.Count - first);
        var lifted = since.FindAll(h => later.Contains(h.Id));
        var unread = unreadable.Where(u => later.Contains(u.Value.Entry)).ToList();
        foreach (var (index, _) in unread) unreadable.Remove(index);
        Replace(first, since.FindAll(h => !later.Contains(h.Id)));
        foreach (var h in lifted) Foresee(h, (fills, fill) => fills.Remove(fill));
        Apply();
        var then = Made(later);

        foreach (var (index, doubt) in unread) unreadable.Add(index, doubt);
        Replace(first, since);
        foreach (var h in lifted) Foresee(h, (fills, fill) => fills.Add(fill));
        Apply();
        return then;

        void Foresee(Happening h, Action<SortedSet<(DateTimeOffset When, long Id)>, (DateTimeOffset When, long Id)> change)
        {
            foreach (var bin in h.Event.Fills()) this.Foresee(bin, fills => change(fills, (h.When, h.Id)));
        }
    }

    /// <summary>The entries that had not happened before a moment. A correction goes with what it corrects, whenever it was written.</summary>
    private static HashSet<long> Later(IReadOnlyList<Standing> all, Func<long, Standing?> find, DateTimeOffset end, HouseholdCalendar calendar)
    {
        var later = new HashSet<long>();
        foreach (var standing in all)
        {
            var root = standing;
            while (root.Entry.Of is { } of && find(of) is { } target) root = target;
            if (HappenedAt(root, calendar) >= end) later.Add(standing.Entry.Id);
        }

        return later;
    }

    /// <summary>Dug or planted on a day and written down weeks after it: the day counts.</summary>
    internal static DateTimeOffset HappenedAt(Standing standing, HouseholdCalendar calendar) =>
        standing.Event?.Happened(standing.At, calendar) ?? standing.At;

    private void Replace(int from, List<Happening> by)
    {
        working.GoBack(from);
        happened.RemoveRange(from, happened.Count - from);
        happened.AddRange(by);
    }

    /// <summary>Goes on to the last that happened.</summary>
    private void Apply()
    {
        for (var i = working.Posted; i < happened.Count; i++) Apply(happened[i]);
    }
}
