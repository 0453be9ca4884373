using System.Text.RegularExpressions;
using RootCellar.Science.Crops;
using RootCellar.Science.Keeping;

namespace RootCellar.Science.Tests.Keeping;

public sealed class ScaleQuestionTests
{
    private const double Pound = 0.45359237;
    private const double TareKg = 2;
    private const double Day = 28;

    private static readonly Func<double, double, double> Potatoes =
        SimulatedLots.Curve(CropTable.Default.Find("potato")!, 1, SimulatedLots.Cellar);

    // Filled with 50 lb, weighed at filling and after one and two weeks.
    private static readonly BinStart Start = new("Bin 3", 50 * Pound, 5 * Pound, TareKg);
    private static readonly ScaleBelief Known = Fill();
    private static readonly double TrueNetKg = Start.StartKg * (1 - Potatoes(1, Day));

    [Fact]
    public void A_weighing_as_expected_is_taken_in_without_a_question()
    {
        var answer = At(TrueNetKg + TareKg);
        answer.Question.Should().BeNull();
        answer.Belief.Should().NotBeSameAs(Known);
    }

    public static TheoryData<ScaleQuestionKind, double, double> Slips => new()
    {
        { ScaleQuestionKind.ToppedUp, TrueNetKg + TareKg + 3, TareKg },
        { ScaleQuestionKind.ToppedUp, TrueNetKg + TareKg + 15, TareKg },
        { ScaleQuestionKind.TakenOut, TrueNetKg + TareKg - 3, TareKg },
        { ScaleQuestionKind.TakenOut, 0, TareKg },
        { ScaleQuestionKind.PoundsAsKilograms, (TrueNetKg + TareKg) / Pound, TareKg },
        { ScaleQuestionKind.KilogramsAsPounds, (TrueNetKg + TareKg) * Pound, TareKg },
        { ScaleQuestionKind.DecimalPoint, (TrueNetKg + TareKg) * 10, TareKg },
        { ScaleQuestionKind.DecimalPoint, (TrueNetKg + TareKg) / 10, TareKg },
        { ScaleQuestionKind.TareForgotten, TrueNetKg + TareKg, 0 },
        { ScaleQuestionKind.TareTakenTwice, TrueNetKg, TareKg },
    };

    [Theory]
    [MemberData(nameof(Slips))]
    public void A_weighing_that_cannot_be_is_asked_about_by_its_kind(ScaleQuestionKind kind, double grossKg, double tareKg)
    {
        var answer = At(grossKg, tareKg);
        answer.Belief.Should().BeSameAs(Known);
        answer.Question!.Kind.Should().Be(kind);
        foreach (bool pounds in (bool[])[true, false])
        {
            string words = answer.Question.Words(pounds);
            words.Should().StartWith("Bin 3 weighs").And.Contain(pounds ? " lb" : " kg").And.Contain("?").And.NotContain("NaN");
            Regex.IsMatch(words, "safe|fit to eat|edible|harmless", RegexOptions.IgnoreCase, TimeSpan.FromSeconds(1)).Should().BeFalse();
        }
    }

    [Fact]
    public void Every_kind_of_slip_is_recognised_in_nearly_every_lot()
    {
        var draw = new SimulatedLots(seed: 4);
        var scale = SimulatedLots.Scale.Crate;
        int[] right = new int[4];
        int lots = 0;
        for (int i = 0; i < 300; i++)
        {
            var lot = draw.Draw(Potatoes, scale, 0, 7, 14, 21);
            var belief = ScaleBelief.Prior();
            bool asked = false;
            foreach (var weighing in lot.Weighings.Take(3))
            {
                var answer = belief.Observe(lot.Start, weighing, SimulatedLots.Predicted(Potatoes, lot.Start, weighing.Day));
                asked |= answer.Question is not null;
                belief = answer.Belief;
            }

            if (asked)
                continue;
            lots++;
            var last = lot.Weighings[3];
            double[] predicted = SimulatedLots.Predicted(Potatoes, lot.Start, last.Day);
            (ScaleQuestionKind Kind, double GrossKg)[] slips =
            [
                (ScaleQuestionKind.PoundsAsKilograms, last.GrossKg / Pound),
                (ScaleQuestionKind.KilogramsAsPounds, last.GrossKg * Pound),
                (ScaleQuestionKind.ToppedUp, last.GrossKg + 1),
                (ScaleQuestionKind.TakenOut, last.GrossKg - 1),
            ];
            for (int k = 0; k < slips.Length; k++)
                right[k] += belief.Observe(lot.Start, last with { GrossKg = slips[k].GrossKg }, predicted).Question?.Kind == slips[k].Kind
                    ? 1 : 0;
        }

        right.Should().AllSatisfy(found => found.Should().BeGreaterThanOrEqualTo((int)(0.97 * lots)));
    }

    [Fact]
    public void A_pound_put_in_is_noticed_in_a_crate_of_fifty() =>
        At(TrueNetKg + TareKg + Pound).Question!.Kind.Should().Be(ScaleQuestionKind.ToppedUp);

    [Fact]
    public void The_question_says_what_was_seen_and_what_was_expected()
    {
        string words = At(61 * Pound).Question!.Words(pounds: true);
        words.Should().MatchRegex(@"^Bin 3 weighs 61 lb; expected 5\d(\.\d)? to 5\d(\.\d)? lb\. Was it topped up, or is it another bin\?$");
    }

    [Fact]
    public void The_tare_left_on_is_known_at_the_first_weighing_too()
    {
        var start = new BinStart("Bin 4", 20, 0.1, EmptyKg: 3);
        var answer = ScaleBelief.Prior().Observe(start, new Weighing(0, 23, 0, 0.05, 0.02, 0.02), Predicted(start, 0));
        answer.Question!.Kind.Should().Be(ScaleQuestionKind.TareForgotten);
    }

    [Fact]
    public void Insisted_on_a_wild_weighing_moves_the_belief_without_ruining_it()
    {
        var answer = Known.Observe(Start, Weighing(TrueNetKg + TareKg - 3, TareKg), Predicted(Start, Day), insist: true);
        answer.Question.Should().BeNull();
        answer.Belief.Should().NotBeSameAs(Known);
        var known = answer.Belief.Interval90;
        known.Low.Should().BeGreaterThan(0.3);
        known.High.Should().BeInRange(Known.Interval90.High, 12);
        var next = answer.Belief.Observe(Start, new Weighing(42, TrueNetKg + TareKg - 3.1, TareKg, 0.02, 0.01, 0.01), Predicted(Start, 42),
            insist: true);
        double.IsFinite(next.Belief.Median).Should().BeTrue();
        next.Belief.Median.Should().BeGreaterThan(Known.Median);
    }

    [Fact]
    public void Wild_figures_never_break_it()
    {
        foreach (double gross in (double[])[0, 0.001, 1, 5, 20, 500, 1_000_000])
        {
            var belief = Known.Observe(Start, Weighing(gross, TareKg), Predicted(Start, Day), insist: true).Belief;
            var known = belief.Interval90;
            (known.Low > 0 && known.Low <= known.Value && known.Value <= known.High && known.High <= 12.001).Should()
                .BeTrue($"{gross} kg gave {known}");
            var next = belief.Observe(Start, Weighing(0, TareKg) with { Day = 60 }, Predicted(Start, 60));
            next.Question!.ExpectedLowKg.Should().BeLessThan(next.Question.ExpectedHighKg, $"after {gross} kg");
        }
    }

    [Fact]
    public void What_is_no_weighing_is_refused()
    {
        var weighing = Weighing(20, TareKg);
        double[] predicted = Predicted(Start, Day);
        Refused(() => Known.Observe(Start, weighing with { Day = 3 }, predicted));
        Refused(() => Known.Observe(Start, weighing with { GrossKg = double.NaN }, predicted));
        Refused(() => Known.Observe(Start, weighing with { RepeatabilityKg = 0 }, predicted));
        Refused(() => Known.Observe(Start with { StartKg = 0 }, weighing, predicted));
        Refused(() => Known.Observe(Start, weighing, [.. predicted.Select(_ => double.NaN)]));
        ((Action)(() => Known.Observe(Start, weighing, [20, 19]))).Should().Throw<ArgumentException>();

        static void Refused(Action act) => act.Should().Throw<ArgumentOutOfRangeException>();
    }

    private static ScaleAnswer At(double grossKg, double tareKg = TareKg) =>
        Known.Observe(Start, Weighing(grossKg, tareKg), Predicted(Start, Day));

    private static Weighing Weighing(double grossKg, double tareKg) => new(Day, grossKg, tareKg, 0.1 * Pound, 0.02, 0.02);

    private static double[] Predicted(BinStart start, double day) => SimulatedLots.Predicted(Potatoes, start, day);

    private static ScaleBelief Fill()
    {
        var belief = ScaleBelief.Prior();
        foreach (double day in (double[])[0, 7, 14])
        {
            double shown = Math.Round((Start.StartKg * (1 - Potatoes(1, day)) + TareKg) / Pound, 1) * Pound;
            belief = belief.Observe(Start, new Weighing(day, shown, TareKg, 0.1 * Pound, 0.02, 0.02), Predicted(Start, day)).Belief;
        }

        return belief;
    }
}
