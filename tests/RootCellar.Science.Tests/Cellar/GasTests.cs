using CsCheck;
using RootCellar.Science.Cellar;

namespace RootCellar.Science.Tests.Cellar;

public sealed class GasTests
{
    private static readonly Gen<(double Start, double Hours, double Breath, double PerHour)> Rooms =
        Gen.Select(Gen.Double[420, 20_000], Gen.Double[0.5, 72], Gen.Double[0.5, 20], Gen.Double[0, 3]);

    /// <summary>docs/science/cellar.md, example 4.</summary>
    [Fact]
    public void Worked_example_a_tonne_and_a_fifth()
    {
        GasBalance.MgPerMl(5).Should().BeApproximately(1.928, 1e-3);
        GasBalance.SteadyPpm(2.7, 1200, 28.889, 0.25).Should().BeApproximately(868.6, 0.1);
        double after = GasBalance.AfterPpm(420, 4, 2.7, 1200, 28.889, 0.25);
        after.Should().BeApproximately(703.6, 0.1);
        GasBalance.RespirationMlPerKgHour(420, 703.6, 4, 1200, 28.889, 0.25).Should().BeApproximately(2.7, 1e-3);
        GasBalance.OxygenPercent(5000).Should().BeApproximately(20.44, 0.01);
        GasBalance.OxygenPercent(14_420).Should().BeApproximately(RoomCaution.LowOxygenPercent, 1e-9);
    }

    [Fact]
    public void Respiration_comes_back_from_the_levels_it_made() => Rooms.Sample(room =>
    {
        double end = GasBalance.AfterPpm(room.Start, room.Hours, room.Breath, 1000, 30, room.PerHour);
        return Math.Abs(GasBalance.RespirationMlPerKgHour(room.Start, end, room.Hours, 1000, 30, room.PerHour) / room.Breath - 1) < 1e-6;
    });

    [Fact]
    public void Gas_made_is_gas_kept_and_gas_blown_out() => Rooms.Sample(room =>
    {
        double end = GasBalance.AfterPpm(room.Start, room.Hours, room.Breath, 1000, 30, room.PerHour);
        // Blown out, by Simpson's rule over the levels on the way.
        const int Steps = 400;
        double sum = 0;
        for (int i = 0; i <= Steps; i++)
        {
            double level = GasBalance.AfterPpm(room.Start, room.Hours * i / Steps, room.Breath, 1000, 30, room.PerHour) - GasBalance.OutsidePpm;
            sum += level * (i is 0 or Steps ? 1 : i % 2 == 1 ? 4 : 2);
        }

        double blownOutMl = 30 * room.PerHour * sum * room.Hours / Steps / 3;
        double madeMl = room.Breath * 1000 * room.Hours;
        return Math.Abs(blownOutMl + 30 * (end - room.Start) - madeMl) < 1e-3 * (madeMl + Math.Abs(blownOutMl));
    });

    [Fact]
    public void A_shut_room_climbs_in_a_straight_line_and_a_leaky_one_settles()
    {
        GasBalance.AfterPpm(420, 10, 3, 1000, 30, 0).Should().BeApproximately(420 + 1000, 1e-9);
        GasBalance.AfterPpm(420, 10, 3, 1000, 30, 1e-6).Should().BeApproximately(420 + 1000, 0.01);
        GasBalance.AfterPpm(9000, 500, 3, 1000, 30, 0.5).Should().BeApproximately(GasBalance.SteadyPpm(3, 1000, 30, 0.5), 1e-6);
    }

    [Fact]
    public void More_air_less_gas() => Gen.Select(Gen.Double[0.01, 3], Gen.Double[0.01, 3]).Sample(drawn =>
        GasBalance.SteadyPpm(3, 1000, 30, Math.Max(drawn.Item1, drawn.Item2)) <= GasBalance.SteadyPpm(3, 1000, 30, Math.Min(drawn.Item1, drawn.Item2)));

    [Fact]
    public void Produce_that_would_fill_the_room_is_refused()
    {
        var act = () => GasBalance.AirM3(10, 10_500);
        act.Should().Throw<ArgumentOutOfRangeException>().WithParameterName("produceKg");
    }

    [Theory]
    [InlineData(4999, RoomCautionLevel.UnderLimits)]
    [InlineData(5000, RoomCautionLevel.WorkingDayLimit)]
    [InlineData(30_000, RoomCautionLevel.ShortTermLimit)]
    [InlineData(40_000, RoomCautionLevel.ImmediatelyDangerous)]
    public void A_caution_names_its_limit_and_always_says_what_it_is_not(double ppm, RoomCautionLevel level)
    {
        RoomCaution.Of(ppm).Should().Be(level);
        RoomCaution.Words(level).Should().Contain("Not a safety instrument").And.Contain("alone").And.Contain("Air the room before you go in");
    }

    [Fact]
    public void A_lot_that_breathes_double_for_two_days_is_to_be_inspected()
    {
        var readings = Breaths(hour => hour < 200 ? 2.5 : 5);
        Breath(readings, until: 220).Should().Be(BreathVerdict.Raised);
        Breath(readings, until: 246).Should().Be(BreathVerdict.Raised);
        Breath(readings, until: 248).Should().Be(BreathVerdict.Inspect);
        var finding = LotBreath.Judge([.. readings.Where(reading => reading.Hours <= 248)]);
        finding.Ratio.Should().BeApproximately(2, 1e-9);
        finding.BaselineMlPerKgHour.Should().BeApproximately(2.5, 1e-9);
    }

    [Fact]
    public void A_warmer_lot_that_breathes_as_warmth_makes_it_is_as_before()
    {
        static double PulpC(double hour) => hour < 200 ? 5 : 13;
        var readings = Breaths(hour => 2.5 * Math.Pow(2, (PulpC(hour) - 5) / 10), PulpC);
        var finding = LotBreath.Judge(readings);
        finding.Verdict.Should().Be(BreathVerdict.AsBefore);
        finding.Ratio.Should().BeApproximately(1, 1e-9);
        finding.BaselineMlPerKgHour.Should().BeApproximately(2.5 * Math.Pow(2, 0.8), 1e-9);
    }

    [Fact]
    public void One_wild_reading_is_no_finding()
    {
        Breath(Breaths(hour => hour == 230 ? 50 : 2.5), until: 260).Should().Be(BreathVerdict.AsBefore);
        Breath(Breaths(hour => hour >= 200 && hour != 230 ? 5 : 2.5), until: 260).Should().Be(BreathVerdict.Raised);
    }

    [Fact]
    public void Without_a_past_nothing_is_known()
    {
        LotBreath.Judge([]).Verdict.Should().Be(BreathVerdict.NotKnown);
        Breath(Breaths(_ => 2.5), until: 100).Should().Be(BreathVerdict.NotKnown);
        Breath([.. Breaths(_ => 2.5).Where(reading => reading.Hours is < 200 or > 258)], until: 260).Should().Be(BreathVerdict.NotKnown);
    }

    private static BreathVerdict Breath(BreathReading[] readings, double until) =>
        LotBreath.Judge([.. readings.Where(reading => reading.Hours <= until)]).Verdict;

    private static BreathReading[] Breaths(Func<double, double> breath, Func<double, double>? pulpC = null) =>
        [.. Enumerable.Range(0, 131).Select(i => new BreathReading(2 * i, breath(2 * i), pulpC?.Invoke(2 * i) ?? 5))];
}
