using RootCellar.Advice;
using RootCellar.Household;
using RootCellar.Ledger;
using RootCellar.Lots;
using RootCellar.Monitoring;
using RootCellar.Places;

namespace RootCellar.Report;

/// <summary>What a date is about.</summary>
internal enum ComingKind
{
    /// <summary>Bins fit to move, now or soon.</summary>
    Move,

    /// <summary>A promise is due.</summary>
    Order,

    /// <summary>The weigh-in that teaches most.</summary>
    WeighIn,

    /// <summary>A lot's first sprouts show.</summary>
    Sprouts,

    /// <summary>Until then a lot lasts.</summary>
    LastsUntil,

    /// <summary>The weekly report goes out.</summary>
    Report,
}

/// <summary>One date to come.</summary>
/// <param name="Id">The same as long as it is about the same, however its date moves.</param>
/// <param name="On">The household's day. What is due already is due today.</param>
/// <param name="What">In the language of the flow of work.</param>
/// <param name="About">What more is known of it; empty where that is all.</param>
internal sealed record ComingDate(string Id, ComingKind Kind, DateOnly On, string What, string About);

/// <summary>
/// The dates that are coming, for a calendar: those of the jobs of To do, of the promises of Stock and of the lots of Ahead. Nothing is
/// judged here.
/// </summary>
internal sealed class ComingDates(
    JobsNow jobs, StockNow stock, AheadNow ahead, AheadWords words, LedgerDoor door, Pipeline pipeline, ReportOptions report, Show show)
{
    private const int NamesShown = 6;

    /// <summary>By day; safe from any thread.</summary>
    public IReadOnlyList<ComingDate> Now
    {
        get
        {
            var now = pipeline.Snapshot;
            var places = now.AllPlaces;
            return
            [
                .. jobs.Of(now).Select(j => OfJob(j, places)).OfType<ComingDate>()
                    .Concat(stock.Promises.Where(p => p.Promise.Due is not null).Select(Order))
                    .Concat(ahead.Of(null).Lots.SelectMany(Lot))
                    .Concat(Report())
                    .OrderBy(d => d.On).ThenBy(d => d.Kind).ThenBy(d => d.Id, StringComparer.Ordinal),
            ];
        }
    }

    private ComingDate? OfJob(Job job, IReadOnlyList<Place> places) => job.Kind switch
    {
        // Named by its first bin: the others of a load come and go with it.
        JobKind.Move => new ComingDate(
            IdOf("move", LotOf(job), job.Bins[0]), ComingKind.Move, show.Today, Moved(job, places), Strings.FitToMoveNow),
        JobKind.MoveSoon => new ComingDate(
            IdOf("move", LotOf(job), job.Bins[0]), ComingKind.Move, NotBeforeToday(show.DayOf(job.When!.Value)), Moved(job, places),
            Strings.FitToMoveFrom.With(show.Day(job.When.Value))),
        JobKind.WeighIn => new ComingDate(
            IdOf("weigh", job.WeighIn!.Lot), ComingKind.WeighIn, show.Today, Strings.WeighIt.With(NameRules.Seen(job.Bins[0])),
            Strings.WeighWhy.With(NameRules.Seen(job.Bins[0]), EntryWords.PlaceName(job.Place, places))),
        _ => null,
    };

    private string LotOf(Job job) => door.Book.Bins.GetValueOrDefault(job.Bins[0])?.Lot ?? "";

    private static string Moved(Job job, IReadOnlyList<Place> places) => Strings.CalendarMove.With(
        string.Join(", ", job.Bins.Take(NamesShown).Select(NameRules.Seen))
            + (job.Bins.Count > NamesShown ? " " + Strings.AndMoreBins.With(job.Bins.Count - NamesShown) : ""),
        job.To is null ? Strings.StorageRoom : EntryWords.PlaceName(job.To, places));

    private ComingDate Order(PromisePlan plan) => new(
        IdOf("order", plan.Promise.Order, plan.Promise.Crop, plan.Promise.Grade ?? ""), ComingKind.Order, NotBeforeToday(plan.Promise.Due!.Value),
        Strings.CalendarOrder.With(plan.Promise.Order, Strings.PromisedWhat.With(show.Exact(plan.OpenKg), PromiseWords.Kind(plan.Promise))),
        $"{PromiseWords.Due(plan.Promise.Due, show)}. {PromiseWords.Verdict(plan, show)}.");

    private IEnumerable<ComingDate> Lot(LotAhead lot)
    {
        var name = Strings.CropOfGrade.With(NameRules.Seen(lot.Lot.Lot), lot.Lot.Variety ?? CropWords.Name(lot.Lot.Crop));
        if (Ahead(lot.Present.Sprouts) is { } sprouts)
            yield return new ComingDate(
                IdOf("sprouts", lot.Lot.Lot), ComingKind.Sprouts, sprouts, Strings.CalendarSprouts.With(name), words.Between(lot.Present.Sprouts!) ?? "");
        if (Ahead(lot.Present.Lasts.When) is { } end)
            yield return new ComingDate(
                IdOf("lasts", lot.Lot.Lot), ComingKind.LastsUntil, end, Strings.CalendarLasts.With(name), words.By(lot.Present.Lasts) ?? "");
    }

    // What was seen already, or is over, is not to come.
    private DateOnly? Ahead(When? when) => when?.Likely is { } likely && show.DayOf(likely) is var day && day >= show.Today ? day : null;

    private IEnumerable<ComingDate> Report()
    {
        if (report.LastDue(show.Now, show.Calendar.Zone) is not { } last) yield break;
        yield return new ComingDate(
            IdOf("report"), ComingKind.Report, show.DayOf(last.At).AddDays(7), Strings.TheWeeksReport, report.ToString());
    }

    private DateOnly NotBeforeToday(DateOnly day) => day < show.Today ? show.Today : day;

    // A name may have any letter in it; none of these makes two names one.
    private static string IdOf(params string[] parts) => string.Join('/', parts.Select(Uri.EscapeDataString));
}
