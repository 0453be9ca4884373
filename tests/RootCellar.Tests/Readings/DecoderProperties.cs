using System.Globalization;
using System.Text;
using CsCheck;
using RootCellar.Readings;

namespace RootCellar.Tests.Readings;

public class DecoderProperties
{
    private static readonly DateTimeOffset Now = new(2025, 10, 4, 6, 0, 0, TimeSpan.Zero);

    private static readonly Mapping[] Mappings =
    [
        new() { Topic = "m/#", Pointer = "/a/0", Quantity = "temperature_f" },
        new() { Topic = "n/+", Quantity = "weight_lb", Scale = 3 },
    ];

    private static readonly string[] OurTopics = ["rootcellar/a/b", "rootcellar/a/b/temperature_c", "rootcellar/a/b/status", "m/x", "n/x"];

    private static readonly string[] Pieces =
    [
        "{", "}", "[", "]", "\"", ":", ",", "\"temperature_c\"", "\"time\"", "\"v\"", "\"u\"", "\"Cel\"", "\"bt\"", "\"a\"", "1e999",
        "-0.0", "1e-320", "null", "true", "\\ud800", "\"\\u0000\"", "\u00ff", "nan", "123456789012345678901234567890",
    ];

    private static readonly Gen<string> Topics = Gen.OneOf(
        Gen.String,
        Gen.Int[0, 4].Select(i => OurTopics[i]),
        Gen.String.Select(s => "rootcellar/" + s),
        Gen.String.Select(s => "m/" + s));

    // Bytes out of the blue seldom get past the first brace; pieces of real messages do.
    private static readonly Gen<byte[]> Payloads = Gen.OneOf(
        Gen.Byte.Array[0, 200],
        Gen.Int[0, Pieces.Length - 1].Select(i => Pieces[i])
            .Array[0, 30].Select(pieces => Encoding.Latin1.GetBytes(string.Concat(pieces))));

    [Fact]
    public void Arbitrary_topics_and_bytes_never_throw()
    {
        var decoder = new PayloadDecoder(Mappings);
        Gen.Select(Topics, Payloads).Sample((topic, payload) => decoder.Decode(topic, payload, Now) is not null, iter: 20_000);
    }

    [Fact]
    public void A_number_is_read_back_exactly() => Gen.Double.Where(double.IsFinite).Sample(
        value =>
        {
            var text = value.ToString("R", CultureInfo.InvariantCulture);
            return Value("rootcellar/a/b/light_lx", text).Equals(value)
                && Value("rootcellar/a/b", $$"""{"light_lx":{{text}}}""").Equals(value)
                && Value("rootcellar/a/b", $$"""{"light_lx":"{{text}}"}""").Equals(value)
                && Value("rootcellar/a/b", $$"""[{"u":"lx","v":{{text}}}]""").Equals(value);
        },
        iter: 5_000);

    private static double Value(string topic, string payload) =>
        ((Decoded.Measurements)new PayloadDecoder([]).Decode(topic, Encoding.UTF8.GetBytes(payload), Now)).Values[0].Value;
}
