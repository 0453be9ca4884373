using System.Text;
using System.Text.Json;

namespace RootCellar.Readings;

/// <summary>SenML JSON, RFC 8428: base fields, the 2^28 rule for times, keys that must be understood.</summary>
internal static class SenmlPack
{
    private const int KnownVersion = 10;

    // Three quantities every five minutes for a day are 864. What a message may hold also bounds what may wait in memory.
    private const int MostValues = 2_000;

    // RFC 8428 section 4.5.3: from here on a time is absolute, below it is relative to now.
    private const double AbsoluteFrom = 1 << 28;

    public static Decoded Decode(string sensor, string? place, ReadOnlyMemory<byte> payload, DateTimeOffset now)
    {
        using var document = JsonDocument.Parse(payload, new JsonDocumentOptions { MaxDepth = 8 });
        string baseName = "", baseUnit = "";
        double baseTime = 0, baseValue = 0;
        var values = new List<Measured>();
        var unknown = 0;
        foreach (var record in document.RootElement.EnumerateArray())
        {
            if (record.ValueKind != JsonValueKind.Object) return new Decoded.Unreadable(sensor, "SenML: a record is not an object");
            string? name = null, unit = null;
            double? value = null, time = null;
            foreach (var field in record.EnumerateObject())
            {
                switch (field.Name)
                {
                    case "bn": baseName = Text(field.Value) ?? ""; break;
                    case "bu": baseUnit = Text(field.Value) ?? ""; break;
                    case "bt": baseTime = Number(field.Value) ?? 0; break;
                    case "bv": baseValue = Number(field.Value) ?? 0; break;
                    case "bver" when Number(field.Value) is > KnownVersion:
                        return new Decoded.Unreadable(
                        sensor, $"SenML: version above {KnownVersion}");
                    case "n": name = Text(field.Value); break;
                    case "u": unit = Text(field.Value); break;
                    case "v": value = Number(field.Value) ?? NotFinite(field.Value); break;
                    case "t": time = Number(field.Value); break;
                    default:
                        // RFC 8428 section 4.4: a name that ends in _ must be understood, or the whole pack is refused.
                        if (field.Name.EndsWith('_'))
                            return new Decoded.Unreadable(sensor, $"SenML: the field {field.Name} must be understood and is not");
                        break;
                }
            }

            if (value is not { } v) continue;
            unit ??= baseUnit.Length > 0 ? baseUnit : null;
            if (!QuantityNames.TryFromSenml(baseName + name, unit, out var scale))
            {
                unknown++;
                continue;
            }

            if (values.Count == MostValues)
                return new Decoded.Unreadable(sensor, $"SenML: more than {MostValues} values in one message; send them in several");
            values.Add(new Measured(scale.Quantity, scale.ToSi(baseValue + v), Time(baseTime + (time ?? 0), now)));
        }

        return values.Count > 0
            ? new Decoded.Measurements(sensor, place, values)
            { Note = unknown == 0 ? null : $"SenML: {unknown} of the values have no unit and name that say what they are" }
            : new Decoded.Unreadable(sensor, "SenML: no record with a value whose unit is known (Cel, %RH, lx, Pa, kg, V, ppm)");
    }

    private static DateTimeOffset? Time(double resolved, DateTimeOffset now)
    {
        if (resolved >= AbsoluteFrom) return DeviceClock.FromUnix(resolved);
        // Zero is "about now": the arrival time says it as well.
        if (resolved == 0 || double.IsNaN(resolved)) return null;
        // Further back than any clock here goes: as absurd as it is, it must not throw.
        return resolved < -1e9 ? DateTimeOffset.UnixEpoch : now.AddSeconds(resolved);
    }

    private static string? Text(JsonElement value) => value.ValueKind == JsonValueKind.String ? value.GetString() : null;

    // RFC 8428 knows no such value; a sensor whose read failed may write it all the same, and then it is a reading that is not believed.
    private static double? NotFinite(JsonElement value) =>
        value.ValueKind == JsonValueKind.String && Encoding.UTF8.GetBytes(value.GetString()!) is var word && BareWords.IsNotFinite(word)
            && PayloadDecoder.TryReading(word, out var number) ? number : null;

    private static double? Number(JsonElement value) => value.ValueKind == JsonValueKind.Number && value.TryGetDouble(out var number)
        ? number : null;
}
