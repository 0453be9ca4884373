using RootCellar.Household;
using RootCellar.Science;

namespace RootCellar.Ledger.Events;

/// <summary>A row was put into the ground. A row is its name and its planting.</summary>
/// <param name="PlantedOn">Null: the day of writing.</param>
/// <param name="Maturity">One of <see cref="Maturities"/>; or the packet's days to maturity, never both.</param>
/// <param name="LengthM">Its length, or <paramref name="LengthFt"/>: kept as it was entered.</param>
/// <param name="Lot">What its lot is to be called.</param>
internal sealed record RowPlanted(
    string Row, string Crop, string? Variety = null, DateOnly? PlantedOn = null, string? Maturity = null, double? MaturityDays = null,
    double? LengthM = null, double? LengthFt = null, string? Lot = null) : LedgerEvent
{
    public const string Name = "row-planted";

    // A planting just after a digging from the same row is more likely one wrong date than two plantings (assumed).
    private const int SameSeasonDays = 60;

    public static readonly string[] Maturities = ["early", "mid", "late"];

    public static readonly EventKind Event = new(Name, Read);

    public override EventKind Kind() => Event;

    public override About About() => new(null, Lot, Row, Crop);

    public double? Metres() => LengthM ?? LengthFt * Foot.Metres;

    public override DateTimeOffset Happened(DateTimeOffset at, HouseholdCalendar calendar) =>
        Earlier(calendar.StartOf(PlantedOn ?? calendar.DayOf(at)), at);

    public override bool Post(WorkingBook book) =>
        book.CropOf(Crop) is { } known && (known == Crop ? this : this with { Crop = known }).PostKnown(book);

    private bool PostKnown(WorkingBook book)
    {
        var today = book.Day(book.At);
        var on = PlantedOn ?? today;
        if (on > today) book.Future(on);
        var all = book.Row(Row);
        if (all.Plantings.LastOrDefault() is { } last)
        {
            if (last.Digs.Count == 0)
                book.Doubt(
                    QuestionCode.RowPlantedTwice,
                    $"Row {Row} was planted on {last.PlantedOn:yyyy-MM-dd} ({last.Planted.Variety ?? last.Planted.Crop}) "
                    + "and nothing was dug from it yet. Is it another row, or was it planted again?",
                    new { row = Row, planted = last.PlantedOn, crop = last.Planted.Crop, variety = last.Planted.Variety });

            last.Ended = true;
        }

        if (all.Early.FindLast(d =>
            d.Dug.Crop == Crop && !(d.Dug.PlantedOn < on) && on.DayNumber - d.When.On.DayNumber <= SameSeasonDays) is { } early)
            book.Doubt(
                QuestionCode.DugBeforePlanting,
                $"Row {Row} would be planted on {on:yyyy-MM-dd}, and lot {early.Dug.Lot} was dug from it on "
                + $"{early.When.On:yyyy-MM-dd}, before it. Which date is right?",
                new { row = Row, planted = on, lot = early.Dug.Lot, dug = early.When.At });

        book.Plant(new WorkingRow(book.Id, this, on));
        return true;
    }

    private static RowPlanted Read(FieldReader f)
    {
        var (row, crop, variety, on) = (f.Name("row"), f.Crop(), f.OptionalName("variety"), f.Date("plantedOn"));
        var maturity = f.Choice("maturity", false, Maturities);
        var days = f.Number("maturityDays", 20, 365, "the days to maturity that packet or seed list give, 20 to 365");
        if (maturity is not null && days is not null) f.Say("maturity and maturityDays: one of the two.");
        var metres = f.Number("lengthM", 0.1, 5_000, "the length of the row in m, such as 30");
        var feet = f.Number("lengthFt", 0.3, 16_000, "the length of the row in feet, such as 100");
        if (metres is not null && feet is not null) f.Say("lengthM and lengthFt: one of the two.");
        return new RowPlanted(row, crop, variety, on, maturity, days, metres, feet, f.OptionalName("lot"));
    }
}
