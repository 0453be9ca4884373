using RootCellar.Ledger;
using RootCellar.Science.Keeping;

namespace RootCellar.Lots;

/// <summary>A weigh-in in the book that does not fit the estimate, and that nobody has said to be right.</summary>
/// <param name="Entry">Its number in the book.</param>
/// <param name="NetKg">What it said, kg.</param>
internal sealed record WeighInQuestion(long Entry, DateTimeOffset At, double NetKg, ScaleQuestion Asked)
{
    public Question Question => AskedOf(Asked);

    /// <summary>As the door of the book asks it.</summary>
    public static Question AskedOf(ScaleQuestion q) => Question.Of(
        QuestionCode.UnexpectedWeight, q.Words(pounds: false),
        new
        {
            bin = q.Bin,
            weighsKg = q.GrossKg,
            lowKg = Math.Max(0, q.ExpectedLowKg),
            highKg = q.ExpectedHighKg,
            may = q.Kind.ToString(),
            meantKg = q.MeantGrossKg,
        });
}

/// <summary>What a weigh-in of one filling should show now: to be asked at once about one that does not.</summary>
/// <param name="Cell">The piece of time it is worked out for.</param>
/// <param name="PredictedKg">Net weight at each multiplier of the belief, kg.</param>
/// <param name="Scales">What is known of the scales.</param>
internal sealed record ScaleNow(ScaleBelief Belief, OnTheScale Scale, long Dug, long Cell, double[] PredictedKg, ScalesKnown Scales)
{
    /// <summary>What was written down for longer ago than this, or before the last weigh-in, is judged with the whole record only.</summary>
    private const long Recent = TimeStep.PerDay / 2;

    /// <summary>What there is to ask about a weigh-in; null where it is nothing out of the way.</summary>
    public ScaleQuestion? Ask(DateTimeOffset at, double netKg, double tareKg, double stepKg)
    {
        long cell = TimeStep.Of(at);
        if (cell < Cell - Recent || cell < Scale.LastCell || Scale.Vague) return null;
        double tareSd = OnTheScale.TareErrorKg(tareKg, stepKg, alike: true);
        double zeroSd = Scales.ZeroSdKg(stepKg, cell);
        var weighing = Scale.Weigh(Dug, Math.Max(Cell, Scale.LastCell), netKg, tareKg, stepKg, tareSd, zeroSd);
        return Belief.Observe(Scale.Start, weighing, PredictedKg).Question;
    }
}
