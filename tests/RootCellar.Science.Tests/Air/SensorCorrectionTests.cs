using CsCheck;
using RootCellar.Science.Air;

namespace RootCellar.Science.Tests.Air;

public sealed class SensorCorrectionTests
{
    private static readonly Gen<(double Gain, double Zero)> Sensors = Gen.Select(Gen.Double[0.88, 1.12], Gen.Double[-4, 4]);

    [Fact]
    public void Two_salts_put_a_linear_sensor_right_everywhere_between_them() =>
        Gen.Select(Sensors, Gen.Double[33.5, 75.6]).Sample((sensor, truth) =>
        {
            double Reads(double t) => (t - sensor.Zero) / sensor.Gain;
            var correction = Fitted(SensorCorrection.Humidity, Over("NaCl", 12, Reads), Over("MgCl2", 12, Reads));
            var corrected = correction.Apply(Reads(truth));
            Math.Abs(corrected.Value - truth).Should().BeLessThan(1e-9);
            corrected.Extrapolated.Should().BeFalse();
        }, iter: 500);

    [Fact]
    public void A_reference_that_is_off_by_less_than_its_plus_or_minus_moves_the_result_by_no_more_than_is_said() =>
        Gen.Select(Gen.Double[-1, 1], Gen.Double[-1, 1], Gen.Double[25, 84]).Sample((low, high, truth) =>
        {
            var dry = SensorCorrection.OverSalt("MgCl2", 12, 0).Point!.Value;
            var damp = SensorCorrection.OverSalt("NaCl", 12, 0).Point!.Value;
            // The two errors never both at their worst: the figure is a root of squares.
            double both = Math.Sqrt(low * low + high * high);
            double share = both > 1 ? 1 / both : 1;
            var correction = Fitted(
                SensorCorrection.Humidity,
                dry with { Reads = dry.Reference + low * share * dry.PlusOrMinus },
                damp with { Reads = damp.Reference + high * share * damp.PlusOrMinus });
            var corrected = correction.Apply(truth);
            Math.Abs(corrected.Value - truth).Should().BeLessThan(corrected.PlusOrMinus);
        }, iter: 500);

    [Fact]
    public void One_point_moves_every_reading_alike_and_knows_less_away_from_it()
    {
        var correction = Fitted(SensorCorrection.Temperature, new ReferencePoint(0, SensorCorrection.IceBathPlusOrMinusC, 0.4, 0.1));
        correction.Apply(0.4).Value.Should().BeApproximately(0, 1e-12);
        correction.Apply(4.4).Value.Should().BeApproximately(4, 1e-12);
        correction.Apply(0.4).PlusOrMinus.Should().BeApproximately(Math.Sqrt(0.01 + 0.0025 + 0.01), 1e-9);
        correction.Apply(10.4).PlusOrMinus.Should().BeGreaterThan(correction.Apply(4.4).PlusOrMinus);
        correction.Apply(15.4).Extrapolated.Should().BeFalse();
        correction.Apply(15.5).Extrapolated.Should().BeTrue();
    }

    [Fact]
    public void Beyond_its_reach_the_correction_is_held_and_trusted_less()
    {
        var correction = Fitted(SensorCorrection.Humidity, Over("MgCl2", 15, t => t + 6), Over("NaCl", 15, t => t + 1));
        double edge = correction.From;
        double held = correction.Apply(edge).Value - edge;
        var far = correction.Apply(edge - 15);
        far.Value.Should().BeApproximately(edge - 15 + held, 1e-9);
        far.Extrapolated.Should().BeTrue();
        far.PlusOrMinus.Should().BeApproximately(correction.Apply(edge).PlusOrMinus + 3, 1e-9);
    }

    [Fact]
    public void Nothing_is_clamped() =>
        Fitted(SensorCorrection.Humidity, Over("NaCl", 15, t => t - 4), Over("K2SO4", 15, t => t - 2)).Apply(99.9).Value.Should()
            .BeGreaterThan(100);

    [Theory]
    [InlineData("NaCl", 76, "KCl", 87, "only 10.8 apart")]
    [InlineData("NaCl", 60, "MgCl2", 33, "off by more than 15 % RH")]
    [InlineData("NaCl", 66, "K2SO4", 95, "slope would be 0.77")]
    [InlineData("NaCl", 82, "MgCl2", 48, "slope would be 1.24")]
    [InlineData("NaCl", 80, "K2SO4", 84, "slope would be 5")]
    [InlineData("K2SO4", 84, "NaCl", 88, "mixed up")]
    [InlineData("NaCl", 110, "MgCl2", 33, "cannot have read 110")]
    [InlineData("NaCl", double.NaN, "MgCl2", 33, "cannot have read NaN")]
    [InlineData("NaCl", 85, "K2SO4", 85, "were the two mixed up")]
    public void What_makes_no_sense_is_refused_with_its_reason(
        string first, double firstReads, string second, double secondReads, string reason)
    {
        var fit = SensorCorrection.Fit(SensorCorrection.Humidity, [Over(first, 12, _ => firstReads), Over(second, 12, _ => secondReads)]);
        fit.Stands.Should().BeFalse();
        fit.Refusal.Should().Contain(reason);
    }

    [Theory]
    [InlineData("NaCl", -1, "NaCl is a standard from 0 to 50 C")]
    [InlineData("K2CO3", 31, "K2CO3 is a standard from 0 to 30 C")]
    [InlineData("LiCl", 12, "LiCl changes its hydrate below about 18 C")]
    [InlineData("Sugar", 12, "no salt standard 'Sugar'; known are LiCl, MgCl2")]
    public void A_salt_out_of_place_is_refused(string formula, double temperatureC, string reason)
    {
        var prepared = SensorCorrection.OverSalt(formula, temperatureC, 75);
        prepared.Point.Should().BeNull();
        prepared.Refusal.Should().Contain(reason);
    }

    [Theory]
    [InlineData(0, 3.1, 0.1, "off by more than 3 C")]
    [InlineData(0, 0.4, 0.5, "had not settled: it moved by 0.5 C")]
    [InlineData(0, 0.4, -0.1, "had not settled")]
    [InlineData(80, 80, 0.1, "outside -30 to 60 C")]
    [InlineData(double.NaN, 0.4, 0.1, "outside")]
    public void A_thermometer_is_refused_likewise(double reference, double reads, double spread, string reason) =>
        SensorCorrection.Fit(SensorCorrection.Temperature, [new ReferencePoint(reference, 0.1, reads, spread)]).Refusal.Should()
            .Contain(reason);

    [Fact]
    public void Two_thermometer_points_must_be_ten_degrees_apart() =>
        SensorCorrection.Fit(SensorCorrection.Temperature,
            [new ReferencePoint(0, 0.1, 0.4), new ReferencePoint(8, 0.3, 8.1)]).Refusal.Should().Contain("only 8 apart");

    [Theory]
    [InlineData(0)]
    [InlineData(3)]
    public void One_or_two_references_and_no_other_number(int count) =>
        SensorCorrection.Fit(SensorCorrection.Humidity, [.. Enumerable.Repeat(new ReferencePoint(75, 0.5, 74), count)]).Refusal.Should()
            .Contain($"not {count}");

    [Theory]
    [InlineData(5, 0, -6, null)]
    [InlineData(5, 0, 5, null)]
    [InlineData(95, 0, 105, null)]
    [InlineData(99, 0, 99, null)]
    [InlineData(50, 15, 50, 0.0)]
    [InlineData(50, 1, 65, 1.0)]
    [InlineData(50, 1, 35, 1.0)]
    public void The_most_that_is_stated_is_still_taken(double reference, double known, double reads, double? spread) =>
        Fitted(SensorCorrection.Humidity, new ReferencePoint(reference, known, reads, spread)).Apply(reads).Value.Should()
            .BeApproximately(reference, 1e-9);

    [Theory]
    [InlineData(-0.1)]
    [InlineData(15.1)]
    [InlineData(double.NaN)]
    public void A_reference_nobody_knows_is_none(double known) =>
        SensorCorrection.Fit(SensorCorrection.Humidity, [new ReferencePoint(50, known, 50)]).Refusal.Should()
            .Contain("must be known to 15 % RH or better");

    [Theory]
    [InlineData(40, 60, 40, 60)]
    [InlineData(30, 70, 25, 75)]
    [InlineData(20, 80, 25, 75)]
    public void Points_just_far_enough_apart_and_slopes_just_possible_are_taken(double low, double high, double lowReads, double highReads)
    {
        var correction = Fitted(SensorCorrection.Humidity, new ReferencePoint(low, 1, lowReads), new ReferencePoint(high, 1, highReads));
        correction.Apply(lowReads).Value.Should().BeApproximately(low, 1e-9);
        correction.Apply(highReads).Value.Should().BeApproximately(high, 1e-9);
    }

    [Fact]
    public void Where_nobody_looked_half_of_the_most_that_passes_counts_as_unsettled()
    {
        Corrected Of(double? spread) => Fitted(SensorCorrection.Humidity, new ReferencePoint(50, 0, 50, spread)).Apply(50);
        // The sensor's own 1 % and half of the 1 % it may still have moved.
        Of(null).PlusOrMinus.Should().BeApproximately(Math.Sqrt(1.25), 1e-12).And.Be(Of(1).PlusOrMinus);
    }

    [Fact]
    public void Lithium_chloride_is_a_standard_from_18_C_up() => SensorCorrection.OverSalt("LiCl", 18, 12).Point.Should().NotBeNull();

    [Fact]
    public void A_salt_without_a_figure_counts_as_known_worse()
    {
        double known = SensorCorrection.OverSalt("NaCl", 25, 75).Point!.Value.PlusOrMinus;
        double unknown = SensorCorrection.OverSalt("NaCl", 40, 75).Point!.Value.PlusOrMinus;
        known.Should().BeApproximately(Math.Sqrt(0.12 * 0.12 + 0.527 * 0.527), 0.01);
        unknown.Should().BeGreaterThan(SensorCorrection.SaltWithoutFigurePercent);
    }

    [Theory]
    [InlineData(20, 3)]
    [InlineData(80, 2)]
    [InlineData(50, 1.8027756377319946)]
    [InlineData(35, 2.304886114323222)]
    public void Each_reference_weighs_most_at_its_own_reading(double reading, double plusOrMinus) =>
        // Through two points the line is off by each one's error times its distance from the other: sqrt((1 - x)^2 9 + x^2 4).
        new Correction(1, 0, 10, 90, new Anchor(20, 3), new Anchor(80, 2), 0).Apply(reading).PlusOrMinus.Should()
            .BeApproximately(plusOrMinus, 1e-12);

    private static ReferencePoint Over(string formula, double temperatureC, Func<double, double> reads)
    {
        double truth = SensorCorrection.OverSalt(formula, temperatureC, 0).Point!.Value.Reference;
        return SensorCorrection.OverSalt(formula, temperatureC, reads(truth)).Point!.Value;
    }

    private static Correction Fitted(CorrectionRules rules, params ReferencePoint[] points)
    {
        var fit = SensorCorrection.Fit(rules, points);
        fit.Refusal.Should().BeNull();
        return fit.Correction!;
    }
}
