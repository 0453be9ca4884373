using RootCellar.Readings;

namespace RootCellar.Tests.Readings;

/// <summary>SenML JSON. The examples are those of RFC 8428 (August 2018), each with the section it stands in.</summary>
public class SenmlTests
{
    // "now" of the RFC's own examples is about these absolute times.
    private static readonly DateTimeOffset Now = DateTimeOffset.FromUnixTimeSeconds(1_320_078_430);

    private static Decoded Decode(string pack) => new PayloadDecoder([]).Decode("rootcellar/cellar/node", System.Text.Encoding.UTF8.GetBytes(pack), Now);

    private static string Shown(Decoded decoded) => decoded is Decoded.Measurements m
        ? string.Join(", ", m.Values.Select(v => FormattableString.Invariant($"{v.Quantity} {Math.Round(v.Value, 6)} {(v.DeviceTime is { } t ? (t - DateTimeOffset.UnixEpoch).TotalSeconds : -1):0.###}")))
        : "unreadable";

    [Theory]
    [InlineData("5.1.1", """[{"n":"urn:dev:ow:10e2073a01080063","u":"Cel","v":23.1}]""", "Temperature 23.1 -1")]
    [InlineData("5.1.2, first", """[{"bn":"urn:dev:ow:10e2073a01080063:","n":"voltage","u":"V","v":120.1},{"n":"current","u":"A","v":1.2}]""", "BatteryVolts 120.1 -1")]
    [InlineData(
        "5.1.2, second",
        """[{"bn":"urn:dev:ow:10e2073a0108006:","bt":1.276020076001e+09,"bu":"A","bver":5,"n":"voltage","u":"V","v":120.1},{"n":"current","t":-5,"v":1.2},{"n":"current","v":1.7}]""",
        "BatteryVolts 120.1 1276020076.001")]
    [InlineData(
        "5.1.3",
        """
        [{"bn":"urn:dev:ow:10e2073a01080063","bt":1.320067464e+09,"bu":"%RH","v":20},{"u":"lon","v":24.30621},{"u":"lat","v":60.07965},
        {"t":60,"v":20.3},{"u":"lon","t":60,"v":24.30622},{"u":"lat","t":60,"v":60.07965},
        {"t":120,"v":20.7},{"u":"lon","t":120,"v":24.30623},{"u":"lat","t":120,"v":60.07966},
        {"u":"%EL","t":150,"v":98},{"t":180,"v":21.2},{"u":"lon","t":180,"v":24.30628},{"u":"lat","t":180,"v":60.07967}]
        """,
        "Humidity 20 1320067464, Humidity 20.3 1320067524, Humidity 20.7 1320067584, BatteryPercent 98 1320067614, Humidity 21.2 1320067644")]
    [InlineData(
        "5.1.4, the example before it resolved; its humidities and battery",
        """[{"n":"urn:dev:ow:10e2073a01080063","u":"%RH","t":1.320067464e+09,"v":20},{"n":"urn:dev:ow:10e2073a01080063","u":"%EL","t":1.320067614e+09,"v":98}]""",
        "Humidity 20 1320067464, BatteryPercent 98 1320067614")]
    [InlineData(
        "5.1.5",
        """[{"bn":"urn:dev:ow:10e2073a01080063:","n":"temp","u":"Cel","v":23.1},{"n":"label","vs":"Machine Room"},{"n":"open","vb":false},{"n":"nfv-reader","vd":"aGkgCg"}]""",
        "Temperature 23.1 -1")]
    [InlineData(
        "5.1.6",
        """[{"bn":"2001:db8::2/","bt":1.320078429e+09,"n":"temperature","u":"Cel","v":25.2},{"n":"humidity","u":"%RH","v":30},{"bn":"2001:db8::1/","n":"temperature","u":"Cel","v":12.3},{"n":"humidity","u":"%RH","v":67}]""",
        "Temperature 25.2 1320078429, Humidity 30 1320078429, Temperature 12.3 1320078429, Humidity 67 1320078429")]
    [InlineData("5.1.7, switches are no humidity", """[{"bn":"urn:dev:ow:10e2073a01080063:"},{"n":"temp","u":"Cel","v":23.1},{"n":"heat","u":"/","v":1},{"n":"fan","u":"/","v":0}]""", "Temperature 23.1 -1")]
    [InlineData("5.1.7, lights", """[{"bt":1.320078429e+09,"bu":"/","n":"2001:db8::3","v":1},{"n":"2001:db8::4","v":1}]""", "unreadable")]
    public void The_examples_of_RFC_8428(string section, string pack, string expected) => Shown(Decode(pack)).Should().Be(expected, "section {0}", section);

    [Theory]
    [InlineData("base value is added", """[{"bu":"Cel","bv":20,"v":0.5},{"v":1}]""", "Temperature 20.5 -1, Temperature 21 -1")]
    [InlineData("the order of fields in a record says nothing", """[{"v":0.5,"u":"Cel","bv":20}]""", "Temperature 20.5 -1")]
    [InlineData("the own unit goes before the base unit", """[{"bu":"%RH","v":50},{"u":"lx","v":3}]""", "Humidity 50 -1, Light 3 -1")]
    [InlineData("version 10 is known", """[{"bver":10,"u":"Cel","v":1}]""", "Temperature 1 -1")]
    [InlineData("a newer version is not", """[{"bver":11,"u":"Cel","v":1}]""", "unreadable")]
    [InlineData("what must be understood and is not refuses the whole pack, section 4.4", """[{"u":"Cel","v":1},{"secret_":1,"u":"Cel","v":2}]""", "unreadable")]
    [InlineData("other unknown fields are passed over", """[{"u":"Cel","v":1,"secret":1,"ut":60,"s":5}]""", "Temperature 1 -1")]
    [InlineData("below 2^28 a time is relative to now, section 4.5.3", """[{"u":"Cel","v":1,"t":-60}]""", "Temperature 1 1320078370")]
    [InlineData("just below", """[{"u":"Cel","v":1,"t":268435455}]""", "Temperature 1 1588513885")]
    [InlineData("from 2^28 it is absolute", """[{"u":"Cel","v":1,"t":268435456}]""", "Temperature 1 268435456")]
    [InlineData("base time and time are added first", """[{"bt":268435400,"u":"Cel","v":1,"t":60}]""", "Temperature 1 268435460")]
    [InlineData("an absurd time does not throw", """[{"u":"Cel","v":1,"t":-1e308},{"u":"Cel","v":2,"t":1e308}]""", "Temperature 1 0, Temperature 2 -1")]
    [InlineData("the units of the job", """[{"u":"Cel","v":1},{"u":"%RH","v":2},{"u":"lx","v":3},{"u":"Pa","v":4},{"u":"kg","v":5},{"u":"V","v":6},{"u":"ppm","v":7}]""", "Temperature 1 -1, Humidity 2 -1, Light 3 -1, Pressure 4 -1, Weight 5 -1, BatteryVolts 6 -1, Co2 7 -1")]
    [InlineData("others beside them", """[{"u":"K","v":283.15},{"n":"rh","u":"/","v":0.9},{"n":"battery","u":"%","v":80},{"u":"dBW","v":-100}]""", "Temperature 10 -1, Humidity 90 -1, SignalStrength -70 -1")]
    [InlineData("the name says which temperature", """[{"bn":"n1:","n":"pulp","u":"Cel","v":4},{"n":"air","u":"Cel","v":5},{"n":"pulp_c","v":6}]""", "Pulp 4 -1, Temperature 5 -1, Pulp 6 -1")]
    [InlineData("a record that is no object", """[1]""", "unreadable")]
    [InlineData("an empty pack", """[]""", "unreadable")]
    [InlineData("a value that is text", """[{"u":"Cel","v":"1"}]""", "unreadable")]
    [InlineData("cut off", """[{"u":"Cel","v":1},{"u":""", "unreadable")]
    public void Rules(string why, string pack, string expected) => Shown(Decode(pack)).Should().Be(expected, why);
}
