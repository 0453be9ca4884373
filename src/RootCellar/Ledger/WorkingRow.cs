
namespace RootCellar.Ledger;

/// <summary>One planting of a row while the book is being made.</summary>
internal sealed class WorkingRow(long entry, Fact.RowPlanted planted)
{
    private readonly List<(WorkingLot Lot, DateTimeOffset At, long? Grams)> digs = [];

    public Fact.RowPlanted Planted => planted;

    public Fact.VinesDead? Vines { get; set; }

    public bool Ended { get; set; }

    public bool Dug => digs.Count > 0;

    public List<long> Entries { get; } = [entry];

    /// <summary>To come back to.</summary>
    public RowMark Mark() => new(Vines, Ended, digs.Count, Entries.Count);

    public void Back(in RowMark to)
    {
        (Vines, Ended) = (to.Vines, to.Ended);
        BookBuilder.Shorten(digs, to.Digs);
        BookBuilder.Shorten(Entries, to.Entries);
    }

    public void Dig(WorkingLot lot, Fact.Dug dug) => digs.Add((lot, dug.DugAt, dug.Amount?.Grams));

    public RowView View() => new(
        planted.Row,
        entry,
        planted.Crop,
        planted.Variety,
        planted.PlantedOn,
        planted.Maturity,
        planted.MaturityDays,
        planted.LengthM,
        planted.Lot,
        Vines?.On,
        Vines?.How,
        [.. digs.Select(d => d.Lot.Dug.Lot).Distinct(StringComparer.Ordinal)],
        Dug ? digs[^1].At : null,
        // A lot nobody weighed in the field is what went into its bins, all of the row it was first dug from.
        digs.Sum(d => d.Grams ?? 0) + digs.Select(d => d.Lot).Distinct().Where(l => l.DugGrams is null && l.Row == this).Sum(l => l.FilledGrams),
        Ended,
        [.. Entries]);
}

/// <summary>How a row stood.</summary>
internal readonly record struct RowMark(Fact.VinesDead? Vines, bool Ended, int Digs, int Entries);
