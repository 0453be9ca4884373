using RootCellar.Ledger.Events;
using RootCellar.Science.Crops;

namespace RootCellar.Ledger;

/// <summary>A row by its name while the book is being made: its plantings, and what was dug from it while nobody had planted it.</summary>
internal sealed class WorkingRows
{
    public List<WorkingRow> Plantings { get; } = [];

    public List<Digging> Early { get; } = [];
}

/// <summary>A digging from a row.</summary>
internal sealed record Digging(WorkingLot Lot, Dug Dug, DugWhen When);

/// <summary>One planting of a row while the book is being made.</summary>
internal sealed class WorkingRow(long entry, RowPlanted planted, DateOnly plantedOn)
{
    /// <summary>Nothing stands in the ground longer than a year and a month (assumed); what is dug later was planted again.</summary>
    public const int LongestDays = 400;

    public RowPlanted Planted => planted;

    public DateOnly PlantedOn => plantedOn;

    public DateOnly? VinesDeadOn { get; set; }

    public string? How { get; set; }

    public bool Ended { get; set; }

    public List<Digging> Digs { get; } = [];

    public List<long> Entries { get; } = [entry];

    public RowView View(CropTable crops) => new(
        planted.Row,
        entry,
        planted.Crop,
        planted.Variety,
        plantedOn,
        planted.Maturity,
        planted.MaturityDays is { } days ? (int)Math.Round(days) : null,
        planted.Metres(),
        planted.Lot,
        VinesDeadOn,
        How,
        [.. Digs.Select(d => d.Dug.Lot).Distinct(StringComparer.Ordinal)],
        Digs.LastOrDefault()?.When.At,
        // A lot nobody weighed in the field is what went into its bins, all of the row it was first dug from.
        Digs.Sum(d => d.Dug.Amount?.Grams ?? 0)
        + Digs.Select(d => d.Lot).Distinct().Where(l => l.DugGrams is null && l.Row == this).Sum(l => l.FilledGrams),
        Ended,
        [.. Entries])
    {
        Known = crops.Find(planted.Crop),
    };
}
