using RootCellar.Advice;
using RootCellar.Household;
using RootCellar.Pages;
using RootCellar.Watch;

namespace RootCellar.Tell;

/// <summary>What one text about a room's air says: all that changed there in one moment, and the one judgement of the room.</summary>
/// <param name="Together">The changes it tells of, of one kind.</param>
/// <param name="Was">What the last text said of each finding that it told already.</param>
/// <param name="OthersOpen">Other alarms of that place are open: it is not "fine again".</param>
/// <param name="Told">Who is told.</param>
internal sealed record RoomText(
    PlaceJudgement Judgement,
    IReadOnlyList<AlarmChange> Together,
    IReadOnlyDictionary<Rule, double> Was,
    bool OthersOpen,
    IReadOnlyList<string> Told,
    DateTimeOffset Now)
{
    public static readonly IReadOnlyDictionary<Rule, double> NothingYet = new Dictionary<Rule, double>();

    /// <summary>What it was sent for is listed first, whatever else is wrong; where the text would have no room for it otherwise.</summary>
    public bool OwnFirst { get; init; }

    private Telling Tell => Together[0].Tell;

    /// <summary>What the text lists, the weightiest first; what is on its way to an alarm too, to spare a second text.</summary>
    public IReadOnlyList<Finding> Listed
    {
        get
        {
            var calls = Judgement.Findings.Where(f => f.Calls).ToList();
            if (Tell == Telling.Over) return calls;
            calls.AddRange(Together.Where(c => !calls.Exists(f => f.Rule == c.After.Rule)).Select(c => PlaceJudge.Found(c.After))
                .OfType<Finding>());
            return OwnFirst ? [.. calls.OrderByDescending(f => Together.Any(c => c.After.Rule == f.Rule))] : calls;
        }
    }

    public IReadOnlyList<Step> Order => Together[0].After.Ended is not null ? [] : Tell == Telling.Over
        ? PlaceJudge.AfterEnd(Judgement, Together.Select(c => (c.After.Rule, c.After.Measure)))
        : Judgement.Order;

    /// <param name="words">The one wording.</param>
    /// <param name="most">At most so many findings; the rest is cut from the end.</param>
    public string What(JudgementWords words, int most)
    {
        var listed = Listed.Take(most).ToList();
        var still = listed.Count == 0 ? "" : words.Together(listed, f => Says(words, f), Now);
        if (Tell == Telling.Reminder) return Strings.FindNobody.With(still);
        if (Tell != Telling.Over) return still;

        List<string> ended = [.. Together.Select(c => JudgementWords.Name(c.After.Rule, c.After.Measure))];
        if (Together[0].After.Ended is { } why) return JudgementWords.Ended(ended, why);
        var names = string.Join(", ", ended);
        var values = string.Join(", ", Together.Select(c => PlaceJudge.Found(c.After)).OfType<Finding>().Select(words.Value));
        var worst = string.Join(", ", Together.Select(c => PlaceJudge.Found(c.After with { Value = c.After.Worst ?? c.After.Value }))
            .OfType<Finding>().Select(words.Value));
        var lasted = Wording.Duration(Together.Max(c => c.Lasted));
        var at = words.Time(Together[0].After.ReturnedAt ?? Now, Now);
        if (Listed.Count == 0 && !OthersOpen) return Strings.FindFineAgain.With(values, at, lasted, worst);
        var over = Strings.FindNoLonger.With(names, values, at, lasted, worst);
        return still.Length == 0 ? over : Strings.FindAnd.With(over, Strings.FindStill.With(still));
    }

    // Of what was told before, a further text says how it changed.
    private string Says(JudgementWords words, Finding f)
    {
        var what = words.What(f, Judgement.FreezingPointC);
        if (Tell == Telling.Over || !Was.TryGetValue(f.Rule, out var before)) return what;
        var was = words.Value(f with { Value = before });
        return Strings.FindStill.With(was == words.Value(f) ? what : Strings.FindWas.With(what, was));
    }
}
