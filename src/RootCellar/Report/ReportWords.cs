using System.Globalization;
using System.Text.RegularExpressions;
using RootCellar.Advice;
using RootCellar.Household;
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

    public TimeZoneInfo Zone { get; } = household.Zone();

    /// <summary>What is wrong in a room, in the words of texts and pages.</summary>
    public JudgementWords Judgement { get; } = new(household);

    /// <summary>A weight of the book: entered by people, to a tenth.</summary>
    public string Book(long grams) => Number(WeightOf(grams / 1000.0), 1) + " " + WeightUnit;

    /// <summary>An estimate, no finer than a tenth and than a half of what it may be off.</summary>
    public string Kg(double kg, double offKg)
    {
        double step = StepOf(WeightOf(offKg));
        return Stepped(WeightOf(kg), step) + " " + WeightUnit;
    }

    /// <summary>"14 lb (9 to 20)".</summary>
    public string Kg(Interval kg)
    {
        double step = StepOf(WeightOf((kg.High - kg.Low) / 2));
        return $"{Stepped(WeightOf(kg.Value), step)} {WeightUnit} ({Stepped(WeightOf(kg.Low), step)} to {Stepped(WeightOf(kg.High), step)})";
    }

    /// <summary>A figure by itself, as the report shows it.</summary>
    public string Said(WeekFigure figure, double value, double off) => figure switch
    {
        WeekFigure.Shrink or WeekFigure.AtEnd => Kg(value, off),
        WeekFigure.Filled or WeekFigure.TakenOut or WeekFigure.Culled or WeekFigure.BookAtEnd => Book((long)Math.Round(value * 1000)),
        WeekFigure.AlarmsRaised => Number(value, 0),
        _ => value == 0 ? "never" : Hours(value),
    };

    public static string Name(WeekFigure figure) => figure switch
    {
        WeekFigure.Filled => "filled",
        WeekFigure.TakenOut => "taken out",
        WeekFigure.Culled => "culled",
        WeekFigure.Shrink => "shrink",
        WeekFigure.AtEnd => "at end",
        WeekFigure.BookAtEnd => "at end by the book",
        WeekFigure.TooWarm => "too warm",
        WeekFigure.TooCold => "too cold",
        WeekFigure.TooDry => "too dry",
        WeekFigure.TooDamp => "too damp",
        _ => "alarms raised",
    };

    public string Temperature(double celsius) => Number(Degrees(celsius), 0, InFahrenheit ? 0 : 1) + " " + TemperatureUnit;

    public string Figure(Measure measure, double value) => measure == Measure.Humidity ? Percent(value, 0) : Temperature(value);

    public string Band(double lowC, double highC, double low, double high) =>
        $"{Number(Degrees(lowC), 0, 1)} to {Number(Degrees(highC), 0, 1)} {TemperatureUnit}, {Number(low, 0)} to {Number(high, 0)} %";

    public static string Percent(double value, int decimals) => Number(value, decimals) + " %";

    public static string Hours(double hours) => hours < 0.75 ? Count(Math.Max(5, Math.Round(hours * 12) * 5), "minute") : Count(Math.Round(hours), "hour");

    /// <summary>As the texts say it.</summary>
    public static string Span(TimeSpan span) => Wording.Duration(span);

    public static string Count(double n, string of) => string.Create(CultureInfo.InvariantCulture, $"{n:0} {of}{(n == 1 ? "" : "s")}");

    public DateTimeOffset Local(DateTimeOffset at) => TimeZoneInfo.ConvertTime(at, Zone);

    public string Time(DateTimeOffset at) => Local(at).ToString("ddd d MMM, HH:mm", CultureInfo.InvariantCulture);

    public string Day(DateTimeOffset at) => Local(at).ToString("d MMM", CultureInfo.InvariantCulture);

    public static string Day(DateOnly at) => at.ToString("d MMM", CultureInfo.InvariantCulture);

    /// <summary>"Week 48, 23 to 29 November 2026".</summary>
    public static string Title(Week week)
    {
        var last = week.Monday.AddDays(6);
        string from = week.Monday.Month == last.Month ? week.Monday.Day.ToString(CultureInfo.InvariantCulture) : week.Monday.ToString(week.Monday.Year == last.Year ? "d MMMM" : "d MMMM yyyy", CultureInfo.InvariantCulture);
        return string.Create(CultureInfo.InvariantCulture, $"Week {int.Parse(week.Name.AsSpan(6), CultureInfo.InvariantCulture)}, {from} to {last:d MMMM yyyy}");
    }

    public static string Names(IReadOnlyCollection<string> names) => names.Count <= MostNames
        ? string.Join(", ", names.Select(n => Line(n)))
        : string.Join(", ", names.Take(MostNames).Select(n => Line(n))) + $" and {names.Count - MostNames} more";

    /// <summary>What people call things, on one line and no longer than a line: a name with a line break in it is no second line.</summary>
    public static string Line(string name, int most = 80)
    {
        string line = Breaks().Replace(name, " ").Trim();
        return line.Length <= most ? line : line[..(most - 1)] + "…";
    }

    public static string Crop(string crop) => CropTable.Default.Find(crop)?.Name ?? Line(crop);

    public static string Way(string reason) =>
        TakenOut.CulledAs(reason) is { } why ? Line(why) : reason == TakenOut.Given.Name ? "given away" : Line(reason);

    public static string Stage(HealingStage stage) => stage switch
    {
        HealingStage.Open => "skins open",
        HealingStage.Sealed => "skins sealed",
        HealingStage.Adequate => "fit to move",
        _ => "healed",
    };

    public static string Rule(Rule rule) => rule.Slug().Replace('-', ' ');

    public static string Name(Quantity quantity) => quantity switch
    {
        Quantity.Humidity => "humidity",
        Quantity.BatteryPercent or Quantity.BatteryVolts => "battery",
        _ => "temperature",
    };

    /// <summary>About when, with the span where it is not the same day.</summary>
    public string? About(Lots.When? when)
    {
        if (when?.Likely is not { } likely) return null;
        return when is { Early: { } early, Late: { } late } && Day(early) != Day(late) ? $"about {Day(likely)} ({Day(early)} to {Day(late)})" : $"about {Day(likely)}";
    }

    /// <summary>The way dates rest on: "if moved to Cellar about 14 Oct".</summary>
    public string If(Lots.WayAhead? way, Func<string, string> placeName) => way switch
    {
        null => "",
        { Moves: false } => "if left where it is",
        _ => $"if moved to {(way.Place is null ? "a store" : placeName(way.Place))} about {Day(way.Since!.Value)}",
    } + (way is { Assumed: true } ? " (the air there is assumed)" : "");

    /// <summary>What a person saw of its sprouts: "a few sprouts seen on 15 Sep".</summary>
    public string Saw(Lots.SproutsLook look) => look.Share switch
    {
        "few" => "a few sprouts",
        "half" => "sprouts on about half",
        "most" => "sprouts on most",
        _ => "no sprouts",
    } + $" seen on {Day(look.At)}";

    /// <summary>A tenth, one, ten: the largest that is no more than half of what it may be off; at least a tenth.</summary>
    private static double StepOf(double off) => off >= 20 ? 10 : off >= 2 ? 1 : 0.1;

    private static string Stepped(double value, double step) => Number(Math.Round(value / step, MidpointRounding.AwayFromZero) * step, step < 1 ? 1 : 0);

    private static string Number(double value, int least, int most = -1)
    {
        most = Math.Max(least, most);
        // Plus nought: minus nought would print its sign.
        return (Math.Round(value, most, MidpointRounding.AwayFromZero) + 0.0).ToString("0." + new string('0', least) + new string('#', most - least), CultureInfo.InvariantCulture);
    }

    [GeneratedRegex(@"[\s\p{C}\p{Zl}\p{Zp}]+", RegexOptions.None, matchTimeoutMilliseconds: 1000)]
    private static partial Regex Breaks();
}
