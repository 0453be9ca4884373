namespace RootCellar.Ledger.Events;

/// <summary>What was in a bin was gone through and put into others, or back.</summary>
internal sealed record Sorted(string Bin, IReadOnlyList<SortedInto> Into) : BinEvent(Bin)
{
    public const string Name = "sorted";

    public static readonly EventKind Event = new(Name, Read);

    public override EventKind Kind() => Event;

    public override IEnumerable<string> Bins() => Into.Select(i => i.Bin).Prepend(Bin);

    public override IEnumerable<string> Places() => Into.Select(i => i.Place).OfType<string>();

    public override IEnumerable<string> Fills() => Into.Select(i => i.Bin);

    public override long? Grams() => Into.Sum(i => i.Amount.Grams);

    protected override bool Post(WorkingBook book, WorkingBin bin)
    {
        foreach (var into in Into)
        {
            if (into.Amount.Grams is null) return book.Unmeasured(into.Amount);
            if (into.Bin == Bin || book.Holding(into.Bin) is not { } other || other.Lot == bin.Lot) continue;
            return book.Never(
                QuestionCode.OtherLot, $"Bin {into.Bin} still holds {Kg(other.Grams)} of lot {other.Lot.Dug.Lot} by the book; "
                + $"bin {Bin} is of lot {bin.Lot.Dug.Lot}. Take another bin.",
                new { bin = into.Bin, holdsKg = other.Grams / 1000.0, lot = other.Lot.Dug.Lot, from = Bin, fromLot = bin.Lot.Dug.Lot });
        }

        var (before, sum) = (bin.Grams, Into.Sum(i => i.Amount.Grams!.Value));
        Ask(book, bin, sum);
        var rest = Into.FirstOrDefault(i => i.Bin == Bin);
        bin.Step(book.Id, book.At, Name, (rest?.Amount.Grams ?? 0) - sum);
        bin.Shrink(book.Id, book.At, before - sum);
        foreach (var into in Into)
        {
            if (into == rest) continue;
            var target = book.Holding(into.Bin);
            if (target is null)
            {
                target = book.Open(into.Bin, bin.Lot, into.Grade ?? bin.Grade, into.Place ?? bin.Place);
                (target.Lies, target.PieceKg) = (bin.Lies, bin.PieceKg);
            }

            target.ByMeasure |= into.Amount.ByVolume;
            target.Step(book.Id, book.At, Name, into.Amount.Grams!.Value);
            target.Touch(book.Id, book.At);
        }

        // Last: what was taken out without a grade of its own has the one the bin had.
        if (rest?.Grade is { } grade) bin.Grade = grade;
        return book.Done(bin);
    }

    private void Ask(WorkingBook book, WorkingBin bin, long sum)
    {
        var slack = Into.Count * Amount.GramsOf(ScaleStep.AssumedKg) + bin.VolumeSlackGrams;
        if (sum > bin.Grams + slack)
            book.Doubt(
                QuestionCode.MoreThanThere,
                $"Bin {Bin} holds {Kg(bin.Grams)} by the book, and {Kg(sum)} would come out of it. Which weight is right?",
                new { bin = Bin, holdsKg = bin.Grams / 1000.0, goesKg = sum / 1000.0 });

        // Soil and what withered is little (assumed: a fifth, at least 1 kg).
        if (sum < bin.Grams - Math.Max(1_000, bin.Grams / 5))
            book.Doubt(
                QuestionCode.NotAllSorted,
                $"Bin {Bin} holds {Kg(bin.Grams)} by the book, and only {Kg(sum)} are sorted. Where is the rest? "
                + $"What stays in it is one of \"into\" too: {{\"bin\":\"{Bin}\",\"weightKg\":...}}.",
                new { bin = Bin, holdsKg = bin.Grams / 1000.0, sortedKg = sum / 1000.0 });
    }

    private static Sorted Read(FieldReader f)
    {
        var bin = f.Name("bin");
        var into = new List<SortedInto>();
        foreach (var item in f.List("into", "{\"bin\": \"B13\", \"grade\": \"seed\", \"weightKg\": 12.5}"))
        {
            var target = new SortedInto(item.Name("bin"), item.OptionalName("grade"), item.OptionalName("place"), item.Amount(zero: true));
            if (into.Exists(i => i.Bin == target.Bin))
                item.Say($"bin: '{target.Bin}' is there twice.", new { refusal = Refusal.BinTwice, bin = target.Bin });
            into.Add(target);
        }

        return new Sorted(bin, into);
    }
}

/// <summary>One of the bins a bin was sorted into.</summary>
internal sealed record SortedInto(string Bin, string? Grade, string? Place, Amount Amount);
