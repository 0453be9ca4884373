using System.Globalization;
using RootCellar.Charts;
using RootCellar.Household;
using RootCellar.Science.Keeping;

namespace RootCellar.Report;

/// <summary>A lot in one line: where it is in its life, what there is of it and what it lost this week.</summary>
/// <param name="Kind">Its variety, else its crop.</param>
internal sealed record LotLine(string Lot, string Kind, string Says, string Weight, string Lost);

/// <summary>Every lot in a line of words and in a row of one picture.</summary>
internal sealed class LotLines(WeekFigures week, ReportWords words)
{
    /// <summary>A picture of more rows is read by nobody (assumed).</summary>
    public const int MostRows = 20;

    /// <summary>A date that may be so many days off is said as a part of its month (assumed).</summary>
    private const double RoughDays = 21;

    public IEnumerable<LotLine> All() => There().Select(l => new LotLine(ReportWords.Line(l.Lot), Kind(l), Says(l), Weight(l), Lost(l)));

    /// <summary>All lots on one line of time, those first that end first; null where no end is followed.</summary>
    public ChartSpec? Picture()
    {
        var rows = There().Where(l => l.Progress is not null).Select(Row)
            .OrderBy(r => r.Likely ?? r.Early ?? DateTimeOffset.MaxValue).ThenBy(r => r.Name, StringComparer.Ordinal).Take(MostRows).ToList();
        if (rows.Count == 0) return null;
        var from = rows.Min(r => r.From);
        var ends = rows.Max(r => r.Late ?? r.Likely ?? r.Early ?? week.UpTo);
        // Nobody plans further than a season.
        var to = new[] { ends.AddDays(7), week.UpTo.AddDays(60) }.Max();
        if (to > week.UpTo.AddDays(300)) to = week.UpTo.AddDays(300);
        return new ChartSpec(Strings.ReportAllLotsLine, "", from.AddDays(-2), to, words.Zone, [], _ => "")
        {
            Rows = rows,
            Present = week.UpTo,
            Shade = (week.UpTo, to),
        }.Sized(ChartSpec.Narrow);
    }

    /// <summary>The picture in a sentence.</summary>
    public static string InWords(ChartSpec picture, ReportWords words)
    {
        var known = picture.Rows.Where(r => r.Likely is not null).ToList();
        return known.Count == 0
            ? Strings.ReportLotsFar.With(ReportWords.Count(picture.Rows.Count, Strings.ReportLot, Strings.ReportLotsCount))
            : Strings.ReportLotsSay.With(
                ReportWords.Count(picture.Rows.Count, Strings.ReportLot, Strings.ReportLotsCount), known[0].Name,
                Roughly(new Lots.When(known[0].Early, known[0].Likely, known[0].Late), picture.Present ?? picture.To, words));
    }

    private IEnumerable<LotWeek> There() => week.Lots.Where(l => l.Bins.Count > 0);

    private ChartRow Row(LotWeek l)
    {
        var p = l.Progress!;
        var end = End(p);
        // Two lots of a kind go by their own names.
        var name = There().Count(o => Kind(o) == Kind(l)) > 1 ? ReportWords.Line(l.Lot) : Kind(l);
        return new ChartRow(name, l.Crop, l.Variety, l.DugAt, p.Cured ? p.FitToMove?.Likely : null, end?.Early, end?.Likely, end?.Late);
    }

    /// <summary>What ends it: sprouts where its rest is followed, else until when it keeps.</summary>
    private static Lots.When? End(LotProgress p) => p.RestEnd is null || p.Peeping is null ? p.Lasts?.When : p.Peeping;

    private static string Kind(LotWeek l) => l.Variety is null ? ReportWords.Crop(l.Crop) : ReportWords.Line(l.Variety);

    private string Says(LotWeek l)
    {
        if (l.Progress is not { } p) return Strings.ReportLineBook;
        if (p.Cured && p.StageEnd < HealingStage.Adequate)
        {
            if (p.FitToMove is not { Likely: not null } fit) return Strings.ReportLineOpen;
            // What stands where it will stay is not moved.
            return (p.Way?.Moves == true ? Strings.ReportLineHealing : Strings.ReportLineHealingHere).With(Roughly(fit, week.UpTo, words));
        }

        if (p.SproutsSeen) return Strings.ReportLineSprouts;
        if (End(p) is not { Likely: { } likely } end) return Strings.ReportLineFar;
        bool sprouts = p.RestEnd is not null && p.Peeping is not null;
        if (likely <= week.UpTo) return sprouts ? Strings.ReportLineRested : Strings.ReportLineEnded;
        return (sprouts ? Strings.ReportLineResting : Strings.ReportLineKeeps).With(Roughly(end, week.UpTo, words));
    }

    private string Weight(LotWeek l) => l.Estimate.EndKg is { } kg ? words.Kg(kg.Value, kg.High - kg.Low) : words.Book(l.Estimate.EndGrams);

    private string Lost(LotWeek l)
    {
        if (l.Estimate.ShrinkKg is { } kg)
        {
            // Under a twentieth of a kilogram is what no scale would show (assumed).
            return kg.Value < 0.05 ? Strings.ReportLineLostNothing
                : Strings.ReportLineLost.With(words.Kg(kg.Value, kg.High - kg.Low));
        }

        return l.Book.ShrinkGrams > 0 ? Strings.ReportLineLost.With(words.Book(l.Book.ShrinkGrams)) : Strings.ReportLineNotWeighed;
    }

    /// <summary>"about 5 Oct"; where it may be weeks off, "late January".</summary>
    private static string Roughly(Lots.When when, DateTimeOffset readAt, ReportWords words)
    {
        if (when is not { Early: { } early, Late: { } late } || (late - early).TotalDays <= RoughDays)
            return Strings.ReportAboutDay.With(words.Day(when.Likely!.Value, readAt));
        var day = words.Local(when.Likely!.Value);
        return (day.Day <= 10 ? Strings.MonthEarly : day.Day <= 20 ? Strings.MonthMid : Strings.MonthLate)
            .With(day.ToString("MMMM", CultureInfo.CurrentCulture));
    }
}
