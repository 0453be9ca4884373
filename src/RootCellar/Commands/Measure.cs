using System.CommandLine;
using System.CommandLine.Parsing;
using System.Globalization;
using System.Text.RegularExpressions;
using RootCellar.Science;

namespace RootCellar.Commands;

/// <summary>
/// A quantity as people write it, number and unit together: 12.8C, 55F, 95%, 50lb, 14d, 29.9inHg. A bare number is refused,
/// for 55 is a fine curing room in F and an oven in C.
/// </summary>
internal static partial class Measure
{
    public static readonly Kind Temperature = new("temperature", "12.8C or 55F", new(StringComparer.OrdinalIgnoreCase)
    {
        ["C"] = c => c,
        ["F"] = f => (f - 32) * 5 / 9,
    });

    public static readonly Kind Humidity = new("relative humidity", "95%", new(StringComparer.Ordinal) { ["%"] = h => h });

    // Conventional inch and millimetre of mercury: NIST SP 811, appendix B.8 (from memory).
    public static readonly Kind Pressure = new("pressure", "101325Pa, 1013hPa or 29.9inHg", new(StringComparer.OrdinalIgnoreCase)
    {
        ["Pa"] = p => p,
        ["hPa"] = p => p * 100,
        ["mbar"] = p => p * 100,
        ["kPa"] = p => p * 1000,
        ["inHg"] = p => p * 3386.389,
        ["mmHg"] = p => p * 133.3224,
    });

    public static readonly Kind Weight = new("weight", "50lb or 22.7kg", new(StringComparer.OrdinalIgnoreCase)
    {
        ["kg"] = w => w,
        ["g"] = w => w / 1000,
        ["lb"] = w => w * Pound.Kilograms,
        ["oz"] = w => w * Pound.Kilograms / 16,
    });

    public static readonly Kind Days = new("length of time", "14d or 36h", new(StringComparer.OrdinalIgnoreCase)
    {
        ["d"] = d => d,
        ["h"] = d => d / 24,
    });

    /// <summary>
    /// Reads a quantity into C, %, Pa, kg or days. On failure <paramref name="problem"/> says what is wrong and what would be right.
    /// </summary>
    public static bool TryRead(string? written, Kind kind, out double value, out string problem)
    {
        value = double.NaN;
        problem = "";
        var match = Pattern().Match(written ?? "");
        if (!match.Success)
        {
            problem = written is not null && DecimalComma().IsMatch(written)
                ? $"\"{written}\" has a decimal comma; write {written.Replace(',', '.')}"
                : $"\"{written}\" is not a {kind.What}; write {kind.Example}";
            return false;
        }

        string unit = match.Groups["unit"].Value;
        if (unit.Length == 0)
        {
            string number = match.Groups["number"].Value;
            problem = $"\"{written}\" has no unit; write {string.Join(" or ", kind.Units.Keys.Take(2).Select(u => number + u))}";
            return false;
        }

        if (!kind.Units.TryGetValue(unit, out var toSi))
        {
            problem = $"\"{written}\": {unit} is not a unit of {kind.What}; write {kind.Example}";
            return false;
        }

        value = toSi(double.Parse(match.Groups["number"].Value, NumberStyles.Float, CultureInfo.InvariantCulture));
        return true;
    }

    /// <summary>An option of this kind, refused outside low..high (in C, %, Pa, kg or days) with the range in the message.</summary>
    public static Option<double?> Option(string name, string helpName, string description, Kind kind, double low, double high, string range,
        bool required = false) =>
        new(name)
        {
            HelpName = helpName,
            Description = description,
            Required = required,
            CustomParser = result => Read(result, name, kind, low, high, range),
        };

    private static double? Read(ArgumentResult result, string name, Kind kind, double low, double high, string range)
    {
        if (result.Tokens.Count == 0)
        {
            result.AddError($"{name} needs a {kind.What}, such as {kind.Example}");
            return null;
        }

        string written = result.Tokens[0].Value;
        if (!TryRead(written, kind, out double value, out string problem))
        {
            result.AddError($"{name} {problem}");
            return null;
        }

        if (value >= low && value <= high)
            return value;
        result.AddError($"{name} {written} is outside what can be worked; it must be {range}");
        return null;
    }

    [GeneratedRegex(@"^\s*(?<number>[+-]?(\d+(\.\d+)?|\.\d+))\s*°?\s*(?<unit>[A-Za-z%]*)\s*$",
        RegexOptions.ExplicitCapture | RegexOptions.CultureInvariant, 1000)]
    private static partial Regex Pattern();

    [GeneratedRegex(@"^\s*[+-]?\d+,\d+\s*°?\s*[A-Za-z%]*\s*$", RegexOptions.ExplicitCapture | RegexOptions.CultureInvariant, 1000)]
    private static partial Regex DecimalComma();

    /// <summary>A kind of quantity: what it is called, how it is written, and its units with the way to SI.</summary>
    internal sealed record Kind(string What, string Example, Dictionary<string, Func<double, double>> Units);
}
