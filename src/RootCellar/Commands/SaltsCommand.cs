using System.CommandLine;
using RootCellar.Science.Air;
using Spectre.Console;

namespace RootCellar.Commands;

/// <summary>`salts`: the humidity over salt standards, for calibrating.</summary>
internal static class SaltsCommand
{
    private static readonly double[] EveryFive = [0, 5, 10, 15, 20, 25, 30];

    public static Command Build()
    {
        var temperature = Measure.Option("--temp", "T", "Temperature of the jar [default: 0C to 30C by fives]", Measure.Temperature, 0, 50,
            "from 0C to 50C");
        var json = Print.JsonOption();
        var command = new CommandWithExamples("salts", "Relative humidity over damp salts in a closed jar, for checking a humidity sensor",
            "rootcellar salts",
            "rootcellar salts --temp 10C --json")
        {
            temperature, json,
        };
        command.SetAction(parsed =>
        {
            double[] temperatures = parsed.GetValue(temperature) is { } one ? [one] : EveryFive;
            var output = parsed.InvocationConfiguration.Output;
            if (parsed.GetValue(json))
                Print.Json(output, new SaltsDocument(SaltStandards.Source,
                    [.. SaltStandards.All.Select(salt => Document(salt, temperatures))]));
            else
                Table(Print.Console(output), temperatures);
            return 0;
        });
        return command;
    }

    private static SaltDocument Document(SaltStandard salt, double[] temperatures) => new(
        salt.Name, salt.Formula, salt.LowestC, salt.HighestC, salt.Note,
        [.. from t in temperatures
            let point = salt.At(t)
            where point is not null
            select new PointDocument(t, point.Value.RelativeHumidityPercent, point.Value.UncertaintyPercent)]);

    private static void Table(IAnsiConsole console, double[] temperatures)
    {
        var table = new Table().Border(TableBorder.Simple).AddColumn("Salt").AddColumn("");
        foreach (double t in temperatures)
            table.AddColumn(new TableColumn(Print.Temperature(t, "0.#")).RightAligned());
        foreach (var salt in SaltStandards.All)
        {
            table.AddRow([salt.Name, salt.Formula, .. temperatures.Select(t => salt.At(t) is { } point ? Cell(point) : "-")]);
        }

        console.Write(table);
        console.WriteLine("Percent relative humidity, plus or minus what the source allows it; without a figure, none is known.");
        foreach (var salt in SaltStandards.All.Where(salt => salt.Note is not null))
            console.WriteLine($"{salt.Formula}: {salt.Note}.");
        console.WriteLine("A damp heap of salt, not a clear solution; a closed jar; 20 minutes for a small sensor, an hour for a bulky one; log the jar's temperature.");
        console.WriteLine($"Source: {SaltStandards.Source}.");
    }

    private static string Cell(SaltPoint point) => point.UncertaintyPercent is { } uncertainty
        ? $"{Print.Number(point.RelativeHumidityPercent, "0.0")} ±{Print.Number(uncertainty, "0.0")}"
        : Print.Number(point.RelativeHumidityPercent, "0.0");

    private sealed record SaltsDocument(string Source, IReadOnlyList<SaltDocument> Salts);

    private sealed record SaltDocument(string Name, string Formula, double LowestC, double HighestC, string? Note,
        IReadOnlyList<PointDocument> Points);

    private sealed record PointDocument(double TemperatureC, double RelativeHumidityPercent, double? UncertaintyPercent);
}
