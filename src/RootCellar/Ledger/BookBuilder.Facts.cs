using RootCellar.Household;

namespace RootCellar.Ledger;

/// <summary>What each event does to the book, and what the book asks about it.</summary>
internal sealed partial class BookBuilder
{
    private bool Apply(long id, DateTimeOffset at, Fact fact) => fact switch
    {
        Fact.RowPlanted planted => Take(id, at, planted),
        Fact.VinesDead dead => Take(id, at, dead),
        Fact.Dug dug => Take(id, dug),
        Fact.Promised promised => Take(id, at, promised),
        Fact.Filled filled => Take(id, at, filled),
        Fact.Moved moved => Bin(id, at, moved, moved.Bin) is { } bin && Take(id, at, moved, bin),
        Fact.Weighed weighed => Bin(id, at, weighed, weighed.Bin) is { } bin && Take(id, at, weighed, bin),
        Fact.Sorted sorted => Bin(id, at, sorted, sorted.Bin) is { } bin && Take(id, at, sorted, bin),
        Fact.Out gone => Bin(id, at, gone, gone.Bin) is { } bin && Take(id, at, gone, bin),
        Fact.Sprouts seen => Bin(id, at, seen, seen.Bin) is { } bin && Take(id, at, seen, bin),
        Fact.Condition seen => Bin(id, at, seen, seen.Bin) is { } bin && Take(id, at, seen, bin),
        _ => throw new InvalidOperationException($"An event without a rule: {fact}"),
    };

    private bool Take(long id, Fact.Dug dug)
    {
        if (dug.Amount is { Grams: null } amount) return Unmeasured(id, amount);
        if (dug.PlantedOn is { } planted && planted > dug.DugOn) Doubt(id, dug, QuestionCode.PlantedAfter, $"Lot {dug.Lot} was planted on {planted:yyyy-MM-dd} and dug on {dug.DugOn:yyyy-MM-dd}, before it. Which date is right?", new { lot = dug.Lot, planted, dug = dug.DugAt });
        if (lots.TryGetValue(dug.Lot, out var known))
        {
            if (known.Dug.Crop != dug.Crop) return Never(id, QuestionCode.OtherCrop, $"Lot {dug.Lot} is {known.Dug.Crop} by the book, this says {dug.Crop}. Give it a lot of its own.", new { lot = dug.Lot, crop = known.Dug.Crop, given = dug.Crop });
            Doubt(id, dug, QuestionCode.DugTwice, $"Lot {dug.Lot} was dug on {known.Dug.DugOn:yyyy-MM-dd} already. Is this more of the same lot?", new { lot = dug.Lot, dug = known.Dug.DugAt });
            if (dug.Amount is { Grams: { } more }) known.DugGrams = (known.DugGrams ?? 0) + more;
        }
        else
        {
            lots.Add(dug.Lot, known = new WorkingLot(dug));
        }

        Link(id, dug, known);
        known.Entries.Add(id);
        lotOf[id] = dug.Lot;
        return true;
    }

    private bool Take(long id, DateTimeOffset at, Fact.Filled filled)
    {
        if (!lots.TryGetValue(filled.Lot, out var lot)) return Never(id, QuestionCode.UnknownLot, $"There is no lot {filled.Lot} at {Clock(at)}.{FieldReader.Near(filled.Lot, lots.Keys)} Write down its digging first: {{\"event\":\"dug\",\"lot\":\"{filled.Lot}\",...}}.", new { lot = filled.Lot, at, near = Nearest.Of(filled.Lot, lots.Keys) });
        lotOf[id] = filled.Lot;
        if (filled.Amount.Grams is not { } grams) return Unmeasured(id, filled.Amount);
        if (at < lot.Dug.NotBefore) Doubt(id, filled, QuestionCode.BeforeDigging, $"Bin {filled.Bin} would be filled on {Day(at):yyyy-MM-dd}, before its lot {filled.Lot} was dug ({lot.Dug.DugOn:yyyy-MM-dd}). Is the date right?", new { bin = filled.Bin, lot = filled.Lot, at, dug = lot.Dug.DugAt });
        var there = bins.GetValueOrDefault(filled.Bin);
        if (there is { EmptiedAt: null })
        {
            if (there.Lot != lot) return Never(id, QuestionCode.OtherLot, $"Bin {filled.Bin} still holds {Kg(there.Grams)} of lot {there.Lot.Dug.Lot} by the book. Empty it first, or take another bin.", new { bin = filled.Bin, holdsKg = there.Grams / 1000.0, lot = there.Lot.Dug.Lot });
            Doubt(id, filled, QuestionCode.FilledTwice, $"Bin {filled.Bin} was filled on {Day(there.FilledAt):yyyy-MM-dd} and holds {Kg(there.Grams)} by the book. Is this {Kg(grams)} more on top?", new { bin = filled.Bin, filled = there.FilledAt, holdsKg = there.Grams / 1000.0, moreKg = grams / 1000.0 });
        }
        else
        {
            there = Open(filled.Bin, lot, filled.Grade, filled.Place, at);
        }

        // A field weight is a rough one (assumed: 5 %, at least 1 kg).
        if (lot.DugGrams is { } dug && lot.FilledGrams + grams > dug + Math.Max(1_000, dug / 20)) Doubt(id, filled, QuestionCode.MoreThanDug, $"Of lot {filled.Lot} {Kg(dug)} were dug and {Kg(lot.FilledGrams)} are in bins; {Kg(grams)} more is more than there is. Which weight is right?", new { lot = filled.Lot, dugKg = dug / 1000.0, inBinsKg = lot.FilledGrams / 1000.0, moreKg = grams / 1000.0 });
        lot.FilledGrams += grams;
        there.ByMeasure |= filled.Amount.ByVolume;
        there.Step(id, at, "filled", grams);
        return Done(id, at, there);
    }

    private bool Take(long id, DateTimeOffset at, Fact.Moved moved, WorkingBin bin)
    {
        if (bin.Place == moved.Place) Doubt(id, moved, QuestionCode.AlreadyThere, $"Bin {bin.Id} is in {moved.Place} already by the book, since {Day(bin.Stays[^1].From):yyyy-MM-dd}. Which bin, or which place, is meant?", new { bin = bin.Id, place = moved.Place, since = bin.Stays[^1].From });
        else bin.Stays.Add(new Stay(moved.Place, at));
        return Done(id, at, bin);
    }

    private bool Take(long id, DateTimeOffset at, Fact.Weighed weighed, WorkingBin bin)
    {
        var net = weighed.Amount.Grams!.Value - Whole(weighed.TareKg ?? 0);
        var resolution = ScaleStep.Of(weighed.ResolutionKg, weighed.Amount);
        // What is only read off a figure is no excuse for a bin that grew.
        double before = bin.Weighings.Count > 0 ? bin.Weighings[^1].ResolutionKg : 0;
        var slack = Whole(Math.Max(weighed.ResolutionKg ?? ScaleStep.AssumedKg, before)) + bin.VolumeSlackGrams;
        if (net > bin.Grams + slack) Doubt(id, weighed, QuestionCode.TooHeavy, $"Bin {bin.Id} would weigh {Kg(net)}, and by the book it cannot be more than {Kg(bin.Grams)}{(weighed.TareKg is null ? "; is that with the empty bin, whose tareKg is missing" : "")}? Or is it another bin?", new { bin = bin.Id, weighsKg = net / 1000.0, holdsKg = bin.Grams / 1000.0, tareGiven = weighed.TareKg is not null });
        bin.Weighings.Add(new Weighing(id, at, net / 1000.0, resolution, weighed.TareKg is null ? null : weighed.Amount.Grams / 1000.0, weighed.TareKg, bin.Grams / 1000.0));
        bin.Shrink(id, at, bin.Grams - net);
        return Done(id, at, bin);
    }

    private bool Take(long id, DateTimeOffset at, Fact.Sorted sorted, WorkingBin bin)
    {
        foreach (var into in sorted.Into)
        {
            if (into.Amount.Grams is null) return Unmeasured(id, into.Amount);
            if (into.Bin != bin.Id && bins.GetValueOrDefault(into.Bin) is { EmptiedAt: null } other && other.Lot != bin.Lot) return Never(id, QuestionCode.OtherLot, $"Bin {into.Bin} still holds {Kg(other.Grams)} of lot {other.Lot.Dug.Lot} by the book; bin {bin.Id} is of lot {bin.Lot.Dug.Lot}. Take another bin.", new { bin = into.Bin, holdsKg = other.Grams / 1000.0, lot = other.Lot.Dug.Lot, from = bin.Id, fromLot = bin.Lot.Dug.Lot });
        }

        var (before, sum) = (bin.Grams, sorted.Into.Sum(i => i.Amount.Grams!.Value));
        var slack = sorted.Into.Count * Whole(ScaleStep.AssumedKg) + bin.VolumeSlackGrams;
        if (sum > before + slack) Doubt(id, sorted, QuestionCode.MoreThanThere, $"Bin {bin.Id} holds {Kg(before)} by the book, and {Kg(sum)} would come out of it. Which weight is right?", new { bin = bin.Id, holdsKg = before / 1000.0, goesKg = sum / 1000.0 });
        // Soil and what withered is little (assumed: a fifth, at least 1 kg).
        if (sum < before - Math.Max(1_000, before / 5)) Doubt(id, sorted, QuestionCode.NotAllSorted, $"Bin {bin.Id} holds {Kg(before)} by the book, and only {Kg(sum)} are sorted. Where is the rest? What stays in it is one of \"into\" too: {{\"bin\":\"{bin.Id}\",\"weightKg\":...}}.", new { bin = bin.Id, holdsKg = before / 1000.0, sortedKg = sum / 1000.0 });
        var rest = sorted.Into.FirstOrDefault(i => i.Bin == bin.Id);
        var away = sum - (rest?.Amount.Grams ?? 0);
        bin.Step(id, at, "sorted", -away);
        bin.Shrink(id, at, before - sum);
        if (rest?.Grade is { } grade) bin.Grade = grade;
        foreach (var into in sorted.Into)
        {
            if (into == rest) continue;
            var target = bins.GetValueOrDefault(into.Bin) is { EmptiedAt: null } there ? there : Open(into.Bin, bin.Lot, into.Grade ?? bin.Grade, into.Place ?? bin.Place, at);
            target.ByMeasure |= into.Amount.ByVolume;
            target.Step(id, at, "sorted", into.Amount.Grams!.Value);
            target.Touch(id, at);
        }

        return Done(id, at, bin);
    }

    private bool Take(long id, DateTimeOffset at, Fact.Out gone, WorkingBin bin)
    {
        lotOf[id] = bin.Lot.Dug.Lot;
        if (gone.Amount.Grams is not { } grams) return Unmeasured(id, gone.Amount);
        if (grams > bin.Grams) Doubt(id, gone, QuestionCode.MoreThanThere, $"Bin {bin.Id} holds {Kg(bin.Grams)} by the book, and {Kg(grams)} would be {gone.Reason}. Which weight, or which bin, is right?", new { bin = bin.Id, holdsKg = bin.Grams / 1000.0, goesKg = grams / 1000.0, reason = gone.Reason });
        if (gone.Order is { } order && !Deliver(order, bin, grams)) Doubt(id, gone, QuestionCode.NotInOrder, promises.Exists(p => p.Fact.Order == order) ? $"Order {order} has no {bin.Lot.Dug.Crop} in it. Is it another order?" : $"There is no order {order}.{FieldReader.Near(order, promises.Select(p => p.Fact.Order))} Is it another one?", new { order, crop = promises.Exists(p => p.Fact.Order == order) ? bin.Lot.Dug.Crop : null, near = Nearest.Of(order, promises.Select(p => p.Fact.Order)) });
        if (grams > bin.Grams || gone.Empties) bin.Shrink(id, at, bin.Grams - grams);
        bin.Step(id, at, gone.Reason, -grams);
        bin.Lot.OutGrams = bin.Lot.OutGrams.SetItem(gone.Reason, bin.Lot.OutGrams.GetValueOrDefault(gone.Reason) + grams);
        outs.Add(new WayOut(id, at, bin.Id, bin.Lot.Dug.Lot, gone.Reason, grams, gone.Order));
        return Done(id, at, bin);
    }

    private bool Take(long id, DateTimeOffset at, Fact.Promised promised)
    {
        if (promised.Amount.Grams is null) return Unmeasured(id, promised.Amount);
        if (promises.Exists(p => p.Fact.Order == promised.Order && p.Fact.Crop == promised.Crop && p.Fact.Grade == promised.Grade)) Doubt(id, promised, QuestionCode.PromisedTwice, $"Order {promised.Order} has {promised.Crop}{(promised.Grade is null ? "" : $" ({promised.Grade})")} in it already. Is this more of it?", new { order = promised.Order, crop = promised.Crop, grade = promised.Grade });
        if (promised.Due is { } due && due < Day(at)) Doubt(id, promised, QuestionCode.DueBefore, $"Order {promised.Order} would be due on {due:yyyy-MM-dd}, before it was promised. Is the date right?", new { order = promised.Order, due });
        promises.Add(new WorkingPromise(id, at, promised));
        return true;
    }

    private bool Take(long id, DateTimeOffset at, Fact.Sprouts seen, WorkingBin bin)
    {
        bin.SproutsSeen.Add(new SproutsSeen(id, at, seen.Share, seen.LengthMm));
        return Done(id, at, bin);
    }

    private bool Take(long id, DateTimeOffset at, Fact.Condition seen, WorkingBin bin)
    {
        bin.Conditions.Add(new ConditionSeen(id, at, seen.What));
        return Done(id, at, bin);
    }

    private WorkingBin? Bin(long id, DateTimeOffset at, Fact fact, string name)
    {
        if (!bins.TryGetValue(name, out var bin))
        {
            Never(id, QuestionCode.UnknownBin, FirstFilled(name) is { } first
                ? $"Bin {name} was filled on {Clock(first)}; at {Clock(at)} there was nothing in it. Is the date right?"
                : $"There is no bin {name}.{FieldReader.Near(name, bins.Keys)} A bin begins by being filled: {{\"event\":\"filled\",\"bin\":\"{name}\",\"lot\":...,\"weightKg\":...}}.",
                new { bin = name, at, filled = FirstFilled(name), near = Nearest.Of(name, bins.Keys) });
            return null;
        }

        lotOf[id] = bin.Lot.Dug.Lot;
        if (bin.EmptiedAt is { } emptied) Doubt(id, fact, QuestionCode.Emptied, $"Bin {name} is empty by the book since {Clock(emptied)}. Is it another bin?", new { bin = name, emptied });
        return bin;
    }

    private WorkingBin Open(string id, WorkingLot lot, string? grade, string? place, DateTimeOffset at)
    {
        // Two fillings of a bin are told apart by their moment, also where both were written down under one.
        if (bins.GetValueOrDefault(id) is { } before && before.FilledAt >= at) at = before.FilledAt.AddMilliseconds(1);
        var bin = new WorkingBin(id, lot, grade, place, at);
        bins[id] = bin;
        fillings.Add(bin);
        lot.Bins.Add(bin);
        return bin;
    }

    private bool Deliver(string order, WorkingBin bin, long grams)
    {
        var lines = promises.FindAll(p => p.Fact.Order == order && p.Fact.Crop == bin.Lot.Dug.Crop);
        if (lines.Count == 0) return false;
        var line = lines.Find(p => p.Fact.Grade is not null && p.Fact.Grade == bin.Grade) ?? lines.Find(p => p.Fact.Grade is null) ?? lines[0];
        line.Gone += grams;
        return true;
    }

    private bool Done(long id, DateTimeOffset at, WorkingBin bin)
    {
        bin.Touch(id, at);
        bin.Lot.Entries.Add(id);
        lotOf[id] = bin.Lot.Dug.Lot;
        return true;
    }

    private bool Unmeasured(long id, Amount amount) => Never(id, QuestionCode.Unmeasured, $"Nobody knows what a {amount.Unit} of it weighs while its crop is not known.", new { unit = amount.Unit });

    private static long Whole(double kg) => (long)Math.Round(kg * 1000, MidpointRounding.AwayFromZero);

    private static string Kg(long grams) => $"{grams / 1000.0:0.###} kg";
}
