using RootCellar.Readings;
using static RootCellar.Tests.Readings.Decoding;

namespace RootCellar.Tests.Readings;

/// <summary>The examples are those of RFC 8428, section 5.1; the rules are of the sections named.</summary>
public class SenmlTests
{
    private const string Topic = "rootcellar/cellar/shelf";
    private static readonly DateTimeOffset Oct2011 = new(2011, 10, 31, 13, 24, 24, TimeSpan.Zero);

    [Fact]
    public void Rfc_8428_5_1_1_single_data_point()
    {
        Values(Topic, """[{"n":"urn:dev:ow:10e2073a01080063","u":"Cel","v":23.1}]""").Values
            .Should().Equal(new Measured(Quantity.Temperature, 23.1, null));
    }

    [Fact]
    public void Rfc_8428_5_1_2_multiple_data_points_with_base_time_and_unit()
    {
        var m = Values(Topic, """
            [{"bn":"urn:dev:ow:10e2073a0108006:","bt":1.276020076001e+09,"bu":"A","bver":5,"n":"voltage","u":"V","v":120.1},
             {"n":"current","t":-5,"v":1.2},{"n":"current","t":-4,"v":1.3},{"n":"current","t":-3,"v":1.4},
             {"n":"current","t":-2,"v":1.5},{"n":"current","t":-1,"v":1.6},{"n":"current","v":1.7}]
            """);

        // The RFC's own reading of its time: Tue Jun 8 18:01:16.001 UTC 2010.
        var only = m.Values.Should().ContainSingle("no quantity of ours is in amperes").Subject;
        only.Should().Be(new Measured(Quantity.BatteryVolts, 120.1, only.DeviceTime));
        only.DeviceTime.Should().BeCloseTo(new DateTimeOffset(2010, 6, 8, 18, 1, 16, 1, TimeSpan.Zero), TimeSpan.FromMicroseconds(1));
        m.Note.Should().Contain("6 of the values");
    }

    [Fact]
    public void Rfc_8428_5_1_3_multiple_measurements_resolve_as_in_5_1_4()
    {
        var m = Values(Topic, """
            [{"bn":"urn:dev:ow:10e2073a01080063","bt":1.320067464e+09,"bu":"%RH","v":20},
             {"u":"lon","v":24.30621},{"u":"lat","v":60.07965},
             {"t":60,"v":20.3},{"u":"lon","t":60,"v":24.30622},{"u":"lat","t":60,"v":60.07965},
             {"t":120,"v":20.7},{"u":"lon","t":120,"v":24.30623},{"u":"lat","t":120,"v":60.07966},
             {"u":"%EL","t":150,"v":98},
             {"t":180,"v":21.2},{"u":"lon","t":180,"v":24.30628},{"u":"lat","t":180,"v":60.07967}]
            """);

        m.Values.Should().Equal(
            new Measured(Quantity.Humidity, 20, Oct2011),
            new Measured(Quantity.Humidity, 20.3, Oct2011.AddSeconds(60)),
            new Measured(Quantity.Humidity, 20.7, Oct2011.AddSeconds(120)),
            new Measured(Quantity.BatteryPercent, 98, Oct2011.AddSeconds(150)),
            new Measured(Quantity.Humidity, 21.2, Oct2011.AddSeconds(180)));
        m.Note.Should().Contain("8 of the values");
    }

    [Fact]
    public void Rfc_8428_5_1_5_texts_truths_and_data_are_left()
    {
        var m = Values(Topic, """
            [{"bn":"urn:dev:ow:10e2073a01080063:","n":"temp","u":"Cel","v":23.1},
             {"n":"label","vs":"Machine Room"},{"n":"open","vb":false},{"n":"nfv-reader","vd":"aGkgCg"}]
            """);

        m.Values.Should().Equal(new Measured(Quantity.Temperature, 23.1, null));
        m.Note.Should().BeNull();
    }

    [Fact]
    public void Rfc_8428_5_1_6_base_fields_hold_until_replaced()
    {
        var m = Values(Topic, """
            [{"bn":"2001:db8::2/","bt":1.320078429e+09,"n":"temperature","u":"Cel","v":25.2},{"n":"humidity","u":"%RH","v":30},
             {"bn":"2001:db8::1/","n":"temperature","u":"Cel","v":12.3},{"n":"humidity","u":"%RH","v":67}]
            """);

        // The RFC's own reading: Mon Oct 31 16:27:09 UTC 2011.
        var then = new DateTimeOffset(2011, 10, 31, 16, 27, 9, TimeSpan.Zero);
        m.Values.Should().Equal(
            new Measured(Quantity.Temperature, 25.2, then),
            new Measured(Quantity.Humidity, 30, then),
            new Measured(Quantity.Temperature, 12.3, then),
            new Measured(Quantity.Humidity, 67, then));
    }

    [Fact]
    public void Rfc_8428_5_1_7_a_switch_is_no_humidity_though_its_unit_is_a_share()
    {
        var m = Values(Topic, """
            [{"bn":"urn:dev:ow:10e2073a01080063:"},{"n":"temp","u":"Cel","v":23.1},{"n":"heat","u":"/","v":1},{"n":"fan","u":"/","v":0}]
            """);

        m.Values.Should().Equal(new Measured(Quantity.Temperature, 23.1, null));
        m.Note.Should().Contain("2 of the values");
    }

    [Theory]
    [InlineData("pulp", "Cel", 5, 3, 5)]
    [InlineData("probe", "Cel", 5, 3, 5)]
    [InlineData("node7/pulp_c", "Cel", 5, 3, 5)]
    [InlineData("pulp_f", null, 50, 3, 10)]
    [InlineData("humidity", "/", 0.9, 2, 90)]
    [InlineData("battery", "/", 0.8, 9, 80)]
    [InlineData("battery", "V", 2.9, 8, 2.9)]
    [InlineData("light", "lx", 3, 4, 3)]
    [InlineData("co2", "ppm", 800, 5, 800)]
    [InlineData("pressure", "Pa", 101325, 6, 101325)]
    [InlineData("weight", "kg", 20, 7, 20)]
    public void Name_and_unit_together_say_what_it_is(string name, string? unit, double given, int quantity, double value)
    {
        var u = unit is null ? "" : $",\"u\":\"{unit}\"";
        var only = Values(Topic, FormattableString.Invariant(
            $$"""[{"bn":"urn:dev:mac:0024befffe804ff1:","n":"{{name}}"{{u}},"v":{{given}}}]""")).Values.Should().ContainSingle().Subject;

        only.Quantity.Should().Be((Quantity)quantity);
        only.Value.Should().BeApproximately(value, 1e-9);
    }

    [Fact]
    public void A_base_value_is_added_4_5_4()
    {
        Values(Topic, """[{"bu":"Cel","bv":20,"v":1.5},{"v":-2}]""").Values.Select(v => v.Value).Should().Equal(21.5, 18);
    }

    [Theory]
    [InlineData("268435455", "8.5 years ahead", 268435455)]
    [InlineData("-60", "a minute ago", -60)]
    public void Times_below_2_to_the_28_are_relative_4_5_3(string time, string why, double seconds)
    {
        Values(Topic, $$"""[{"u":"Cel","v":5,"t":{{time}}}]""").Values[0].DeviceTime.Should().Be(Now.AddSeconds(seconds), why);
    }

    [Fact]
    public void From_2_to_the_28_a_time_is_absolute_4_5_3()
    {
        // The RFC names this moment.
        Values(Topic, """[{"u":"Cel","v":5,"t":268435456}]""").Values[0].DeviceTime.Should()
            .Be(new DateTimeOffset(1978, 7, 4, 21, 24, 16, TimeSpan.Zero));
    }

    [Theory]
    [InlineData("""[{"u":"Cel","v":5},{"u":"%RH","v":90,"calibrated_":true}]""", "calibrated_")]
    [InlineData("""[{"bver":11,"u":"Cel","v":5}]""", "version")]
    [InlineData("""[{"u":"A","v":5}]""", "unit")]
    [InlineData("[]", "no record")]
    [InlineData("[5]", "not an object")]
    [InlineData("""[{"u":"Cel","v":5}""", "not JSON")]
    public void A_pack_that_must_not_be_used_is_refused_whole_4_4(string payload, string says)
    {
        Problem(Topic, payload).Problem.Should().Contain(says);
    }

    [Fact]
    public void Fields_it_does_not_know_are_left_4_4()
    {
        Values(Topic, """[{"bver":10,"u":"Cel","v":5,"colour":"blue","ut":300}]""").Values.Should().ContainSingle();
    }
}
