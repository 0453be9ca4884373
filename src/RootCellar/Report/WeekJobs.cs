using RootCellar.Advice;
using RootCellar.Ledger;
using RootCellar.Lots;
using RootCellar.Places;
using RootCellar.Watch;

namespace RootCellar.Report;

internal enum JobKind
{
    /// <summary>Carbon dioxide is high: air the room before going in.</summary>
    AirTheRoom = 1,

    /// <summary>Frost is near.</summary>
    KeepFromFrost,

    /// <summary>Wet, or signs of rot: take out and sort.</summary>
    SortOut,

    /// <summary>Light has greened it, or is about to.</summary>
    Cover,

    /// <summary>An alarm of a room's air stands.</summary>
    SeeToRoom,

    /// <summary>A promise that there is not enough for.</summary>
    SaveAPromise,

    /// <summary>Air out of its band cost more than any other.</summary>
    WetTheAir,
    CoolTheAir,

    /// <summary>Crops that cost each other keeping time stand in one room.</summary>
    KeepApart,

    /// <summary>Healed far enough: to the storage room.</summary>
    Move,

    /// <summary>The same, within the week to come.</summary>
    MoveSoon,

    /// <summary>Nobody knows what the air does.</summary>
    SeeToSensor,

    /// <summary>The same of one that reads damp to the top.</summary>
    DryTheSensor,

    /// <summary>Sprouting, or about to.</summary>
    UseFirst,

    /// <summary>Any other alarm that stands.</summary>
    SeeToAlarm,

    /// <summary>The weigh-in that teaches most.</summary>
    WeighIn,
}

/// <summary>One of the week's jobs, as facts; the words are made where it is shown.</summary>
/// <param name="Bins">What it is about, by name.</param>
/// <param name="Kg">What is at stake, where that is known.</param>
/// <param name="Detail">A sensor, an order, or how a bin looked.</param>
/// <param name="When">Since when.</param>
/// <param name="Due">By when.</param>
internal sealed record Job(JobKind Kind, IReadOnlyList<string> Bins, string? Place, double? Kg, string? Detail, DateTimeOffset? When, DateOnly? Due = null)
{
    /// <summary>The crops that do not go together; null of any other job.</summary>
    public CropsApart? Apart { get; init; }
}

/// <summary>
/// Chooses the week's three jobs. The kinds are ranked by what waiting costs: first what is a danger to people, then what spoils produce within days, then what
/// costs weight, then what is not known. Within a kind the more kilograms come first, then names. The same figures give the same jobs.
/// </summary>
internal static class WeekJobs
{
    public const int Most = 3;

    /// <summary>
    /// Air is a job when it cost a fifth of a percent of what stands there, as much as a crop in good air loses in a week, or when it was out of its band for half of
    /// the week, and in either case a quarter of a pound or so (assumed).
    /// </summary>
    private const double CostShare = 0.002, HalfAWeek = 84, CostKg = 0.1;

    private const double UnmeasuredHours = 6;

    public static IReadOnlyList<Job> Of(WeekFigures week, Book book, LotViews views) =>
        [.. All(week, book, views).OrderBy(j => j.Kind).ThenByDescending(j => Math.Round(j.Kg ?? 0, 3)).ThenBy(j => j.Place, StringComparer.Ordinal).ThenBy(j => j.Bins.Count == 0 ? "" : j.Bins[0], StringComparer.Ordinal).Take(Most)];

    private static IEnumerable<Job> All(WeekFigures week, Book book, LotViews views)
    {
        foreach (var alarm in week.Alarms.Open)
        {
            if (alarm.Rule == Rule.Co2High) yield return new Job(JobKind.AirTheRoom, [], alarm.Place, null, null, alarm.RaisedAt);
            if (alarm.Rule == Rule.FreezingNear) yield return new Job(JobKind.KeepFromFrost, [], alarm.Place, views.Bins.Values.Where(b => b.Place == alarm.Place).Sum(b => b.Kg.Value), null, alarm.RaisedAt);
        }

        bool Told(string? place) => week.Alarms.Open.Any(a => a.Rule == Rule.FreezingNear && a.Place == place);
        foreach (var g in Advised(views, "freezing").Where(g => !Told(g.Key))) yield return Together(JobKind.KeepFromFrost, g);
        foreach (var g in views.Bins.Values.Where(b => b.Advice is { Code: "wet" } or { Code: "rot-signs", Urgency: Urgency.Now }).GroupBy(b => b.Place, StringComparer.Ordinal))
        {
            var seen = g.Select(b => Advising.RotSign(book.Bins[b.Bin], week.UpTo)).OfType<ConditionSeen>().OrderBy(c => c.At).LastOrDefault();
            yield return Together(JobKind.SortOut, g) with { Detail = seen?.What, When = seen?.At };
        }

        foreach (var g in Standing(week, a => a.Rule.IsOfRoomAir() && a.Rule is not (Rule.Co2High or Rule.FreezingNear)))
            yield return new Job(JobKind.SeeToRoom, [], g.Key, views.Bins.Values.Where(b => b.Place == g.Key).Sum(b => b.Kg.Value), null, g.Min(a => a.Since));
        foreach (var g in Standing(week, a => !a.Rule.IsOfRoomAir()))
            yield return new Job(JobKind.SeeToAlarm, [], g.Key.Length == 0 ? null : g.Key, null,
                string.Join(", ", g.Select(a => JudgementWords.Name(a.Rule, a.Measure)).Distinct()), g.Min(a => a.Since));
        foreach (var apart in CropsApart.Of(views)) yield return new Job(JobKind.KeepApart, apart.Bins, apart.Place, apart.KgA + apart.KgB, null, null) { Apart = apart };
        foreach (var g in Advised(views, "light")) yield return Together(JobKind.Cover, g);
        foreach (var plan in week.AtRisk.Where(p => p.Answer == CanMeet.No))
            yield return new Job(JobKind.SaveAPromise, [.. plan.Picks.Select(p => p.Bin)], null, plan.ShortKg, plan.Promise.Order, null, plan.Promise.Due);
        foreach (var place in week.Places.Where(p => p.CostKg >= CostKg))
        {
            double there = views.Bins.Values.Where(b => b.Place == place.Place.Id).Sum(b => b.Kg.Value);
            bool dry = place.WaterCostKg >= place.BreathCostKg;
            if (place.CostKg < CostShare * there && (dry ? place.Humidity?.Below?.Hours : place.Temperature?.Above?.Hours) is not >= HalfAWeek) continue;
            yield return new Job(dry ? JobKind.WetTheAir : JobKind.CoolTheAir, [], place.Place.Id, place.CostKg, null, place.Worst?.At);
        }

        foreach (var g in Advised(views, "move")) yield return Together(JobKind.Move, g);
        foreach (var g in views.MoveBy(week.UpTo + LotViews.Coming).GroupBy(b => b.Place, StringComparer.Ordinal))
            yield return Together(JobKind.MoveSoon, g) with { When = g.Min(b => b.FitToMove!.Likely) };
        foreach (var g in week.Sensors.Where(s => s.Needs is SensorNeeds.Silent or SensorNeeds.Stuck or SensorNeeds.Saturated or SensorNeeds.Doubted).GroupBy(s => (s.Place, Wet: s.Needs == SensorNeeds.Saturated)))
        {
            var place = week.Places.FirstOrDefault(p => p.Place.Id == g.Key.Place);
            // One that is silent beside others that speak can wait.
            var sensors = g.Where(s => s.Needs != SensorNeeds.Silent || place?.UnmeasuredHours >= UnmeasuredHours).ToList();
            if (place is null || place.Place.Purpose == Purpose.Outdoors || sensors.Count == 0) continue;
            yield return new Job(
                g.Key.Wet ? JobKind.DryTheSensor : JobKind.SeeToSensor, [], g.Key.Place, views.Bins.Values.Where(b => b.Place == g.Key.Place).Sum(b => b.Kg.Value), ReportWords.Names([.. sensors.Select(s => s.Name ?? s.Sensor)]),
                sensors.Max(s => s.Since));
        }

        foreach (var g in Advised(views, "sprouting")) yield return Together(JobKind.UseFirst, g) with { When = g.Min(b => b.Peeping?.Likely) };
        if (week.WeighIn is { } worth) yield return new Job(JobKind.WeighIn, [worth.Bin], null, worth.GainKg, worth.Lot, null);
    }

    private static IEnumerable<IGrouping<string, Alarm>> Standing(WeekFigures week, Func<Alarm, bool> which) =>
        week.Alarms.Open.Where(which).GroupBy(a => a.Place, StringComparer.Ordinal);

    private static IEnumerable<IGrouping<string?, BinEstimate>> Advised(LotViews views, string code) =>
        views.Bins.Values.Where(b => b.Advice.Code == code).GroupBy(b => b.Place, StringComparer.Ordinal);

    private static Job Together(JobKind kind, IGrouping<string?, BinEstimate> bins) =>
        new(kind, [.. bins.Select(b => b.Bin).Order(StringComparer.Ordinal)], bins.Key, bins.Sum(b => b.Kg.Value), null, null);
}
