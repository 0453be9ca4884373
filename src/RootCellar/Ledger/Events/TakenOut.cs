using System.Text.Json.Serialization;
using RootCellar.Household;
using RootCellar.Science.Crops;

namespace RootCellar.Ledger.Events;

/// <summary>Something went out of a bin for good: sold, canned, eaten, given away, planted as seed, or culled.</summary>
/// <param name="Way">Which of them.</param>
/// <param name="Reason">Of what was culled, one of <see cref="Reasons"/>; else null.</param>
/// <param name="Order">The order it went out for.</param>
/// <param name="Empties">Nothing is left, whatever the book has.</param>
internal sealed record TakenOut(
    [property: JsonIgnore] EventKind Way, string Bin, Amount Amount, string? Reason = null, string? Order = null,
    bool Empties = false) : BinEvent(Bin)
{
    public const string CulledName = "culled";
    public const string SoldName = "sold";
    public const string CannedName = "canned";
    public const string EatenName = "eaten";
    public const string GivenName = "given";
    public const string PlantedName = "planted";

    /// <summary>For whatever crop; <see cref="Crop.Cull"/> has those of one.</summary>
    public static readonly string[] Reasons = [.. Enum.GetValues<CullReason>().Select(Slug.Of)];

    public static readonly EventKind Culled = new(CulledName, static f => Read(Culled!, f, f.Choice("reason", true, Reasons)));
    public static readonly EventKind Sold = new(SoldName, static f => Read(Sold!, f));
    public static readonly EventKind Canned = new(CannedName, static f => Read(Canned!, f));
    public static readonly EventKind Eaten = new(EatenName, static f => Read(Eaten!, f));
    public static readonly EventKind Given = new(GivenName, static f => Read(Given!, f));
    public static readonly EventKind Planted = new(PlantedName, static f => Read(Planted!, f));

    public static readonly IReadOnlyList<EventKind> Kinds = [Culled, Sold, Canned, Eaten, Given, Planted];

    private static readonly string CulledFor = Culled.Name + "-";

    public override EventKind Kind() => Way;

    /// <summary>As balances and ways out name it: <c>sold</c>, <c>culled-rot</c>.</summary>
    public string Goes() => Way == Culled ? CulledFor + Reason : Way.Name;

    /// <summary>What it was culled for, of a way out; null where it was not.</summary>
    public static string? CulledAs(string goes) => goes.StartsWith(CulledFor, StringComparison.Ordinal) ? goes[CulledFor.Length..] : null;

    public override long? Grams() => Amount.Grams;

    protected override bool Post(WorkingBook book, WorkingBin bin)
    {
        if (Amount.Grams is not { } grams) return book.Unmeasured(Amount);
        var goes = Goes();
        if (grams > bin.Grams)
            book.Doubt(
                QuestionCode.MoreThanThere,
                $"Bin {Bin} holds {Kg(bin.Grams)} by the book, and {Kg(grams)} would be {goes}. "
                + "Which weight, or which bin, is right?",
                new { bin = Bin, holdsKg = bin.Grams / 1000.0, goesKg = grams / 1000.0, reason = goes });

        if (Order is not null) Deliver(book, bin, grams);
        if (grams > bin.Grams || Empties) bin.Shrink(book.Id, book.At, bin.Grams - grams);
        bin.Step(book.Id, book.At, goes, -grams);
        bin.Lot.OutGrams[goes] = bin.Lot.OutGrams.GetValueOrDefault(goes) + grams;
        book.Outs.Add(new WayOut(book.Id, book.At, Bin, bin.Lot.Dug.Lot, goes, grams, Order));
        return book.Done(bin);
    }

    private void Deliver(WorkingBook book, WorkingBin bin, long grams)
    {
        var (order, crop) = (book.Order(Order!), bin.Lot.Dug.Crop);
        var lines = order.FindAll(p => p.Promised.Crop == crop);
        if ((lines.Find(p => p.Promised.Grade is not null && p.Promised.Grade == bin.Grade) ?? lines.Find(p => p.Promised.Grade is null)
            ?? lines.FirstOrDefault()) is { } line)
        {
            line.Gone += grams;
            return;
        }

        var names = book.Promises.Select(p => p.Promised.Order);
        book.Doubt(
            QuestionCode.NotInOrder,
            order.Count > 0
                ? $"Order {Order} has no {crop} in it. Is it another order?"
                : $"There is no order {Order}.{FieldReader.Near(Order!, names)} Is it another one?",
            new { order = Order, crop = order.Count > 0 ? crop : null, near = Nearest.Of(Order!, names) });
    }

    private static TakenOut Read(EventKind kind, FieldReader f, string? reason = null) =>
        new(kind, f.Name("bin"), f.OptionalAmount(required: !f.IsSet("empties")) ?? default, reason, f.OptionalName("order"),
            f.Flag("empties"));
}
