using RootCellar.Lots;
using RootCellar.Watch;

namespace RootCellar.Advice;

/// <summary>One thing that is wrong, in SI.</summary>
/// <param name="By">How far beyond the limit.</param>
/// <param name="Until">Pending: when it is an alarm if it stays; returning: when it is over if it stays.</param>
internal sealed record WrongShape(
    string Condition, string State, DateTimeOffset Since, DateTimeOffset? Until, double Value, double Limit, double By, string? Alarm, string Says);

/// <summary>What the air there would take in so many days if it stayed as it is.</summary>
internal sealed record StakeShape(double Kg, int Days);

/// <param name="Why">What decides it.</param>
internal sealed record DoShape(int Order, string What, string? Why);

/// <summary>The judgement of a room as API and MQTT give it, in the words of texts and pages.</summary>
internal sealed record AdviceShape(
    string Place, string State, IReadOnlyList<WrongShape> Wrong, StakeShape? Stake, IReadOnlyList<DoShape> Do, string Says, string Orders)
{
    /// <param name="views">Null where what stands there is not asked for.</param>
    public static AdviceShape Of(PlaceJudgement judgement, JudgementWords words, LotViews? views, DateTimeOffset now) => new(
        judgement.Place.Id,
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
            words.Standing(f, judgement, now)))],
        StakeOf(judgement, views),
        [.. judgement.Order.Select((s, i) => new DoShape(i + 1, words.Words(s), i == 0 && judgement.Decides is { } fact ? words.Decides(fact) : null))],
        words.Standing(judgement, now),
        words.Order(judgement.Order, judgement.Decides));

    private static StakeShape? StakeOf(PlaceJudgement judgement, LotViews? views)
    {
        var there = views?.Bins.Values.Where(b => b.Place == judgement.Place.Id).ToList() ?? [];
        return there.Count == 0 ? null : new StakeShape(Math.Round(there.Sum(b => b.IfLeft.Kg.Value), 2), there[0].IfLeft.Days);
    }

    private static string Slug<T>(T state)
        where T : struct, Enum => state.ToString().ToLowerInvariant();
}
