namespace RootCellar.Readings;

/// <summary>What a value most likely is. It is asked, never assumed.</summary>
/// <param name="Quantity">A name as in topics: temperature_c, humidity_pct ...</param>
/// <param name="Unit">As a mapping takes it; null where it is the unit of the name.</param>
/// <param name="Likely">How sure, 0 to 1: by name and unit, by name alone, by unit alone (assumed steps).</param>
internal sealed record ValueGuess(string Quantity, string? Unit, double Likely);

/// <summary>Guesses by the names that stand at a value and before it, by the unit behind it, and by what values there can be.</summary>
internal static class ValueGuesses
{
    private const double ByBoth = 0.95;
    private const double ByName = 0.8;
    private const double ByUnit = 0.6;

    // Warmer than any air a cellar or a curing room sees, in C: then it is F. Assumed.
    private const double WarmestC = 45;

    // And hotter than any room: then it is neither. Assumed.
    private const double HottestF = 120;

    private static readonly Dictionary<string, (string Quantity, string? Unit)> ByUnits = new(StringComparer.OrdinalIgnoreCase)
    {
        ["°C"] = ("temperature_c", null),
        ["C"] = ("temperature_c", null),
        ["°F"] = ("temperature_c", "F"),
        ["F"] = ("temperature_c", "F"),
        ["Cel"] = ("temperature_c", null),
        ["K"] = ("temperature_c", "K"),
        ["%"] = ("humidity_pct", null),
        ["%RH"] = ("humidity_pct", null),
        ["ppm"] = ("co2_ppm", null),
        ["lx"] = ("light_lx", null),
        ["lux"] = ("light_lx", null),
        ["hPa"] = ("pressure_pa", "hPa"),
        ["mbar"] = ("pressure_pa", "hPa"),
        ["Pa"] = ("pressure_pa", null),
        ["kPa"] = ("pressure_pa", "kPa"),
        ["mmHg"] = ("pressure_pa", "mmHg"),
        ["inHg"] = ("pressure_pa", "inHg"),
        ["dBm"] = ("rssi_dbm", null),
        ["V"] = ("battery_v", null),
        ["mV"] = ("battery_v", "mV"),
        ["kg"] = ("weight_kg", null),
        ["lb"] = ("weight_kg", "lb"),
        ["g"] = ("weight_kg", "g"),
        ["%EL"] = ("battery_pct", null),
    };

    /// <param name="topic">Whose last levels may say what it is.</param>
    /// <param name="value">A value of its payload.</param>
    /// <param name="all">The others, among which one may say the unit ("TempUnit": "C").</param>
    /// <returns>Null where nothing speaks for anything.</returns>
    public static ValueGuess? Of(string topic, FoundValue value, IReadOnlyList<FoundValue> all)
    {
        if (value.Value is not { } number) return null;
        var (name, byName) = Names(topic, value).Select(n => (n.Name, SensorWords.Quantity(n.Name, n.OfField))).FirstOrDefault(n => n.Item2 is not null);
        if (byName == SensorWords.Other) return null;
        var byUnit = value.Unit is { } unit && ByUnits.TryGetValue(Plain(unit), out var u) ? u : ((string Quantity, string? Unit)?)null;
        if (byName is null) return byUnit is { } alone && Possible(alone.Quantity, alone.Unit, number) ? new ValueGuess(alone.Quantity, alone.Unit, ByUnit) : null;
        var named = SensorWords.Unit(name, byName);
        // "battery": 2.9 is volts, 97 percent, and "3 %" too.
        if (byName == "battery_pct" && (byUnit?.Quantity == "battery_v" || (byUnit is null && (named is not null || number is > 0 and < 5 and not 1)))) byName = "battery_v";
        // A probe's figure has the units of a temperature.
        var agrees = byUnit is { } both && (both.Quantity == byName || (byName == "pulp_c" && both.Quantity == "temperature_c"));
        var said = agrees ? byUnit!.Value.Unit : UnitOf(byName, named, number, all);
        return Possible(byName, said, number) ? new ValueGuess(byName, said, agrees ? ByBoth : ByName) : null;
    }

    // From the nearest name outwards; what a message says beside a value is nearer than that it is a value.
    private static List<(string Name, bool OfField)> Names(string topic, FoundValue value)
    {
        var names = (value.Pointer ?? "").Split('/', StringSplitOptions.RemoveEmptyEntries).Reverse().Select(n => (Name: n, OfField: true)).ToList();
        if (value.Label is { } label)
        {
            names.RemoveAt(0);
            names.Insert(0, (label, true));
        }

        if (value.Pick is { } pick && !char.IsAsciiDigit(pick[0])) names.Insert(0, (pick, true));
        names.AddRange(topic.Split('/').Reverse().Take(3).Select(n => (n, false)));
        return [.. names.Where(n => !n.Name.All(char.IsAsciiDigit))];
    }

    // "° C", "*C", "degC" and "Celsius" are written for °C.
    private static string Plain(string unit)
    {
        unit = string.Concat(unit.Where(c => !char.IsWhiteSpace(c))).Replace('º', '°').Replace('*', '°');
        foreach (var word in (string[])["degrees", "degree", "deg"])
        {
            if (unit.StartsWith(word, StringComparison.OrdinalIgnoreCase)) unit = "°" + unit[word.Length..];
        }

        return unit.EndsWith("celsius", StringComparison.OrdinalIgnoreCase) ? "°C" : unit.EndsWith("fahrenheit", StringComparison.OrdinalIgnoreCase) ? "°F" : unit;
    }

    private static string? UnitOf(string quantity, string? named, double value, IReadOnlyList<FoundValue> all)
    {
        switch (quantity)
        {
            case "temperature_c" or "pulp_c":
                var said = all.FirstOrDefault(v => v.Value is null && v.Pointer?.Contains("unit", StringComparison.OrdinalIgnoreCase) == true
                    && v.Text is "C" or "F" or "°C" or "°F")?.Text;
                if ((named ?? said) is { } known) return known is "F" or "°F" ? "F" : known == "K" ? "K" : null;
                return value is > WarmestC and <= HottestF ? "F" : null;
            case "pressure_pa":
                // Inches of mercury from 20 to 32 and kPa from 50 to 110: the air of any place people live in. Assumed.
                return named is not null ? (named == "Pa" ? null : named)
                    : value switch { > 20 and < 32 => "inHg", > 50 and < 110 => "kPa", < 2_000 => "hPa", _ => null };
            case "battery_v":
                return named == "mV" || value > 100 ? "mV" : null;
            case "humidity_pct" or "battery_pct":
                return value is > 0 and <= 1 ? "/" : null;
            case "weight_kg":
                return named == "kg" ? null : named;
            default:
                return null;
        }
    }

    private static bool Possible(string quantity, string? unit, double value) => quantity switch
    {
        "temperature_c" or "pulp_c" when unit == "F" => value is > -40 and < 140,
        "temperature_c" or "pulp_c" when unit == "K" => value is > 233 and < 333,
        "temperature_c" or "pulp_c" => value is > -40 and < 60,
        "humidity_pct" or "battery_pct" => value is >= 0 and <= 101,
        "co2_ppm" => value is >= 200 and <= 100_000,
        "light_lx" => value is >= 0 and <= 200_000,
        "rssi_dbm" => value is < 0 and > -150,
        _ => true,
    };
}
