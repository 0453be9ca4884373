using RootCellar.Household;

namespace RootCellar.Ledger;

/// <summary>Marks to go back by: how everything an entry may change stood before it.</summary>
internal sealed partial class BookBuilder
{
    private readonly List<Step> steps = [];
    private readonly Stack<(string Name, WorkingBin? Was, BinMark Mark)> binsBefore = new();
    private readonly Stack<(string Name, WorkingLot? Was, LotMark Mark)> lotsBefore = new();
    private readonly Stack<(WorkingPromise Line, long Gone)> promisesBefore = new();
    private readonly Stack<(string Name, int Rows, int Digs, IReadOnlyList<RowMark> Marks)> rowsBefore = new();

    /// <summary>An entry that was applied, and how long every list was before.</summary>
    private readonly record struct Step(long Id, int Fillings, int Promises, int Outs, int Doubts, int BinsBefore, int LotsBefore, int PromisesBefore, int Plantings, int RowsBefore);

    /// <summary>Before an entry is applied. What is marked too much only costs time; what is not and is changed would stay changed.</summary>
    private void Mark(long id, Fact fact)
    {
        steps.Add(new Step(id, fillings.Count, promises.Count, outs.Count, doubts.Count, binsBefore.Count, lotsBefore.Count, promisesBefore.Count, plantings.Count, rowsBefore.Count));
        switch (fact)
        {
            case Fact.Dug dug:
                MarkLot(dug.Lot);
                if (dug.Row is { } from) MarkRow(from);
                break;
            case Fact.RowPlanted planted: MarkRow(planted.Row); break;
            case Fact.VinesDead dead: MarkRow(dead.Row); break;
            case Fact.Filled filled:
                MarkLot(filled.Lot);
                MarkBin(filled.Bin);
                break;
            case Fact.Moved moved: MarkBin(moved.Bin); break;
            case Fact.Weighed weighed: MarkBin(weighed.Bin); break;
            case Fact.Sprouts seen: MarkBin(seen.Bin); break;
            case Fact.Condition seen: MarkBin(seen.Bin); break;
            case Fact.Sorted sorted:
                MarkBin(sorted.Bin);
                foreach (var into in sorted.Into) MarkBin(into.Bin);
                break;
            case Fact.Out gone:
                MarkBin(gone.Bin);
                if (gone.Order is { } order) MarkOrder(order);
                break;
            case Fact.Promised: break;
            default: throw new InvalidOperationException($"An event without marks: {fact}");
        }
    }

    private void MarkBin(string name)
    {
        var was = bins.GetValueOrDefault(name);
        binsBefore.Push((name, was, was?.Mark() ?? default));
        if (was is not null) MarkLot(was.Lot.Dug.Lot);
    }

    private void MarkLot(string name)
    {
        var was = lots.GetValueOrDefault(name);
        lotsBefore.Push((name, was, was?.Mark() ?? default));
    }

    private void MarkRow(string name)
    {
        var all = rows.GetValueOrDefault(name, []);
        rowsBefore.Push((name, all.Count, digsOfNoRow.GetValueOrDefault(name, []).Count, all.ConvertAll(r => r.Mark())));
    }

    private void MarkOrder(string order)
    {
        foreach (var line in promises)
        {
            if (line.Fact.Order == order) promisesBefore.Push((line, line.Gone));
        }
    }

    /// <summary>As if only the first so many of what happened had.</summary>
    private void GoBack(int count)
    {
        if (count >= steps.Count) return;
        var to = steps[count];
        steps.RemoveRange(count, steps.Count - count);
        // Last first: the earliest mark of a thing is the one that stays.
        while (binsBefore.Count > to.BinsBefore)
        {
            var (name, was, mark) = binsBefore.Pop();
            if (was is null) bins.Remove(name);
            else (bins[name] = was).Back(mark);
        }

        while (lotsBefore.Count > to.LotsBefore)
        {
            var (name, was, mark) = lotsBefore.Pop();
            if (was is null) lots.Remove(name);
            else was.Back(mark);
        }

        while (promisesBefore.Count > to.PromisesBefore)
        {
            var (line, gone) = promisesBefore.Pop();
            line.Gone = gone;
        }

        while (rowsBefore.Count > to.RowsBefore)
        {
            var (name, were, digs, marks) = rowsBefore.Pop();
            if (were == 0) rows.Remove(name);
            else Shorten(rows[name], were);
            for (var i = 0; i < were; i++) rows[name][i].Back(marks[i]);
            if (digsOfNoRow.TryGetValue(name, out var dug)) Shorten(dug, digs);
        }

        Shorten(plantings, to.Plantings);
        Shorten(fillings, to.Fillings);
        Shorten(promises, to.Promises);
        Shorten(outs, to.Outs);
        Shorten(doubts, to.Doubts);
    }

    internal static void Shorten<T>(List<T> list, int count) => list.RemoveRange(count, list.Count - count);
}
