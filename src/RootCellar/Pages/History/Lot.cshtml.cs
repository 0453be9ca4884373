using System.Globalization;
using Microsoft.AspNetCore.Mvc.RazorPages;
using RootCellar.Api;
using RootCellar.Charts;
using RootCellar.Household;
using RootCellar.Ledger;
using RootCellar.Lots;
using RootCellar.Monitoring;
using RootCellar.Pages.Bins;
using RootCellar.Pages.Foreseen;
using RootCellar.Pages.Look;
using RootCellar.Places;
using RootCellar.Science.Keeping;
using RootCellar.Storage;

namespace RootCellar.Pages.History;

/// <summary>A line of where everything of a lot is.</summary>
internal sealed record BalanceLine(string What, string Weight, bool Sum = false);

internal sealed record LotBin(BinView Bin, BinEstimate? Estimate);

internal sealed record LotEntry(Standing Standing, string Text, string? Bin);

/// <summary>One lot: what it is, where all of it is, how it keeps, and its past in charts.</summary>
internal sealed class LotModel(
    LedgerDoor door, LotKeeper keeper, LotCharts charts, Pipeline pipeline, EntryWords words, WayWords ways, AheadWords ahead,
    Show show) : PageModel
{
    private const int Shown = 100;

    public string Name { get; private set; } = "";

    /// <summary>Null where the book has no such lot.</summary>
    public LotView? Lot { get; private set; }

    /// <summary>Null while nothing of it is worked out, and when all of it is gone.</summary>
    public LotEstimate? Estimate { get; private set; }

    /// <summary>Why nothing is worked out of it, in words; null where it is, and of a crop nobody follows.</summary>
    public string? Why { get; private set; }

    public IReadOnlyList<Place> Places { get; private set; } = [];

    /// <summary>Its bins, those with something in them first.</summary>
    public IReadOnlyList<LotBin> Bins { get; private set; } = [];

    public IReadOnlyList<BalanceLine> Balance { get; private set; } = [];

    /// <summary>How much it has shrunk, and what is left; empty where nothing was filled.</summary>
    public IReadOnlyList<BalanceLine> Shrunk { get; private set; } = [];

    /// <summary>That in one sentence.</summary>
    public string ShrunkInAll { get; private set; } = "";

    /// <summary>How much of the shrink is soil; empty where nothing came out of wet soil.</summary>
    public string Soil { get; private set; } = "";

    public IReadOnlyList<Figure> Figures { get; private set; } = [];

    /// <summary>How far its skins are; null of a crop that is not cured and while nothing is worked out.</summary>
    public string? Stage { get; private set; }

    /// <summary>How soon it wants something done; null where it can be left.</summary>
    public Meaning? Due => Estimate?.Advice.Urgency switch
    {
        Urgency.Now => Meaning.Now,
        Urgency.Soon => Meaning.Soon,
        _ => null,
    };

    public Book Book => door.Book;

    public RangeChoice Choice { get; private set; } = null!;

    /// <summary>The bins one of which may be looked at by itself.</summary>
    public IReadOnlyList<string> Choices { get; private set; } = [];

    /// <summary>Whether its past is asked for: its charts carry their figures, which a phone in a cellar waits for.</summary>
    public bool OverTime { get; private set; }

    public ChartsView? Charts { get; private set; }

    public ChartsView? Air { get; private set; }

    public IReadOnlyList<LotEntry> Entries { get; private set; } = [];

    /// <summary>Which part of its history that is.</summary>
    public OlderPart Part { get; private set; } = null!;

    public static string Address(string lot) => "/lots/" + NameInAddress.Of(lot);

    public static string Heading(LotView lot) => Strings.LotHeading.With(NameRules.Seen(lot.Id));

    public void OnGet(string lot, string? range, string? from, string? to, string? bin, int? older)
    {
        var book = door.Book;
        Name = NameInAddress.Real(lot, book.Lots.ContainsKey);
        if (!book.Lots.TryGetValue(Name, out var found))
        {
            Response.StatusCode = StatusCodes.Status404NotFound;
            return;
        }

        Lot = found;
        var estimates = keeper.Views;
        var views = pipeline.Snapshot.Places;
        Places = [.. views.Select(v => v.Place)];
        Estimate = estimates.Lots.GetValueOrDefault(Name);
        Why = WhyNot(estimates.Unfollowed.GetValueOrDefault(Name), found);
        Bins =
        [
            .. found.Bins.OrderBy(b => b.EmptiedAt is not null).ThenBy(b => b.Id, NameOrder.Instance).ThenByDescending(b => b.FilledAt)
                .Select(b => new LotBin(b, estimates.Of(b))),
        ];
        Balance = [.. BalanceOf(found.Balance)];
        var shrink = Lots.Shrink.Of(found, estimates);
        if (shrink.InGrams > 0)
        {
            Shrunk = [.. ShrunkOf(shrink)];
            ShrunkInAll = Strings.ShrinkInAll.With(show.Tenth(shrink.Grams / 1000.0), Percent(shrink.Percent));
            Soil = SoilOff.Words(Estimate?.Soil, show.Tenth);
        }

        Stage = Bins.Select(b => b.Estimate).FirstOrDefault(e => e?.Cured == true) is { } cured
            ? HarvestWords.ClosesIs(cured.Rule, HarvestWords.Stage(
                Estimate!.Stage, cured.Rule, Bins.Any(b => b.Estimate is { Cured: true, InCuring: true }))) : null;
        Figures = Estimate is null ? [] : [.. FiguresOf(Estimate, found)];
        Choices = [.. found.Bins.Select(b => b.Id).Distinct(StringComparer.Ordinal).Order(NameOrder.Instance)];
        OverTime = range is not null || from is not null || to is not null || bin is not null || found.Bins.Count == 0;
        Draw(found, range, from, to, string.IsNullOrEmpty(bin) ? null : bin, views);
        var all = LedgerSelection.Of(book, null, Name, DateTimeOffset.MinValue, DateTimeOffset.MaxValue).Reverse().ToList();
        (var shown, Part) = OlderPart.Of(all, older, Shown, Address(Name), "history", Strings.OlderEntries);
        Entries = [.. shown.Select(s => new LotEntry(s, words.Of(book, s, Places), BinOf(book, s)))];
    }

    private void Draw(LotView lot, string? range, string? from, string? to, string? bin, IReadOnlyList<PlaceView> views)
    {
        // The last filling of that name is the one people mean.
        var only = bin is null ? null : lot.Bins.Where(b => b.Id == bin).MaxBy(b => b.FilledAt);
        var ended = only is not null ? only.EmptiedAt : lot.Bins.Count > 0 && lot.Bins.All(b => b.EmptiedAt is not null)
            ? lot.Bins.Max(b => b.EmptiedAt) : null;
        var end = ended is { } e && e < show.Now ? e : show.Now;
        Choice = new RangeChoice(Address(Name), HistorySpan.Of(range, from, to, lot.DugAt, end, show, "season"), only?.Id, show);
        if (!OverTime) return;
        var span = Choice.Span;
        var set = charts.Of(lot, only, span.From, span.To, LotCharts.StepOf(span), views);
        string suffix = only is null ? "" : "&bin=" + Uri.EscapeDataString(only.Id);
        if (set.Lot.Count > 0) Charts = ChartsView.Of("lot", set.Lot, key => $"/charts{Address(Name)}/{key}.svg{Choice.Query}{suffix}");
        if (set.Air.Count > 0) Air = ChartsView.Of("air", set.Air, key => $"/charts{Address(Name)}/{key}.svg{Choice.Query}{suffix}");
    }

    private string? WhyNot(Unfollowed? unfollowed, LotView lot) => unfollowed?.Why switch
    {
        WhyUnfollowed.TooOld => Strings.LotTooOld.With(show.Day(lot.DugAt), Unfollowed.MostYears),
        WhyUnfollowed.DugLater => Strings.LotDugLater.With(show.Day(lot.DugAt)),
        WhyUnfollowed.Fault => Strings.LotFault.With(unfollowed.Text),
        _ => null,
    };

    private IEnumerable<BalanceLine> BalanceOf(Balance balance)
    {
        yield return Line(HarvestWords.Done(Lot!.Known), balance.DugGrams, sum: true);
        if (balance.FoundGrams != 0) yield return Line(Strings.FoundWhenFilled, -balance.FoundGrams);
        yield return Line(Strings.OnHandByBook, balance.OnHandGrams);
        if (balance.LooseGrams != 0) yield return Line(Strings.NotInBins, balance.LooseGrams);
        foreach (var (reason, grams) in balance.OutGrams.OrderByDescending(o => o.Value)) yield return Line(LogKinds.Way(reason), grams);
        if (balance.ShrinkGrams != 0)
            yield return Line(balance.ShrinkGrams > 0 ? Strings.ShrinkByScale : Strings.FoundByScale, balance.ShrinkGrams);

        BalanceLine Line(string what, long grams, bool sum = false) => new(what, show.Weight(grams / 1000.0), sum);
    }

    private IEnumerable<BalanceLine> ShrunkOf(Shrink shrink)
    {
        yield return new BalanceLine(Strings.FilledIntoBins, show.Weight(shrink.InGrams / 1000.0));
        if (shrink.OutGrams != 0) yield return Less(Strings.GoneOut, shrink.OutGrams, show.Weight);
        yield return Less(shrink.ByScaleGrams >= 0 ? Strings.ShrinkByScale : Strings.FoundByScale, shrink.ByScaleGrams, show.Weight);
        yield return new BalanceLine(Strings.OnHandByBook, show.Weight(shrink.BookGrams / 1000.0));
        // A reckoning is shown to a tenth.
        yield return Less(Strings.ShrinkByEstimate, shrink.ByEstimateGrams, show.Tenth);
        yield return new BalanceLine(Strings.OnHandByEstimate, show.Tenth(shrink.LeftGrams / 1000.0), Sum: true);

        static BalanceLine Less(string what, long grams, Func<double, string> weight) =>
            new(what, (grams >= 0 ? "−" : "+") + weight(Math.Abs(grams) / 1000.0));
    }

    private IEnumerable<Figure> FiguresOf(LotEstimate estimate, LotView lot)
    {
        var cured = keeper.Views.Bins.Values.Where(b => b.Lot == lot.Id && b.Cured).ToList();
        if (cured.Count > 0)
            yield return new Figure(HarvestWords.Closes(cured[0].Rule),
                HarvestWords.Stage(estimate.Stage, cured[0].Rule, cured.Exists(b => b.InCuring)),
                estimate.Stage < HealingStage.Adequate && estimate.FitToMove?.Likely is { } fit
                    ? Strings.FitAbout.With(ways.Between(estimate.FitToMove, fit)) : null);
        if (estimate.RestUsed is { } rest)
        {
            yield return new Figure(Strings.DormancyUsed, Percent(100 * rest.Value),
                Strings.BetweenTwo.With(Percent(100 * rest.Low), Percent(100 * rest.High)));
            string way = ways.Of(estimate.Way, Places);
            if (estimate.Seen is { } look) yield return new Figure(Strings.LogSprouts, ways.Saw(look));
            if (!estimate.SproutsSeen && estimate.Peeping is { Likely: { } peeping } first)
                yield return new Figure(Strings.SproutsPeep, ways.Between(first, peeping), way);
            if (estimate.Sprouted is { Likely: { } sprouted } long5)
                yield return new Figure(Strings.SproutedMost, ways.Between(long5, sprouted), way);
        }

        yield return new Figure(
            Strings.AheadLasts, ahead.Lasts(estimate.Lasts, AheadReading.Horizon(show.Today)), ahead.By(estimate.Lasts));
    }

    private static string Percent(double value) => Units.Number(value, "0.#") + "\u00A0%";

    private static string? BinOf(Book book, Standing standing) =>
        EntryLines.BinOf(LedgerSelection.Root(book, standing)) is { } bin && book.Bins.ContainsKey(bin) ? bin : null;
}
