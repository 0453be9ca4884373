using RootCellar.Advice;
using RootCellar.Household;
using RootCellar.Ledger;
using RootCellar.Lots;
using RootCellar.Monitoring;
using RootCellar.Pages.Bins;
using RootCellar.Pages.Stock;
using RootCellar.Places;
using RootCellar.Science.Crops;
using RootCellar.Watch;

namespace RootCellar.Pages;

/// <summary>One thing to do and where to do it.</summary>
/// <param name="Address">Null where the line after it leads to the same page.</param>
internal sealed record ToDoLine(string What, string Text, string? Address, string Link, bool Urgent)
{
    /// <summary>Where it is to be done; null where it is of no one place.</summary>
    public string? Place { get; init; }

    /// <summary>The bins it is about; none where it is about the room.</summary>
    public IReadOnlyList<string> Bins { get; init; } = [];

    /// <summary>The advice of bins that it sums up; null where it is none.</summary>
    public string? Code { get; init; }
}

/// <summary>A bin to use before the others, and why.</summary>
internal sealed record FirstLine(string Bin, string About, string Why);

/// <summary>What rooms, sensors, bins and promises call for.</summary>
/// <param name="Empty">Nothing is in bins, nothing promised and nothing wrong: there is no work yet.</param>
/// <param name="Coming">What falls due within the week and cannot be done yet.</param>
internal sealed record ToDoList(IReadOnlyList<ToDoLine> Lines, IReadOnlyList<ToDoLine> Coming, IReadOnlyList<FirstLine> First, bool Empty)
{
    public static readonly ToDoList Nothing = new([], [], [], Empty: true);

    /// <summary>How many things want doing now; what to use first is only an order.</summary>
    public int Calls => Lines.Count;
}

/// <summary>Makes the short list of what is to be done in the cellar. The long ones are on the Bins and Stock pages.</summary>
internal sealed class ToDo(LedgerDoor door, LotKeeper lots, StockNow stock, AdviceWords words, Show show, AlarmWords alarms, JudgementWords judgement)
{
    private const int UseFirst = 3;
    private const int Shown = 4;
    private const int NamesShown = 6;

    /// <summary>Days ahead within which a promise is spoken of even if it can be met.</summary>
    private const int DueWithinDays = 7;

    /// <summary>From this share of itself on, a loss in thirty days is worth a word (assumed).</summary>
    private const double WorthSaying = 0.01;

    /// <summary>A weigh-in is spoken of where the interval is wider than this share of the weight (assumed),</summary>
    private const double WideShare = 0.12;

    /// <summary>and none was made for so many days (assumed).</summary>
    private const int WeighedWithinDays = 21;

    public ToDoList Of(LiveSnapshot now)
    {
        var (book, views, places) = (door.Book, lots.Views, now.AllPlaces);
        IReadOnlyList<ToDoLine> wrong = [.. now.Places.Select(Room).OfType<ToDoLine>(), .. Alarms(now)];
        if (wrong.Count == 0 && !book.AllBins.Any(b => b.EmptiedAt is null) && stock.Promises.Count == 0) return ToDoList.Nothing;
        return new ToDoList(
            [.. wrong, .. Urgent(views, places), .. Moves(views, places), .. Apart(views, places), .. Promised(), .. Weighing(book, views, places)],
            [.. MovesSoon(views, places)],
            [.. views.UseFirst.Where(b => !b.TooLongSprouted && b.IfLeft.WorstKg >= WorthSaying * b.Kg.Value).Take(UseFirst).Select(b => First(b, places))],
            Empty: false);
    }

    /// <summary>All that is wrong with a room's air is one job.</summary>
    private ToDoLine? Room(PlaceView view)
    {
        var judged = view.Judgement;
        if (judged.Findings.Count == 0) return null;
        return new ToDoLine(
            Strings.RoomToDo.With(view.Place.Name),
            judgement.Whole(judged, show.Now),
            "/#place-" + Uri.EscapeDataString(view.Place.Id),
            view.Place.Name,
            view.Alarms.Any(a => a.State == AlarmState.Unacknowledged && a.Priority > AlarmPriority.Low))
        {
            Place = view.Place.Id,
        };
    }

    /// <summary>Any other alarm that holds: of a sensor, of a room nobody hears, of the house.</summary>
    private IEnumerable<ToDoLine> Alarms(LiveSnapshot now) => now.Places.SelectMany(p => alarms.Others(p, "/"))
        .Concat(alarms.Of(now.OpenAlarms.Where(a => now.Place(a.Place) is null), now.Places, "/"))
        .Where(c => c.Alarm.Active)
        .Select(c => new ToDoLine(c.Fact, c.Advice, "/alarms#alarm-" + Uri.EscapeDataString(c.Alarm.Id), Strings.Alarms, c.Alarm is { State: AlarmState.Unacknowledged, Priority: > AlarmPriority.Low })
        {
            Place = c.Alarm.Place.Length == 0 ? null : c.Alarm.Place,
        });

    /// <summary>Crops that cost each other quality or keeping time where they stand.</summary>
    private IEnumerable<ToDoLine> Apart(LotViews views, IReadOnlyList<Place> places) => CropsApart.Of(views).Select(a => new ToDoLine(
        Strings.KeepApart.With(CropWords.Name(a.Worst.A), CropWords.Name(a.Worst.B)),
        Strings.KeepApartWhy.With(
            EntryWords.PlaceName(a.Place, places), string.Join(' ', a.Conflicts.Select(c => c.What())), show.Rough(a.KgA),
                CropWords.Name(a.Worst.A), show.Rough(a.KgB), CropWords.Name(a.Worst.B), a.Worst.WhatToDo()),
        "/log/moved",
        Strings.MoveOne,
        a.Worst.Severity == Severity.Never)
    {
        Place = a.Place,
        Bins = a.Bins,
    });

    /// <summary>What cannot wait until tomorrow, alike bins of a place together.</summary>
    private IEnumerable<ToDoLine> Urgent(LotViews views, IReadOnlyList<Place> places) => views.Bins.Values
        .Where(b => b.Advice.Urgency == Urgency.Now)
        .GroupBy(b => (b.Advice.Code, b.Place))
        .OrderBy(g => g.Key.Code, StringComparer.Ordinal).ThenBy(g => g.Key.Place, StringComparer.Ordinal)
        .Take(Shown)
        .Select(g =>
        {
            var bins = g.OrderBy(b => b.Bin, NameOrder.Instance).ToList();
            return new ToDoLine(
                Strings.SeeTo.With(Names(bins)),
                $"({EntryWords.PlaceName(g.Key.Place, places)}) {words.Of(bins.MaxBy(b => b.IfLeft.WorstKg)!.Advice)}",
                bins.Count == 1 ? BinLine.Address(bins[0].Bin) : "/bins?sort=first&place=" + Uri.EscapeDataString(g.Key.Place ?? ""),
                bins.Count == 1 ? Strings.OpenBin.With(bins[0].Bin) : Strings.ShowBins,
                Urgent: true)
            {
                Place = g.Key.Place,
                Bins = [.. bins.Select(b => b.Bin)],
                Code = g.Key.Code,
            };
        });

    private static IEnumerable<ToDoLine> Moves(LotViews views, IReadOnlyList<Place> places) => Fit(views.MoveNow, places, (place, bins) => (
        Strings.FitToMoveNow,
        bins.Count == 1 ? "/log/moved?bin=" + Uri.EscapeDataString(bins[0].Bin) : "/log/moved",
        bins.Count == 1 ? Strings.MoveIt : Strings.MoveThem.With(bins.Count)), "move");

    private IEnumerable<ToDoLine> MovesSoon(LotViews views, IReadOnlyList<Place> places) => Fit(views.MoveBy(show.Now + LotViews.Coming), places, (place, bins) => (
        Strings.FitToMoveFrom.With(show.Day(bins.Min(b => b.FitToMove!.Likely!.Value))),
        "/bins?place=" + Uri.EscapeDataString(place ?? ""),
        Strings.ShowBins));

    /// <summary>The bins of each place in one line.</summary>
    private static IEnumerable<ToDoLine> Fit(
        IEnumerable<BinEstimate> fit,
        IReadOnlyList<Place> places,
        Func<string?, List<BinEstimate>, (string What, string Address, string Link)> says,
        string? code = null) => fit
        .GroupBy(b => b.Place, StringComparer.Ordinal)
        .Select(g =>
        {
            var bins = g.OrderBy(b => b.Bin, NameOrder.Instance).ToList();
            var (what, address, link) = says(g.Key, bins);
            return new ToDoLine(what, Strings.FitWhere.With(bins.Count, EntryWords.PlaceName(g.Key, places), Names(bins)), address, link, Urgent: false)
            {
                Place = g.Key,
                Bins = [.. bins.Select(b => b.Bin)],
                Code = code,
            };
        });

    private IEnumerable<ToDoLine> Promised()
    {
        var soon = show.Today.AddDays(DueWithinDays);
        var told = stock.Promises.Where(p => p.Answer != CanMeet.Yes || p.Promise.Due <= soon).ToList();
        var last = told.Take(Shown).LastOrDefault();
        foreach (var plan in told.Take(Shown))
        {
            var late = plan.Promise.Due < show.Today;
            yield return new ToDoLine(
                Strings.OrderNamed.With(plan.Promise.Order),
                Strings.OrderToDo.With(
                    Strings.PromisedWhat.With(show.Exact(plan.OpenKg), PromiseCard.Kind(plan.Promise)), PromiseCard.DueWords(plan.Promise.Due, show), PromiseCard.Answer(plan, show).Verdict),
                plan == last ? "/stock#promises" : null,
                told.Count > Shown ? Strings.MorePromises.With(told.Count - Shown) : Strings.StockAndPromises,
                late || plan.Answer == CanMeet.No)
            {
                Bins = [.. plan.Picks.Select(p => p.Bin)],
            };
        }
    }

    private static IEnumerable<ToDoLine> Weighing(Book book, LotViews views, IReadOnlyList<Place> places)
    {
        var widest = views.Bins.Values
            .Where(b => b.Kg.High - b.Kg.Low > WideShare * b.Kg.Value && book.Bins.GetValueOrDefault(b.Bin) is { } bin && !bin.Weighings.Any(w => (b.At - w.At).TotalDays < WeighedWithinDays))
            .OrderByDescending(b => b.Kg.High - b.Kg.Low).ThenBy(b => b.Bin, StringComparer.Ordinal)
            .FirstOrDefault();
        if (widest is null) yield break;
        yield return new ToDoLine(
            Strings.WeighOne,
            Strings.WeighWhy.With(widest.Bin, EntryWords.PlaceName(widest.Place, places)),
            "/log/weighed?bin=" + Uri.EscapeDataString(widest.Bin),
            Strings.WeighIt.With(widest.Bin),
            Urgent: false)
        {
            Place = widest.Place,
            Bins = [widest.Bin],
        };
    }

    private FirstLine First(BinEstimate bin, IReadOnlyList<Place> places) => new(
        bin.Bin,
        Strings.FirstAbout.With(bin.Variety ?? EntryWords.CropName(bin.Crop), EntryWords.PlaceName(bin.Place, places)),
        (bin.IfLeft.WorstKg > 2 * bin.IfLeft.Kg.Value ? Strings.FirstWhySprouts : Strings.FirstWhy).With(show.Rough(bin.IfLeft.WorstKg), show.About(bin.Kg), bin.IfLeft.Days));

    private static string Names(List<BinEstimate> bins) =>
        string.Join(", ", bins.Take(NamesShown).Select(b => b.Bin)) + (bins.Count > NamesShown ? " " + Strings.AndMoreBins.With(bins.Count - NamesShown) : "");
}
