using System.Collections.Frozen;
using System.Globalization;
using RootCellar.Household;
using RootCellar.Ledger.Events;
using RootCellar.Science.Crops;

namespace RootCellar.Ledger;

/// <summary>
/// The book while events are posted into it, one after the other in the order they happened.
/// </summary>
/// <param name="calendar">Whose days those of the book are.</param>
/// <param name="firstFilled">When each bin is first filled by all that is known to have happened.</param>
/// <param name="crops">The crops the household knows.</param>
internal sealed class WorkingBook(HouseholdCalendar calendar, IReadOnlyDictionary<string, DateTimeOffset> firstFilled, CropTable crops)
{
    private readonly Dictionary<string, WorkingLot> lots = new(StringComparer.Ordinal);
    private readonly Dictionary<string, WorkingBin> bins = new(StringComparer.Ordinal);
    private readonly LookAlikes binNames = new();
    private readonly LookAlikes lotNames = new();
    private readonly LookAlikes rowNames = new();
    private readonly LookAlikes orderNames = new();
    private readonly Dictionary<string, WorkingRows> rows = new(StringComparer.Ordinal);
    private readonly List<WorkingBin> fillings = [];
    private readonly List<WorkingRow> plantings = [];

    private bool sure;

    public HouseholdCalendar Calendar => calendar;

    /// <summary>The number of the entry that is being posted.</summary>
    public long Id { get; private set; }

    /// <summary>When it happened by the entry.</summary>
    public DateTimeOffset At { get; private set; }

    /// <summary>The lot it is about, as far as the book knows.</summary>
    public string? OfLot { get; private set; }

    public List<WorkingPromise> Promises { get; } = [];

    public List<WayOut> Outs { get; } = [];

    public List<Doubt> Doubts { get; } = [];

    public IEnumerable<string> LotNames => lots.Keys;

    public IEnumerable<string> RowNames => rows.Where(r => r.Value.Plantings.Count > 0).Select(r => r.Key);

    /// <summary>Begins an entry.</summary>
    /// <param name="checked">Somebody looked at it and says it is so: nothing is asked.</param>
    public void Begin(long id, DateTimeOffset at, bool @checked)
    {
        (Id, At, OfLot, sure) = (id, at, null, @checked);
    }

    /// <summary>A lot; null where none was dug yet.</summary>
    public WorkingLot? Lot(string name) => lots.GetValueOrDefault(name);

    public void Begin(WorkingLot lot)
    {
        lots.Add(lot.Dug.Lot, lot);
        AskWhereItLooksLikeAnother("lot", lot.Dug.Lot, lotNames, (lot, other) => new { lot, other });
    }

    /// <summary>The bin an event happens to; null where there is none, which is asked about.</summary>
    public WorkingBin? Bin(string name)
    {
        if (bins.TryGetValue(name, out var bin))
        {
            IsOf(bin.Lot.Dug.Lot);
            if (bin.EmptiedAt is { } emptied)
                Doubt(
                    QuestionCode.Emptied, $"Bin {name} is empty by the book since {Clock(emptied)}. Is it another bin?",
                    new { bin = name, emptied });
            return bin;
        }

        var near = Nearest.Of(name, bins.Keys);
        DateTimeOffset? first = firstFilled.TryGetValue(name, out var filled) ? filled : null;
        Never(
            QuestionCode.UnknownBin,
            first is not null
                ? $"Bin {name} was filled on {Clock(filled)}; at {Clock(At)} there was nothing in it. Is the date right?"
                : $"There is no bin {name}.{FieldReader.Near(name, bins.Keys)} A bin begins by being filled: "
                  + $"{{\"event\":\"{Filled.Name}\",\"bin\":\"{name}\",\"lot\":...,\"weightKg\":...}}.",
            new { bin = name, at = At, filled = first, near });
        return null;
    }

    /// <summary>A bin with something in it; null where it is empty or there is none.</summary>
    public WorkingBin? Holding(string name) => bins.GetValueOrDefault(name) is { EmptiedAt: null } bin ? bin : null;

    /// <summary>Begins a filling of a bin.</summary>
    public WorkingBin Open(string name, WorkingLot lot, string? grade, string? place)
    {
        // Two fillings of a bin are told apart by their moment, also where both were written down under one.
        var before = bins.GetValueOrDefault(name);
        if (before is null) AskWhereItLooksLikeAnother("bin", name, binNames, (bin, other) => new { bin, other });
        var at = before?.FilledAt >= At ? before.FilledAt.AddMilliseconds(1) : At;
        var bin = bins[name] = new WorkingBin(name, lot, grade, place, at);
        fillings.Add(bin);
        lot.Bins.Add(bin);
        return bin;
    }

    /// <summary>A row, planted or not.</summary>
    public WorkingRows Row(string name)
    {
        if (rows.TryGetValue(name, out var row)) return row;
        rows.Add(name, row = new WorkingRows());
        AskWhereItLooksLikeAnother("row", name, rowNames, (row, other) => new { row, other });
        return row;
    }

    /// <summary>Adds a planting to its row.</summary>
    public void Plant(WorkingRow row)
    {
        rows[row.Planted.Row].Plantings.Add(row);
        plantings.Add(row);
    }

    /// <summary>Adds a line to its order.</summary>
    public void Promise(WorkingPromise promise)
    {
        AskWhereItLooksLikeAnother("order", promise.Promised.Order, orderNames, (order, other) => new { order, other });
        Promises.Add(promise);
    }

    /// <summary>The lines of an order.</summary>
    public List<WorkingPromise> Order(string name) => Promises.FindAll(p => p.Promised.Order == name);

    /// <summary>The entry is about this lot.</summary>
    public void IsOf(string lot) => OfLot = lot;

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

    /// <summary>What the household knows a crop by; null where it does not, which cannot be counted.</summary>
    public string? CropOf(string written)
    {
        if (crops.NameOf(written) is { } known) return known;
        Never(QuestionCode.Unreadable, FieldReader.NoSuchCrop(crops, written));
        return null;
    }

    public bool Unmeasured(Amount amount) => Never(
        QuestionCode.Unmeasured, $"Nobody knows what a {amount.Unit} of it weighs while its crop is not known.",
        new { unit = amount.Unit });

    /// <summary>It is counted, and asked about unless somebody has looked.</summary>
    public void Doubt(string code, string question, object? figures = null)
    {
        if (!sure) Doubt(Question.Of(code, question, figures));
    }

    public void Doubt(Question question)
    {
        if (!sure) Doubts.Add(new Doubt(Id, question, Hard: false));
    }

    public void Future(DateOnly on) =>
        Doubt(QuestionCode.Future, $"{on:yyyy-MM-dd} is in the future. Is the date right?", new { at = calendar.StartOf(on) });

    public DateOnly Day(DateTimeOffset at) => calendar.DayOf(at);

    /// <summary>"2026-10-03 16:30", on the household's clock.</summary>
    public string Clock(DateTimeOffset at) => calendar.Local(at).ToString("yyyy-MM-dd HH:mm", CultureInfo.InvariantCulture);

    private void AskWhereItLooksLikeAnother(string what, string name, LookAlikes names, Func<string, string, object> figures)
    {
        if (names.Add(name) is not { } other) return;
        Doubt(QuestionCode.LooksAlike, $"There is a {what} {other} already, which reads like {name}. Is this another {what}?",
            figures(name, other));
    }

    /// <summary>All of it as it stands; nothing more is posted after it.</summary>
    public Book View(IReadOnlyList<Standing> entries, IEnumerable<Doubt> unreadable) => new(
        lots.ToFrozenDictionary(l => l.Key, l => l.Value.View(crops), StringComparer.Ordinal),
        bins.ToFrozenDictionary(b => b.Key, b => b.Value.View(), StringComparer.Ordinal),
        fillings.ConvertAll(b => b.View()),
        Promises.ConvertAll(p => p.View()),
        [.. Outs],
        entries,
        [.. unreadable, .. Doubts],
        plantings.ConvertAll(r => r.View(crops)))
    {
        Calendar = calendar,
        Crops = crops,
    };
}
