using RootCellar.Household;

namespace RootCellar.Ledger;

/// <summary>The book of a moment gone by.</summary>
internal sealed partial class BookBuilder
{
    /// <summary>
    /// What had happened before a moment, in the light of all corrections made since. Goes back and forth again, so it costs what happened
    /// since then; where that is most of the book, the few before are put together anew.
    /// </summary>
    public Book Then(DateTimeOffset end)
    {
        var later = new HashSet<long>();
        for (var i = 0; i < entries.Count; i++)
        {
            var root = i;
            // A correction goes with what it corrects, whenever it was written.
            while (entries[root].Entry.Of is { } of && indexOf.TryGetValue(of, out var target)) root = target;
            if (HappenedAt(standings[root], calendar) >= end) later.Add(entries[i].Entry.Id);
        }

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
            foreach (var bin in Filled(h.Fact)) this.Foresee(bin, fills => change(fills, (h.When, h.Id)));
        }
    }

    /// <summary>Dug or planted on a day and written down weeks after it: the day counts.</summary>
    internal static DateTimeOffset HappenedAt(Standing standing, HouseholdCalendar calendar) =>
        standing.Entry.Event is "dug" or "row-planted" or "vines-dead"
        && FactReader.Read(standing.Entry.Event, standing.Fields, standing.At, calendar, out _) is { } fact
        && Began(fact) is { } began && began < standing.At ? began : standing.At;

    private void Replace(int from, List<Happening> by)
    {
        GoBack(from);
        happened.RemoveRange(from, happened.Count - from);
        happened.AddRange(by);
    }

    /// <summary>Goes on to the last that happened.</summary>
    private void Apply()
    {
        for (var i = steps.Count; i < happened.Count; i++) Apply(happened[i]);
    }
}
