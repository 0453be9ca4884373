namespace RootCellar.Ledger.Events;

/// <summary>A bin was carried to another place.</summary>
internal sealed record Moved(string Bin, string Place) : BinEvent(Bin)
{
    public const string Name = "moved";

    public static readonly EventKind Event = new(Name, static f => new Moved(f.Name("bin"), f.Name("place")));

    public override EventKind Kind() => Event;

    public override IEnumerable<string> Places() => [Place];

    protected override bool Post(WorkingBook book, WorkingBin bin)
    {
        if (bin.Place != Place)
        {
            bin.Stays.Add(new Stay(Place, book.At));
            return book.Done(bin);
        }

        var since = bin.Stays[^1].From;
        book.Doubt(
            QuestionCode.AlreadyThere,
            $"Bin {Bin} is in {Place} already by the book, since {book.Day(since):yyyy-MM-dd}. Which bin, or which place, is meant?",
            new { bin = Bin, place = Place, since });
        return book.Done(bin);
    }
}
