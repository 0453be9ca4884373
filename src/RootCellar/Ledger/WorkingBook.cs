using RootCellar.Household;
using RootCellar.Ledger.Events;

namespace RootCellar.Ledger;

/// <summary>
/// The book while events are posted into it, one after the other in the order they happened. What an event looks up is marked with how it
/// stood, so that the book can go back to before any of them; what is marked too much only costs time.
/// </summary>
/// <param name="calendar">Whose days those of the book are.</param>
/// <param name="firstFilled">When a bin is first filled by all that is known to have happened; null where it never is.</param>
internal sealed class WorkingBook(HouseholdCalendar calendar, Func<string, DateTimeOffset?> firstFilled)
{
    private readonly Dictionary<string, WorkingLot> lots = new(StringComparer.Ordinal);
    private readonly Dictionary<string, WorkingBin> bins = new(StringComparer.Ordinal);
    private readonly Dictionary<string, WorkingRows> rows = new(StringComparer.Ordinal);
    private readonly List<WorkingBin> fillings = [];
    private readonly List<WorkingRow> plantings = [];
    private readonly Dictionary<long, string> lotOf = [];

    private readonly List<Step> steps = [];
    private readonly Stack<Mark> back = new();

    private bool sure;

    /// <summary>How long every list was before an entry was posted.</summary>
    private readonly record struct Step(long Id, int Fillings, int Plantings, int Promises, int Outs, int Doubts, int Back);

    public HouseholdCalendar Calendar => calendar;

    /// <summary>The number of the entry that is being posted.</summary>
    public long Id { get; private set; }

    /// <summary>When it happened by the entry.</summary>
    public DateTimeOffset At { get; private set; }

    public List<WorkingPromise> Promises { get; } = [];

    public List<WayOut> Outs { get; } = [];

    public List<Doubt> Doubts { get; } = [];

    public IEnumerable<string> LotNames => lots.Keys;

    public IEnumerable<string> RowNames => rows.Where(r => r.Value.Plantings.Count > 0).Select(r => r.Key);

    /// <summary>How many entries were posted.</summary>
    public int Posted => steps.Count;

    /// <summary>Begins an entry.</summary>
    /// <param name="checked">Somebody looked at it and says it is so: nothing is asked.</param>
    public void Begin(long id, DateTimeOffset at, bool @checked)
    {
        (Id, At, sure) = (id, at, @checked);
        lotOf.Remove(id);
        steps.Add(new Step(id, fillings.Count, plantings.Count, Promises.Count, Outs.Count, Doubts.Count, back.Count));
    }

    /// <summary>Which of the entries posted an entry is; below 0 where it is none.</summary>
    public int IndexOf(long id) => steps.FindIndex(s => s.Id == id);

    /// <summary>As if only the first so many had been posted.</summary>
    public void GoBack(int count)
    {
        if (count >= steps.Count) return;
        var to = steps[count];
        steps.RemoveRange(count, steps.Count - count);
        // Last first: the earliest mark of a thing is the one that stays.
        while (back.Count > to.Back) back.Pop().GoBack();
        Shorten(fillings, to.Fillings);
        Shorten(plantings, to.Plantings);
        Shorten(Promises, to.Promises);
        Shorten(Outs, to.Outs);
        Shorten(Doubts, to.Doubts);
    }

    /// <summary>Takes off what was added to the end of a list.</summary>
    public static void Shorten<T>(List<T> list, int count) => list.RemoveRange(count, list.Count - count);

    public string? LotOf(long id) => lotOf.GetValueOrDefault(id);

    /// <summary>Forgets what an entry is about.</summary>
    public void Forget(long id) => lotOf.Remove(id);

    /// <summary>A lot; null where none was dug yet.</summary>
    public WorkingLot? Lot(string name)
    {
        if (lots.GetValueOrDefault(name) is not { } lot) return null;
        back.Push(lot.Mark());
        return lot;
    }

    public void Begin(WorkingLot lot)
    {
        lots.Add(lot.Dug.Lot, lot);
        back.Push(new Undo(() => lots.Remove(lot.Dug.Lot)));
    }

    /// <summary>The bin an event happens to; null where there is none, which is asked about.</summary>
    public WorkingBin? Bin(string name)
    {
        if (Marked(name) is { } bin)
        {
            IsOf(bin.Lot.Dug.Lot);
            if (bin.EmptiedAt is { } emptied)
                Doubt(QuestionCode.Emptied, $"Bin {name} is empty by the book since {Clock(emptied)}. Is it another bin?", new { bin = name, emptied });
            return bin;
        }

        var (first, near) = (firstFilled(name), Nearest.Of(name, bins.Keys));
        Never(
            QuestionCode.UnknownBin,
            first is { } filled
                ? $"Bin {name} was filled on {Clock(filled)}; at {Clock(At)} there was nothing in it. Is the date right?"
                : $"There is no bin {name}.{FieldReader.Near(name, bins.Keys)} A bin begins by being filled: "
                  + $"{{\"event\":\"{Filled.Name}\",\"bin\":\"{name}\",\"lot\":...,\"weightKg\":...}}.",
            new { bin = name, at = At, filled = first, near });
        return null;
    }

    /// <summary>A bin with something in it; null where it is empty or there is none.</summary>
    public WorkingBin? Holding(string name) => Marked(name) is { EmptiedAt: null } bin ? bin : null;

    /// <summary>Begins a filling of a bin.</summary>
    public WorkingBin Open(string name, WorkingLot lot, string? grade, string? place)
    {
        // Two fillings of a bin are told apart by their moment, also where both were written down under one.
        var before = bins.GetValueOrDefault(name);
        var at = before?.FilledAt >= At ? before.FilledAt.AddMilliseconds(1) : At;
        back.Push(new Undo(() =>
        {
            if (before is null) bins.Remove(name);
            else bins[name] = before;
        }));
        var bin = bins[name] = new WorkingBin(name, lot, grade, place, at);
        fillings.Add(bin);
        lot.Bins.Add(bin);
        return bin;
    }

    /// <summary>A row, planted or not.</summary>
    public WorkingRows Row(string name)
    {
        if (!rows.TryGetValue(name, out var row)) rows.Add(name, row = new WorkingRows());
        back.Push(row.Mark());
        return row;
    }

    /// <summary>Adds a planting to its row.</summary>
    public void Plant(WorkingRow row)
    {
        rows[row.Planted.Row].Plantings.Add(row);
        plantings.Add(row);
    }

    /// <summary>The lines of an order.</summary>
    public List<WorkingPromise> Order(string name)
    {
        var lines = Promises.FindAll(p => p.Promised.Order == name);
        foreach (var line in lines)
        {
            var gone = line.Gone;
            back.Push(new Undo(() => line.Gone = gone));
        }

        return lines;
    }

    /// <summary>The entry is about this lot.</summary>
    public void IsOf(string lot) => lotOf[Id] = lot;

    /// <summary>The entry is posted.</summary>
    public bool Done(WorkingLot lot)
    {
        lot.Entries.Add(Id);
        IsOf(lot.Dug.Lot);
        return true;
    }

    public bool Done(WorkingBin bin)
    {
        bin.Touch(Id, At);
        return Done(bin.Lot);
    }

    /// <summary>It cannot be counted, whoever insists.</summary>
    /// <returns>False.</returns>
    public bool Never(string code, string question, object? figures = null)
    {
        Doubts.Add(new Doubt(Id, code, question, Hard: true, figures));
        return false;
    }

    public bool Unmeasured(Amount amount) => Never(
        QuestionCode.Unmeasured, $"Nobody knows what a {amount.Unit} of it weighs while its crop is not known.", new { unit = amount.Unit });

    /// <summary>It is counted, and asked about unless somebody has looked.</summary>
    public void Doubt(string code, string question, object? figures = null)
    {
        if (!sure) Doubt(Question.Of(code, question, figures));
    }

    public void Doubt(Question question)
    {
        if (!sure) Doubts.Add(new Doubt(Id, question, Hard: false));
    }

    public DateOnly Day(DateTimeOffset at) => calendar.DayOf(at);

    /// <summary>"2026-10-03 16:30", on the household's clock.</summary>
    public string Clock(DateTimeOffset at) => calendar.Local(at).ToString("yyyy-MM-dd HH:mm", System.Globalization.CultureInfo.InvariantCulture);

    public static string Kg(long grams) => $"{grams / 1000.0:0.###} kg";

    /// <summary>All of it as it stands; what it is made of never changes.</summary>
    public Book View(IReadOnlyList<Standing> entries, IEnumerable<Doubt> unreadable) => new(
        System.Collections.Frozen.FrozenDictionary.ToFrozenDictionary(lots, l => l.Key, l => l.Value.View(), StringComparer.Ordinal),
        System.Collections.Frozen.FrozenDictionary.ToFrozenDictionary(bins, b => b.Key, b => b.Value.View(), StringComparer.Ordinal),
        fillings.ConvertAll(b => b.View()),
        Promises.ConvertAll(p => p.View()),
        [.. Outs],
        entries,
        [.. unreadable, .. Doubts],
        plantings.ConvertAll(r => r.View()))
    {
        Calendar = calendar,
    };

    private WorkingBin? Marked(string name)
    {
        if (bins.GetValueOrDefault(name) is not { } bin) return null;
        back.Push(bin.Mark());
        back.Push(bin.Lot.Mark());
        return bin;
    }
}
