using System.Globalization;
using System.Text.RegularExpressions;
using RootCellar.Advice;
using RootCellar.Household;
using RootCellar.Ledger;
using RootCellar.Ledger.Events;
using RootCellar.Readings;
using RootCellar.Science;
using RootCellar.Science.Air;
using RootCellar.Science.Crops;
using RootCellar.Science.Keeping;
using RootCellar.Watch;

namespace RootCellar.Report;

/// <summary>How the report says figures: in the household's units, rounded as far as they are known, on its clock.</summary>
internal sealed partial class ReportWords(HouseholdOptions household) : Units(household)
{
    private const int MostNames = 6;
    private readonly HouseholdOptions settings = household;

    public TimeZoneInfo Zone => settings.Zone();

    /// <summary>What is wrong in a room, in the words of texts and pages.</summary>
    public JudgementWords Judgement(WeekFigures week) => new(settings, key => week.SensorNames.GetValueOrDefault(key));

    /// <summary>A weight of the book: entered by people, to a tenth.</summary>
    public string Book(long grams) => Number(WeightOf(grams / 1000.0), "0.0") + " " + WeightUnit;

    /// <summary>An estimate, no finer than a tenth and than a half of what it may be off.</summary>
    public string Kg(double kg, double offKg)
    {
        return Stepped(kg, WeightStep(offKg / 2)) + " " + WeightUnit;
    }

    /// <summary>"14 lb (9 to 20)".</summary>
    public string Kg(Interval kg)
    {
        double step = WeightStep((kg.High - kg.Low) / 2);
        return Strings.ReportInterval.With($"{Stepped(kg.Value, step)} {WeightUnit}", Stepped(kg.Low, step), Stepped(kg.High, step));
    }

    /// <summary>A figure by itself, as the report shows it.</summary>
    public string Said(WeekFigure figure, double value, double off) => figure switch
    {
        WeekFigure.Shrink or WeekFigure.AtEnd => Kg(value, off),
        WeekFigure.Filled or WeekFigure.TakenOut or WeekFigure.Culled or WeekFigure.BookAtEnd => Book((long)Math.Round(value * 1000)),
        WeekFigure.AlarmsRaised => Number(value, "0"),
        _ => value == 0 ? Strings.Never : Hours(value),
    };

    public static string Name(WeekFigure figure) => figure switch
    {
        WeekFigure.Filled => Strings.ReportFilled,
        WeekFigure.TakenOut => Strings.ReportTakenOut,
        WeekFigure.Culled => Strings.ReportCulled,
        WeekFigure.Shrink => Strings.ReportShrink,
        WeekFigure.AtEnd => Strings.ReportAtEnd.ToLowerInvariant(),
        WeekFigure.BookAtEnd => Strings.ReportBookEnd,
        WeekFigure.TooWarm => Strings.RuleTooWarm,
        WeekFigure.TooCold => Strings.RuleTooCold,
        WeekFigure.TooDry => Strings.RuleTooDry,
        WeekFigure.TooDamp => Strings.RuleTooDamp,
        _ => Strings.ReportAlarmsRaised,
    };

    public string Temperature(double celsius) => Number(Degrees(celsius), InFahrenheit ? "0" : "0.0") + " " + TemperatureUnit;

    public string Figure(Measure measure, double value) => measure == Measure.Humidity ? Percent(value, 0) : Temperature(value);

    public string Band(double lowC, double highC, double low, double high) =>
        $"{Strings.Range.With(Number(Degrees(lowC), "0.#"), Number(Degrees(highC), "0.#"))} {TemperatureUnit}, {Strings.Range.With(Number(low, "0"), Number(high, "0"))} %";

    public static string Percent(double value, int decimals) => Number(value, decimals == 0 ? "0" : "0.0") + " %";

    public static string Hours(double hours) => hours < 0.75
        ? Count(Math.Max(5, Math.Round(hours * 12) * 5), Strings.ReportMinute, Strings.ReportMinutes)
        : Count(Math.Round(hours), Strings.ReportHour, Strings.ReportHours);

    /// <summary>As the texts say it.</summary>
    public static string Span(TimeSpan span) => Wording.Duration(span);

    public static string Count(double n, string one, string more) =>
        (n == 1 ? one : more).With(n.ToString("0", CultureInfo.InvariantCulture));

    public DateTimeOffset Local(DateTimeOffset at) => TimeZoneInfo.ConvertTime(at, Zone);

    /// <summary>An hour with its day, and its year where that is not the year it is read in.</summary>
    public string Time(DateTimeOffset at, DateTimeOffset readAt) =>
        WrittenTime.Moment(Local(at).DateTime, Local(at).Year != Local(readAt).Year);

    /// <summary>A day, with its year where that is not the year it is read in.</summary>
    public string Day(DateTimeOffset at, DateTimeOffset readAt) => Day(DateOnly.FromDateTime(Local(at).DateTime), readAt);

    public string Day(DateOnly on, DateTimeOffset readAt) => WrittenTime.Day(on, Local(readAt).Year != on.Year);

    /// <summary>"Week 48, 23 to 29 November 2026".</summary>
    public static string Title(Week week)
    {
        return Strings.ReportWeek.With(int.Parse(week.Name.AsSpan(6), CultureInfo.InvariantCulture), WrittenTime.Days(week.Monday, week.Monday.AddDays(6)));
    }

    public static string Names(IReadOnlyCollection<string> names) => names.Count <= MostNames
        ? string.Join(", ", names.Select(n => Line(n)))
        : Strings.AndMore.With(string.Join(", ", names.Take(MostNames).Select(n => Line(n))), names.Count - MostNames);

    /// <summary>What people call things, on one line and no longer than a line: a name with a line break in it is no second line.</summary>
    public static string Line(string name, int most = 80)
    {
        string line = Breaks().Replace(name, " ").Trim();
        return line.Length <= most ? line : line[..(most - 1)] + "…";
    }

    public static string Crop(string crop) => Line(CropWords.Name(crop));

    public static string Way(string reason) =>
        (TakenOut.CulledAs(reason) is { } why ? LogKinds.Choice(why) : LogKinds.Way(reason)).ToLowerInvariant();

    public static string Stage(HealingStage stage, CuringRule rule) => stage switch
    {
        HealingStage.Open or HealingStage.Sealed => HarvestWords.ClosesIs(rule, HarvestWords.Stage(stage, rule)),
        HealingStage.Adequate => Strings.ReportFit,
        _ => Strings.ReportHealed,
    };

    public static string Name(Quantity quantity) => quantity switch
    {
        Quantity.Humidity => Strings.Humidity.ToLowerInvariant(),
        Quantity.BatteryPercent or Quantity.BatteryVolts => Strings.Battery.ToLowerInvariant(),
        _ => Strings.Temperature.ToLowerInvariant(),
    };

    /// <summary>About when, with the span where it is not the same day.</summary>
    public string? About(Lots.When? when, DateTimeOffset readAt)
    {
        if (when?.Likely is not { } likely) return null;
        return when is { Early: { } early, Late: { } late } && Day(early, readAt) != Day(late, readAt)
            ? Strings.ReportAboutDays.With(Day(likely, readAt), Day(early, readAt), Day(late, readAt))
            : Strings.ReportAboutDay.With(Day(likely, readAt));
    }

    /// <summary>The way dates rest on: "if moved to Cellar about 14 Oct".</summary>
    public string If(Lots.WayAhead? way, Func<string, string> placeName, DateTimeOffset readAt)
    {
        if (way is null) return "";
        var said = way.Moves
            ? Strings.WayIfMoved.With(way.Place is null ? Strings.WayAStore : placeName(way.Place), Day(way.Since!.Value, readAt))
            : Strings.WayIfLeft;
        return way.Assumed ? Strings.WayAirAssumed.With(said) : said;
    }

    /// <summary>What a person saw of its sprouts: "a few sprouts seen on 15 Sep".</summary>
    public string Saw(Lots.SproutsLook look, DateTimeOffset readAt) => Strings.ReportSaw.With(
        look.Share switch
        {
            "few" => Strings.ReportSawFew,
            "half" => Strings.ReportSawHalf,
            "most" => Strings.ReportSawMost,
            _ => Strings.ReportSawNone,
        },
        Day(look.At, readAt));

    private string Stepped(double kg, double step) =>
        Number(Math.Round(WeightOf(kg) / step, MidpointRounding.AwayFromZero) * step, "#,0.#");

    [GeneratedRegex(@"[\s\p{C}\p{Zl}\p{Zp}]+", RegexOptions.None, matchTimeoutMilliseconds: 1000)]
    private static partial Regex Breaks();
}
