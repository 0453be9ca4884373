using RootCellar.Advice;
using RootCellar.Household;
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
            $"Keep frost from {Place(job)}.", job.When is null ? $"{Bins(job)} came near freezing." : $"Freezing has been near since {At(job)}; {About(job)} stand there.",
            "No flame in a closed room: it uses up the air and makes carbon monoxide. Mains heaters in the damp only on a protected (GFCI/RCD) outlet; mains work is for a licensed electrician."),
        JobKind.SortOut => new(
            $"Sort {Bins(job)}{In(job)}.", job.Detail is null ? "Water has stood on it longer than it takes rot to begin." : $"It was {ReportWords.Line(job.Detail)} on {words.Day(job.When!.Value)}, and nobody has sorted it since.",
            "Take out what is soft or smells; when in doubt, throw it out. " + BadAir),
        JobKind.Cover => new(
            $"Cover {Bins(job)}{In(job)} from light.", "It has had light enough to turn green.",
            "Green or sprouted potatoes hold poisons that cooking does not remove: cut away generously, or do not use."),
        JobKind.SeeToRoom => new(Strings.JobRoom.With(Place(job), RoomWrong(job)), Strings.JobRoomWhy.With(About(job)), null),
        JobKind.SeeToAlarm => new(Strings.JobAlarm.With(job.Place is null ? "RootCellar" : Place(job), job.Detail!), Strings.JobAlarmWhy.With(At(job)), null),
        JobKind.KeepApart => new(
            Strings.JobApart.With(job.Apart!.Worst.A.Name, job.Apart.Worst.B.Name, Place(job)),
            Strings.JobApartWhy.With(
                string.Join(' ', job.Apart.Conflicts.Select(c => c.What)), words.Kg(job.Apart.KgA, job.Apart.KgA / 20), job.Apart.Worst.A.Name,
                words.Kg(job.Apart.KgB, job.Apart.KgB / 20), job.Apart.Worst.B.Name, job.Apart.Worst.WhatToDo),
            null),
        JobKind.MoveSoon => new(Strings.JobMoveSoon.With(Bins(job), In(job), words.Day(job.When!.Value)), Strings.JobMoveSoonWhy, null),
        JobKind.SaveAPromise => new(
            $"Find {words.Kg(job.Kg ?? 0, 0.1)} more for order {ReportWords.Line(job.Detail ?? "")}, or tell them.", $"It is due {(job.Due is { } due ? ReportWords.Day(due) : "now")}, and what there is will not be enough.", null),
        JobKind.WetTheAir => new(
            $"Make {Place(job)} damper: wet the floor, or cover the bins.", $"Dry air there cost about {words.Kg(job.Kg ?? 0, (job.Kg ?? 0) / 3)} this week{Out(job)}.",
            "Keep cords, lamps and heaters off a wet floor; outlets there must be protected (GFCI/RCD)."),
        JobKind.CoolTheAir => new(
            $"Make {Place(job)} cooler: open the vents while it is colder outside.", $"Warmth there cost about {words.Kg(job.Kg ?? 0, (job.Kg ?? 0) / 3)} this week{Out(job)}.", null),
        JobKind.Move => new($"Move {Bins(job)}{In(job)} to the storage room, and cool them by about a degree a day.", $"They are healed far enough: {About(job)}.", null),
        JobKind.SeeToSensor => new(
            $"See to {ReportWords.Line(job.Detail ?? "", 200)}{In(job)}: battery, plug, radio or wiring.",
            job.When is null ? "What comes from there cannot be believed." : $"Nothing to go by has come from there since {At(job)}; {About(job)} stand where it measures.", null),
        JobKind.DryTheSensor => new(
            $"Dry {ReportWords.Line(job.Detail ?? "", 200)}{In(job)}, then check it over salt.",
            $"It has read damp to the top for two days, which is a wet sensor more often than wet air; {About(job)} stand where it measures. Feel the produce for water meanwhile.", null),
        JobKind.UseFirst => new($"Use {Bins(job)}{In(job)} before the others.", job.When is { } peeping && peeping > week.UpTo ? $"Sprouts show about {words.Day(peeping)}." : "Its rest is over and sprouts grow.", Strings.SproutCaution),
        _ => new(
            $"Weigh bin {Bins(job)}: it should come to about {words.Kg(week.WeighIn?.ExpectedKg ?? 0, (week.WeighIn?.WidthKg ?? 0) / 4)} net.",
            $"No other weighing teaches more: what is not known of lot {ReportWords.Line(job.Detail ?? "")} falls from {Width(week.WeighIn?.WidthKg)} to {Width(week.WeighIn?.AfterKg)}.", null),
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

    private string Out(Job job)
    {
        var place = week.Places.FirstOrDefault(p => p.Place.Id == job.Place);
        if (place is null) return "";
        double hours = job.Kind == JobKind.WetTheAir ? place.Humidity?.Below?.Hours ?? 0 : place.Temperature?.Above?.Hours ?? 0;
        return hours < 0.75 ? "" : $"; it was too {(job.Kind == JobKind.WetTheAir ? "dry" : "warm")} for {ReportWords.Hours(hours)}";
    }
}
