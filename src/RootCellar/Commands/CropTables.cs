using System.Globalization;
using RootCellar.Advice;
using RootCellar.Household;
using RootCellar.Science;
using RootCellar.Science.Crops;
using Spectre.Console;

namespace RootCellar.Commands;

/// <summary>Crops as a person reads them.</summary>
internal static class CropTables
{
    public static void List(IAnsiConsole console, CropTable crops)
    {
        var table = new Table().Border(TableBorder.Simple)
            .AddColumn("Id").AddColumn("Crop").AddColumn("Curing").AddColumn("In the cellar").AddColumn("Freezes at");
        foreach (var crop in crops.Crops)
        {
            table.AddRow(
                crop.Id,
                Markup.Escape(crop.Name + (Own(crop) is { } own ? $" ({own})" : "")),
                crop.Curing is { } curing ? $"{Temperatures(curing)}, {Humidities(curing)}" : "-",
                $"{Temperatures(crop.Storage)}, {Humidities(crop.Storage)}",
                Print.Temperature(crop.FreezingPointC));
        }

        foreach (string name in crops.BookOnly)
            table.AddRow(Markup.Escape(name), Markup.Escape($"{name} (own, known to the book only)"), "-", "-", "-");
        console.Write(table);
        console.WriteLine("rootcellar crops NAME shows a crop with the source of every figure; --together potato,apple whether they can share a room.");
    }

    /// <summary>Of a crop of the household's own, what it is reckoned like; null for one of the table.</summary>
    public static string? Own(Crop crop) => crop.Definition is null ? null : crop.Like is { } like ? $"own, like {like}" : "own";

    public static void Details(IAnsiConsole console, Crop crop)
    {
        var table = new Table().Border(TableBorder.Simple).AddColumn(Markup.Escape(crop.Name)).AddColumn("").AddColumn("Source");
        void Row(string what, string value, string source) =>
            table.AddRow(Markup.Escape(what), Markup.Escape(value), Markup.Escape(source));
        void Harm(string when, HarmLimits harm)
        {
            Row($"Harmed{when} (alarms) below", Print.Temperature(harm.Cold.Value), harm.Cold.Source);
            Row("  above", Print.Temperature(harm.Warm.Value), harm.Warm.Source);
            Row("  by air drier than", $"{Print.Number(harm.Dry.Value, "0.#")} %", harm.Dry.Source);
            if (harm.Wet is { } wet)
                Row("  by air damper than", $"{Print.Number(wet.Value, "0.#")} %", wet.Source);
        }

        if (Own(crop) is { } own)
            Row("Whose", own, "the household");
        if (crop.Curing is { } curing)
            Row("Curing", $"{Temperatures(curing)}, {Humidities(curing)}, {curing.DaysLow} to {curing.DaysHigh} days", curing.Source);
        else
            Row("Curing", "none", "");
        Row("In the cellar", $"{Temperatures(crop.Storage)}, {Humidities(crop.Storage)}", crop.Storage.Source);
        Harm("", HarmTable.Default.Of(crop));
        if (crop.Curing is not null)
            Harm(", curing", HarmTable.Default.Of(crop, curing: true));
        Row("Refrigerated store", $"{Temperatures(crop.Ideal)}, {Humidities(crop.Ideal)}", crop.Ideal.Source);
        foreach (var band in crop.OtherStorage)
            Row($"  {band.For}", $"{Temperatures(band)}, {Humidities(band)}", band.Source);
        Row("Keeps", crop.StorageLife, crop.StorageLifeSource);
        Row("Freezes at", Print.Temperature(crop.FreezingPointC), crop.Freezing.Source);
        if (crop.Chilling is { } chilling)
            Row("Chilling injury below", Print.Temperature(chilling.Value), chilling.Source);
        Row("Ethylene", $"gives off {Print.Words(crop.EthyleneProduction)}, sensitivity {Print.Words(crop.EthyleneSensitivity)}",
            crop.EthyleneSource);
        if (crop.EthyleneEffect is { } effect)
            Row("  what it does", effect.Text, effect.Source);
        Row("Smell", $"gives {Print.Words(crop.Odours.Gives)}, takes up {Print.Words(crop.Odours.TakesUp)}", crop.Odours.Source);
        if (crop.GreensInLight)
            Row("Light", "turns it green: keep it dark", crop.GreensInLightSource!);
        Row("Comes in", Slug.Of(crop.Harvest), "common practice");
        Row("Asked then", crop.Asks.Count == 0 ? "nothing" : string.Join(", ", crop.Asks.Select(Slug.Of)), "common practice");
        Row("Sprouts", Slug.Of(crop.Sprouts), "common practice");
        Row("Culled for", string.Join(", ", crop.Cull.Select(Slug.Of)), "common practice");
        Row("Shriveled from", $"{Print.Number(100 * crop.Shriveled.Value, "0.#")} % lost", crop.Shriveled.Source);
        Losses(crop, Row);
        if (crop.BushelKg is { } bushel)
        {
            Row("A bushel", Weight(bushel.Value), bushel.Source);
            Row("  a peck, a dry quart",
                $"{Weight(bushel.Value / DryMeasure.PecksPerBushel)}, {Weight(bushel.Value / DryMeasure.DryQuartsPerBushel)}",
                $"NIST Handbook 44: 1/4 and 1/32 bushel. A dry quart is no canning quart: it is {Print.Number(DryMeasure.LiquidQuartsPerDryQuart, "0.00000")} liquid quarts");
        }

        if (crop.BulkDensityLowKgPerM3 is { } low && crop.BulkDensityHighKgPerM3 is { } high)
            Row("A pile", $"{Print.Number(low.Value, "0")} to {Print.Number(high.Value, "0")} kg/m3", low.Source);
        foreach (var item in crop.Canning)
        {
            string container = item.Container is { } words ? $"; {words}" : "";
            Row($"To can, {item.As}",
                $"{Print.Number(item.PoundsPer7LiquidQuarts, "0.##")} lb to 7 liquid quarts, {Print.Number(item.PoundsPer9LiquidPints, "0.##")} lb to 9 liquid pints{container}", item.Source);
        }

        if (crop.Note is { } note)
            Row("Note", note, "");
        console.Write(table);
        if (crop.Canning.Count > 0)
            console.WriteLine(CanningYield.CautionOf(crop.Canned));
        console.WriteLine("AH-66: USDA Agriculture Handbook 66. AIB 410, AIB 539: USDA Agriculture Information Bulletins.");
        console.WriteLine("Bands for keeping quality; they say nothing about whether produce is fit to eat.");
    }

    public static void Together(IAnsiConsole console, IReadOnlyList<Crop> crops, CommonBand? common, IReadOnlyList<Conflict> conflicts)
    {
        string names = string.Join(", ", crops.Select(crop => crop.Id));
        if (conflicts.Count == 0)
        {
            console.WriteLine($"Nothing speaks against keeping {names} in one room.");
        }
        else
        {
            var table = new Table().Border(TableBorder.Simple).AddColumn("").AddColumn("Between").AddColumn("What").AddColumn("What to do");
            foreach (var conflict in conflicts)
            {
                table.AddRow(
                    Print.Words(conflict.Severity),
                    $"{conflict.A.Id}, {conflict.B.Id}",
                    Markup.Escape(conflict.What()),
                    Markup.Escape(conflict.WhatToDo()));
            }

            console.Write(table);
        }

        if (common is not null)
            console.WriteLine($"All keep at {Print.Range(common.TemperatureLowC, common.TemperatureHighC)}, {Humidities(common.HumidityLowPercent, common.HumidityHighPercent)}.");
        else
            console.WriteLine("No band of temperature and humidity suits all of them.");
        console.WriteLine("By the crops' bands, ethylene and smell; rootcellar crops NAME has the sources. How serious each is, is this program's own judgement.");
    }

    private static void Losses(Crop crop, Action<string, string, string> row)
    {
        // 1 ng/(kg s Pa) is 0.0060480 % of the mass in a week for each hPa.
        row("Loses water", $"{Print.Number(crop.Transpiration.Value, "0")} ng/(kg s Pa): {Print.Number(crop.Transpiration.Value * 0.006048, "0.##")} % a week for each hPa of deficit, one layer in moving air", crop.Transpiration.Source);
        if (crop.Early is { } early)
        {
            string[] parts =
            [
                .. early.Percent > 0 ? [$"{Print.Number(early.Percent, "0.##")} % more"] : Array.Empty<string>(),
                .. early.FreshCoefficient is { } fresh ? [$"{Print.Number(fresh, "0")} ng/(kg s Pa) fresh"] : Array.Empty<string>(),
            ];
            row("  at first", $"{string.Join(", ", parts)}, falling to a third in {Print.Number(early.Days, "0")} days"
                + (early.CuringDays is { } curing ? $", or {Print.Number(curing, "0.#")} of curing" : ""), early.Source);
        }

        row("  lots spread by", $"a factor of {Print.Number(crop.Spread.Value, "0.#")} either way, nine in ten", crop.Spread.Source);
        row("  pressure at its surface", $"{Print.Number(crop.VapourPressureLowering.Value, "0.00")} of water's",
            crop.VapourPressureLowering.Source);
        row("Breathes, mg CO2/(kg h)",
            string.Join(", ", crop.Respiration.Points.Select(
                point => $"{Print.Number(point.MgCo2PerKgH, "0.#")} at {Print.Number(point.TemperatureC, "0.#")} C")),
            crop.Respiration.Source);
        if (crop.Thermal is { } thermal)
            row("Water and heat",
                $"{Print.Number(thermal.WaterPercent, "0.0")} % water, {Print.Number(thermal.SpecificHeatKJPerKgK, "0.00")} kJ/(kg K)",
                thermal.Source);
    }

    private static string Weight(double kg) =>
        $"{Print.Number(kg / Pound.Kilograms, "0.##")} lb ({Print.Number(kg, kg < 2 ? "0.00" : "0.0")} kg)";

    private static string Temperatures(Band band) => Print.Range(band.TemperatureLowC, band.TemperatureHighC);

    private static string Humidities(Band band) => Humidities(band.HumidityLowPercent, band.HumidityHighPercent);

    private static string Humidities(double low, double high) => low == high
        ? string.Create(CultureInfo.InvariantCulture, $"{low} %")
        : string.Create(CultureInfo.InvariantCulture, $"{low} to {high} %");
}
