using RootCellar.Advice;
using RootCellar.Household;
using RootCellar.Ledger;
using RootCellar.Lots;
using RootCellar.Pages;
using RootCellar.Places;
using RootCellar.Science.Crops;
using RootCellar.Science.Keeping;
using RootCellar.Watch;

namespace RootCellar.Report;

/// <summary>A job in words.</summary>
/// <param name="Caution">Where people could come to harm; null where none is due.</param>
internal sealed record SaidJob(string What, string Why, string? Caution);

/// <summary>Says the week's jobs. Nothing here, or anywhere in the report, says that produce is fit to eat.</summary>
internal sealed class JobWords(ReportWords words, WeekFigures week)
{
    public SaidJob Of(Job job) => job.Kind switch
    {
        JobKind.AirTheRoom =>
            new(Strings.JobAir.With(Place(job)), Strings.JobAirWhy.With(At(job)), $"{Strings.JobAirCaution} {Strings.CautionBadAir}"),
        JobKind.KeepFromFrost => new(
            Strings.JobFrost.With(Place(job)), job.Bins.Count > 0 ? Strings.JobFrostBins.With(Bins(job)) : Strings.JobFrostWhy.With(
                At(job), About(job)), Strings.JobFrostCaution),
        JobKind.SortOut => new(
            Where(job, Strings.JobSort, Strings.JobSortIn),
            job.Seen is null ? Strings.JobSortWet : Strings.JobSortSeen.With(
                ReportWords.Line(LogKinds.Choice(job.Seen.What)).ToLowerInvariant(), words.Day(job.Seen.At, week.UpTo)),
            $"{Strings.JobSortCaution} {Strings.CautionBadAir}"),
        JobKind.SortSprouted => new(
            Where(job, Strings.JobSort, Strings.JobSortIn),
            Strings.JobSortSprouted.With(words.Pounds ? Strings.AnInch : "25\u00A0mm"), Strings.SproutCaution),
        JobKind.Cover => new(Where(job, Strings.JobCover, Strings.JobCoverIn), Strings.JobCoverWhy, Strings.JobCoverCaution),
        JobKind.SeeToRoom => new(Strings.JobRoom.With(Place(job), RoomWrong(job)), Strings.JobRoomWhy.With(About(job)), null),
        JobKind.SeeToAlarm =>
            new(Strings.JobAlarm.With(job.Place is null ? "RootCellar" : Place(job),
                JudgementWords.Name(job.Alarm!.Rule, job.Alarm.Measure)), Strings.JobAlarmWhy.With(At(job)), null),
        JobKind.KeepApart => new(
            Strings.JobApart.With(CropWords.Name(job.Apart!.Worst.A), CropWords.Name(job.Apart.Worst.B), Place(job)),
            Strings.JobApartWhy.With(
                string.Join(' ', job.Apart.Conflicts.Select(c => c.What(words))), words.Kg(job.Apart.KgA, job.Apart.KgA / 20),
                    CropWords.Name(job.Apart.Worst.A),
                words.Kg(job.Apart.KgB, job.Apart.KgB / 20), CropWords.Name(job.Apart.Worst.B), job.Apart.Worst.WhatToDo()),
            null),
        JobKind.MoveSoon => new(
            Where(job, Strings.JobMoveSoon, Strings.JobMoveSoonIn, words.Day(job.When!.Value, week.UpTo), To(job) ?? Strings.StorageRoom),
            job.Rule switch
            {
                CuringRule.Potato => Strings.JobMoveSoonWhy,
                CuringRule.Drying => Strings.JobMoveSoonNecks,
                CuringRule.Rind => Strings.JobMoveSoonRind,
                _ => Strings.JobMoveSoonCured,
            },
            null),
        JobKind.Warm => new(
            Where(job, Strings.JobWarm, Strings.JobWarmIn, To(job) ?? Strings.JobSomewhereWarmer), Warm(job, job.Advice!.Figures), null),
        JobKind.UseFirst when job.Advice?.Code == "chilled" =>
            new(Where(job, Strings.JobUse, Strings.JobUseIn), Strings.JobChilled, null),
        JobKind.SaveAPromise => new(
            Strings.JobPromise.With(words.Kg(job.Kg ?? 0, 0.1), Order(job)), Strings.JobPromiseWhy.With(Due(job)), null),
        JobKind.KeepAPromise => new(
            Strings.JobKeepPromise.With(words.Kg(job.Kg ?? 0, 0.1), Order(job), Due(job)),
            job.Promise!.Answer == CanMeet.Yes ? Strings.JobPromiseEnough.With(Bins(job)) : Strings.JobPromiseUnsure.With(Bins(job)),
            null),
        JobKind.UseFirst when job.Advice?.Says == AdviceSays.SproutsSeen =>
            new(Where(job, Strings.JobUse, Strings.JobUseIn), Strings.JobUseSprouts, null),
        JobKind.WetTheAir when job.Advice?.Says == AdviceSays.DryAirCover => new(
            Strings.JobWetCover.With(Bins(job), Place(job)), Strings.JobWetWhy.With(
                words.Kg(job.Kg ?? 0, (job.Kg ?? 0) / 3), Units.Number(job.Advice!.Figures.Percent!.Value, "0")),
            Strings.JobWetCoverCaution),
        JobKind.WetTheAir => new(
            Strings.JobWet.With(Place(job)), Strings.JobWetWhy.With(
                words.Kg(job.Kg ?? 0, (job.Kg ?? 0) / 3), Units.Number(job.Advice!.Figures.Percent!.Value, "0")),
            Strings.JobWetCaution),
        JobKind.Move => new(
            Where(job, Strings.JobMove, Strings.JobMoveIn, To(job) ?? Strings.StorageRoom, Cooled(job) ? Strings.JobMoveCool : ""),
            Strings.JobMoveWhy.With(About(job)), null),
        JobKind.SeeToSensor => new(Where(job, Strings.JobSensor, Strings.JobSensorIn), Strings.JobSensorUntrue, null),
        JobKind.DryTheSensor => new(Where(job, Strings.JobDry, Strings.JobDryIn), Strings.JobDryWhy.With(About(job)), null),
        JobKind.UseFirst => new(
            Where(job, Strings.JobUse, Strings.JobUseIn),
            job.When is { } peeping && peeping > week.UpTo ? Strings.JobUseSoon.With(words.Day(peeping, week.UpTo)) : Strings.JobUseNow,
                Strings.SproutCaution),
        _ => new(
            Strings.JobWeigh.With(Bins(job), words.Kg(job.WeighIn!.ExpectedKg, job.WeighIn.WidthKg / 4)),
            Strings.JobWeighWhy.With(ReportWords.Line(job.WeighIn.Lot), Width(job.WeighIn.WidthKg), Width(job.WeighIn.AfterKg)), null),
    };

    // Bins or a sensor, with the place where it is known.
    private string Where(Job job, string what, string whatIn, string? more = null, string? andMore = null)
    {
        var of = job.Sensors.Count > 0 ? ReportWords.Line(ReportWords.Names([.. job.Sensors.Select(s => s.Called)]), 200) : Bins(
            job);
        return job.Place is null ? what.With(of, more, andMore) : whatIn.With(of, Place(job), more, andMore);
    }

    private string RoomWrong(Job job)
    {
        var found = week.Alarms.Open.Where(a => a.Place == job.Place && a.Rule.IsOfRoomAir()).Select(PlaceJudge.Found).OfType<Finding>()
            .ToList();
        var judgement = words.Judgement(week);
        return judgement.Together(found, f => judgement.What(f, null), week.UpTo);
    }

    private string Width(double? kg) => words.Kg((kg ?? 0) / 2, (kg ?? 0) / 10);

    private string At(Job job) => words.Time(job.When!.Value, week.UpTo);

    private static string Bins(Job job) => job.Bins.Count == 0 ? Strings.JobTheBins : ReportWords.Names([.. job.Bins]);

    private string About(Job job) => job.Kg is { } kg ? Strings.JobAbout.With(words.Kg(kg, kg / 20)) : Strings.JobSomeBins;

    private string Place(Job job) => Name(job.Place) ?? Strings.JobSomewhere;

    private string? To(Job job) => Name(job.To);

    private string? Name(string? place) =>
        place is null ? null : ReportWords.Line(week.Places.FirstOrDefault(p => p.Place.Id == place)?.Place.Name ?? place);

    private static bool Cooled(Job job) => job.Advice?.Figures.Of is not { Chilling.Value: > Advising.WarmFromC };

    private string Warm(Job job, AdviceFigures f)
    {
        var crop = f.Of!;
        var (name, below) = (CropWords.Name(crop), words.Temperature(crop.ChillingBelowC!.Value));
        return f.Hours > 0
            ? Strings.JobWarmLeft.With(name, below, Wording.Duration(TimeSpan.FromHours(f.Hours.Value)), About(job))
            : Strings.JobWarmDone.With(name, below, About(job));
    }

    private string Due(Job job) => job.Promise!.Promise.Due is { } due ? words.Day(due, week.UpTo) : Strings.JobPromiseNow;

    private static string Order(Job job) => ReportWords.Line(job.Promise!.Promise.Order);
}
