using CsCheck;
using RootCellar.Science.Cellar;

namespace RootCellar.Science.Tests.Cellar;

public sealed class HeatTests
{
    private static readonly Gen<(double Kg, double From, double Air, double Conductance, double Watts)> Loads =
        Gen.Select(Gen.Double[50, 5000], Gen.Double[8, 30], Gen.Double[-2, 6], Gen.Double[2, 200], Gen.Double[0, 100]);

    /// <summary>docs/science/cellar.md, example 5.</summary>
    [Fact]
    public void Worked_example_cooling_1200_kg_after_curing()
    {
        double heat = LoadHeat.SensibleMegajoules(1200, 3.6, 12.8, 4.4);
        heat.Should().BeApproximately(36.29, 0.01);
        LoadHeat.KilowattHours(heat).Should().BeApproximately(10.08, 0.01);
        double watts = LoadHeat.RespirationWatts(1200, 8);
        watts.Should().BeApproximately(28.5, 0.05);
        double conductance = LoadHeat.ConductanceWattsPerK(60);
        conductance.Should().BeApproximately(21.28, 0.01);
        LoadHeat.SettlesAtC(2, watts, conductance).Should().BeApproximately(3.34, 0.01);
        LoadHeat.TimeConstantDays(1200, 3.6, conductance).Should().BeApproximately(2.35, 0.01);
        LoadHeat.DaysToCool(1200, 3.6, 12.8, 4.4, 2, conductance, watts)!.Value.Should().BeApproximately(5.14, 0.01);
        LoadHeat.DaysByRule(12.8, 4.4, LoadHeat.AmericanRuleCPerDay).Should().BeApproximately(30.2, 0.1);
        LoadHeat.DaysByRule(12.8, 4.4, LoadHeat.BritishRuleCPerDay).Should().BeApproximately(16.8, 0.1);
    }

    /// <summary>docs/science/cellar.md, example 6.</summary>
    [Fact]
    public void Worked_example_a_heap_without_a_fan()
    {
        PileHeat.AdiabaticRiseKPerDay(10, 3.6).Should().BeApproximately(0.24, 1e-9);
        PileHeat.AdiabaticRiseKPerDay(18, 3.6).Should().BeApproximately(0.432, 1e-9);
        PileHeat.TimeConstantDays(0.5).Should().BeApproximately(6.2, 0.05);
        PileHeat.TimeConstantDays(1).Should().BeApproximately(24.8, 0.05);
        PileHeat.MeanExcessC(1.8288).Should().BeApproximately(4 / 1.8, 1e-9, "6 ft at 2/3 F");
        PileHeat.TopExcessC(1.8288).Should().BeApproximately(6 / 1.8, 1e-9, "6 ft at 1 F");
        Enum.GetValues<PileCondition>().Select(PileHeat.CautionHeightM).Should().BeInAscendingOrder().And.HaveCount(3);
    }

    [Fact]
    public void Days_to_cool_and_temperature_after_days_agree() => Loads.Sample(load =>
    {
        double settles = LoadHeat.SettlesAtC(load.Air, load.Watts, load.Conductance);
        var days = LoadHeat.DaysToCool(load.Kg, 3.6, load.From, 7, load.Air, load.Conductance, load.Watts);
        if (settles >= 7)
            return days is null;
        return days is > 3650
            || Math.Abs(LoadHeat.AfterDaysC(load.Kg, 3.6, load.From, load.Air, load.Conductance, load.Watts, days!.Value) - 7) < 1e-6;
    });

    [Fact]
    public void Heat_the_air_takes_is_heat_the_load_loses_and_makes() => Loads.Sample(load =>
    {
        const double Days = 10;
        double end = LoadHeat.AfterDaysC(load.Kg, 3.6, load.From, load.Air, load.Conductance, load.Watts, Days);
        double made = load.Watts * Days * 86400;
        const int Steps = 4000;
        double sum = 0;
        for (int i = 0; i <= Steps; i++)
        {
            double above = LoadHeat.AfterDaysC(load.Kg, 3.6, load.From, load.Air, load.Conductance, load.Watts, Days * i / Steps) - load.Air;
            sum += above * (i is 0 or Steps ? 1 : i % 2 == 1 ? 4 : 2);
        }

        double taken = load.Conductance * sum * Days * 86400 / Steps / 3;
        double lost = load.Kg * 3600 * (load.From - end);
        return Math.Abs(taken - lost - made) < 1e-4 * (taken + made);
    }, iter: 50);

    [Fact]
    public void More_air_cools_sooner() => Gen.Select(Loads, Gen.Double[1, 5]).Sample(drawn =>
    {
        var (load, more) = drawn;
        double? slow = LoadHeat.DaysToCool(load.Kg, 3.6, load.From, 7, load.Air, load.Conductance, load.Watts);
        double? fast = LoadHeat.DaysToCool(load.Kg, 3.6, load.From, 7, load.Air, load.Conductance * more, load.Watts);
        return slow is null || fast <= slow;
    });

    [Fact]
    public void Never_cold_enough_is_null_and_cold_already_is_nought()
    {
        LoadHeat.DaysToCool(1000, 3.6, 12, 4, 4, 20, 0).Should().BeNull();
        LoadHeat.DaysToCool(1000, 3.6, 12, 4, 2, 10, 30).Should().BeNull("the lot's own breath keeps it at 5 C");
        LoadHeat.DaysToCool(1000, 3.6, 4, 4, 2, 10, 30).Should().Be(0);
    }

    [Fact]
    public void Warming_is_negative_heat() => LoadHeat.SensibleMegajoules(100, 3.6, 4, 14).Should().BeApproximately(-3.6, 1e-12);
}
