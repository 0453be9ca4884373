using RootCellar.Household;

namespace RootCellar.Ledger.Events;

/// <summary>The vines of a row are dead: skins begin to set.</summary>
/// <param name="On">Null: the day of writing.</param>
/// <param name="How">One of <see cref="Hows"/>; null where nobody said.</param>
internal sealed record VinesDead(string Row, DateOnly? On = null, string? How = null) : LedgerEvent
{
    public const string Name = "vines-dead";

    public static readonly string[] Hows = ["died", "mown", "pulled", "frost"];

    public static readonly EventKind Event = new(
        Name, static f => new VinesDead(f.Name("row"), f.Date("on"), f.Choice("how", false, Hows)));

    public override EventKind Kind() => Event;

    public override About About() => new(null, null, Row);

    public override DateTimeOffset Happened(DateTimeOffset at, HouseholdCalendar calendar) =>
        Earlier(calendar.StartOf(On ?? calendar.DayOf(at)), at);

    public override bool Post(WorkingBook book)
    {
        var today = book.Day(book.At);
        var on = On ?? today;
        if (book.Row(Row).Plantings.LastOrDefault() is not { } row)
            return book.Never(
                QuestionCode.UnknownRow,
                $"No row {Row} was planted up to {on:yyyy-MM-dd} by the book.{FieldReader.Near(Row, book.RowNames)} Is the date right? "
                + $"Or write down its planting first: {{\"event\":\"{RowPlanted.Name}\",\"row\":\"{Row}\",...}}.",
                new { row = Row, on, near = Nearest.Of(Row, book.RowNames) });

        if (on > today) book.Future(on);
        if (row.VinesDeadOn is { } known)
            book.Doubt(
                QuestionCode.VinesDeadTwice, $"The vines of row {Row} are dead since {known:yyyy-MM-dd} by the book. Is it another row?",
                new { row = Row, since = known });

        (row.VinesDeadOn, row.How) = (on, How);
        row.Entries.Add(book.Id);
        return true;
    }
}
