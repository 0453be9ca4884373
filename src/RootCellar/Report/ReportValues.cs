using System.Globalization;
using RootCellar.Advice;
using RootCellar.Household;
using RootCellar.Ledger;
using RootCellar.Ledger.Events;
using RootCellar.Lots;
using RootCellar.Places;
using RootCellar.Readings;
using RootCellar.Science.Keeping;
using RootCellar.Watch;
using Scriban.Runtime;

namespace RootCellar.Report;

/// <summary>What is said of a chart: its key, where its picture is and what it shows in words.</summary>
internal sealed record SaidChart(string? Place, string? Lot, string Title, string Caption, string Source, string Words, int Width,
    int Height);

/// <summary>
/// Turns the figures into what a template gets: words and numbers ready to be written, lists of them, and true or false. Documented in
/// docs/report.md.
/// </summary>
internal sealed class ReportValues(WeekFigures week, ReportWords words, IReadOnlyList<SaidChart> charts)
{
    /// <summary>A loss under this is not worth a word, kg (assumed: half of what a bin scale shows).</summary>
    private const double WorthSaying = 0.05;

    private WeekVerdict? verdict;
    private readonly Dictionary<string, string> placeNames = week.Places.ToDictionary(
        p => p.Place.Id, p => ReportWords.Line(p.Place.Name), StringComparer.Ordinal);

    /// <param name="link">The report's page; empty where nobody said where the pages are reached.</param>
    /// <param name="late">Why it comes late; empty where it does not.</param>
    /// <param name="page">For the house's own pages: the top has said the verdict, and what is not read first is folded.</param>
    public ScriptObject All(string link, string late, bool page)
    {
        var jobs = new JobWords(words, week);
        return Object(
            ("week", week.Week.Name),
            ("title", ReportWords.Title(week.Week)),
            ("whole", week.UpTo >= week.Week.To),
            ("up_to", words.Time(week.UpTo, week.UpTo)),
            ("late", late),
            ("sent", week.Sent is { } sent ? words.Time(sent.At, week.UpTo) : ""),
            ("sent_up_to", week.Sent is { } told ? words.Time(WeekFigures.Until(week.Week, told.UpTo), week.UpTo) : ""),
            ("corrected", Array(week.Corrected.Select(Corrected))),
            ("link", link),
            ("page", page),
            ("verdict", Object(("was", Verdict.Was.ToString().ToLowerInvariant()), ("says", Verdict.Says), ("why", Verdict.Why))),
            ("facts", Array(Facts())),
            ("lines", Array(new LotLines(week, words).All().Select(l => Object(
                ("lot", l.Lot), ("kind", l.Kind), ("says", l.Says), ("weight", l.Weight), ("lost", l.Lost))))),
            ("all_lots", Array(charts.Where(c => c is { Place: null, Lot: null }).Select(Chart))),
            ("empty", week.IsEmpty),
            ("summary", Array(Summary())),
            ("jobs", Array(week.Jobs.Select((j, i) => jobs.Of(j) is var said
                ? Object(("number", i + 1), ("what", said.What), ("why", said.Why), ("caution", said.Caution ?? "")) : null!))),
            ("places", Array(week.Places.Select(Place))),
            ("lots", Array(week.Lots.Select(Lot))),
            ("not_drawn", NotDrawn()),
            ("totals", Totals()),
            ("use_first", Array(week.UseFirst.Select(UseFirst))),
            ("use_first_caution", Cautions.OfUsing(week.UseFirst, words)),
            ("promises", Array(week.AtRisk.Select(Promise))),
            ("weigh_in", WeighIn()),
            ("alarms", Alarms()),
            ("sensors", Array(week.Sensors.Select(Sensor))),
            ("charts", Array(charts.Select(Chart))));
    }

    /// <summary>What the week comes to; worked out once.</summary>
    public WeekVerdict Verdict => verdict ??= WeekVerdict.Of(
        week, id => placeNames.GetValueOrDefault(id, ReportWords.Line(id)), string.Join(' ', Cost().Concat(Dark(Strings.ReportVerdictUnmeasured))));

    /// <summary>The sums of all lots, each no finer than it is known.</summary>
    private IEnumerable<ScriptObject> Facts()
    {
        if (week.Lots.Count == 0) yield break;
        double off = week.Lots.Sum(l => l.Estimate.EndKg is { } end ? (end.High - end.Low) / 2 : 0.05);
        yield return Fact(Strings.ReportOnTheShelf, words.Kg(week.Lots.Sum(l => l.Estimate.EndGrams) / 1000.0, off));
        yield return Fact(Strings.ReportWentOut, words.Kg(week.Lots.Sum(l => l.Book.OutGrams) / 1000.0, 0.5));
        var followed = week.Lots.Where(l => l.Estimate.ShrinkKg is not null).ToList();
        yield return Fact(Strings.ReportLostWeek, words.Kg(
            week.ShrinkGrams / 1000.0, followed.Sum(l => l.Estimate.ShrinkKg!.Value.High - l.Estimate.ShrinkKg.Value.Low)));

        static ScriptObject Fact(string name, string value) => Object(("name", name), ("value", value));
    }

    private IEnumerable<string> Summary()
    {
        var followed = week.Lots.Where(l => l.Estimate.ShrinkKg is not null).ToList();
        long end = week.Lots.Sum(l => l.Estimate.EndGrams);
        if (week.Lots.Count > 0)
        {
            var shrink = new Science.Air.Interval(followed.Sum(l => l.Estimate.ShrinkKg!.Value.Low),
                followed.Sum(l => l.Estimate.ShrinkKg!.Value.Value), followed.Sum(l => l.Estimate.ShrinkKg!.Value.High));
            double off = followed.Sum(l => (l.Estimate.EndKg!.Value.High - l.Estimate.EndKg.Value.Low) / 2);
            yield return Strings.ReportSummary.With(
                words.Kg(end / 1000.0, off), ReportWords.Count(week.Lots.Sum(l => l.Bins.Count), Strings.ReportBin, Strings.ReportBins),
                    words.Kg(shrink));
        }

        foreach (var said in Cost().Concat(Dark(Strings.ReportDark))) yield return said;
    }

    /// <summary>What the air cost all lots together.</summary>
    private IEnumerable<string> Cost()
    {
        if (AirCost(week.Lots.Sum(l => l.Air?.WaterCostKg ?? 0), week.Lots.Sum(l => l.Air?.BreathCostKg ?? 0),
            thisWeek: true) is { Length: > 0 } cost) yield return cost;
        else if (week.Lots.Any(l => l.Estimate.ShrinkKg is not null)) yield return Strings.ReportAirNothing;
    }

    /// <summary>Where nobody measured for half a day or more.</summary>
    private IEnumerable<string> Dark(string says)
    {
        if (week.Places.Where(p => p.Band is not null && p.UnmeasuredHours >= WeekVerdict.DarkHours).Select(p => placeNames[p.Place.Id])
            .ToList() is { Count: > 0 } dark)
            yield return says.With(ReportWords.Names(dark));
    }

    /// <summary>"Dry air cost about 11 lb" and the like; empty where it is not worth saying.</summary>
    private string AirCost(double water, double breath, bool thisWeek = false)
    {
        string Rough(double kg) => words.Kg(kg, kg / 3);
        if (water >= WorthSaying && breath >= WorthSaying) return (thisWeek ? Strings.ReportCostBothWeek
            : Strings.ReportCostBoth).With(Rough(water), Rough(breath));
        if (water >= WorthSaying) return (thisWeek ? Strings.ReportCostDryWeek : Strings.ReportCostDry).With(Rough(water));
        if (breath >= WorthSaying) return (thisWeek ? Strings.ReportCostWarmWeek : Strings.ReportCostWarm).With(Rough(breath));
        return water + breath <= -WorthSaying ? (thisWeek ? Strings.ReportSavedWeek : Strings.ReportSaved).With(Rough(-(water + breath)))
            : "";
    }

    private ScriptObject Corrected(CorrectedFigure c)
    {
        string about = SaidFigure.IsOfPlace(c.Figure)
            ? placeNames.GetValueOrDefault(c.About, ReportWords.Line(c.About)) : ReportWords.Line(c.About);
        return Object(
            ("what", about.Length == 0 ? ReportWords.Name(c.Figure) : Strings.ReportWhatOf.With(about, ReportWords.Name(c.Figure))),
            ("said", words.Said(c.Figure, c.Said, c.Off)),
            ("now", words.Said(c.Figure, c.Now, c.Off)),
            ("on", c.On is { } on ? words.Day(on, week.UpTo) : ""));
    }

    private ScriptObject Place(PlaceWeek p)
    {
        bool judged = p.Band is not null;
        return Object(
            ("name", placeNames[p.Place.Id]),
            ("purpose", ShowWatch.Name(p.Place.Purpose).ToLowerInvariant()),
            ("judged", judged),
            ("measured", p.Temperature is not null || p.Humidity is not null),
            ("band", p.Band is { } b ? words.Band(b.TemperatureLowC, b.TemperatureHighC, b.HumidityLowPercent, b.HumidityHighPercent) : ""),
            ("limits", p.InForce is { } held
                ? LimitWords.Said(held.Limits, words.Temperature, percent => ReportWords.Percent(percent, 0)) : ""),
            ("unsuited", p.InForce is null ? new ScriptArray() : Array(
                LimitWords.DoesNotSuitShort(p.InForce.Limits, words.Temperature, percent => ReportWords.Percent(percent, 0)))),
            ("temperature", p.Temperature is { } t
                ? Strings.ReportOnAverage.With(words.Temperature(t.Mean), words.Temperature(t.Low), words.Temperature(t.High)) : ""),
            ("humidity", p.Humidity is { } h ? Strings.ReportOnAverage.With(ReportWords.Percent(h.Mean, 0), ReportWords.Percent(h.Low, 0),
                ReportWords.Percent(h.High, 0)) : ""),
            ("out", Array(Out(p))),
            ("worst", p.Worst is { } w
                ? Strings.ReportWorstAt.With(words.Figure(w.Measure, w.Value), words.Time(w.At, week.UpTo), words.Figure(w.Measure, w.Limit)) : ""),
            ("unmeasured", p.UnmeasuredHours >= 1 ? Strings.ReportOfHours.With(ReportWords.Hours(p.UnmeasuredHours),
                p.Hours.ToString("0", CultureInfo.InvariantCulture)) : ""),
            ("did", p.Lots.Count == 0
                ? "" : $"{Strings.ReportDid.With(ReportWords.Names([.. p.Lots]), words.Kg(p.LotsLostKg, p.LotsLostKg / 3))} {AirCost(p.WaterCostKg, p.BreathCostKg)}".Trim()),
            ("charts", Array(charts.Where(c => c.Place == p.Place.Id).Select(Chart))));
    }

    // What an alarm saw between two rows of the record was too: the report does not say that it never was.
    private IEnumerable<string> Out(PlaceWeek p)
    {
        (Rule Rule, string Name, Beyond? Beyond)[] sides =
        [
            (Rule.TooWarm, Strings.RuleTooWarm, p.Temperature?.Above), (Rule.TooCold, Strings.RuleTooCold, p.Temperature?.Below),
            (Rule.TooDry, Strings.RuleTooDry, p.Humidity?.Below), (Rule.TooWet, Strings.RuleTooDamp, p.Humidity?.Above),
        ];
        foreach (var (rule, name, beyond) in sides)
        {
            if (beyond is { } counted)
                yield return Strings.ReportOutFor.With(name, ReportWords.Hours(counted.Hours));
            else if (week.Alarms.All.Any(a => a.Place == p.Place.Id && a.Rule == rule && a.Measure is Measure.Air or Measure.Humidity))
                yield return Strings.ReportOutShortly.With(name);
        }
    }

    private ScriptObject Lot(LotWeek l)
    {
        var e = l.Estimate;
        double off = e.EndKg is { } end ? (end.High - end.Low) / 2 : 0.05;
        var outs = l.Book.Outs.Where(o => TakenOut.CulledAs(o.Key) is null)
            .Select(o => Object(("way", ReportWords.Way(o.Key)), ("weight", words.Book(o.Value))));
        var culls = l.Book.Outs.Where(o => TakenOut.CulledAs(o.Key) is not null)
            .Select(o => Object(("reason", ReportWords.Way(o.Key)), ("weight", words.Book(o.Value))));
        return Object(
            ("name", ReportWords.Line(l.Lot)),
            ("crop", ReportWords.Crop(l.Crop)),
            ("variety", l.Variety is null ? "" : ReportWords.Line(l.Variety)),
            ("dug", words.Day(l.DugAt, week.UpTo)),
            ("harvested", HarvestWords.DoneOn(l.Known, words.Day(l.DugAt, week.UpTo))),
            ("healing_of", HarvestWords.Closes(l.Progress?.Rule ?? default)),
            ("followed", l.Air is not null),
            ("bins", ReportWords.Names(l.Bins)),
            ("bin_count", l.Bins.Count),
            ("places", ReportWords.Names([.. l.Places.Select(p => placeNames.GetValueOrDefault(p, p))])),
            ("start", words.Kg(e.StartGrams / 1000.0, off)),
            ("in", l.Book.InGrams == 0 ? "" : words.Book(l.Book.InGrams)),
            ("loose", l.LooseGrams == 0 ? "" : words.Book(l.LooseGrams)),
            ("outs", Array(outs)),
            ("culls", Array(culls)),
            ("culled", l.Book.CulledGrams == 0 ? "" : words.Book(l.Book.CulledGrams)),
            ("shrink", e.ShrinkKg is { } shrink ? words.Kg(shrink) : words.Book(e.ShrinkGrams)),
            ("water", words.Kg(e.WaterGrams / 1000.0, e.ShrinkGrams / 10_000.0)),
            ("breath", words.Kg(e.BreathGrams / 1000.0, e.ShrinkGrams / 10_000.0)),
            ("set_right", Math.Abs(e.SetRightGrams) < 50 ? "" : (e.SetRightGrams > 0 ? Strings.ReportScaleMore
                : Strings.ReportScaleLess).With(words.Kg(Math.Abs(e.SetRightGrams) / 1000.0, 0.1))),
            ("end", e.EndKg is { } at ? words.Kg(at) : words.Book(e.EndGrams)),
            ("book_end", words.Book(l.Book.EndGrams)),
            ("shrink_all", words.Book(l.Shrink.Grams)),
            ("shrink_percent", l.Shrink.InGrams > 0 ? ReportWords.Percent(l.Shrink.Percent, 1) : ""),
            ("shrink_scale", words.Book(l.Shrink.ByScaleGrams)),
            ("shrink_estimate", words.Book(l.Shrink.ByEstimateGrams)),
            ("soil", SoilOff.Words(l.Soil, kg => words.Kg(kg, 0.1))),
            ("weighings", l.Weighings),
            ("rate", Rate(l.Air?.RatePercent)),
            ("rate_last", Rate(l.Air?.LastWeekPercent)),
            ("rate_ideal", Rate(l.Air?.IdealPercent)),
            ("air", l.Air is { } air ? AirCost(air.WaterCostKg, air.BreathCostKg) : ""),
            ("unmeasured", l.Air is { UnmeasuredHours: >= 1 } a ? ReportWords.Hours(a.UnmeasuredHours) : ""),
            ("healing", Healing(l.Progress)),
            ("rest", Rest(l.Progress)),
            ("harm", Array(Harm(l.Progress))),
            ("ahead", Array(Ahead(l.Progress))),
            ("charts", Array(charts.Where(c => c.Lot == l.Lot).Select(Chart))));
    }

    /// <summary>Which lots have no chart here, and where theirs is; empty where all have.</summary>
    private string NotDrawn()
    {
        var drawn = charts.Select(c => c.Lot).OfType<string>().ToHashSet(StringComparer.Ordinal);
        var others = ReportCharts.Drawable(week).Where(l => !drawn.Contains(l.Lot)).ToList();
        return others.Count == 0 ? "" : Strings.ReportNotDrawn.With(drawn.Count, ReportWords.Names([.. others.Select(l => l.Lot)]));
    }

    private static string Rate(double? percent) => percent is { } p ? ReportWords.Percent(p, 1) : "";

    private static string Healing(LotProgress? p)
    {
        if (p is null || !p.Cured) return "";
        var stage = p.StageStart == p.StageEnd ? ReportWords.Stage(p.StageEnd, p.Rule)
            : Strings.ReportStageNow.With(ReportWords.Stage(p.StageStart, p.Rule), ReportWords.Stage(p.StageEnd, p.Rule));
        return p.HealedDaysEnd - p.HealedDaysStart is var gained && gained >= 0.05 && p.StageEnd != HealingStage.Healed
            ? Strings.ReportHealedDays.With(stage, Units.Number(gained, "0.0"))
            : stage;
    }

    private static string Rest(LotProgress? p) => p?.RestEnd is not { } rest ? "" : p.RestStart is { } start
        ? Strings.ReportRestUsedFrom.With(ReportWords.Percent(100 * rest.Value, 0), ReportWords.Percent(100 * start, 0),
            Math.Round(100 * rest.Low), Math.Round(100 * rest.High))
        : Strings.ReportRestUsed.With(ReportWords.Percent(100 * rest.Value, 0));

    private static IEnumerable<string> Harm(LotProgress? p)
    {
        if (p is null) yield break;
        if (p.WetHours >= 1) yield return Strings.ReportWetFor.With(ReportWords.Hours(p.WetHours));
        if (p.LightHours >= 1) yield return Strings.ReportLightFor.With(ReportWords.Hours(p.LightHours));
        if (p.FreezingHours > 0) yield return Strings.ReportFreezingFor.With(ReportWords.Hours(p.FreezingHours));
        else if (p.ColdHours >= 1) yield return Strings.ReportColdFor.With(ReportWords.Hours(p.ColdHours));
    }

    private IEnumerable<string> Ahead(LotProgress? p)
    {
        if (p is null) yield break;
        if (p.Cured && p.StageEnd < HealingStage.Adequate
            && words.About(p.FitToMove, week.UpTo) is { } fit) yield return Strings.ReportFitAbout.With(fit);
        if (p.Seen is { } look) yield return words.Saw(look, week.UpTo);
        string way = words.If(p.Way, id => placeNames.GetValueOrDefault(id, id), week.UpTo);
        if (!p.SproutsSeen && p.Peeping?.Likely > week.UpTo && words.About(p.Peeping, week.UpTo) is { } peeping)
            yield return Strings.ReportSproutsShow.With(peeping, way);
        if (p.Sprouted?.Likely > week.UpTo
            && words.About(p.Sprouted, week.UpTo) is { } sprouted) yield return Strings.ReportSproutedMost.With(sprouted, way);
    }

    private ScriptObject Totals()
    {
        double off = week.Lots.Sum(l => l.Estimate.EndKg is { } end ? (end.High - end.Low) / 2 : 0.05);
        return Object(
            ("start", words.Kg(week.Lots.Sum(l => l.Estimate.StartGrams) / 1000.0, off)),
            ("in", words.Book(week.Lots.Sum(l => l.Book.InGrams))),
            ("out", words.Book(week.Lots.Sum(l => l.Book.OutGrams - l.Book.CulledGrams))),
            ("culled", words.Book(week.Lots.Sum(l => l.Book.CulledGrams))),
            ("shrink", words.Kg(week.ShrinkGrams / 1000.0, week.ShrinkGrams / 5000.0)),
            ("end", words.Kg(week.Lots.Sum(l => l.Estimate.EndGrams) / 1000.0, off)),
            ("book_end", words.Book(week.Lots.Sum(l => l.Book.EndGrams))));
    }

    private ScriptObject UseFirst(BinEstimate b) => Object(
        ("bin", ReportWords.Line(b.Bin)),
        ("lot", ReportWords.Line(b.Lot)),
        ("what", $"{ReportWords.Crop(b.Crop)}{(b.Variety is null ? "" : ", " + ReportWords.Line(b.Variety))}"),
        ("place", b.Place is null ? "" : placeNames.GetValueOrDefault(b.Place, ReportWords.Line(b.Place))),
        ("weight", words.Kg(b.Kg.Value, (b.Kg.High - b.Kg.Low) / 2)),
        ("why", Strings.ReportLeft.With(b.IfLeft.Days, words.Kg(b.IfLeft.WorstKg, b.IfLeft.WorstKg / 3), Share(b))));

    private static string Share(BinEstimate b) => ReportWords.Percent(100 * b.IfLeft.WorstKg / Math.Max(1e-9, b.Kg.Value), 0);

    private ScriptObject Promise(PromisePlan p) => Object(
        ("order", ReportWords.Line(p.Promise.Order)),
        ("what", $"{words.Kg(p.OpenKg, 0.1)} {ReportWords.Crop(p.Promise.Crop)}{(p.Promise.Grade is null ? "" : ", " + ReportWords.Line(p.Promise.Grade))}"),
        ("due", p.Promise.Due is { } due ? words.Day(due, week.UpTo) : Strings.ReportNoDay),
        ("short", p.Answer == CanMeet.No),
        ("says", p.Answer == CanMeet.No ? Strings.ReportShort.With(words.Kg(p.ShortKg, Math.Max(0.1, p.ShortKg / 20)))
            : Strings.ReportJustEnough),
        ("bins", ReportWords.Names([.. p.Picks.Select(k => k.Bin)])));

    private string WeighIn() => week.WeighIn is not { } w ? "" :
        Strings.ReportWeighInIs.With(
            ReportWords.Line(w.Bin), ReportWords.Line(w.Lot), words.Kg(w.ExpectedKg, w.WidthKg / 4),
                words.Kg(w.AfterKg / 2, w.AfterKg / 10), words.Kg(w.WidthKg / 2, w.WidthKg / 10));

    private ScriptObject Alarms()
    {
        var a = week.Alarms;
        var said = new List<string>();
        if (a.Raised > 0)
        {
            said.Add(a.Acknowledged is { } seen ? Strings.ReportSeen.With(ReportWords.Count(seen.Count, Strings.ReportAlarm,
                Strings.ReportAlarms), HowFast(seen)) : Strings.ReportNobodySeen);
            if (a.Unseen > 0 && a.Acknowledged is not null) said.Add(Strings.ReportUnseen.With(a.Unseen));
            said.Add(a.Returned is { } over ? Strings.ReportBack.With(ReportWords.Count(over.Count, Strings.ReportAlarm,
                Strings.ReportAlarms), HowFast(over)) : Strings.ReportNoneOver);
        }

        return Object(
            ("count", a.Raised),
            ("says", string.Join(' ', said)),
            ("open", a.Open.Count),
            ("list", Array(a.All.Take(12).Select(Alarm))),
            ("more", Math.Max(0, a.All.Count - 12)));
    }

    private static string HowFast(HowFast h) => h.Count == 1
        ? Strings.ReportAfter.With(ReportWords.Span(h.Slowest))
        : Strings.ReportWithin.With(ReportWords.Span(h.Median), ReportWords.Span(h.Slowest));

    private ScriptObject Alarm(Alarm a)
    {
        string where = a.Place.Length == 0 ? Strings.TheHousehold : placeNames.GetValueOrDefault(a.Place, ReportWords.Line(a.Place));
        string over = a.ReturnedAt is { } at && at < week.UpTo ? Strings.ReportOverAfter.With(ReportWords.Span(a.Lasted(at)))
            : Strings.ReportHolds;
        string seen = a.AcknowledgedAt is not { } ack || ack >= week.UpTo ? Strings.ReportNotSeen
            : a.AcknowledgedBy is { } by ? Strings.ReportSeenBy.With(ReportWords.Span(ack - a.RaisedAt), ReportWords.Line(by))
            : Strings.ReportSeenAfter.With(ReportWords.Span(ack - a.RaisedAt));
        return Object(
            ("what", JudgementWords.Name(a.Rule, a.Measure)), ("place", where),
                ("sensor", a.Sensor is null ? "" : ReportWords.Line(week.SensorNames.GetValueOrDefault(a.Sensor, a.Sensor))), ("raised", words.Time(a.RaisedAt, week.UpTo)),
            ("worst", a is { Worst: { } worst, Measure: Measure.Air or Measure.Pulp or Measure.Humidity }
                ? words.Figure(a.Measure, worst) : ""),
            ("says", $"{over}, {seen}"));
    }

    private ScriptObject Sensor(SensorTrouble s) => Object(
        ("sensor", ReportWords.Line(s.Called)),
        ("place", s.Place is null ? "" : placeNames.GetValueOrDefault(s.Place, ReportWords.Line(s.Place))),
        ("says", s.Needs switch
        {
            SensorNeeds.Silent => s.Since is { } since ? Strings.ReportSilent.With(words.Time(since, week.UpTo)) : Strings.ReportNeverSpoke,
            SensorNeeds.Stuck => Strings.ReportStuck.With(ReportWords.Name(s.Quantity!.Value)),
            SensorNeeds.Saturated => Strings.ReportSaturated,
            SensorNeeds.Battery => Strings.ReportBattery.With(s.Value!.Value.ToString(s.Quantity == Readings.Quantity.BatteryVolts
                ? "0.00 'V'" : "0 '%'", CultureInfo.InvariantCulture)),
            SensorNeeds.Drifting => Strings.ReportDrifting.With(ReportWords.Name(s.Quantity!.Value), Apart(s)),
            _ => Strings.ReportUntrue,
        }));

    private string Apart(SensorTrouble s) => s.Quantity == Readings.Quantity.Humidity
        ? ReportWords.Percent(Math.Abs(s.Value!.Value), 0)
        : string.Create(CultureInfo.InvariantCulture, $"{words.DegreesApart(Math.Abs(s.Value!.Value)):0.0} {words.TemperatureUnit}");

    private static ScriptObject Chart(SaidChart c) =>
        Object(("title", c.Title), ("caption", c.Caption), ("source", c.Source), ("words", c.Words), ("width", c.Width),
            ("height", c.Height));

    private static ScriptObject Object(params ReadOnlySpan<(string Name, object? Value)> values)
    {
        var made = new ScriptObject();
        foreach (var (name, value) in values) made[name] = value;
        return made;
    }

    private static ScriptArray Array(IEnumerable<object> values) => new(values);
}
