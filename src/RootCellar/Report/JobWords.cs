using RootCellar.Advice;
using RootCellar.Household;
using RootCellar.Ledger;
using RootCellar.Pages;
using RootCellar.Places;
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
            Strings.JobFrost.With(Place(job)), job.When is null ? Strings.JobFrostBins.With(Bins(job))
                : Strings.JobFrostWhy.With(At(job), About(job)), Strings.JobFrostCaution),
        JobKind.SortOut => new(
            Where(job, Strings.JobSort, Strings.JobSortIn),
            job.Detail is null ? Strings.JobSortWet
                : Strings.JobSortSeen.With(ReportWords.Line(LogKinds.Choice(job.Detail)).ToLowerInvariant(), words.Day(job.When!.Value)),
            $"{Strings.JobSortCaution} {Strings.CautionBadAir}"),
        JobKind.Cover => new(Where(job, Strings.JobCover, Strings.JobCoverIn), Strings.JobCoverWhy, Strings.JobCoverCaution),
        JobKind.SeeToRoom => new(Strings.JobRoom.With(Place(job), RoomWrong(job)), Strings.JobRoomWhy.With(About(job)), null),
        JobKind.SeeToAlarm => new(Strings.JobAlarm.With(job.Place is null ? "RootCellar" : Place(job), job.Detail!), Strings.JobAlarmWhy.With(At(job)), null),
        JobKind.KeepApart => new(
            Strings.JobApart.With(CropWords.Name(job.Apart!.Worst.A), CropWords.Name(job.Apart.Worst.B), Place(job)),
            Strings.JobApartWhy.With(
                string.Join(' ', job.Apart.Conflicts.Select(c => c.What())), words.Kg(job.Apart.KgA, job.Apart.KgA / 20),
                    CropWords.Name(job.Apart.Worst.A),
                words.Kg(job.Apart.KgB, job.Apart.KgB / 20), CropWords.Name(job.Apart.Worst.B), job.Apart.Worst.WhatToDo()),
            null),
        JobKind.MoveSoon => new(Where(job, Strings.JobMoveSoon, Strings.JobMoveSoonIn, words.Day(job.When!.Value)), Strings.JobMoveSoonWhy,
            null),
        JobKind.SaveAPromise => new(
            Strings.JobPromise.With(words.Kg(job.Kg ?? 0, 0.1), ReportWords.Line(job.Detail ?? "")),
            Strings.JobPromiseWhy.With(job.Due is { } due ? ReportWords.Day(due) : Strings.JobPromiseNow), null),
        JobKind.WetTheAir => new(Strings.JobWet.With(Place(job)), Cost(job, Strings.JobWetWhy, Strings.JobWetWhyFor),
            Strings.JobWetCaution),
        JobKind.CoolTheAir => new(Strings.JobCool.With(Place(job)), Cost(job, Strings.JobCoolWhy, Strings.JobCoolWhyFor), null),
        JobKind.Move => new(Where(job, Strings.JobMove, Strings.JobMoveIn), Strings.JobMoveWhy.With(About(job)), null),
        JobKind.SeeToSensor => new(
            Where(job, Strings.JobSensor, Strings.JobSensorIn), job.When is null ? Strings.JobSensorUntrue
                : Strings.JobSensorWhy.With(At(job), About(job)), null),
        JobKind.DryTheSensor => new(Where(job, Strings.JobDry, Strings.JobDryIn), Strings.JobDryWhy.With(About(job)), null),
        JobKind.UseFirst => new(
            Where(job, Strings.JobUse, Strings.JobUseIn),
            job.When is { } peeping && peeping > week.UpTo ? Strings.JobUseSoon.With(words.Day(peeping)) : Strings.JobUseNow,
                Strings.SproutCaution),
        _ => new(
            Strings.JobWeigh.With(Bins(job), words.Kg(week.WeighIn?.ExpectedKg ?? 0, (week.WeighIn?.WidthKg ?? 0) / 4)),
            Strings.JobWeighWhy.With(ReportWords.Line(job.Detail ?? ""), Width(week.WeighIn?.WidthKg), Width(week.WeighIn?.AfterKg)), null),
    };

    // Bins or a sensor, with the place where it is known.
    private string Where(Job job, string what, string whatIn, string? more = null)
    {
        var of = job.Kind is JobKind.SeeToSensor or JobKind.DryTheSensor ? ReportWords.Line(job.Detail ?? "", 200) : Bins(job);
        return job.Place is null ? what.With(of, more) : whatIn.With(of, Place(job), more);
    }

    private string RoomWrong(Job job)
    {
        var found = week.Alarms.Open.Where(a => a.Place == job.Place && a.Rule.IsOfRoomAir()).Select(PlaceJudge.Found).OfType<Finding>().ToList();
        return words.Judgement.Together(found, f => words.Judgement.What(f, null), week.UpTo);
    }

    private string Width(double? kg) => "± " + words.Kg((kg ?? 0) / 2, (kg ?? 0) / 10);

    private string At(Job job) => words.Time(job.When!.Value);

    private static string Bins(Job job) => job.Bins.Count == 0 ? Strings.JobTheBins : ReportWords.Names([.. job.Bins]);

    private string About(Job job) => job.Kg is { } kg ? Strings.JobAbout.With(words.Kg(kg, kg / 20)) : Strings.JobSomeBins;

    private string Place(Job job) =>
        ReportWords.Line(week.Places.FirstOrDefault(p => p.Place.Id == job.Place)?.Place.Name ?? job.Place ?? Strings.JobSomewhere);

    private string Cost(Job job, string why, string whyFor)
    {
        var place = week.Places.FirstOrDefault(p => p.Place.Id == job.Place);
        double hours = (job.Kind == JobKind.WetTheAir ? place?.Humidity?.Below?.Hours : place?.Temperature?.Above?.Hours) ?? 0;
        var kg = words.Kg(job.Kg ?? 0, (job.Kg ?? 0) / 3);
        return hours < 0.75 ? why.With(kg) : whyFor.With(kg, ReportWords.Hours(hours));
    }
}
