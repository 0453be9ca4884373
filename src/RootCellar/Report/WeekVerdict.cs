using RootCellar.Advice;
using RootCellar.Household;

namespace RootCellar.Report;

/// <summary>What a week comes to, as the signs of the pages mean it.</summary>
internal enum WeekWas
{
    Well,
    Soon,
    Now,
    Unknown,
}

/// <summary>The week in a sentence, and what it cost in another.</summary>
/// <param name="Why">Empty where there is nothing more to say.</param>
internal sealed record WeekVerdict(WeekWas Was, string Says, string Why)
{
    /// <summary>Up to so many hours out of the band in all rooms together a week is fair, beyond it hard (assumed).</summary>
    private const double FairHours = 24;

    /// <summary>A room without readings for so long is named (assumed).</summary>
    public const double DarkHours = 12;

    /// <summary>Under half an hour is no time out of the band (assumed).</summary>
    private const double WorthSaying = 0.5;

    /// <param name="week">The week.</param>
    /// <param name="placeName">What a place is called.</param>
    /// <param name="why">What it cost, and where nobody measured.</param>
    public static WeekVerdict Of(WeekFigures week, Func<string, string> placeName, string why)
    {
        if (week.IsEmpty) return new WeekVerdict(WeekWas.Unknown, Strings.ReportNothingYet, Strings.ReportEmpty);
        if (week.Alarms.Open.OrderByDescending(a => a.CallsForSomeone).ThenByDescending(a => a.Priority).FirstOrDefault() is { } open)
        {
            return new WeekVerdict(
                open.CallsForSomeone ? WeekWas.Now : WeekWas.Soon,
                Strings.ReportVerdictOpen.With(
                    open.Place.Length == 0 ? Strings.TheHousehold : placeName(open.Place), JudgementWords.Name(open.Rule, open.Measure)), why);
        }

        var watched = week.Places.Where(p => p.Band is not null).ToList();
        // What hardly anybody measured was neither good nor bad.
        if (watched.TrueForAll(p => p.UnmeasuredHours > p.Hours / 2))
            return new WeekVerdict(WeekWas.Unknown, Strings.ReportVerdictDark, why);
        double hours = watched.Sum(Out);
        if (hours < WorthSaying)
        {
            return new WeekVerdict(
                WeekWas.Well,
                watched.Exists(p => p.UnmeasuredHours >= DarkHours) ? Strings.ReportVerdictPartly
                    : week.Alarms.Raised == 0 ? Strings.ReportVerdictGood : Strings.ReportVerdictOver,
                why);
        }

        var worst = watched.MaxBy(Out)!;
        return new WeekVerdict(
            hours <= FairHours ? WeekWas.Well : WeekWas.Soon,
            (hours <= FairHours ? Strings.ReportVerdictFair : Strings.ReportVerdictHard).With(placeName(worst.Place.Id), Wrong(worst)),
            $"{Strings.ReportVerdictHours.With(ReportWords.Hours(Out(worst)))} {why}".Trim());
    }

    /// <summary>What was wrong there for the longest time.</summary>
    private static string Wrong(PlaceWeek p) => new (string Name, Beyond? Beyond)[]
    {
        (Strings.RuleTooWarm, p.Temperature?.Above), (Strings.RuleTooCold, p.Temperature?.Below), (Strings.RuleTooDry, p.Humidity?.Below),
        (Strings.RuleTooDamp, p.Humidity?.Above),
    }.MaxBy(s => s.Beyond?.Hours ?? 0).Name;

    private static double Out(PlaceWeek p) => (p.Temperature?.HoursOut ?? 0) + (p.Humidity?.HoursOut ?? 0);
}
