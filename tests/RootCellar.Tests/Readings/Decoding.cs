using System.Text;
using RootCellar.Readings;

namespace RootCellar.Tests.Readings;

internal static class Decoding
{
    public static readonly DateTimeOffset Now = new(2026, 11, 25, 12, 0, 0, TimeSpan.Zero);

    public static Decoded Decode(string topic, string payload, params Mapping[] mappings) =>
        new PayloadDecoder(mappings).Decode(topic, Encoding.UTF8.GetBytes(payload), Now);

    public static Decoded.Measurements Values(string topic, string payload, params Mapping[] mappings) =>
        Decode(topic, payload, mappings).Should().BeOfType<Decoded.Measurements>().Subject;

    public static Decoded.Unreadable Problem(string topic, string payload, params Mapping[] mappings) =>
        Decode(topic, payload, mappings).Should().BeOfType<Decoded.Unreadable>().Subject;
}
