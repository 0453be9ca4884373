using RootCellar.Household;
using RootCellar.Science.Crops;

namespace RootCellar.Ledger.Events;

/// <summary>A lot came out of the ground, or off the tree.</summary>
/// <param name="DugOn">A day, or a moment, as it was written; null: when it was written down.</param>
/// <param name="Skin">One of <see cref="Skins"/>; null where nobody said.</param>
/// <param name="Amount">What was weighed in the field; null where nobody did.</param>
/// <param name="Flags">Of <see cref="AllFlags"/>.</param>
/// <param name="PulpC">The temperature inside the produce.</param>
internal sealed record Dug(
    string Lot, string Crop, string? Variety = null, string? Row = null, DateOnly? PlantedOn = null, string? DugOn = null,
    string? Skin = null, Amount? Amount = null, IReadOnlyList<string>? Flags = null, double? PulpC = null) : LedgerEvent
{
    public const string Name = "dug";

    public static readonly string[] Skins = ["set", "tender", "scuffed", "cut"];
    public static readonly string[] AllFlags = [.. Enum.GetValues<HarvestSign>().Where(s => s != HarvestSign.Skin).Select(Slug.Of)];

    public static readonly EventKind Event = new(Name, static f => new Dug(
        f.Name("lot"), f.Crop(), f.OptionalName("variety"), f.OptionalName("row"), f.Date("plantedOn"), f.When("dugOn"),
        f.Choice("skin", false, Skins), f.OptionalAmount(mostKg: 500_000), f.Choices("flags", AllFlags),
        f.Number("pulpC", -10, 50, "the temperature inside the produce in C, -10 to 50")));

    public override EventKind Kind() => Event;

    public override About About() => new(null, Lot, Row, Crop);

    public override long? Grams() => Amount?.Grams;

    /// <summary>The day, the moment its keeping begins, and before which nothing of it was in a bin.</summary>
    public DugWhen When(DateTimeOffset at, HouseholdCalendar calendar)
    {
        var (day, moment) = FieldReader.DayOrMoment(DugOn);
        // A day without a time: the hour of writing when it is that day, else its noon.
        var on = day ?? calendar.DayOf(moment ?? at);
        var began = moment ?? (on == calendar.DayOf(at) ? at : calendar.Moment(on, new TimeOnly(12, 0)));
        return new DugWhen(on, began, moment ?? calendar.StartOf(on));
    }

    public override DateTimeOffset Happened(DateTimeOffset at, HouseholdCalendar calendar) => Earlier(When(at, calendar).At, at);

    public override bool Post(WorkingBook book) =>
        book.CropOf(Crop) is { } known && (known == Crop ? this : this with { Crop = known }).PostKnown(book);

    private bool PostKnown(WorkingBook book)
    {
        if (Amount is { Grams: null } amount) return book.Unmeasured(amount);
        var when = When(book.At, book.Calendar);
        if (PlantedOn is { } planted && planted > when.On)
            book.Doubt(
                QuestionCode.PlantedAfter,
                $"Lot {Lot} was planted on {planted:yyyy-MM-dd} and dug on {when.On:yyyy-MM-dd}, before it. Which date is right?",
                new { lot = Lot, planted, dug = when.At });

        if (book.Lot(Lot) is { } lot)
        {
            if (lot.Dug.Crop != Crop)
                return book.Never(
                    QuestionCode.OtherCrop, $"Lot {Lot} is {lot.Dug.Crop} by the book, this says {Crop}. Give it a lot of its own.",
                    new { lot = Lot, crop = lot.Dug.Crop, given = Crop });

            book.Doubt(QuestionCode.DugTwice, $"Lot {Lot} was dug on {lot.When.On:yyyy-MM-dd} already. Is this more of the same lot?",
                new { lot = Lot, dug = lot.When.At });
            if (Amount is { Grams: { } more }) lot.DugGrams = (lot.DugGrams ?? 0) + more;
        }
        else
        {
            book.Begin(lot = new WorkingLot(this, when));
        }

        Link(book, lot, when);
        return book.Done(lot);
    }

    /// <summary>Joins it to the planting of its row. Of a row nobody planted there is nothing to ask.</summary>
    private void Link(WorkingBook book, WorkingLot lot, DugWhen when)
    {
        if (Row is null) return;
        var all = book.Row(Row);
        var row = all.Plantings.FindLast(r => r.PlantedOn == PlantedOn) ?? all.Plantings.LastOrDefault();
        if (row is null || when.On.DayNumber - row.PlantedOn.DayNumber > WorkingRow.LongestDays)
        {
            all.Early.Add(new Digging(lot, this, when));
            return;
        }

        if (row.Planted.Crop != Crop)
        {
            book.Doubt(
                QuestionCode.OtherCropInRow,
                $"Row {Row} was planted with {row.Planted.Crop} on {row.PlantedOn:yyyy-MM-dd} by the book, this says {Crop}. "
                + "Is it another row?",
                new { row = Row, planted = row.PlantedOn, crop = row.Planted.Crop, given = Crop });
            return;
        }

        if (PlantedOn is { } on && on != row.PlantedOn)
            book.Doubt(
                QuestionCode.OtherPlanting,
                $"Row {Row} was planted on {row.PlantedOn:yyyy-MM-dd} by the book, this says {on:yyyy-MM-dd}. Which date is right?",
                new { row = Row, planted = row.PlantedOn, given = on });

        row.Digs.Add(new Digging(lot, this, when));
        row.Entries.Add(book.Id);
        lot.Row ??= row;
    }
}

/// <param name="On">The day.</param>
/// <param name="At">When its keeping begins.</param>
/// <param name="NotBefore">Nothing of it was in a bin before.</param>
internal readonly record struct DugWhen(DateOnly On, DateTimeOffset At, DateTimeOffset NotBefore);
