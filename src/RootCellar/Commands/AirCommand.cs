using System.CommandLine;
using RootCellar.Science;
using RootCellar.Science.Air;
using Spectre.Console;

namespace RootCellar.Commands;

/// <summary>`air`: moist-air sums for the cellar door.</summary>
internal static class AirCommand
{
    public static Command Build()
    {
        var temperature = Measure.Option("--temp", "T", "Air temperature, such as 12.8C or 55F", Measure.Temperature,
            MoistAir.LowestTemperatureC, MoistAir.HighestTemperatureC, "from -40C to 85C", required: true);
        var humidity = Measure.Option("--rh", "RH", "Relative humidity over water, such as 95%", Measure.Humidity,
            MoistAir.LowestHumidityPercent, 100, "from 0.1% to 100%", required: true);
        var pulp = Measure.Option("--pulp", "T", "Temperature inside the produce: adds how near it is to getting wet", Measure.Temperature,
            MoistAir.LowestTemperatureC, MoistAir.HighestTemperatureC, "from -40C to 85C");
        var pressure = Measure.Option("--pressure", "P",
            "Air pressure, such as 1013hPa or 29.9inHg, as a barometer on the spot reads it [default: 101325Pa]",
            Measure.Pressure, MoistAir.LowestPressurePa, MoistAir.HighestPressurePa, "from 500hPa to 1150hPa");
        var json = Print.JsonOption();
        var command = new CommandWithExamples("air", "Dew point, deficit and the other sums of moist air, for the cellar door",
            "rootcellar air --temp 12.8C --rh 95%",
            "rootcellar air --temp 55F --rh 85% --pulp 50F --json")
        {
            temperature, humidity, pulp, pressure, json,
        };
        command.SetAction(parsed =>
        {
            double pressurePa = parsed.GetValue(pressure) ?? MoistAir.StandardPressurePa;
            var air = MoistAir.TryAt(parsed.GetValue(temperature)!.Value, parsed.GetValue(humidity)!.Value, pressurePa)
                ?? throw new UsageException("--temp and --rh together hold more vapour than --pressure allows; such air is steam.");
            double? pulpC = parsed.GetValue(pulp);
            var output = parsed.InvocationConfiguration.Output;
            if (parsed.GetValue(json))
                Print.Json(output, Document(air, pulpC));
            else
                Table(Print.Console(output), air, pulpC);
            return 0;
        });
        return command;
    }

    private static AirDocument Document(AirState air, double? pulpC) => new(
        air.TemperatureC,
        air.RelativeHumidityPercent,
        air.PressurePa,
        air.SaturationVapourPressurePa,
        air.VapourPressurePa,
        air.VapourPressureDeficitPa,
        air.DewPointC,
        air.FrostPointC,
        air.WetBulbC,
        air.HumidityRatio,
        air.AbsoluteHumidityGramsPerCubicMetre,
        air.EnthalpyJoulesPerKilogram,
        pulpC is { } margin ? air.CondensationMarginC(margin) : null,
        pulpC is { } deficit ? air.PulpDeficitPa(deficit) : null);

    private static void Table(IAnsiConsole console, AirState air, double? pulpC)
    {
        var known = Uncertainty.Of(air.TemperatureC, air.RelativeHumidityPercent);
        var table = new Table().Border(TableBorder.Simple).AddColumn("Air").AddColumn("").AddColumn("if the sensor is off");
        table.AddRow("Temperature", Print.Temperature(air.TemperatureC), "");
        table.AddRow("Relative humidity", $"{Print.Number(air.RelativeHumidityPercent, "0.#")} %", "");
        table.AddRow("Pressure", $"{Print.Number(air.PressurePa / 100, "0.0")} hPa", "");
        table.AddRow("Dew point", Print.Temperature(air.DewPointC), Print.Range(known.DewPointC.Low, known.DewPointC.High));
        if (air.FrostPointC is { } frost)
            table.AddRow("Frost point", Print.Temperature(frost), "");
        table.AddRow("Wet bulb", Print.Temperature(air.WetBulbC), "");
        table.AddRow("Vapour pressure deficit", $"{Print.Number(air.VapourPressureDeficitPa, "0")} Pa",
            $"{Print.Number(known.DeficitPa.Low, "0")} to {Print.Number(known.DeficitPa.High, "0")} Pa");
        table.AddRow("Vapour pressure",
            $"{Print.Number(air.VapourPressurePa, "0")} Pa of {Print.Number(air.SaturationVapourPressurePa, "0")} Pa", "");
        table.AddRow("Water in the air",
            $"{Print.Number(air.AbsoluteHumidityGramsPerCubicMetre, "0.0")} g/m3, {Print.Number(1000 * air.HumidityRatio, "0.0")} g/kg",
            "");
        table.AddRow("Enthalpy", $"{Print.Number(air.EnthalpyJoulesPerKilogram / 1000, "0.0")} kJ/kg dry air", "");
        if (pulpC is { } pulp)
        {
            double margin = air.CondensationMarginC(pulp);
            table.AddRow("Produce", Print.Temperature(pulp), "");
            table.AddRow("Above the dew point by",
                $"{Print.Number(margin, "0.0")} C ({Print.Number(margin * Fahrenheit.PerCelsius, "0.0")} F)",
                $"{Print.Number(pulp - known.DewPointC.High, "0.0")} to {Print.Number(pulp - known.DewPointC.Low, "0.0")} C");
            table.AddRow("Deficit at the produce", $"{Print.Number(air.PulpDeficitPa(pulp), "0")} Pa", "");
        }

        console.Write(table);
        console.WriteLine($"\"If the sensor is off\": by up to {Uncertainty.CheapTemperatureC} C and {Uncertainty.CheapHumidityPercent} %, as a cheap one in damp air may be.");
        if (pulpC is { } surface)
            console.WriteLine(Verdict(surface, air, known));
    }

    private static string Verdict(double pulpC, AirState air, AirUncertainty known)
    {
        if (air.CondensationMarginC(pulpC) <= 0)
            return "Water forms on the produce in this air.";
        return pulpC <= known.DewPointC.High
            ? "The produce stays dry by these figures, but the sensor's own error could hide water forming."
            : "The produce stays dry.";
    }

    private sealed record AirDocument(
        double TemperatureC,
        double RelativeHumidityPercent,
        double PressurePa,
        double SaturationVapourPressurePa,
        double VapourPressurePa,
        double VapourPressureDeficitPa,
        double DewPointC,
        double? FrostPointC,
        double WetBulbC,
        double HumidityRatio,
        double AbsoluteHumidityGramsPerCubicMetre,
        double EnthalpyJoulesPerKilogram,
        double? CondensationMarginC,
        double? PulpDeficitPa);
}
