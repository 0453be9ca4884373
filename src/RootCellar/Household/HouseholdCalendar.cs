using System.Collections.Concurrent;
using System.Globalization;
using NodaTime;
using NodaTime.Extensions;
using NodaTime.TimeZones;

namespace RootCellar.Household;

/// <summary>
/// The household's days. A day is the date its clock on the wall shows, wherever the moment was written down; it begins at its first
/// moment, which is not midnight where the clocks are put forward at midnight, and it is not always 24 hours long.
/// </summary>
internal sealed class HouseholdCalendar
{
    private const string DayFormat = "yyyy-MM-dd";

    private static readonly ConcurrentDictionary<TimeZoneInfo, HouseholdCalendar> Known = new();

    // An hour that comes twice is its first; what is left out ends when the clock was put forward.
    private static readonly ZoneLocalMappingResolver First =
        Resolvers.CreateMappingResolver(Resolvers.ReturnEarlier, Resolvers.ReturnStartOfIntervalAfter);

    private readonly Func<TimeZoneInfo> zone;
    private volatile Tuple<TimeZoneInfo, DateTimeZone>? rules;

    private HouseholdCalendar(Func<TimeZoneInfo> zone) => this.zone = zone;

    /// <summary>For what hangs on no day.</summary>
    public static HouseholdCalendar Utc { get; } = Of(TimeZoneInfo.Utc);

    public TimeZoneInfo Zone => zone();

    private DateTimeZone Rules
    {
        get
        {
            var (now, known) = (Zone, rules);
            if (known is null || !ReferenceEquals(known.Item1, now)) rules = known = Tuple.Create(now, (DateTimeZone)BclDateTimeZone.FromTimeZoneInfo(now));
            return known.Item2;
        }
    }

    public static HouseholdCalendar Of(TimeZoneInfo zone) => Known.GetOrAdd(zone, static z => new HouseholdCalendar(() => z));

    /// <summary>Of a zone that may be set to another while the service runs.</summary>
    public static HouseholdCalendar OfWhatever(Func<TimeZoneInfo> zone) => new(zone);

    /// <summary>A day as it is written everywhere: 2026-10-03.</summary>
    public static bool TryDay(string? text, out DateOnly day) =>
        DateOnly.TryParseExact(text, DayFormat, CultureInfo.InvariantCulture, DateTimeStyles.None, out day);

    /// <summary>A moment as the clock on the wall shows it.</summary>
    public DateTimeOffset Local(DateTimeOffset at) => TimeZoneInfo.ConvertTime(at, Zone);

    /// <summary>The hour of a moment, with its day where that is another than now.</summary>
    public string Hour(DateTimeOffset at, DateTimeOffset now) =>
        DayOf(at) == DayOf(now) ? WrittenTime.Hour(Local(at).DateTime) : WrittenTime.HourOfWeek(Local(at).DateTime);

    /// <summary>The day a moment lies in.</summary>
    public DateOnly DayOf(DateTimeOffset at) => DateOnly.FromDateTime(Local(at).DateTime);

    /// <summary>The first moment of a day.</summary>
    public DateTimeOffset StartOf(DateOnly day) => Moment(day, TimeOnly.MinValue);

    /// <summary>
    /// The moment a clock on the wall shows a time of a day: the first where it shows it twice, and where it is put forward past it, the
    /// moment that is done.
    /// </summary>
    public DateTimeOffset Moment(DateOnly day, TimeOnly time)
    {
        // The ends of the calendar have no neighbours to lie between in UTC.
        if (day.Year <= DateOnly.MinValue.Year) return DateTimeOffset.MinValue;
        if (day.Year >= DateOnly.MaxValue.Year) return DateTimeOffset.MaxValue;
        return Rules.ResolveLocal(day.ToLocalDate() + time.ToLocalTime(), First).ToDateTimeOffset();
    }

    /// <summary>The same for a time typed without a zone.</summary>
    public DateTimeOffset Moment(DateTime local) => Moment(DateOnly.FromDateTime(local), TimeOnly.FromDateTime(local));

    /// <summary>
    /// The moments a clock on the wall shows a time typed without a zone: none where it was put forward past it, two where it was put back.
    /// </summary>
    public IReadOnlyList<DateTimeOffset> Moments(DateTime local) => Zone.IsInvalidTime(local)
        ? []
        : !Zone.IsAmbiguousTime(local) ? [Moment(local)]
            : [.. Zone.GetAmbiguousTimeOffsets(local).OrderDescending().Select(offset => new DateTimeOffset(local, offset))];

    /// <summary>Each time the clock on the wall is put back between two moments: what it shows twice.</summary>
    public IReadOnlyList<ShownTwice> PutBack(DateTimeOffset since, DateTimeOffset until)
    {
        var intervals = Rules.GetZoneIntervals(Instant.FromDateTimeOffset(since), Instant.FromDateTimeOffset(until)).ToList();
        return
        [
            .. intervals.Zip(intervals.Skip(1)).Where(i => i.Second.WallOffset < i.First.WallOffset).Select(i => new ShownTwice(
                i.Second.IsoLocalStart.ToDateTimeUnspecified(), i.First.IsoLocalEnd.ToDateTimeUnspecified(),
                (i.Second.Start - Duration.FromSeconds(i.First.WallOffset.Seconds - i.Second.WallOffset.Seconds)).ToDateTimeOffset(),
                i.Second.Start.ToDateTimeOffset())),
        ];
    }

    /// <summary>A time of a query or of a command: RFC 3339, or a day, which is its first moment.</summary>
    /// <param name="text">As given; empty: <paramref name="otherwise"/>.</param>
    /// <param name="otherwise">What it is when it is not said.</param>
    /// <param name="time">The moment.</param>
    public bool TryTime(string? text, DateTimeOffset otherwise, out DateTimeOffset time)
    {
        time = otherwise;
        if (string.IsNullOrEmpty(text)) return true;
        if (!TryDay(text, out var day))
            return DateTimeOffset.TryParse(text, CultureInfo.InvariantCulture, DateTimeStyles.AssumeUniversal, out time);
        time = StartOf(day);
        return true;
    }
}

/// <summary>The hour a clock on the wall shows twice, where it is put back.</summary>
/// <param name="From">Its beginning as the clock shows it.</param>
/// <param name="Until">Its end as the clock shows it, which is not in it.</param>
/// <param name="First">The moment <paramref name="From"/> is shown first.</param>
/// <param name="Second">The moment it is shown again: the clock has just been put back.</param>
internal sealed record ShownTwice(DateTime From, DateTime Until, DateTimeOffset First, DateTimeOffset Second);
