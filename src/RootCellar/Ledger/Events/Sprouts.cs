namespace RootCellar.Ledger.Events;

/// <summary>Somebody looked for sprouts.</summary>
/// <param name="Share">One of <see cref="Shares"/>.</param>
/// <param name="Length">Of the sprouts, mm.</param>
internal sealed record Sprouts(string Bin, string Share, double? Length = null) : BinEvent(Bin)
{
    public const string Name = "sprouts-seen";

    public static readonly string[] Shares = [SproutsSeen.None, "few", "half", "most"];

    public static readonly EventKind Event = new(Name, static f => new Sprouts(
        f.Name("bin"), f.Choice("share", true, Shares) ?? "", f.Number("length", 0, 2_000, "the length of the sprouts in mm")));

    public override EventKind Kind() => Event;

    protected override bool Post(WorkingBook book, WorkingBin bin)
    {
        bin.SproutsSeen.Add(new SproutsSeen(book.Id, book.At, Share, Length));
        return book.Done(bin);
    }
}
