using RootCellar.Storage;

namespace RootCellar.Watch;

/// <summary>What an alarm is about. Each has its text template, named by <see cref="Rules.Slug(Rule)"/>.</summary>
internal enum Rule
{
    TooWarm = 1,
    TooCold = 2,
    FreezingNear = 3,
    TooDry = 4,
    TooWet = 5,
    LightInTheDark = 6,
    Co2High = 7,
    SensorSilent = 8,
    SensorNotBelievable = 9,
    PlaceSilent = 10,
    AllSilent = 11,
    ClockStepped = 12,
    SensorsDisagree = 13,

    /// <summary>The card under the record is nearly full.</summary>
    DiskFull = 14,
}

internal enum AlarmPriority
{
    Low = 1,
    High = 2,
    Urgent = 3,
}

/// <summary>The alarm states of ANSI/ISA-18.2.</summary>
internal enum AlarmState
{
    Normal = 0,
    Unacknowledged = 1,
    Acknowledged = 2,
    ReturnedUnacknowledged = 3,
    Shelved = 4,
}

/// <summary>Why an alarm ended though nobody saw its condition end.</summary>
internal enum WhyEnded
{
    /// <summary>The place was emptied.</summary>
    NothingThere = 1,

    /// <summary>The place is kept for something else now.</summary>
    NotJudged = 2,

    PlaceGone = 3,

    SensorGone = 4,

    /// <summary>Two sensors disagreed, and one has been gone for long.</summary>
    OneSensorLeft = 5,

    /// <summary>The humidity sensor has been at the top of its scale for so long that it tells nothing of dew.</summary>
    TopOfScale = 6,

    /// <summary>Another sensor has taken its place.</summary>
    SensorReplaced = 7,
}

/// <summary>What an alarm's value, limit and worst value are.</summary>
internal enum Measure
{
    None = 0,

    /// <summary>Air temperature, C.</summary>
    Air = 1,

    /// <summary>Temperature in the produce, C.</summary>
    Pulp = 2,

    /// <summary>Relative humidity, %.</summary>
    Humidity = 3,

    /// <summary>Coldest produce minus the air's dew point, K: below 0 water settles on it.</summary>
    DewMargin = 4,

    /// <summary>lx.</summary>
    Light = 5,

    /// <summary>ppm.</summary>
    Co2 = 6,

    /// <summary>A clock's jump, s; ahead is positive.</summary>
    Step = 7,

    /// <summary>How far the air temperatures of two sensors of a place are apart, K.</summary>
    AirSpread = 8,

    /// <summary>How far their relative humidities are apart, %.</summary>
    HumiditySpread = 9,

    /// <summary>How much of the card is free, %.</summary>
    DiskFree = 10,
}

internal static class Rules
{
    /// <summary>The rule as it stands in ids, templates and the API: <c>too-warm</c>.</summary>
    public static string Slug(this Rule rule) => rule switch
    {
        Rule.TooWarm => "too-warm",
        Rule.TooCold => "too-cold",
        Rule.FreezingNear => "freezing-near",
        Rule.TooDry => "too-dry",
        Rule.TooWet => "too-wet",
        Rule.LightInTheDark => "light-in-the-dark",
        Rule.Co2High => "co2-high",
        Rule.SensorSilent => "sensor-silent",
        Rule.SensorNotBelievable => "sensor-not-believable",
        Rule.PlaceSilent => "place-silent",
        Rule.AllSilent => "all-silent",
        Rule.ClockStepped => "clock-stepped",
        Rule.SensorsDisagree => "sensors-disagree",
        Rule.DiskFull => "disk-full",
        _ => throw new ArgumentOutOfRangeException(nameof(rule), rule, "no such rule"),
    };

    /// <summary>It is about the air of one room, told and advised on together with the room's other such alarms.</summary>
    public static bool IsOfRoomAir(this Rule rule) => rule is >= Rule.TooWarm and <= Rule.Co2High;

    /// <summary>The state as ISA-18.2 and the API spell it.</summary>
    public static string Slug(this AlarmState state) => state switch
    {
        AlarmState.Normal => "normal",
        AlarmState.Unacknowledged => "unacknowledged",
        AlarmState.Acknowledged => "acknowledged",
        AlarmState.ReturnedUnacknowledged => "returned-unacknowledged",
        AlarmState.Shelved => "shelved",
        _ => throw new ArgumentOutOfRangeException(nameof(state), state, "no such state"),
    };

    /// <summary>As the API spells it.</summary>
    public static string Slug(this WhyEnded why) => why switch
    {
        WhyEnded.NothingThere => "nothing-there",
        WhyEnded.PlaceGone => "place-gone",
        WhyEnded.SensorGone => "sensor-gone",
        WhyEnded.OneSensorLeft => "one-sensor-left",
        WhyEnded.TopOfScale => "top-of-scale",
        WhyEnded.SensorReplaced => "sensor-replaced",
        _ => "not-judged",
    };

    /// <summary>What may cost a life or the whole crop is kept quiet for an hour at most; anything else for a month.</summary>
    public static TimeSpan LongestShelf(this AlarmPriority priority) =>
        priority == AlarmPriority.Urgent ? TimeSpan.FromHours(1) : TimeSpan.FromDays(30);

    public static AlarmPriority Priority(this Rule rule) => rule switch
    {
        Rule.FreezingNear or Rule.Co2High => AlarmPriority.Urgent,
        Rule.TooWarm or Rule.TooCold or Rule.TooWet or Rule.PlaceSilent or Rule.AllSilent or Rule.DiskFull => AlarmPriority.High,
        _ => AlarmPriority.Low,
    };
}

/// <summary>
/// One alarm from its raising until it is normal again; then it is history and a new cause makes a new one. All times
/// here are wall time, for people: nothing is decided by them but after a restart.
/// </summary>
/// <param name="Place">Empty for the whole household.</param>
/// <param name="Sensor">The sensor it is about; of an alarm of a place the one whose value is shown, where that is one sensor's.</param>
/// <param name="Active">The condition holds. Kept apart from the state because a shelved alarm's condition comes and goes.</param>
/// <param name="Since">When the condition began, before the on-delay.</param>
/// <param name="ReturnedAt">When the condition was over, before the off-delay.</param>
/// <param name="ToldAt">When a text of it was last due.</param>
/// <param name="Count">How often it was raised.</param>
/// <param name="MutedBy">The rule whose alarm says the same and more.</param>
/// <param name="Detail">A sensor's trouble in words, where the rule has one.</param>
/// <param name="Other">The second sensor, where two disagree.</param>
/// <param name="Step">How far it had gone when it was last told (<see cref="Worse"/>).</param>
/// <param name="Ended">Why it ended, where nobody saw the condition end.</param>
internal sealed record Alarm(
    string Id,
    long Sequence,
    Rule Rule,
    string Place,
    string? Sensor,
    AlarmPriority Priority,
    AlarmState State,
    bool Active,
    Measure Measure,
    double? Value,
    double? Limit,
    double? Worst,
    DateTimeOffset RaisedAt,
    DateTimeOffset Since,
    DateTimeOffset? ToldAt = null,
    DateTimeOffset? AcknowledgedAt = null,
    string? AcknowledgedBy = null,
    DateTimeOffset? ReturnedAt = null,
    DateTimeOffset? ShelvedUntil = null,
    int Count = 1,
    Rule? MutedBy = null,
    string? Detail = null,
    string? Other = null,
    WhyEnded? Ended = null,
    int Step = 0)
{
    // Each transition returns this very record where the state does not allow it: nothing happened.

    /// <summary>
    /// How long the condition held, or has held by <paramref name="now"/>: from when it began until it was over, without the delays before
    /// and after. The one length of an alarm; texts, pages, report and API all say this.
    /// </summary>
    public TimeSpan Lasted(DateTimeOffset now) =>
        (Active ? now : ReturnedAt ?? Since) - Since is var span && span > TimeSpan.Zero ? span : TimeSpan.Zero;

    /// <summary>The same with the moments that were stamped before the time was known moved to when they were.</summary>
    public Alarm PutRight(TimePutRight right) => this with
    {
        RaisedAt = right.Of(RaisedAt),
        Since = right.Of(Since),
        ToldAt = right.Of(ToldAt),
        AcknowledgedAt = right.Of(AcknowledgedAt),
        ReturnedAt = right.Of(ReturnedAt),
    };

    /// <summary>Nobody has seen it yet, and it does not wait until tomorrow.</summary>
    public bool CallsForSomeone => State == AlarmState.Unacknowledged && Priority > AlarmPriority.Low;

    /// <summary>The condition is back: another occurrence. A shelved alarm stays shelved.</summary>
    public Alarm Raise(DateTimeOffset at, DateTimeOffset since)
    {
        if (Active)
            return this;

        var raised = this with
        {
            Active = true,
            Since = since,
            RaisedAt = at,
            Count = Count + 1,
            ReturnedAt = null,
            AcknowledgedAt = null,
            AcknowledgedBy = null
        };
        return State == AlarmState.Shelved ? raised : raised with { State = AlarmState.Unacknowledged };
    }

    /// <summary>It has become worse by a step: nobody has seen that yet, whoever saw it before, and no shelf holds it.</summary>
    public Alarm Worsened(int step) => this with
    {
        State = AlarmState.Unacknowledged,
        Step = step,
        AcknowledgedAt = null,
        AcknowledgedBy = null,
        ShelvedUntil = null,
    };

    public Alarm Acknowledge(string by, DateTimeOffset at) => State switch
    {
        AlarmState.Unacknowledged => this with { State = AlarmState.Acknowledged, AcknowledgedAt = at, AcknowledgedBy = by },
        AlarmState.ReturnedUnacknowledged => this with { State = AlarmState.Normal, AcknowledgedAt = at, AcknowledgedBy = by },
        _ => this,
    };

    public Alarm ReturnToNormal(DateTimeOffset at)
    {
        if (!Active)
            return this;

        var returned = this with { Active = false, ReturnedAt = at };
        return State switch
        {
            AlarmState.Unacknowledged => returned with { State = AlarmState.ReturnedUnacknowledged },
            AlarmState.Acknowledged => returned with { State = AlarmState.Normal },
            _ => returned,
        };
    }

    public Alarm Shelve(DateTimeOffset until) =>
        State == AlarmState.Normal ? this : this with { State = AlarmState.Shelved, ShelvedUntil = until };

    /// <summary>By hand or at the end of its time: what still holds is new to the grower.</summary>
    public Alarm Unshelve() => State != AlarmState.Shelved
        ? this
        : this with
        {
            State = Active ? AlarmState.Unacknowledged : AlarmState.Normal,
            ShelvedUntil = null,
            AcknowledgedAt = null,
            AcknowledgedBy = null,
        };
}

internal enum Telling
{
    None,
    Raised,
    Over,
    Reminder,
}

/// <summary>
/// What became of an alarm and what to tell of it; to be stored together. <see cref="Lasted"/> is <see cref="Alarm.Lasted"/> at that
/// moment.
/// </summary>
internal sealed record AlarmChange(Alarm? Before, Alarm After, Telling Tell, TimeSpan Lasted);
