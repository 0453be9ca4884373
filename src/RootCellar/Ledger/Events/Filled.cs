using RootCellar.Household;

namespace RootCellar.Ledger.Events;

/// <summary>Something of a lot went into a bin.</summary>
/// <param name="Amount">What was put in; with a tare what the scale showed, the empty bin with it.</param>
/// <param name="Lies">How it lies there: one of <see cref="Ways"/>; null where nobody said.</param>
/// <param name="PieceKg">What one piece weighs, about.</param>
internal sealed record Filled(
    string Bin, string Lot, Amount Amount, string? Grade = null, string? Place = null, string? Lies = null, double? PieceKg = null,
    double? TareKg = null) : LedgerEvent
{
    public const string Name = "filled";

    /// <summary>One layer on trays or benches; an open crate; a sack; a deep bin; a heap; in sand or sawdust.</summary>
    public static readonly string[] Ways = ["layer", "crate", "sack", "bin", "heap", "sand"];

    public static readonly EventKind Event = new(Name, Read);

    public override EventKind Kind() => Event;

    public override About About() => new(Bin, Lot);

    public override IEnumerable<string> Places() => Place is null ? [] : [Place];

    public override IEnumerable<string> Fills() => [Bin];

    public override long? Grams() => Amount.Grams - Amount.GramsOf(TareKg ?? 0);

    public override bool Post(WorkingBook book)
    {
        if (book.Lot(Lot) is not { } lot)
            return book.Never(
                QuestionCode.UnknownLot, $"There is no lot {Lot} at {book.Clock(book.At)}.{FieldReader.Near(Lot, book.LotNames)} "
                + $"Write down its digging first: {{\"event\":\"{Dug.Name}\",\"lot\":\"{Lot}\",...}}.",
                new { lot = Lot, at = book.At, near = Nearest.Of(Lot, book.LotNames) });

        book.IsOf(Lot);
        if (Grams() is not { } grams) return book.Unmeasured(Amount);
        if (book.At < lot.When.NotBefore)
            book.Doubt(
                QuestionCode.BeforeDigging,
                $"Bin {Bin} would be filled on {book.Day(book.At):yyyy-MM-dd}, before its lot {Lot} was dug ({lot.When.On:yyyy-MM-dd}). "
                + "Is the date right?",
                new { bin = Bin, lot = Lot, at = book.At, dug = lot.When.At });

        if (book.Holding(Bin) is { } there)
        {
            if (there.Lot != lot)
                return book.Never(
                    QuestionCode.OtherLot,
                    $"Bin {Bin} still holds {Kg(there.Grams)} of lot {there.Lot.Dug.Lot} by the book. "
                    + "Empty it first, or take another bin.",
                    new { bin = Bin, holdsKg = there.Grams / 1000.0, lot = there.Lot.Dug.Lot });

            book.Doubt(
                QuestionCode.FilledTwice,
                $"Bin {Bin} was filled on {book.Day(there.FilledAt):yyyy-MM-dd} and holds {Kg(there.Grams)} by the book. "
                + $"Is this {Kg(grams)} more on top?",
                new { bin = Bin, filled = there.FilledAt, holdsKg = there.Grams / 1000.0, moreKg = grams / 1000.0 });
        }
        else
        {
            there = book.Open(Bin, lot, Grade, Place);
        }

        // What is said later of a bin that is topped up holds for all of it.
        there.Lies = Lies ?? there.Lies;
        there.PieceKg = PieceKg ?? there.PieceKg;
        there.TareKg = TareKg ?? there.TareKg;

        // A field weight is a rough one (assumed: 5 %, at least 1 kg).
        if (lot.DugGrams is { } dug && lot.FilledGrams + grams > dug + Math.Max(1_000, dug / 20))
            book.Doubt(
                QuestionCode.MoreThanDug,
                $"Of lot {Lot} {Kg(dug)} were dug and {Kg(lot.FilledGrams)} are in bins; {Kg(grams)} more "
                + "is more than there is. Which weight is right?",
                new { lot = Lot, dugKg = dug / 1000.0, inBinsKg = lot.FilledGrams / 1000.0, moreKg = grams / 1000.0 });

        lot.FilledGrams += grams;
        there.ByMeasure |= Amount.ByVolume;
        there.Step(book.Id, book.At, Name, grams);
        return book.Done(there);
    }

    private static Filled Read(FieldReader f)
    {
        var read = new Filled(
            f.Name("bin"), f.Name("lot"), f.Amount(), f.OptionalName("grade"), f.OptionalName("place"),
            f.Choice("lies", required: false, Ways),
            f.Number("pieceKg", 0.001, 50, "what one piece weighs in kg, such as 0.15"),
            f.Number("tareKg", 0, 5_000, "the weight of the empty bin in kg"));
        if (read.TareKg > 0 && read.Amount.ByVolume) f.Say("tareKg: only what was weighed was weighed with its bin.");
        if (read.TareKg * 1000 > read.Amount.Grams)
        {
            var full = read.Amount.Grams / 1000.0;
            f.Say($"tareKg: the empty bin ({read.TareKg:0.###} kg) cannot be heavier than the full one ({full:0.###} kg).");
        }

        return read;
    }
}
