using System.CommandLine;
using System.Globalization;
using System.Text;
using System.Text.Encodings.Web;
using System.Text.Json;
using System.Text.Json.Serialization;
using RootCellar.Science;
using Spectre.Console;

namespace RootCellar.Commands;

/// <summary>Writing to stdout: one JSON document, or tables.</summary>
internal static class Print
{
    private static readonly JsonSerializerOptions JsonOptions = new(JsonSerializerDefaults.Web)
    {
        WriteIndented = true,
        DefaultIgnoreCondition = JsonIgnoreCondition.WhenWritingNull,
        // A terminal is no web page: + and ' stay as they are.
        Encoder = JavaScriptEncoder.UnsafeRelaxedJsonEscaping,
    };

    public static Option<bool> JsonOption() => new("--json") { Description = "Print one JSON document and nothing else" };

    public static void Json<T>(TextWriter output, T document) => output.WriteLine(JsonSerializer.Serialize(document, JsonOptions));

    public static IAnsiConsole Console(TextWriter output)
    {
        var console = AnsiConsole.Create(new AnsiConsoleSettings { Out = new AnsiConsoleOutput(output) });
        // Into a file or a pipe there is no width to keep to.
        if (!console.Profile.Out.IsTerminal)
            console.Profile.Width = 170;
        return console;
    }

    /// <summary>"12.8 C (55.0 F)".</summary>
    public static string Temperature(double celsius, string format = "0.0") =>
        string.Create(CultureInfo.InvariantCulture, $"{Number(celsius, format)} C ({Number(Fahrenheit.Of(celsius), format)} F)");

    /// <summary>"10.0 to 15.6 C (50.0 to 60.0 F)".</summary>
    public static string Range(double lowC, double highC) =>
        lowC == highC
            ? Temperature(lowC)
            : $"{Number(lowC, "0.0")} to {Number(highC, "0.0")} C ({Number(Fahrenheit.Of(lowC), "0.#")} to {Number(Fahrenheit.Of(highC), "0.#")} F)";

    /// <summary>A number without "-0".</summary>
    public static string Number(double value, string format)
    {
        string text = value.ToString(format, CultureInfo.InvariantCulture);
        return text.StartsWith('-') && text.AsSpan(1).IndexOfAnyExcept('0', '.') < 0 ? text[1..] : text;
    }

    /// <summary>An enum's name as words: "very low" for VeryLow.</summary>
    public static string Words<T>(T value)
        where T : struct, Enum
    {
        var words = new StringBuilder();
        foreach (char c in value.ToString())
        {
            if (char.IsUpper(c) && words.Length > 0)
                words.Append(' ');
            words.Append(char.ToLowerInvariant(c));
        }

        return words.ToString();
    }
}
