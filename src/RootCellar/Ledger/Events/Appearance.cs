namespace RootCellar.Ledger.Events;

/// <summary>Somebody saw how the produce in a bin looks.</summary>
/// <param name="What">One of <see cref="Looks"/>.</param>
internal sealed record Appearance(string Bin, string What) : BinEvent(Bin)
{
    public const string Name = "condition-seen";

    public static readonly string[] Looks = ["dry", "wet", "soft", "shrivelled", "green", "mould"];

    public static readonly EventKind Event = new(Name, static f => new Appearance(f.Name("bin"), f.Choice("what", true, Looks) ?? ""));

    public override EventKind Kind() => Event;

    protected override bool Post(WorkingBook book, WorkingBin bin)
    {
        bin.Conditions.Add(new ConditionSeen(book.Id, book.At, What));
        return book.Done(bin);
    }
}
