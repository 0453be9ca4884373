using RootCellar.Science.Crops;
using RootCellar.Science.Keeping;

namespace RootCellar.Science.Tests.Keeping;

public sealed class ScaleBeliefTests(ITestOutputHelper output)
{
    private const int Lots = 1000;

    private static readonly Func<double, double, double> Potatoes =
        SimulatedLots.Curve(CropTable.Default.Find("potato")!, 1, SimulatedLots.Cellar);

    private static readonly Func<double, double, double> Carrots =
        SimulatedLots.Curve(CropTable.Default.Find("carrot")!, 1, AirSpan.Hold(4, 94, 160));

    private static readonly SimulatedLots.Scale Coarse = SimulatedLots.Scale.Crate with { Resolution = 0.45359237 };

    public static TheoryData<string> Ways => ["weekly", "coarse", "book", "season", "carrots", "daily"];

    private static (Func<double, double, double> Curve, SimulatedLots.Scale Scale, double[] Days) Way(string name) => name switch
    {
        "weekly" => (Potatoes, SimulatedLots.Scale.Crate, [0, 7, 14, 21]),
        "coarse" => (Potatoes, Coarse, [0, 7, 14, 21, 28, 35, 42]),
        "book" => (Potatoes, SimulatedLots.Scale.Crate, [10, 40, 70, 100]),
        "season" => (Potatoes, SimulatedLots.Scale.Crate, [0, 7, 14, 21, 35, 49, 63, 77, 91, 105, 119, 133, 147]),
        "daily" => (Potatoes, SimulatedLots.Scale.Crate, [.. Enumerable.Range(0, 15).Select(day => (double)day)]),
        _ => (Carrots, SimulatedLots.Scale.Crate, [0, 14, 28, 60]),
    };

    [Theory]
    [MemberData(nameof(Ways))]
    public void Ninety_in_a_hundred_intervals_hold_the_truth(string way)
    {
        var (curve, scale, days) = Way(way);
        var draw = new SimulatedLots(seed: 1);
        int held = 0;
        int below = 0;
        int questions = 0;
        int weighings = 0;
        double width = 0;
        for (int i = 0; i < Lots; i++)
        {
            var lot = draw.Draw(curve, scale, days);
            var (belief, asked) = Weigh(curve, lot);
            var known = belief.Interval90;
            held += known.Low <= lot.Multiplier && lot.Multiplier <= known.High ? 1 : 0;
            below += lot.Multiplier < known.Low ? 1 : 0;
            questions += asked;
            weighings += days.Length;
            width += belief.Factor90 / Lots;
        }

        output.WriteLine($"{way}: {100.0 * held / Lots:F1} % held, {100.0 * below / Lots:F1} % below, mean 90 % factor {width:F3}, {questions} questions of {weighings} weighings");
        (100.0 * held / Lots).Should().BeInRange(87, 93);
        (questions / (double)weighings).Should().BeLessThan(0.01);
    }

    [Fact]
    public void Three_weekly_weighings_at_least_halve_what_is_not_known_of_the_loss_at_150_days()
    {
        var draw = new SimulatedLots(seed: 2);
        var prior = ScaleBelief.Prior().Interval90;
        double before = Potatoes(prior.High, 150) - Potatoes(prior.Low, 150);
        List<double> left = [];
        for (int i = 0; i < Lots; i++)
        {
            var lot = draw.Draw(Potatoes, SimulatedLots.Scale.Crate, 0, 7, 14, 21);
            var known = Weigh(Potatoes, lot).Belief.Interval90;
            left.Add((Potatoes(known.High, 150) - Potatoes(known.Low, 150)) / before);
        }

        left.Sort();
        output.WriteLine($"prior {100 * Potatoes(prior.Low, 150):F1} to {100 * Potatoes(prior.High, 150):F1} %; left: 5 % {left[50]:F3}, median {left[500]:F3}, 95 % {left[950]:F3}, most {left[^1]:F3}; losses at 21 d {100 * Potatoes(1, 21):F2} %");
        left[Lots / 2].Should().BeLessThan(0.5);
    }

    private static (ScaleBelief Belief, int Asked) Weigh(Func<double, double, double> curve, SimulatedLots.Lot lot)
    {
        var belief = ScaleBelief.Prior();
        int asked = 0;
        foreach (var weighing in lot.Weighings)
        {
            var answer = belief.Observe(lot.Start, weighing, SimulatedLots.Predicted(curve, lot.Start, weighing.Day));
            asked += answer.Question is null ? 0 : 1;
            belief = answer.Belief;
        }

        return (belief, asked);
    }
}
