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
    private static readonly SimulatedLots.OnScale Known = Fill();
    private static readonly double TrueNetKg = Start.StartKg * (1 - Potatoes(1, Day));

    [Fact]
    public void A_weighing_as_expected_is_taken_in_without_a_question()
    {
        var answer = At(TrueNetKg + TareKg);
        answer.Question.Should().BeNull();
        answer.Belief.Interval90.Should().NotBe(Known.Belief.Interval90);
        answer.Kg.Should().BeApproximately(TrueNetKg, 2 * answer.SdKg);
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
        answer.Question!.Kind.Should().Be(kind);
        double? meant = kind is ScaleQuestionKind.ToppedUp or ScaleQuestionKind.TakenOut ? null
            : kind == ScaleQuestionKind.TareForgotten ? grossKg : TrueNetKg + TareKg;
        if (meant is { } kg) answer.Question.MeantGrossKg.Should().BeApproximately(kg, 1e-9);
        else answer.Question.MeantGrossKg.Should().BeNull();
        answer.Belief.Interval90.Should().Be(Known.Belief.Interval90, "nothing was learned of the lot");
        answer.Kg.Should().BeApproximately(TrueNetKg, 0.2, "the middle stays where it was");
        (1.645 * answer.SdKg).Should().BeGreaterThan(0.99 * Math.Abs(grossKg - tareKg - answer.Kg), "the interval holds what was read");
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
            var bin = new SimulatedLots.OnScale(Potatoes, lot.Start);
            if (lot.Weighings.Take(3).Any(w => bin.Weigh(w).Question is not null))
                continue;
            lots++;
            var last = lot.Weighings[3];
            (ScaleQuestionKind Kind, double GrossKg)[] slips =
            [
                (ScaleQuestionKind.PoundsAsKilograms, last.GrossKg / Pound),
                (ScaleQuestionKind.KilogramsAsPounds, last.GrossKg * Pound),
                (ScaleQuestionKind.ToppedUp, last.GrossKg + 1),
                (ScaleQuestionKind.TakenOut, last.GrossKg - 1),
            ];
            for (int k = 0; k < slips.Length; k++)
                right[k] += bin.Try(last with { GrossKg = slips[k].GrossKg }).Question?.Kind == slips[k].Kind ? 1 : 0;
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
        var answer = new SimulatedLots.OnScale(Potatoes, start).Weigh(new Weighing(0, 23, 0, 0.05, 0.02, 0.02));
        answer.Question!.Kind.Should().Be(ScaleQuestionKind.TareForgotten);
    }

    [Fact]
    public void Insisted_on_a_weighing_moves_the_weight_to_it_and_the_belief_without_ruining_it()
    {
        var bin = Fill();
        var answer = bin.Weigh(Weighing(TrueNetKg + TareKg - 3, TareKg), insist: true);
        answer.Question.Should().BeNull();
        answer.Kg.Should().BeApproximately(TrueNetKg - 3, 0.1);
        answer.SdKg.Should().BeLessThan(0.2);
        var known = answer.Belief.Interval90;
        known.Low.Should().BeGreaterThan(0.3);
        known.High.Should().BeInRange(Known.Belief.Interval90.High, 12);
        // The next one at the new level is no surprise.
        var next = bin.Weigh(new Weighing(42, TrueNetKg + TareKg - 3.1, TareKg, 0.02, 0.01, 0.01));
        next.Question.Should().BeNull();
        next.Belief.Median.Should().BeInRange(0.5, 3);
    }

    [Fact]
    public void Two_that_agree_are_a_new_level()
    {
        var bin = Fill();
        bin.Weigh(Weighing(TrueNetKg + TareKg - 3, TareKg)).Question.Should().NotBeNull();
        var second = bin.Weigh(Weighing(TrueNetKg + TareKg - 3.05, TareKg) with { Day = Day + 3 });
        second.Question.Should().BeNull();
        second.Kg.Should().BeApproximately(TrueNetKg - 3.05, 0.15);
        second.SdKg.Should().BeLessThan(0.5);
        bin.Weigh(Weighing(TrueNetKg + TareKg - 3.2, TareKg) with { Day = Day + 14 }).Question.Should().BeNull();
        bin.SdKg.Should().BeLessThan(0.15);
    }

    [Fact]
    public void A_slip_is_mended_by_the_next_weighing()
    {
        var bin = Fill();
        bin.Weigh(Weighing(TrueNetKg + TareKg + 8, TareKg)).Question.Should().NotBeNull();
        var second = bin.Weigh(Weighing(TrueNetKg + TareKg - 0.1, TareKg) with { Day = Day + 7 });
        second.Question.Should().BeNull();
        second.Kg.Should().BeApproximately(TrueNetKg - 0.1, 0.2);
        second.SdKg.Should().BeLessThan(0.6);
    }

    [Fact]
    public void Wild_figures_never_break_it()
    {
        foreach (double gross in (double[])[0, 0.001, 1, 5, 20, 500, 1_000_000])
        {
            var bin = Fill();
            var known = bin.Weigh(Weighing(gross, TareKg), insist: true).Belief.Interval90;
            (known.Low > 0 && known.Low <= known.Value && known.Value <= known.High && known.High <= 12.001).Should()
                .BeTrue($"{gross} kg gave {known}");
            (bin.Kg > 0 && double.IsFinite(bin.Kg) && double.IsFinite(bin.SdKg)).Should().BeTrue($"{gross} kg gave {bin.Kg}, {bin.SdKg}");
            var next = bin.Try(Weighing(0, TareKg) with { Day = 60 }).Question;
            if (next is not null) next.ExpectedLowKg.Should().BeLessThan(next.ExpectedHighKg, $"after {gross} kg");
        }
    }

    [Fact]
    public void What_is_no_weighing_is_refused()
    {
        var weighing = Weighing(20, TareKg);
        double[] predicted = Known.Predicted(Day);
        var (belief, start) = (Known.Belief, Start with { StartKg = Known.Kg });
        Refused(() => belief.Observe(start, weighing with { Day = 3 }, predicted));
        Refused(() => belief.Observe(start, weighing with { GrossKg = double.NaN }, predicted));
        Refused(() => belief.Observe(start, weighing with { RepeatabilityKg = 0 }, predicted));
        Refused(() => belief.Observe(start with { StartKg = 0 }, weighing, predicted));
        Refused(() => belief.Observe(start, weighing, [.. predicted.Select(_ => double.NaN)]));
        ((Action)(() => belief.Observe(start, weighing, [20, 19]))).Should().Throw<ArgumentException>();

        static void Refused(Action act) => act.Should().Throw<ArgumentOutOfRangeException>();
    }

    private static ScaleAnswer At(double grossKg, double tareKg = TareKg) => Known.Try(Weighing(grossKg, tareKg));

    private static Weighing Weighing(double grossKg, double tareKg) => new(Day, grossKg, tareKg, 0.1 * Pound, 0.02, 0.02);

    private static SimulatedLots.OnScale Fill()
    {
        var bin = new SimulatedLots.OnScale(Potatoes, Start);
        foreach (double day in (double[])[0, 7, 14])
        {
            double shown = Math.Round((Start.StartKg * (1 - Potatoes(1, day)) + TareKg) / Pound, 1) * Pound;
            bin.Weigh(new Weighing(day, shown, TareKg, 0.1 * Pound, 0.02, 0.02));
        }

        return bin;
    }
}
