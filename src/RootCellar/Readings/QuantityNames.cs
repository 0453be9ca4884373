using RootCellar.Science;

namespace RootCellar.Readings;

/// <summary>A quantity in the unit a sensor used, and the way to SI: value * Factor + Offset.</summary>
internal readonly record struct Scale(Quantity Quantity, double Factor, double Offset)
{
    public double ToSi(double value) => (value * Factor) + Offset;
}

/// <summary>The names of quantities in topics and payloads, and the units of mappings and SenML.</summary>
internal static class QuantityNames
{
    private static readonly Dictionary<string, Scale> Named = new(StringComparer.Ordinal)
    {
        ["temperature_c"] = new(Quantity.Temperature, 1, 0),
        // (F - 32) * 5/9, written as one factor and one offset.
        ["temperature_f"] = new(Quantity.Temperature, 5.0 / 9, -160.0 / 9),
        ["humidity_pct"] = new(Quantity.Humidity, 1, 0),
        ["pulp_c"] = new(Quantity.Pulp, 1, 0),
        ["pulp_f"] = new(Quantity.Pulp, 5.0 / 9, -160.0 / 9),
        ["light_lx"] = new(Quantity.Light, 1, 0),
        ["co2_ppm"] = new(Quantity.Co2, 1, 0),
        ["pressure_pa"] = new(Quantity.Pressure, 1, 0),
        ["weight_kg"] = new(Quantity.Weight, 1, 0),
        ["weight_lb"] = new(Quantity.Weight, Pound.Kilograms, 0),
        ["battery_v"] = new(Quantity.BatteryVolts, 1, 0),
        ["battery_pct"] = new(Quantity.BatteryPercent, 1, 0),
        ["rssi_dbm"] = new(Quantity.SignalStrength, 1, 0),
    };

    // SenML units of RFC 8428 section 12.1 (and ppm, RFC 8798), with the units people write in mappings.
    private static readonly Dictionary<string, (double Factor, double Offset, Quantity[] For)> Units = new(StringComparer.Ordinal)
    {
        ["Cel"] = (1, 0, [Quantity.Temperature, Quantity.Pulp]),
        ["°C"] = (1, 0, [Quantity.Temperature, Quantity.Pulp]),
        ["°F"] = (5.0 / 9, -160.0 / 9, [Quantity.Temperature, Quantity.Pulp]),
        ["C"] = (1, 0, [Quantity.Temperature, Quantity.Pulp]),
        ["F"] = (5.0 / 9, -160.0 / 9, [Quantity.Temperature, Quantity.Pulp]),
        ["K"] = (1, -273.15, [Quantity.Temperature, Quantity.Pulp]),
        ["%RH"] = (1, 0, [Quantity.Humidity]),
        ["%"] = (1, 0, [Quantity.Humidity, Quantity.BatteryPercent]),
        ["/"] = (100, 0, [Quantity.Humidity, Quantity.BatteryPercent]),
        ["0-1"] = (100, 0, [Quantity.Humidity, Quantity.BatteryPercent]),
        ["lx"] = (1, 0, [Quantity.Light]),
        ["ppm"] = (1, 0, [Quantity.Co2]),
        ["Pa"] = (1, 0, [Quantity.Pressure]),
        ["hPa"] = (100, 0, [Quantity.Pressure]),
        ["kPa"] = (1000, 0, [Quantity.Pressure]),
        // Conventional mercury, NIST SP 811, table B.8 (from memory).
        ["mmHg"] = (133.3224, 0, [Quantity.Pressure]),
        ["inHg"] = (3386.389, 0, [Quantity.Pressure]),
        ["kg"] = (1, 0, [Quantity.Weight]),
        ["g"] = (0.001, 0, [Quantity.Weight]),
        ["lb"] = (Pound.Kilograms, 0, [Quantity.Weight]),
        ["oz"] = (Pound.Kilograms / 16, 0, [Quantity.Weight]),
        ["V"] = (1, 0, [Quantity.BatteryVolts]),
        ["mV"] = (0.001, 0, [Quantity.BatteryVolts]),
        ["%EL"] = (1, 0, [Quantity.BatteryPercent]),
        ["dBm"] = (1, 0, [Quantity.SignalStrength]),
        ["dBW"] = (1, 30, [Quantity.SignalStrength]),
    };

    // Words that sensors use in SenML names; where the unit alone is not enough, the last word of the name decides.
    private static readonly Dictionary<string, Quantity> Words = new(StringComparer.OrdinalIgnoreCase)
    {
        ["temperature"] = Quantity.Temperature,
        ["temp"] = Quantity.Temperature,
        ["air"] = Quantity.Temperature,
        ["humidity"] = Quantity.Humidity,
        ["rh"] = Quantity.Humidity,
        ["pulp"] = Quantity.Pulp,
        ["probe"] = Quantity.Pulp,
        ["light"] = Quantity.Light,
        ["lux"] = Quantity.Light,
        ["co2"] = Quantity.Co2,
        ["pressure"] = Quantity.Pressure,
        ["weight"] = Quantity.Weight,
        ["battery"] = Quantity.BatteryVolts,
        ["rssi"] = Quantity.SignalStrength,
    };

    public static IReadOnlyCollection<string> All => Named.Keys;

    public static bool TryFind(ReadOnlySpan<char> name, out Scale scale) =>
        Named.GetAlternateLookup<ReadOnlySpan<char>>().TryGetValue(name, out scale);

    /// <summary>What a SenML record measures, from its resolved name and unit; false when the two do not say.</summary>
    public static bool TryFromSenml(ReadOnlySpan<char> name, string? unit, out Scale scale)
    {
        var word = name[(name.LastIndexOfAny("/:. ") + 1)..];
        if (TryFind(word, out scale) && unit is null) return true;
        var known = Words.GetAlternateLookup<ReadOnlySpan<char>>().TryGetValue(word, out var named) ? named
            : TryFind(word, out var contract) ? contract.Quantity
            : (Quantity?)null;
        scale = default;
        if (unit is null || !Units.TryGetValue(unit, out var u)) return false;
        if (known is Quantity.BatteryVolts && u.For.Contains(Quantity.BatteryPercent)) known = Quantity.BatteryPercent;
        // A share of what? Soil, valve and tank are in % too; only the name can say.
        if (unit is "%" or "/" or "0-1" && !(known is { } of && u.For.Contains(of))) return false;
        var quantity = known is { } k && u.For.Contains(k) ? k : u.For[0];
        scale = new Scale(quantity, u.Factor, u.Offset);
        return true;
    }

    /// <summary>The scale of a mapping; the problem in words when it makes none.</summary>
    public static string? Read(string? quantity, string? unit, double? factor, out Scale scale)
    {
        if (quantity is null || !TryFind(quantity, out scale))
        {
            scale = default;
            return $"Quantity: '{quantity}' is not one of {string.Join(", ", Named.Keys)}.";
        }

        var times = factor ?? 1;
        if (!double.IsFinite(times) || times == 0) return $"Scale: {times} is not a number to multiply by.";
        if (!string.IsNullOrEmpty(unit))
        {
            var of = scale.Quantity;
            if (!Units.TryGetValue(unit, out var u) || !u.For.Contains(of))
            {
                return $"Unit: '{unit}' does not go with {quantity}. Right: {string.Join(", ", Units.Where(x => x.Value.For.Contains(of)).Select(x => x.Key))}.";
            }

            scale = new Scale(of, u.Factor, u.Offset);
        }

        scale = scale with { Factor = scale.Factor * times };
        return null;
    }
}
