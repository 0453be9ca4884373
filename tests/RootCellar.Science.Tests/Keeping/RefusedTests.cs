using RootCellar.Science.Crops;
using RootCellar.Science.Keeping;

namespace RootCellar.Science.Tests.Keeping;

/// <summary>What is missing or cannot be is refused with its name.</summary>
public sealed class RefusedTests
{
    private static readonly Crop Potato = CropTable.Default.Find("potato")!;
    private static readonly BinStart Start = new("a", 20, 0.1);
    private static readonly Weighing Weighed = new(0, 20, 0, 0.1, 0, 0.01);
    private static readonly double[] Predicted = [.. Enumerable.Repeat(20.0, ScaleBelief.Nodes)];

    private static readonly (string Name, Action Of)[] Missing =
    [
        ("crop", () => Cold.WarningBelowC(null!)),
        ("crop", () => Cold.EmergencyBelowC(null!)),
        ("crop", () => Cold.HarmBelowC(null!)),
        ("crop", () => Cold.HoursLeft(null!, 1, 1)),
        ("crop", () => Cold.Words(null!, double.NaN)),
        ("hours", () => DiggingAir.Of(null!, 10)),
        ("traits", () => LotState.Dug(null!)),
        ("traits", () => LotState.From(null!, new double[LotState.FigureNames.Count])),
        ("crop", () => KeepingEnds.ShriveledShare(null!)),
        ("crop", () => KeepingEnds.HandbookDays(null!)),
        ("lot", () => Outlook.Run(null!, [AirSpan.Hold(5, 90, 1)])),
        ("air", () => Outlook.Run(LotPrior.Of(Potato), null!)),
        ("crop", () => _ = new LotTraits(null!)),
        ("crop", () => Curing.RuleOf(null!)),
        ("variety", () => RestPrior.Of(null!)),
        ("crop", () => LotPrior.Of(null!)),
        ("sproutMm", () => SproutBelief.ShareVisible(100, null!)),
        ("start", () => ScaleBelief.Prior().Observe(null!, Weighed, Predicted)),
        ("weighing", () => ScaleBelief.Prior().Observe(Start, null!, Predicted)),
    ];

    public static TheoryData<int> EachMissing => [.. Enumerable.Range(0, Missing.Length)];

    [Theory]
    [MemberData(nameof(EachMissing))]
    public void What_is_missing_is_named(int which) =>
        Missing[which].Of.Should().Throw<ArgumentNullException>().WithParameterName(Missing[which].Name);

    private static readonly (string Name, double Low, double High, double Beyond, Func<double, (BinStart, Weighing)> Of)[] Figures =
    [
        ("StartKg", 0.01, 1_000_000, 0.001, kg => (Start with { StartKg = kg }, Weighed)),
        ("UncertaintyKg", 0, 1_000_000, 0.001, kg => (Start with { UncertaintyKg = kg }, Weighed)),
        ("EmptyKg", 0, 100_000, 0.001, kg => (Start with { EmptyKg = kg }, Weighed)),
        ("Day", 0, 4000, 0.001, day => (Start with { Day = day }, Weighed with { Day = 4000 })),
        ("Day", 0, 4000, 0.001, day => (Start, Weighed with { Day = day })),
        ("GrossKg", 0, 1_000_000, 0.001, kg => (Start, Weighed with { GrossKg = kg })),
        ("TareKg", 0, 100_000, 0.001, kg => (Start, Weighed with { TareKg = kg })),
        ("ResolutionKg", 0, 1000, 0.001, kg => (Start, Weighed with { ResolutionKg = kg })),
        ("TareUncertaintyKg", 0, 1000, 0.001, kg => (Start, Weighed with { TareUncertaintyKg = kg })),
        ("RepeatabilityKg", 1e-6, 1000, 1e-7, kg => (Start, Weighed with { RepeatabilityKg = kg })),
    ];

    public static TheoryData<int> EachFigure => [.. Enumerable.Range(0, Figures.Length)];

    [Theory]
    [MemberData(nameof(EachFigure))]
    public void A_weighing_is_taken_to_its_ends_and_no_further(int which)
    {
        var (name, low, high, beyond, of) = Figures[which];
        foreach (double end in (double[])[low, high]) double.IsFinite(Observe(end).Kg).Should().BeTrue($"{name} {end}");
        foreach (double outside in (double[])[low - beyond, high + beyond, double.NaN])
            FluentActions.Invoking(() => Observe(outside)).Should().Throw<ArgumentOutOfRangeException>($"{name} {outside}")
                .WithParameterName(name);

        ScaleAnswer Observe(double value)
        {
            var (start, weighing) = of(value);
            double kg = double.IsNaN(start.StartKg) ? 20 : Math.Clamp(start.StartKg, 0, 2e6);
            return ScaleBelief.Prior().Observe(start, weighing, [.. Predicted.Select(_ => kg)]);
        }
    }

    [Fact]
    public void One_weight_for_each_multiplier_is_wanted_and_none_above_twice_the_start()
    {
        FluentActions.Invoking(() => ScaleBelief.Prior().Observe(Start, Weighed, Predicted.AsSpan(1))).Should().Throw<ArgumentException>()
            .WithParameterName("predictedKg").WithMessage("One weight for each of the 81 multipliers is wanted.*");
        foreach (double kg in (double[])[-0.01, 40.01, double.NaN])
            FluentActions.Invoking(() => ScaleBelief.Prior().Observe(Start, Weighed, [kg, .. Predicted[1..]])).Should()
                .Throw<ArgumentOutOfRangeException>().WithParameterName("predictedKg");
        var later = ScaleBelief.Prior().Observe(Start, Weighed with { Day = 5 }, Predicted).Belief;
        FluentActions.Invoking(() => later.Observe(Start, Weighed with { Day = 4.9 }, Predicted)).Should()
            .Throw<ArgumentOutOfRangeException>("weighings come in the order of their days");
    }

    [Fact]
    public void Figures_that_were_written_down_come_back_and_others_are_refused()
    {
        var traits = LotPrior.Of(Potato).Middle();
        var lot = LotState.Dug(traits).Advance(new LotAir(3, 98, LightLux: 300), 40).Advance(new LotAir(-2, 60), 40);
        double[] figures = new double[LotState.FigureNames.Count];
        lot.CopyTo(figures);
        LotState.From(traits, figures).Should().Be(lot);
        foreach (double[] wrong in (double[][])[figures[1..], [.. figures, 0]])
            FluentActions.Invoking(() => LotState.From(traits, wrong)).Should().Throw<ArgumentException>().WithParameterName("figures")
                .WithMessage("There must be 14 figures.*");
    }
}
