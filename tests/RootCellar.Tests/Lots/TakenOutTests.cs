using RootCellar.Household;
using RootCellar.Ledger;
using RootCellar.Lots;
using static RootCellar.Tests.Lots.Cellar;

namespace RootCellar.Tests.Lots;

/// <summary>What is known of a bin's weight when some of it goes out, or the scale says what stays.</summary>
public class TakenOutTests
{
    private static readonly DateTimeOffset Filled = Start.AddHours(10);
    private static readonly DateTimeOffset Out = Start.AddDays(60).AddHours(10);

    private static BinView Bin(string id) => Books.Bin(id, Filled, 20, (StoreRoom, Filled));

    private static async Task<Cellar> DryAsync()
    {
        var cellar = await WithRoomsAsync();
        await cellar.AirAsync(StoreRoom, Start, Start.AddDays(70), 8, 75);
        return cellar;
    }

    [Fact]
    public async Task Taking_some_out_does_not_make_what_is_left_better_known()
    {
        await using var cellar = await DryAsync();
        cellar.Book = Books.Of(Books.Lot("A", Start.AddHours(9), [Bin("a")]),
            Books.Lot("B", Start.AddHours(9), [Bin("b").Out(Out, 5, "eaten")]));
        var bins = (await cellar.AtAsync(Start.AddDays(61))).Bins;
        var (whole, rest) = (bins["a"].Kg, bins["b"].Kg);
        rest.Value.Should().BeApproximately(whole.Value - 5, 0.01);
        // A sixth narrower: what went out and what stayed are taken as off independently of each other. Without it, three eighths.
        (rest.High - rest.Low).Should().BeInRange(0.8 * (whole.High - whole.Low), 1.1 * (whole.High - whole.Low));
    }

    [Fact]
    public async Task A_weigh_in_after_some_went_out_teaches_of_the_whole_time()
    {
        await using var cellar = await DryAsync();
        // 6 % lost in sixty days; the second had 5 kg taken out the evening before.
        cellar.Book = Books.Of(
            Books.Lot("A", Start.AddHours(9), [Bin("a").Weighed(Out.AddHours(12), 18.8, 0.1)]),
            Books.Lot("B", Start.AddHours(9), [Bin("b").Out(Out, 5, "eaten").Weighed(Out.AddHours(12), 13.8, 0.1)]));
        var bins = (await cellar.AtAsync(Start.AddDays(62))).Bins;
        bins["b"].Questions.Should().BeEmpty();
        bins["b"].WaterMultiplier.Value.Should().BeApproximately(bins["a"].WaterMultiplier.Value, 0.04 * bins["a"].WaterMultiplier.Value);
        bins["b"].Kg.Value.Should().BeApproximately(13.8, 0.1, "a step of the scale: how far its zero stands off nobody knows yet");
    }

    [Fact]
    public async Task What_stays_after_sorting_is_what_the_scale_said()
    {
        await using var cellar = await DryAsync();
        var into = new MassStep(60, Out, "sorted", 9_000);
        var from = Bin("a") with
        {
            Grams = 9_500,
            Steps = [new MassStep(1, Filled, "filled", 20_000), new MassStep(60, Out, "sorted", -9_000),
                new MassStep(60, Out, "shrink", -1_500)]
        };
        var other = Books.Bin("c", Out, 9, (StoreRoom, Out)) with { Steps = [into] };
        cellar.Book = Books.Of(Books.Lot("A", Start.AddHours(9), [from, other]));
        var bins = (await cellar.AtAsync(Out.AddHours(2))).Bins;
        bins["a"].Kg.Value.Should().BeApproximately(9.5, 0.01);
        (bins["a"].Kg.High - bins["a"].Kg.Low).Should().BeLessThan(0.25, "it has just been weighed");
        bins["c"].Kg.Value.Should().BeApproximately(9, 0.01);
    }

    [Fact]
    public async Task The_last_few_of_a_bin_are_never_less_than_nothing()
    {
        await using var cellar = await DryAsync();
        cellar.Book = Books.Of(
            Books.Lot("A", Start.AddHours(9),
                [Bin("a").Out(Out, 6, "eaten").Out(Out.AddHours(1), 6, "eaten").Out(Out.AddHours(2), 6, "eaten")
                    .Weighed(Out.AddDays(3), 0.7, 0.1)]));
        var bin = (await cellar.AtAsync(Start.AddDays(65))).Bins["a"];
        bin.Questions.Should().BeEmpty();
        bin.Kg.Value.Should().BeInRange(0.6, 0.8);
        bin.Kg.Low.Should().BeGreaterThanOrEqualTo(0);
    }
}
