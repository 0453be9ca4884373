using System.Globalization;
using RootCellar.Advice;
using RootCellar.Household;
using RootCellar.Lots;
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
    private const string BadAir = "Air a closed room before you go in, and do not go in alone: it can lack oxygen and hold carbon dioxide.";

    public SaidJob Of(Job job) => job.Kind switch
    {
        JobKind.AirTheRoom => new(
            $"Air out {Place(job)} before anyone goes in.", $"Its carbon dioxide alarm has stood since {At(job)}.",
            "Not a safety instrument: do not trust the sensor with your life. " + BadAir),
        JobKind.KeepFromFrost => new(
            $"Keep frost from {Place(job)}.", job.Bins.Count > 0 ? $"{Bins(job)} came near freezing." : $"Freezing has been near since {At(job)}; {About(job)} stand there.",
            "No flame in a closed room: it uses up the air and makes carbon monoxide. Mains heaters in the damp only on a protected (GFCI/RCD) outlet; mains work is for a licensed electrician."),
        JobKind.SortOut => new(
            $"Sort {Bins(job)}{In(job)}.", job.Seen is null ? "Water has stood on it longer than it takes rot to begin." : $"It was {ReportWords.Line(job.Seen.What)} on {words.Day(job.Seen.At)}, and nobody has sorted it since.",
            "Take out what is soft or smells; when in doubt, throw it out. " + BadAir),
        JobKind.Cover => new(
            $"Cover {Bins(job)}{In(job)} from light.", "It has had light enough to turn green.",
            "Green or sprouted potatoes hold poisons that cooking does not remove: cut away generously, or do not use."),
        JobKind.SeeToRoom => new(Strings.JobRoom.With(Place(job), RoomWrong(job)), Strings.JobRoomWhy.With(About(job)), null),
        JobKind.SeeToAlarm => new(Strings.JobAlarm.With(job.Place is null ? "RootCellar" : Place(job), job.Alarm!.Rule.Slug().Replace('-', ' ')), Strings.JobAlarmWhy.With(At(job)), null),
        JobKind.KeepApart => new(
            Strings.JobApart.With(job.Apart!.Worst.A.Name, job.Apart.Worst.B.Name, Place(job)),
            Strings.JobApartWhy.With(
                string.Join(' ', job.Apart.Conflicts.Select(c => c.What)), words.Kg(job.Apart.KgA, job.Apart.KgA / 20), job.Apart.Worst.A.Name,
                words.Kg(job.Apart.KgB, job.Apart.KgB / 20), job.Apart.Worst.B.Name, job.Apart.Worst.WhatToDo),
            null),
        JobKind.MoveSoon => new(Strings.JobMoveSoon.With(Bins(job), In(job), words.Day(job.When!.Value)), Strings.JobMoveSoonWhy, null),
        JobKind.SaveAPromise => new(
            $"Find {words.Kg(job.Kg ?? 0, 0.1)} more for order {Order(job)}, or tell them.", $"It is due {Due(job)}, and what there is will not be enough.", null),
        JobKind.KeepAPromise => new(
            Strings.JobPromise.With(words.Kg(job.Kg ?? 0, 0.1), Order(job), Due(job)),
            job.Promise!.Answer == CanMeet.Yes ? Strings.JobPromiseEnough.With(Bins(job)) : Strings.JobPromiseUnsure.With(Bins(job)),
            null),
        JobKind.WetTheAir => new(
            $"Make {Place(job)} damper: wet the floor, or cover the bins.", Strings.JobWetWhy.With(words.Kg(job.Kg ?? 0, (job.Kg ?? 0) / 3), job.Advice!.Figures.Percent!.Value.ToString("0", CultureInfo.InvariantCulture)),
            "Keep cords, lamps and heaters off a wet floor; outlets there must be protected (GFCI/RCD)."),
        JobKind.Move => new($"Move {Bins(job)}{In(job)} to the storage room, and cool them by about a degree a day.", $"They are healed far enough: {About(job)}.", null),
        JobKind.SeeToSensor => new(
            $"See to {Sensors(job)}{In(job)}: battery, plug, radio or wiring.", $"What comes from there cannot be believed; {About(job)} stand where it measures.", null),
        JobKind.DryTheSensor => new(
            $"Dry {Sensors(job)}{In(job)}, then check it over salt.",
            $"It has read damp to the top for two days, which is a wet sensor more often than wet air; {About(job)} stand where it measures. Feel the produce for water meanwhile.", null),
        JobKind.UseFirst => new($"Use {Bins(job)}{In(job)} before the others.", job.When is { } peeping && peeping > week.UpTo ? $"Sprouts show about {words.Day(peeping)}." : "Its rest is over and sprouts grow.", Strings.SproutCaution),
        _ => new(
            $"Weigh bin {Bins(job)}: it should come to about {words.Kg(job.WeighIn!.ExpectedKg, job.WeighIn.WidthKg / 4)} net.",
            $"No other weighing teaches more: what is not known of lot {ReportWords.Line(job.WeighIn!.Lot)} falls from {Width(job.WeighIn!.WidthKg)} to {Width(job.WeighIn!.AfterKg)}.", null),
    };

    private string RoomWrong(Job job)
    {
        var found = week.Alarms.Open.Where(a => a.Place == job.Place && a.Rule.IsOfRoomAir()).Select(PlaceJudge.Found).OfType<Finding>().ToList();
        return words.Judgement.Together(found, f => words.Judgement.What(f, null), week.UpTo);
    }

    private string Width(double? kg) => "± " + words.Kg((kg ?? 0) / 2, (kg ?? 0) / 10);

    private string At(Job job) => words.Time(job.When!.Value);

    private static string Bins(Job job) => job.Bins.Count == 0 ? "the bins" : ReportWords.Names([.. job.Bins]);

    private string About(Job job) => job.Kg is { } kg ? "about " + words.Kg(kg, kg / 20) : "some bins";

    private string Place(Job job) => week.Places.FirstOrDefault(p => p.Place.Id == job.Place)?.Place is { } place ? ReportWords.Line(place.Name) : ReportWords.Line(job.Place ?? "where they stand");

    private string In(Job job) => job.Place is null ? "" : " in " + Place(job);

    private static string Due(Job job) => job.Promise!.Promise.Due is { } due ? ReportWords.Day(due) : Strings.DueNow;

    private static string Order(Job job) => ReportWords.Line(job.Promise!.Promise.Order);

    private static string Sensors(Job job) => ReportWords.Line(ReportWords.Names([.. job.Sensors.Select(s => s.Name ?? s.Sensor)]), 200);
}
