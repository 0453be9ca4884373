using RootCellar.Household;
using static RootCellar.Ledger.WorkingBook;

namespace RootCellar.Ledger.Events;

/// <summary>Something of a lot went into a bin.</summary>
internal sealed record Filled(string Bin, string Lot, Amount Amount, string? Grade = null, string? Place = null) : LedgerEvent
{
    public const string Name = "filled";

    public static readonly EventKind Event = new(
        Name, static f => new Filled(f.Name("bin"), f.Name("lot"), f.Amount(), f.OptionalName("grade"), f.OptionalName("place")));

    public override EventKind Kind() => Event;

    public override About About() => new(Bin, Lot);

    public override IEnumerable<string> Places() => Place is null ? [] : [Place];

    public override IEnumerable<string> Fills() => [Bin];

    public override long? Grams() => Amount.Grams;

    public override bool Post(WorkingBook book)
    {
        if (book.Lot(Lot) is not { } lot)
        {
            return book.Never(
                QuestionCode.UnknownLot,
                $"There is no lot {Lot} at {book.Clock(book.At)}.{FieldReader.Near(Lot, book.LotNames)} "
                + $"Write down its digging first: {{\"event\":\"{Dug.Name}\",\"lot\":\"{Lot}\",...}}.",
                new { lot = Lot, at = book.At, near = Nearest.Of(Lot, book.LotNames) });
        }

        book.IsOf(Lot);
        if (Amount.Grams is not { } grams) return book.Unmeasured(Amount);
        if (book.At < lot.When.NotBefore)
        {
            book.Doubt(
                QuestionCode.BeforeDigging,
                $"Bin {Bin} would be filled on {book.Day(book.At):yyyy-MM-dd}, before its lot {Lot} was dug ({lot.When.On:yyyy-MM-dd}). "
                + "Is the date right?",
                new { bin = Bin, lot = Lot, at = book.At, dug = lot.When.At });
        }

        if (book.Holding(Bin) is { } there)
        {
            if (there.Lot != lot)
            {
                return book.Never(
                    QuestionCode.OtherLot,
                    $"Bin {Bin} still holds {Kg(there.Grams)} of lot {there.Lot.Dug.Lot} by the book. Empty it first, or take another bin.",
                    new { bin = Bin, holdsKg = there.Grams / 1000.0, lot = there.Lot.Dug.Lot });
            }

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

        // A field weight is a rough one (assumed: 5 %, at least 1 kg).
        if (lot.DugGrams is { } dug && lot.FilledGrams + grams > dug + Math.Max(1_000, dug / 20))
        {
            book.Doubt(
                QuestionCode.MoreThanDug,
                $"Of lot {Lot} {Kg(dug)} were dug and {Kg(lot.FilledGrams)} are in bins; {Kg(grams)} more is more than there is. "
                + "Which weight is right?",
                new { lot = Lot, dugKg = dug / 1000.0, inBinsKg = lot.FilledGrams / 1000.0, moreKg = grams / 1000.0 });
        }

        lot.FilledGrams += grams;
        there.ByMeasure |= Amount.ByVolume;
        there.Step(book.Id, book.At, Name, grams);
        return book.Done(there);
    }
}
