using RootCellar.Household;

namespace RootCellar.Ledger;

/// <summary>Rows: what was planted, when its vines died, and which lots were dug from it. A row is its name and its planting.</summary>
internal sealed partial class BookBuilder
{
    // Nothing of the crop table stands in the ground longer than a year and a month (assumed); what is dug later was planted again.
    private const int LongestDays = 400;

    // A planting just after a digging from the same row is more likely one wrong date than two plantings (assumed).
    private const int SameSeasonDays = 60;

    private readonly Dictionary<string, List<WorkingRow>> rows = new(StringComparer.Ordinal);
    private readonly List<WorkingRow> plantings = [];
    private readonly Dictionary<string, List<Fact.Dug>> digsOfNoRow = new(StringComparer.Ordinal);

    /// <summary>When something happened that is written down by its day, whenever it was written.</summary>
    internal static DateTimeOffset? Began(Fact fact) => fact switch
    {
        Fact.Dug dug => dug.DugAt,
        Fact.RowPlanted planted => planted.From,
        Fact.VinesDead dead => dead.From,
        _ => null,
    };

    private bool Take(long id, DateTimeOffset at, Fact.RowPlanted planted)
    {
        if (planted.PlantedOn > Day(at)) Doubt(id, planted, QuestionCode.Future, $"{planted.PlantedOn:yyyy-MM-dd} is in the future. Is the date right?", new { at = planted.From });
        if (!rows.TryGetValue(planted.Row, out var all)) rows.Add(planted.Row, all = []);
        if (all.Count > 0)
        {
            var last = all[^1];
            if (!last.Dug) Doubt(id, planted, QuestionCode.RowPlantedTwice, $"Row {planted.Row} was planted on {last.Planted.PlantedOn:yyyy-MM-dd} ({Kind(last.Planted)}) and nothing was dug from it yet. Is it another row, or was it planted again?", new { row = planted.Row, planted = last.Planted.PlantedOn, crop = last.Planted.Crop, variety = last.Planted.Variety });
            last.Ended = true;
        }

        var early = digsOfNoRow.GetValueOrDefault(planted.Row)?.FindLast(d => d.Crop == planted.Crop && !(d.PlantedOn < planted.PlantedOn) && planted.PlantedOn.DayNumber - d.DugOn.DayNumber <= SameSeasonDays);
        if (early is not null) Doubt(id, planted, QuestionCode.DugBeforePlanting, $"Row {planted.Row} would be planted on {planted.PlantedOn:yyyy-MM-dd}, and lot {early.Lot} was dug from it on {early.DugOn:yyyy-MM-dd}, before it. Which date is right?", new { row = planted.Row, planted = planted.PlantedOn, lot = early.Lot, dug = early.DugAt });
        var row = new WorkingRow(id, planted);
        all.Add(row);
        plantings.Add(row);
        return true;
    }

    private bool Take(long id, DateTimeOffset at, Fact.VinesDead dead)
    {
        if (!rows.TryGetValue(dead.Row, out var all)) return Never(id, QuestionCode.UnknownRow, $"No row {dead.Row} was planted up to {dead.On:yyyy-MM-dd} by the book.{FieldReader.Near(dead.Row, rows.Keys)} Is the date right? Or write down its planting first: {{\"event\":\"row-planted\",\"row\":\"{dead.Row}\",...}}.", new { row = dead.Row, on = dead.On, near = Nearest.Of(dead.Row, rows.Keys) });
        if (dead.On > Day(at)) Doubt(id, dead, QuestionCode.Future, $"{dead.On:yyyy-MM-dd} is in the future. Is the date right?", new { at = dead.From });
        var row = all[^1];
        if (row.Vines is { } known) Doubt(id, dead, QuestionCode.VinesDeadTwice, $"The vines of row {dead.Row} are dead since {known.On:yyyy-MM-dd} by the book. Is it another row?", new { row = dead.Row, since = known.On });
        row.Vines = dead;
        row.Entries.Add(id);
        return true;
    }

    /// <summary>Joins what was dug to the planting of its row. Of a row nobody planted there is nothing to ask.</summary>
    private void Link(long id, Fact.Dug dug, WorkingLot lot)
    {
        if (dug.Row is not { } name) return;
        var all = rows.GetValueOrDefault(name);
        var row = all?.FindLast(r => r.Planted.PlantedOn == dug.PlantedOn) ?? all?[^1];
        if (row is null || dug.DugOn.DayNumber - row.Planted.PlantedOn.DayNumber > LongestDays)
        {
            if (!digsOfNoRow.TryGetValue(name, out var digs)) digsOfNoRow.Add(name, digs = []);
            digs.Add(dug);
            return;
        }

        if (row.Planted.Crop != dug.Crop)
        {
            Doubt(id, dug, QuestionCode.OtherCropInRow, $"Row {name} was planted with {row.Planted.Crop} on {row.Planted.PlantedOn:yyyy-MM-dd} by the book, this says {dug.Crop}. Is it another row?", new { row = name, planted = row.Planted.PlantedOn, crop = row.Planted.Crop, given = dug.Crop });
            return;
        }

        if (dug.PlantedOn is { } on && on != row.Planted.PlantedOn) Doubt(id, dug, QuestionCode.OtherPlanting, $"Row {name} was planted on {row.Planted.PlantedOn:yyyy-MM-dd} by the book, this says {on:yyyy-MM-dd}. Which date is right?", new { row = name, planted = row.Planted.PlantedOn, given = on });
        row.Dig(lot, dug);
        row.Entries.Add(id);
        lot.Row ??= row;
    }

    private List<RowView> RowViews() => plantings.ConvertAll(r => r.View());

    private static string Kind(Fact.RowPlanted planted) => planted.Variety ?? planted.Crop;
}
