using CsCheck;
using RootCellar.Science.Cellar;

namespace RootCellar.Science.Tests.Cellar;

public sealed class AirChangeTests
{
    /// <summary>docs/science/cellar.md, example 3; Student's t of 4 degrees of freedom is 2.132 in any table.</summary>
    [Fact]
    public void Worked_example_six_hourly_readings()
    {
        var estimate = AirChange.FromDecay(Hourly(2400, 2000, 1640, 1380, 1170, 985), 420, 50);
        estimate.Doubt.Should().Be(AirChangeDoubt.None);
        estimate.Readings.Should().Be(6);
        estimate.PerHour!.Value.Should().BeApproximately(0.24986, 1e-5);
        estimate.Low!.Value.Should().BeApproximately(0.24986 - 2.132 * 0.0037777, 1e-5);
        estimate.High!.Value.Should().BeApproximately(0.24986 + 2.132 * 0.0037777, 1e-5);
    }

    [Fact]
    public void Worked_example_from_a_steady_level()
    {
        var perHour = AirChange.FromSteadySource(2.7, 1200, 28.889, 868.6)!.Value;
        perHour.Value.Should().BeApproximately(0.25, 1e-4);
        perHour.Low.Should().BeApproximately(2.7 * 1200 / 28.889 / 2 / (448.6 + 100), 1e-4);
        perHour.High.Should().BeApproximately(2.7 * 1200 / 28.889 * 2 / (448.6 - 100), 1e-4);
    }

    [Fact]
    public void A_simulated_decay_gives_back_its_air_change() =>
        Gen.Select(Gen.Double[0.02, 3], Gen.Double[1500, 8000], Gen.Double[0, 6]).Sample(drawn =>
        {
            var (perHour, start, breath) = drawn;
            double rest = GasBalance.SteadyPpm(breath, 100, 30, perHour);
            double step = 0.2 / perHour;
            DecayReading[] readings = [.. Enumerable.Range(0, 12).Select(i => new DecayReading(i * step, GasBalance.AfterPpm(rest + start, i * step, breath, 100, 30, perHour)))];
            var estimate = AirChange.FromDecay(readings, rest, 50);
            return estimate.PerHour is { } found && Math.Abs(found / perHour - 1) < 1e-6;
        });

    [Fact]
    public void A_steady_room_gives_back_its_air_change() =>
        Gen.Select(Gen.Double[0.02, 3], Gen.Double[1, 10], Gen.Double[500, 5000]).Sample(drawn =>
        {
            var (perHour, breath, kg) = drawn;
            var found = AirChange.FromSteadySource(breath, kg, 30, GasBalance.SteadyPpm(breath, kg, 30, perHour));
            return found is null || (Math.Abs(found.Value.Value / perHour - 1) < 1e-9 && found.Value.Low < perHour && found.Value.High > perHour);
        });

    [Theory]
    [InlineData(6)]
    [InlineData(12)]
    [InlineData(40)]
    public void The_interval_holds_the_truth_about_nine_times_in_ten(int count)
    {
        var random = new Random(20_261_125);
        int held = 0;
        const int Runs = 4000;
        for (int run = 0; run < Runs; run++)
        {
            var readings = new DecayReading[count];
            for (int i = 0; i < count; i++)
            {
                double noise = Portable.NormalQuantile(0.0001 + 0.9998 * random.NextDouble());
                readings[i] = new DecayReading(i * 0.25, 420 + 3000 * Math.Exp(-0.3 * i * 0.25 + 0.05 * noise));
            }

            var estimate = AirChange.FromDecay(readings, 420, 20);
            if (estimate.Low <= 0.3 && estimate.High >= 0.3)
                held++;
        }

        ((double)held / Runs).Should().BeInRange(0.885, 0.915);
    }

    [Fact]
    public void Refuses_what_the_readings_do_not_allow()
    {
        AirChange.FromDecay([], 420, 50).Doubt.Should().Be(AirChangeDoubt.TooFew);
        AirChange.FromDecay(Hourly(2400, 2000, 1640, 1380), 420, 50).Doubt.Should().Be(AirChangeDoubt.TooFew);
        AirChange.FromDecay(Hourly(2400, 900, 440, 430, 425, 421, 420), 420, 50).Doubt.Should().Be(AirChangeDoubt.TooFew, "the room was aired before five readings were in");
        AirChange.FromDecay(Hourly(430, 425, 431, 428, 422, 426), 420, 50).Doubt.Should().Be(AirChangeDoubt.NothingToDecay);
        AirChange.FromDecay(Hourly(900, 905, 898, 903, 901, 899), 420, 50).Doubt.Should().Be(AirChangeDoubt.NoDecay);
        AirChange.FromDecay(Hourly(900, 1000, 1100, 1200, 1300, 1400), 420, 50).Doubt.Should().Be(AirChangeDoubt.NoDecay);
        AirChange.FromDecay([.. Enumerable.Repeat(new DecayReading(1, 900), 6)], 420, 50).Doubt.Should().Be(AirChangeDoubt.TooFew);
        AirChange.FromDecay(Hourly(900, 905, 898, 903, 901, 899), 420, 50).PerHour.Should().BeNull();
        AirChange.FromSteadySource(3, 1000, 30, 470).Should().BeNull("inside is not clear of outside");
    }

    [Fact]
    public void Readings_below_the_noise_are_left_out()
    {
        var estimate = AirChange.FromDecay(Hourly(2400, 1820, 1390, 1090, 880, 735, 640, 468, 421, 455), 420, 50);
        estimate.Readings.Should().Be(7);
    }

    [Fact]
    public void Readings_out_of_order_are_refused()
    {
        var act = () => AirChange.FromDecay([new(1, 900), new(0, 950)], 420, 50);
        act.Should().Throw<ArgumentException>().WithMessage("*order*");
    }

    private static DecayReading[] Hourly(params double[] values) => [.. values.Select((value, hour) => new DecayReading(hour, value))];
}
