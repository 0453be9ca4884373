using RootCellar.Household;
using RootCellar.Lots;
using RootCellar.Watch;

namespace RootCellar.Advice;

/// <summary>One thing that is wrong, in SI. Of a lot only the condition, the bins and the words are known.</summary>
/// <param name="By">How far beyond the limit.</param>
/// <param name="Until">Pending: when it is an alarm if it stays; returning: when it is over if it stays.</param>
/// <param name="Unit">Of value, limit and by: C, %, lx or ppm.</param>
/// <param name="Bins">Of a lot: the bins it is so of.</param>
internal sealed record WrongShape(
    string Condition, string State, DateTimeOffset? Since, DateTimeOffset? Until, double? Value, double? Limit, double? By, string? Alarm,
    string Says,
    IReadOnlyList<string>? Bins = null, string? Unit = null);

/// <summary>What the air there would take in so many days if it stayed as it is.</summary>
internal sealed record StakeShape(double Kg, int Days);

/// <summary>A step: its words are the household's, in its units, its figures in SI.</summary>
/// <param name="Why">What decides it.</param>
/// <param name="Celsius">The temperature of the air that the step goes by, C.</param>
/// <param name="Percent">The humidity it goes by, %.</param>
/// <param name="OutdoorsC">Of the first step: the air outdoors that decides it, C.</param>
/// <param name="Figures">Of a lot: those of its line.</param>
/// <param name="By">Until when it is done in time, where that is known; a moment gone by is at once.</param>
internal sealed record DoShape(
    int Order, string What, DateTimeOffset? By, string? Why, double? Celsius = null, double? Percent = null, double? OutdoorsC = null,
    AdviceFiguresShape? Figures = null);

/// <summary>The judgement of a room, or of a lot, as API and MQTT give it, in the words of texts and pages.</summary>
internal sealed record AdviceShape(
    string? Place, string? Lot, string State, IReadOnlyList<WrongShape> Wrong, StakeShape? Stake, IReadOnlyList<DoShape> Do, string Says,
    string Orders)
{
    /// <param name="views">Null where what stands there is not asked for.</param>
    public static AdviceShape Of(PlaceJudgement judgement, JudgementWords words, LotViews? views, DateTimeOffset now)
    {
        var by = InTime(judgement, views, now);
        return new AdviceShape(
            judgement.Place.Id,
            null,
            Slug(judgement.State),
            [.. judgement.Findings.Select(f => new WrongShape(
                f.Rule.Slug(),
                Slug(f.State),
                f.Since,
                f.Until,
                Math.Round(f.Value, 2),
                Math.Round(f.Limit, 2),
                Math.Round(Math.Abs(f.Value - f.Limit), 2),
                f.Alarm,
                words.Standing(f, judgement, now),
                Unit: UnitOf(f.Measure)))],
            StakeOf(judgement, views),
            [.. judgement.Order.Select(
                (s, i) => new DoShape(
                    i + 1, words.Words(s), by, i == 0 && judgement.Decides is { } fact ? words.Decides(fact) : null, Round(s.Celsius),
                    Round(s.Percent), i == 0 ? Round(judgement.Decides?.OutdoorsC) : null))],
            words.Standing(judgement, now),
            words.Order(judgement.Order, judgement.Decides));
    }

    /// <summary>What the bins of a lot ask for; null where none asks for anything.</summary>
    /// <param name="lot">The lot.</param>
    /// <param name="bins">Its bins.</param>
    /// <param name="now">The moment.</param>
    public static AdviceShape? Of(string lot, IEnumerable<BinEstimate> bins, DateTimeOffset now)
    {
        var told = bins.Where(b => b.Advice.Urgency > Urgency.Nothing).GroupBy(b => b.Advice.Code, StringComparer.Ordinal)
            .Select(g => (First: g.MaxBy(b => b.Advice.Urgency)!, Bins: g.ToList()))
            .OrderByDescending(g => g.First.Advice.Urgency).ThenBy(g => g.First.Advice.Code, StringComparer.Ordinal).ToList();
        if (told is not [var (lead, _), ..]) return null;
        var all = told.SelectMany(t => t.Bins).ToList();
        return new AdviceShape(
            null,
            lot,
            Slug(lead.Advice.Urgency),
            [.. told.Select(t => new WrongShape(
                t.First.Advice.Code, Slug(t.First.Advice.Urgency), null, null, null, null, null, null, t.First.Advice.Text,
                [.. t.Bins.Select(b => b.Bin).Order(NameOrder.Instance)]))],
            new StakeShape(Math.Round(all.Sum(b => b.IfLeft.Kg.Value), 2), lead.IfLeft.Days),
            [.. told.Select((t, i) => new DoShape(i + 1, t.First.Advice.Text, t.Bins.Min(b => InTime(b.Advice, now)), null, Figures: t.First.Advice.InSi))],
            lead.Advice.Text,
            string.Join(' ', told.Select(t => t.First.Advice.Text)));
    }

    // Of a room: what is urgent was due when it began, what is on its way is in time until it is an alarm, and what cold does to what stands
    // there goes before both where it is sooner.
    private static DateTimeOffset? InTime(PlaceJudgement judgement, LotViews? views, DateTimeOffset now)
    {
        var air = judgement.Lead switch
        {
            { Priority: AlarmPriority.Urgent, Calls: true } urgent => urgent.Since,
            { State: StandingState.Pending } pending => pending.Until,
            _ => null,
        };
        var harm = views?.Bins.Values.Where(b => b.Place == judgement.Place.Id && b.Advice.Says == AdviceSays.Chilling).Min(b => InTime(b.Advice, now));
        return air is null || harm < air ? harm ?? air : air;
    }

    private static DateTimeOffset? InTime(BinAdvice advice, DateTimeOffset now) => advice switch
    {
        { Says: AdviceSays.Chilling, Figures.Hours: { } hours } => now + TimeSpan.FromHours(Math.Round(hours, 1)),
        { Code: "sprouting" } => advice.Figures.When?.Likely,
        _ => null,
    };

    private static StakeShape? StakeOf(PlaceJudgement judgement, LotViews? views)
    {
        var there = views?.Bins.Values.Where(b => b.Place == judgement.Place.Id).ToList() ?? [];
        return there.Count == 0 ? null : new StakeShape(Math.Round(there.Sum(b => b.IfLeft.Kg.Value), 2), there[0].IfLeft.Days);
    }

    private static double? Round(double? figure) => figure is { } known ? Math.Round(known, 2) : null;

    private static string UnitOf(Measure measure) => measure switch
    {
        Measure.Humidity => "%",
        Measure.Light => "lx",
        Measure.Co2 => "ppm",
        _ => "C",
    };

    private static string Slug<T>(T state)
        where T : struct, Enum => state.ToString().ToLowerInvariant();
}
