namespace RootCellar.Ledger.Events;

/// <summary>Something of a crop was promised to somebody.</summary>
internal sealed record Promised(string Order, string Crop, string? Grade, Amount Amount, DateOnly? Due) : LedgerEvent
{
    public const string Name = "promised";

    public static readonly EventKind Event = new(
        Name, static f => new Promised(f.Name("order"), f.Crop(), f.OptionalName("grade"), f.Amount(), f.Date("due")));

    public override EventKind Kind() => Event;

    public override About About() => new(null, null, null, Crop);

    public override long? Grams() => Amount.Grams;

    public override bool Post(WorkingBook book) =>
        book.CropOf(Crop) is { } known && (known == Crop ? this : this with { Crop = known }).PostKnown(book);

    private bool PostKnown(WorkingBook book)
    {
        if (Amount.Grams is null) return book.Unmeasured(Amount);
        if (book.Promises.Exists(p => p.Promised.Order == Order && p.Promised.Crop == Crop && p.Promised.Grade == Grade))
            book.Doubt(
                QuestionCode.PromisedTwice,
                $"Order {Order} has {Crop}{(Grade is null ? "" : $" ({Grade})")} in it already. Is this more of it?",
                new { order = Order, crop = Crop, grade = Grade });

        if (Due is { } due && due < book.Day(book.At))
            book.Doubt(
                QuestionCode.DueBefore, $"Order {Order} would be due on {due:yyyy-MM-dd}, before it was promised. Is the date right?",
                new { order = Order, due });

        book.Promise(new WorkingPromise(book.Id, book.At, this));
        return true;
    }
}
