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

    // What sensors' makers call their quantities, in small letters; the longer first.
    private static readonly (string Word, string Quantity)[] Words =
    [
        ("temperature", "temperature_c"), ("humidity", "humidity_pct"), ("illuminance", "light_lx"), ("pressure", "pressure_pa"), ("battery", "battery_pct"),
        ("carbondioxide", "co2_ppm"), ("moisture", ""), ("dewpoint", ""), ("feelslike", ""), ("voltage", "battery_v"), ("batv", "battery_v"), ("weight", "weight_kg"), ("soil", ""),
        ("light", "light_lx"), ("rssi", "rssi_dbm"), ("temp", "temperature_c"), ("eco2", ""), ("tvoc", ""), ("batt", "battery_pct"), ("vbat", "battery_v"), ("lux", "light_lx"),
        ("co2", "co2_ppm"), ("hum", "humidity_pct"),
    ];

    // Names that mean it only when they are the whole name.
    private static readonly Dictionary<string, string> Whole = new(StringComparer.Ordinal)
    {
        ["t"] = "temperature_c",
        ["tc"] = "temperature_c",
        ["tf"] = "temperature_c",
        ["h"] = "humidity_pct",
        ["rh"] = "humidity_pct",
        ["bat"] = "battery_pct",
        ["v"] = "battery_v",
        ["p"] = "pressure_pa",
    };

    private static readonly Dictionary<string, (string Quantity, string? Unit)> ByUnits = new(StringComparer.OrdinalIgnoreCase)
    {
        ["°C"] = ("temperature_c", null),
        ["° C"] = ("temperature_c", null),
        ["C"] = ("temperature_c", null),
        ["°F"] = ("temperature_c", "F"),
        ["° F"] = ("temperature_c", "F"),
        ["F"] = ("temperature_c", "F"),
        ["%"] = ("humidity_pct", null),
        ["%RH"] = ("humidity_pct", null),
        ["% RH"] = ("humidity_pct", null),
        ["ppm"] = ("co2_ppm", null),
        ["lx"] = ("light_lx", null),
        ["lux"] = ("light_lx", null),
        ["hPa"] = ("pressure_pa", "hPa"),
        ["mbar"] = ("pressure_pa", "hPa"),
        ["Pa"] = ("pressure_pa", null),
        ["dBm"] = ("rssi_dbm", null),
        ["V"] = ("battery_v", null),
        ["mV"] = ("battery_v", "mV"),
        ["kg"] = ("weight_kg", null),
        ["lb"] = ("weight_kg", "lb"),
        ["g"] = ("weight_kg", "g"),
    };

    /// <param name="topic">Whose last levels may say what it is.</param>
    /// <param name="value">A value of its payload.</param>
    /// <param name="all">The others, among which one may say the unit ("TempUnit": "C").</param>
    /// <returns>Null where nothing speaks for anything.</returns>
    public static ValueGuess? Of(string topic, FoundValue value, IReadOnlyList<FoundValue> all)
    {
        if (value.Value is not { } number) return null;
        var (name, byName) = Names(topic, value).Select(n => (n, Quantity(n))).FirstOrDefault(n => n.Item2 is not null);
        if (byName?.Length == 0) return null;
        var byUnit = value.Unit is { } unit && ByUnits.TryGetValue(unit, out var u) ? u : ((string Quantity, string? Unit)?)null;
        if (byName is null) return byUnit is { } alone && Possible(alone.Quantity, alone.Unit, number) ? new ValueGuess(alone.Quantity, alone.Unit, ByUnit) : null;
        // "battery": 2.9 is volts, 97 percent, and "3 %" too.
        if (byName == "battery_pct" && (byUnit?.Quantity == "battery_v" || (number is > 0 and < 5 and not 1 && byUnit is null))) byName = "battery_v";
        var said = byUnit is { } both && both.Quantity == byName ? both.Unit : UnitOf(byName, name, number, all);
        return Possible(byName, said, number) ? new ValueGuess(byName, said, byUnit is { } agreed && agreed.Quantity == byName ? ByBoth : ByName) : null;
    }

    // From the nearest name outwards.
    private static List<string> Names(string topic, FoundValue value)
    {
        var names = (value.Pointer ?? "").Split('/', StringSplitOptions.RemoveEmptyEntries).Reverse().ToList();
        if (value.Pick is { } pick && !char.IsAsciiDigit(pick[0])) names.Insert(0, pick);
        names.AddRange(topic.Split('/').Reverse().Take(3));
        return [.. names.Where(n => !n.All(char.IsAsciiDigit))];
    }

    private static string? Quantity(string name)
    {
        var plain = string.Concat(name.ToLowerInvariant().Where(char.IsAsciiLetterOrDigit));
        if (Whole.TryGetValue(plain, out var whole)) return whole;
        // What is measured somewhere else than in the air, or worked out, is no guess of ours.
        if (Words.Where(w => w.Quantity.Length == 0).Any(w => plain.Contains(w.Word, StringComparison.Ordinal))) return "";
        if (plain.Contains("unit", StringComparison.Ordinal)) return "";
        // "battery_ok": yes or no, and no share of anything.
        if (plain.EndsWith("ok", StringComparison.Ordinal) || plain.EndsWith("low", StringComparison.Ordinal)) return "";
        return Words.FirstOrDefault(w => plain.Contains(w.Word, StringComparison.Ordinal)).Quantity;
    }

    private static string? UnitOf(string quantity, string name, double value, IReadOnlyList<FoundValue> all)
    {
        switch (quantity)
        {
            case "temperature_c":
                var said = all.FirstOrDefault(v => v.Value is null && v.Pointer?.Contains("unit", StringComparison.OrdinalIgnoreCase) == true
                    && v.Text is "C" or "F" or "°C" or "°F")?.Text;
                var ends = name.Length > 1 && (name.EndsWith('F') || name.EndsWith("_f", StringComparison.Ordinal) || name == "tempf");
                return said is "F" or "°F" || (said is null && (ends || value > WarmestC)) ? "F" : null;
            case "pressure_pa":
                return value < 2_000 ? "hPa" : null;
            case "battery_v":
                return value > 100 ? "mV" : null;
            case "humidity_pct" or "battery_pct":
                return value is > 0 and <= 1 ? "/" : null;
            default:
                return null;
        }
    }

    private static bool Possible(string quantity, string? unit, double value) => quantity switch
    {
        "temperature_c" when unit == "F" => value is > -40 and < 140,
        "temperature_c" => value is > -40 and < 60,
        "humidity_pct" or "battery_pct" => value is >= 0 and <= 101,
        "co2_ppm" => value is >= 200 and <= 100_000,
        "light_lx" => value is >= 0 and <= 200_000,
        "rssi_dbm" => value is < 0 and > -150,
        _ => true,
    };
}
