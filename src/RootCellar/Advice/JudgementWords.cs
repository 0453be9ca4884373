using System.Globalization;
using RootCellar.Household;
using RootCellar.Science.Cellar;
using RootCellar.Watch;

namespace RootCellar.Advice;

/// <summary>An order of work: cautions, what decides it, the steps, and what is to be looked for after them.</summary>
internal sealed record OrderParts(IReadOnlyList<string> Before, string Fact, IReadOnlyList<string> Work, IReadOnlyList<string> After);

/// <summary>
/// The one wording of what is wrong and what to do, for texts, mails, pages, report, API and MQTT alike.
/// Surfaces choose how much of it they show, never the words.
/// </summary>
/// <param name="nameOf">What people call a sensor, by its topic.</param>
internal sealed class JudgementWords(HouseholdOptions household, Func<string, string?>? nameOf = null)
{
    private TemperatureScale Scale => household.Scale;

    /// <summary>The hour, with its day where that is another.</summary>
    public string Time(DateTimeOffset at, DateTimeOffset now) => household.Calendar().Hour(at, now);

    /// <summary>What is wrong and how far: "8F too warm (68F)".</summary>
    public string What(Finding f, double? freezingPointC) => f.Rule switch
    {
        Rule.TooWarm => Bins(f, Strings.FindTooWarm.With(Far(f), Value(f))),
        Rule.TooCold => Bins(f, Strings.FindTooCold.With(Far(f), Value(f))),
        Rule.TooDry => Strings.FindTooDry.With(Far(f), Value(f)),
        Rule.TooWet when f.Measure == Measure.DewMargin => Strings.FindSweating.With(Wording.Figure(f.Measure, f.Value, Scale)),
        Rule.TooWet when f.Limit >= 90 => Strings.FindDripping.With(Value(f)),
        Rule.TooWet => Strings.FindTooDamp.With(Far(f), Value(f)),
        Rule.FreezingNear => Strings.FindFreezing.With(
            (f.Measure == Measure.Pulp ? Strings.FindBinsAt : Strings.FindAirAt).With(Sensor(f.Sensor)), Value(f),
            Wording.Temperature(freezingPointC ?? f.Limit, Scale)),
        Rule.LightInTheDark => Strings.FindLight.With(Value(f), Wording.Figure(f.Measure, f.Limit, Scale)),
        _ => f.Value >= RoomCaution.ImmediatelyDangerousPpm
            ? Strings.FindCo2Kills.With(Value(f)) : Strings.FindCo2.With(Value(f), Wording.Thousands(f.Limit)),
    };

    /// <summary>The same with since when and what comes next if the air stays: what pages, API and report show of a finding.</summary>
    public string Standing(Finding f, PlaceJudgement room, DateTimeOffset now)
    {
        if (f.State == StandingState.Returning)
        {
            return f.Until is { } over
                ? Strings.FindReturning.With(Name(f.Rule, f.Measure), Value(f), Time(over, now))
                : Strings.FindAlmost.With(Name(f.Rule, f.Measure), Value(f));
        }

        var since = Strings.FindSince.With(What(f, room.FreezingPointC), Time(f.Since, now));
        return f is { State: StandingState.Pending, Until: { } until } ? (room.TextLeft ? Strings.FindPendingTold : Strings.FindPending)
            .With(since, Time(until, now)) : since;
    }

    /// <summary>All that is wrong in a room, with since when and what comes next: what every page shows; empty where nothing is.</summary>
    public string Standing(PlaceJudgement judgement, DateTimeOffset now) =>
        string.Join("; ", judgement.Findings.Select(f => Standing(f, judgement, now)));

    /// <summary>What is wrong in a room and what to do about it, in one line.</summary>
    public string Whole(PlaceJudgement judgement, DateTimeOffset now) =>
        Strings.SentenceThen.With(Standing(judgement, now), Order(judgement.Order, judgement.Decides)).TrimEnd();

    /// <summary>Findings of one beginning share it: "8F too warm (68F), 16% too dry (69%) since 17:25".</summary>
    public string Together(IReadOnlyList<Finding> findings, Func<Finding, string> what, DateTimeOffset now) => string.Join(", ", findings
        .Select((f, i) => i + 1 < findings.Count && Time(findings[i + 1].Since, now) == Time(f.Since, now)
            ? what(f) : Strings.FindSince.With(what(f), Time(f.Since, now))));

    /// <summary>Why an alarm ended though nobody saw its condition end: "no longer watched for too warm: nothing stands there now".</summary>
    public static string Ended(IEnumerable<string> names, WhyEnded why) => Strings.FindEnded.With(string.Join(", ", names), why switch
    {
        WhyEnded.NothingThere => Strings.EndedNothingThere,
        WhyEnded.PlaceGone => Strings.EndedPlaceGone,
        WhyEnded.SensorGone => Strings.EndedSensorGone,
        WhyEnded.OneSensorLeft => Strings.EndedOneSensorLeft,
        WhyEnded.TopOfScale => Strings.EndedTopOfScale,
        WhyEnded.SensorReplaced => Strings.EndedSensorReplaced,
        _ => Strings.EndedNotJudged,
    });

    /// <summary>What a rule says is wrong, without figures.</summary>
    public static string Name(Rule rule, Measure measure) => rule switch
    {
        Rule.TooWarm => Strings.RuleTooWarm,
        Rule.TooCold => Strings.RuleTooCold,
        Rule.FreezingNear => Strings.RuleFreezing,
        Rule.TooDry => Strings.RuleTooDry,
        Rule.TooWet => measure == Measure.DewMargin ? Strings.RuleSweating : Strings.RuleTooDamp,
        Rule.LightInTheDark => Strings.RuleLight,
        Rule.Co2High => Strings.RuleCo2,
        Rule.SensorSilent => Strings.RuleSensorSilent,
        Rule.SensorNotBelievable => Strings.RuleSensorNotBelievable,
        Rule.PlaceSilent => Strings.RulePlaceSilent,
        Rule.AllSilent => Strings.RuleAllSilent,
        Rule.SensorsDisagree => Strings.RuleSensorsDisagree,
        Rule.DiskFull => Strings.RuleDiskFull,
        _ => Strings.RuleClockStepped,
    };

    /// <summary>The order of work in its parts, for a page that numbers them.</summary>
    public OrderParts Parts(IReadOnlyList<Step> order, DecidingFact? decides) => new(
        [.. order.TakeWhile(s => IsSentence(s.Kind)).Select(Words)],
        decides is { } fact ? (fact.Damp is true ? Strings.OutFactDamp : Strings.OutFact)
            .With(Wording.Temperature(fact.OutdoorsC, Scale), "").TrimEnd() : "",
        [.. order.Where(s => !IsSentence(s.Kind)).Select(Words)],
        [.. order.SkipWhile(s => IsSentence(s.Kind)).Where(s => IsSentence(s.Kind)).Select(Words)]);

    /// <summary>The order of work as one line, with what decides it in front.</summary>
    public string Order(IReadOnlyList<Step> order, DecidingFact? decides)
    {
        var (before, _, work, after) = Parts(order, decides);
        var line = work.Count > 1 ? string.Join(' ', work.Select((step, i) => $"{i + 1} {step}")) : (work.Count == 1 ? work[0] : "");
        if (line.Length > 0)
        {
            line += ".";
            line = decides is { } fact
                ? (fact.Damp is true ? Strings.OutFactDamp : Strings.OutFact).With(Wording.Temperature(fact.OutdoorsC, Scale), line)
                : char.ToUpper(line[0], CultureInfo.CurrentCulture) + line[1..];
        }

        return string.Join(' ', [.. before, .. line.Length > 0 ? [line] : Array.Empty<string>(), .. after]);
    }

    /// <summary>What decides an order, by itself.</summary>
    public string Decides(DecidingFact fact) =>
        (fact.Damp is true ? Strings.OutFactDamp : Strings.OutFact).With(Wording.Temperature(fact.OutdoorsC, Scale), "").TrimEnd(' ', ':');

    /// <summary>One step.</summary>
    public string Words(Step step) => step.Kind switch
    {
        StepKind.StayOutAndCall => Strings.StepStayOutAndCall.With(household.EmergencyNumber),
        StepKind.StayOut => Strings.StepStayOut,
        StepKind.AirFirst => Strings.StepAirFirst,
        StepKind.Open => Strings.StepOpen,
        StepKind.OpenIfUnder => Strings.StepOpenIfUnder.With(Degrees(step)),
        StepKind.KeepShut => Strings.StepKeepShut,
        StepKind.HeaterOff => Strings.StepHeaterOff,
        StepKind.CoverBins => Strings.StepCoverBins,
        StepKind.DoNotMoveFrozen => Strings.StepDoNotMoveFrozen,
        StepKind.WetFloor => Strings.StepWetFloor,
        StepKind.CoverDamp => Strings.StepCoverDamp,
        StepKind.FanOverBins => Strings.StepFan,
        StepKind.SpreadOut => Strings.StepSpreadOut,
        StepKind.ShutAt => Strings.StepShutAt.With(Degrees(step)),
        StepKind.ShutAtHumidity => Strings.StepShutAt.With(Wording.Figure(Measure.Humidity, step.Percent!.Value, Scale)),
        StepKind.ShutOnceWarmerOut => Strings.StepShutOnceWarmerOut,
        StepKind.OpenOnceUnder => Strings.StepOpenOnceUnder.With(Degrees(step)),
        StepKind.ShutBySunup => Strings.StepShutBySunup,
        StepKind.LampOff => Strings.StepLampOff,
        StepKind.ShutIfOpen => Strings.StepShutIfOpen,
        StepKind.LookForFrost => Strings.StepLookForFrost,
        StepKind.LookForWet => Strings.StepLookForWet,
        StepKind.StillAirFirst => Strings.StepStillAirFirst,
        _ => throw new ArgumentOutOfRangeException(nameof(step), step.Kind, "no such step"),
    };

    private static bool IsSentence(StepKind kind) =>
        kind is StepKind.StayOutAndCall or StepKind.StayOut or StepKind.AirFirst or StepKind.DoNotMoveFrozen
        or StepKind.ShutIfOpen or StepKind.LookForFrost or StepKind.LookForWet or StepKind.StillAirFirst;

    /// <summary>How far beyond its limit, as the difference of the two figures a reader sees.</summary>
    public string Far(Finding f) => Wording.Apart(f.Measure, f.Value, f.Limit, Scale);

    public string Value(Finding f) => f.Measure == Measure.DewMargin
        ? Wording.Figure(f.Measure, f.Value, Scale)
        : Wording.Against(f.Measure, f.Value, f.Limit, Scale).Value;

    private string Degrees(Step step) => Wording.Temperature(step.Celsius!.Value, Scale);

    private static string Bins(Finding f, string what) => f.Measure == Measure.Pulp ? Strings.FindBins.With(what) : what;

    private string Sensor(string? key) =>
        key is { Length: > 0 } ? Strings.FindAtSensor.With(Wording.SensorName(key, nameOf?.Invoke(key))) : "";
}
