using System.Text.RegularExpressions;
using AnyAscii;

namespace RootCellar.Readings;

/// <summary>What sensors' makers and their users call a figure: in English, German, Spanish and French, for the air of a room.</summary>
internal static partial class SensorWords
{
    /// <summary>What <see cref="Quantity"/> answers where the name says that it is no figure of the air.</summary>
    public const string Other = "";

    // In small letters without accents; of two that stand in a name the first here. What is measured somewhere else than in the air, or worked
    // out, comes first: it is no guess of ours.
    private static readonly (string Word, string Quantity)[] Inside =
    [
        ("moisture", Other), ("dewpoint", Other), ("taupunkt", Other), ("rocio", Other), ("rosee", Other), ("feelslike", Other),
        ("soil", Other), ("boden", Other), ("suelo", Other), ("wasser", Other), ("eco2", Other), ("tvoc", Other), ("pulp", "pulp_c"),
        ("temperature", "temperature_c"), ("humidity", "humidity_pct"), ("feuchte", "humidity_pct"), ("feuchtigkeit", "humidity_pct"),
        ("illumin", "light_lx"), ("helligkeit", "light_lx"), ("brightness", "light_lx"), ("lumiere", "light_lx"),
        ("pressure", "pressure_pa"), ("luftdruck", "pressure_pa"), ("presion", "pressure_pa"), ("pression", "pressure_pa"),
        ("barometer", "pressure_pa"), ("battery", "battery_pct"), ("batterie", "battery_pct"), ("bateria", "battery_pct"),
        ("akku", "battery_pct"), ("carbondioxide", "co2_ppm"), ("voltage", "battery_v"), ("batv", "battery_v"), ("weight", "weight_kg"),
        ("gewicht", "weight_kg"), ("light", "light_lx"), ("rssi", "rssi_dbm"), ("temp", "temperature_c"), ("celsius", "temperature_c"),
        ("fahrenheit", "temperature_c"), ("batt", "battery_pct"), ("vbat", "battery_v"), ("lux", "light_lx"), ("co2", "co2_ppm"),
        ("hum", "humidity_pct"),
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
        ["luz"] = "light_lx",
        ["peso"] = "weight_kg",
    };

    // One of the words of a field's name: of the board or of something else than the room, wished for, past, worked out, or the sensor's own bookkeeping.
    private static readonly HashSet<string> Elsewhere = new(StringComparer.Ordinal)
    {
        "chip", "cpu", "soc", "mcu", "board", "internal", "intern", "device", "water", "agua", "leaf", "wind", "rain",
        "target", "setpoint", "set", "desired", "soll", "min", "max", "minimum", "maximum", "trend", "delta", "offset", "calibration", "correction", "threshold", "limit", "alarm",
        "alert", "resolution", "precision", "absolute", "absolut", "heat", "apparent", "wet", "index", "vpd", "sea",
        "uptime", "time", "timestamp", "ts", "epoch", "seq", "count", "counter", "heap", "ram", "memory", "free", "version", "fw", "interval", "port", "lat", "lon", "alt", "age",
        "error", "errors", "unit", "units",
    };

    /// <summary>The quantity a name speaks of, as in topics; <see cref="Other"/> where it is none of ours, null where it says nothing.</summary>
    /// <param name="name">A field of a message, the key before a number, or a level of a topic.</param>
    /// <param name="ofField">A field or a key, of which each word counts; a level of a topic may be a room's or a house's name.</param>
    public static string? Quantity(string name, bool ofField)
    {
        var words = Of(name);
        var plain = string.Concat(words);
        if (Whole.TryGetValue(plain, out var whole)) return whole;
        if (ofField && words.Exists(Elsewhere.Contains)) return Other;
        // "light_state": on or off, and "temp_x10": tenths, which no unit says.
        if (ofField && words.Count > 1 && (words.Contains("state") || words.Contains("status") || Times().IsMatch(plain))) return Other;
        if (ofField && plain.Contains("unit", StringComparison.Ordinal)) return Other;
        // "battery_ok": yes or no, and no share of anything.
        if (ofField && (plain.EndsWith("ok", StringComparison.Ordinal) || plain.EndsWith("low", StringComparison.Ordinal))) return Other;
        return Inside.FirstOrDefault(w => plain.Contains(w.Word, StringComparison.Ordinal)).Quantity
            ?? (words.Contains("bat") ? "battery_pct" : words.Contains("rh") ? "humidity_pct" : null);
    }

    /// <summary>The unit that a name speaks of, as a mapping takes it; null where it says none.</summary>
    public static string? Unit(string name, string quantity)
    {
        var words = Of(name);
        var plain = string.Concat(words);
        bool Has(params string[] any) => Array.Exists(any, words.Contains);
        return quantity switch
        {
            "temperature_c" or "pulp_c" =>
                Has("f") || plain is "tf" or "tempf" or "temperaturef" || plain.Contains("fahrenheit", StringComparison.Ordinal) ? "F"
                : Has("k", "kelvin") ? "K"
                : Has("c") || plain is "tc" or "tempc" or "temperaturec" || plain.Contains("celsius", StringComparison.Ordinal) ? "C" : null,
            "pressure_pa" => Has("pa") ? "Pa" : Has("hpa", "mbar") ? "hPa" : Has("kpa") ? "kPa" : Has("mmhg") ? "mmHg"
                : Has("inhg") ? "inHg" : null,
            "weight_kg" => Has("lb", "lbs") ? "lb" : Has("g", "gram", "grams") ? "g" : Has("kg") ? "kg" : null,
            "battery_pct" or "battery_v" => Has("mv") ? "mV" : Has("v", "volt", "volts", "voltage", "spannung") ? "V" : null,
            _ => null,
        };
    }

    // "TempC_SHT" is temp, c, sht; "presión" presion.
    private static List<string> Of(string name) =>
        [.. Words().Matches(name.Transliterate()).Select(m => m.Value.ToLowerInvariant())];

    [GeneratedRegex("[A-Z]+(?![a-z])|[A-Z]?[a-z]+|[0-9]+", RegexOptions.ExplicitCapture, 1000)]
    private static partial Regex Words();

    [GeneratedRegex("x10+$", RegexOptions.ExplicitCapture, 1000)]
    private static partial Regex Times();
}
