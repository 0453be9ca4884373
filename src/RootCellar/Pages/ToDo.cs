using RootCellar.Advice;
using RootCellar.Household;
using RootCellar.Ledger;
using RootCellar.Lots;
using RootCellar.Monitoring;
using RootCellar.Pages.Bins;
using RootCellar.Places;
using RootCellar.Report;
using RootCellar.Science.Crops;
using RootCellar.Tls;
using RootCellar.Watch;

namespace RootCellar.Pages;

/// <summary>One thing to do and where to do it.</summary>
/// <param name="Address">Null where the line after it leads to the same page.</param>
internal sealed record ToDoLine(string What, string Text, string? Address, string Link)
{
    public bool Urgent { get; init; }

    /// <summary>Where it is to be done; null where it is of no one place.</summary>
    public string? Place { get; init; }

    /// <summary>The bins it is about; none where it is about the room.</summary>
    public IReadOnlyList<string> Bins { get; init; } = [];

    /// <summary>The advice of bins that it sums up; null where it is none.</summary>
    public string? Code { get; init; }

    /// <summary>It says all that is wrong with the air of <see cref="Place"/>.</summary>
    public bool OfRoom { get; init; }

    /// <summary>The alarm that it says; null where it says none.</summary>
    public string? Alarm { get; init; }
}

/// <summary>A bin to use before the others, and why.</summary>
internal sealed record FirstLine(string Bin, string About, string Why);

/// <summary>What rooms, sensors, bins and promises call for.</summary>
/// <param name="Empty">Nothing is in bins, nothing promised and nothing wrong: there is no work yet.</param>
/// <param name="Coming">What falls due within the week and cannot be done yet.</param>
internal sealed record ToDoList(IReadOnlyList<ToDoLine> Lines, IReadOnlyList<ToDoLine> Coming, IReadOnlyList<FirstLine> First, bool Empty)
{
    /// <summary>What goes with using these first; empty where nothing does.</summary>
    public string FirstCaution { get; init; } = "";

    public static readonly ToDoList Nothing = new([], [], [], Empty: true);

    /// <summary>How many things want doing now; what to use first is only an order.</summary>
    public int Calls => Lines.Count;
}

/// <summary>Says the one list of <see cref="JobsNow"/>, each with where to do it.</summary>
internal sealed class ToDo(
    JobsNow jobsNow, LedgerDoor door, LotKeeper lots, AdviceWords words, Show show, AlarmWords alarms, JudgementWords judgement,
    BackupWords backupWords)
{
    private const int UseFirst = 3;
    private const int Shown = 4;
    private const int NamesShown = 6;

    public ToDoList Of(LiveSnapshot now)
    {
        var (book, views, places) = (door.Book, lots.Views, now.AllPlaces);
        var jobs = jobsNow.Of(now);
        if (jobs.Count == 0 && !book.AllBins.Any(b => b.EmptiedAt is null)) return ToDoList.Nothing;
        var first = views.WorthUsingFirst.Take(UseFirst).ToList();
        var promises = jobs.Where(j => j.Promise is not null).ToList();
        return new ToDoList(
            [.. jobs.Where(j => j.Kind != JobKind.MoveSoon && !promises.Skip(Shown).Contains(j))
                .Select(j => Line(j, now, places, promises))],
            [.. jobs.Where(j => j.Kind == JobKind.MoveSoon).Select(j => Line(j, now, places, promises))],
            [.. first.Select(b => First(b, places))],
            Empty: false)
        {
            FirstCaution = Cautions.OfUsing(first, show),
        };
    }

    private ToDoLine Line(Job job, LiveSnapshot now, IReadOnlyList<Place> places, List<Job> promises)
    {
        var line = job switch
        {
            { Kind: JobKind.AirTheRoom or JobKind.KeepFromFrost or JobKind.SeeToRoom, Bins.Count: 0 } => Room(now.Place(job.Place!)!),
            { Alarm: { } alarm } => OfAlarm(alarm, now),
            { Apart: { } apart } => Apart(apart, places),
            { Promise: { } plan } => Promised(plan, promises),
            { WeighIn: not null } => Weigh(job, places),
            { Sensors.Count: > 0 } => OfSensors(job),
            { Card: { } card } => new ToDoLine(
                Strings.CardToDo, (card.Damaged ? Strings.CardDamaged : Strings.CardErrors).With(card.Count, show.Time(card.First), show.Time(card.Last)),
                BackupModel.Address, Strings.BackupHeading),
            { Left: { } left } => new ToDoLine(
                Strings.RoomOnCardToDo, Strings.RoomOnCardWhy.With(Units.Number(left.Percent, "0.#"), BackupWords.Size(left.FreeBytes)),
                BackupModel.Address, Strings.BackupHeading),
            { Backup: { } backup } => new ToDoLine(Strings.BackupToDo, backupWords.Why(backup), BackupModel.Address, Strings.BackupHeading),
            { Certificate: { } certificate } => new ToDoLine(
                Strings.CertificateToDo, CertificateWords.Why(certificate), "/set-up#certificate", Strings.CertificateHeading),
            { Kind: JobKind.Move } => Fit(job, places, Strings.FitToMoveNow, Moving(job), MoveThem(job)),
            { Kind: JobKind.MoveSoon } => Fit(
                job, places, Strings.FitToMoveFrom.With(show.Day(job.When!.Value)), "/bins?place=" + Uri.EscapeDataString(job.Place ?? ""),
                Strings.ShowBins),
            _ => OfBins(job, places),
        };
        return line with { Urgent = job.Urgent, Place = job.Place, Bins = job.Bins, Code = job.Advice?.Code };
    }

    private ToDoLine Room(PlaceView view) => new(
        Strings.RoomToDo.With(view.Place.Name), judgement.Whole(view.Judgement, show.Now), "/#place-" + Uri.EscapeDataString(view.Place.Id),
        view.Place.Name)
    {
        OfRoom = true,
    };

    /// <summary>An alarm of a sensor, of a room nobody hears, of the house.</summary>
    private ToDoLine OfAlarm(Alarm alarm, LiveSnapshot now)
    {
        var card = alarms.Of([alarm], now.Places, "/")[0];
        return new ToDoLine(card.Fact, card.Advice, "/alarms#alarm-" + Uri.EscapeDataString(alarm.Id), Strings.Alarms)
        {
            Alarm = alarm.Id,
        };
    }

    private ToDoLine Apart(CropsApart apart, IReadOnlyList<Place> places) => new(
        Strings.KeepApart.With(CropWords.Name(apart.Worst.A), CropWords.Name(apart.Worst.B)),
        Strings.KeepApartWhy.With(
            EntryWords.PlaceName(apart.Place, places), string.Join(' ', apart.Conflicts.Select(c => c.What(show))), show.Rough(apart.KgA),
            CropWords.Name(apart.Worst.A),
            show.Rough(apart.KgB), CropWords.Name(apart.Worst.B), apart.Worst.WhatToDo()),
        "/log/moved",
        Strings.MoveOne);

    // The bins ticked and their place on top: one tap.
    private static string Moving(Job job) => "/log/moved?" + string.Join('&', job.Bins.Select(b => "bin=" + Uri.EscapeDataString(b)));

    private static string MoveThem(Job job) => job.Bins.Count == 1 ? Strings.MoveIt : Strings.MoveThem.With(job.Bins.Count);

    private ToDoLine OfBins(Job job, IReadOnlyList<Place> places) => job.Kind == JobKind.Warm
        ? new(Strings.SeeTo.With(Names(job.Bins)), About(job, places), Moving(job), MoveThem(job))
        : new(
        Strings.SeeTo.With(Names(job.Bins)),
        About(job, places),
        job.Bins.Count == 1 ? BinLine.Address(job.Bins[0]) : "/bins?sort=first&place=" + Uri.EscapeDataString(job.Place ?? ""),
        job.Bins.Count == 1 ? Strings.OpenBin.With(job.Bins[0]) : Strings.ShowBins);

    private string About(Job job, IReadOnlyList<Place> places) =>
        $"({EntryWords.PlaceName(job.Place, places)}) {words.Of(job.Advice!)}";

    private static ToDoLine Fit(Job job, IReadOnlyList<Place> places, string what, string address, string link) =>
        new(what, Strings.FitWhere.With(
            job.Bins.Count,
            job.To is null ? EntryWords.PlaceName(job.Place, places)
                : Strings.FitTo.With(EntryWords.PlaceName(job.Place, places), EntryWords.PlaceName(job.To, places)),
            Names(job.Bins)), address, link);

    private static ToDoLine OfSensors(Job job) => new(
        Strings.SensorToDo.With(string.Join(", ", job.Sensors.Select(s => s.Called))),
        job.Kind == JobKind.DryTheSensor ? Strings.SensorWetWhy : Strings.SensorToDoWhy,
        "/sensors",
        Strings.Sensors);

    private ToDoLine Promised(PromisePlan plan, List<Job> all)
    {
        var last = all.Take(Shown).Last().Promise == plan;
        return new ToDoLine(
            Strings.OrderNamed.With(plan.Promise.Order),
            Strings.OrderToDo.With(
                Strings.PromisedWhat.With(show.Exact(plan.OpenKg), PromiseWords.Kind(plan.Promise)),
                PromiseWords.Due(plan.Promise.Due, show), PromiseWords.Verdict(plan, show)),
            last ? "/stock#promises" : null,
            all.Count > Shown ? Strings.MorePromises.With(all.Count - Shown) : Strings.StockAndPromises);
    }

    private static ToDoLine Weigh(Job job, IReadOnlyList<Place> places) => new(
        Strings.WeighOne,
        Strings.WeighWhy.With(job.Bins[0], EntryWords.PlaceName(job.Place, places)),
        "/log/weighed?bin=" + Uri.EscapeDataString(job.Bins[0]),
        Strings.WeighIt.With(job.Bins[0]));

    private FirstLine First(BinEstimate bin, IReadOnlyList<Place> places) => new(
        bin.Bin,
        Strings.FirstAbout.With(bin.Variety ?? CropWords.Name(bin.Crop), EntryWords.PlaceName(bin.Place, places)),
        (bin.IfLeft.WorstKg > 2 * bin.IfLeft.Kg.Value ? Strings.FirstWhySprouts : Strings.FirstWhy)
            .With(show.Rough(bin.IfLeft.WorstKg), show.About(bin.Kg), bin.IfLeft.Days));

    private static string Names(IReadOnlyList<string> bins) =>
        string.Join(", ", bins.Take(NamesShown)) + (bins.Count > NamesShown ? " " + Strings.AndMoreBins.With(bins.Count - NamesShown) : "");
}
