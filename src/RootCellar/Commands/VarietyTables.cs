using RootCellar.Science.Crops;
using Spectre.Console;

namespace RootCellar.Commands;

/// <summary>Potato varieties as a person reads them.</summary>
internal static class VarietyTables
{
    public static void List(IAnsiConsole console, VarietyTable varieties)
    {
        var table = new Table().Border(TableBorder.Simple).AddColumn("Variety").AddColumn("Skin").AddColumn("Ripe")
            .AddColumn("Dormant, days").AddColumn("From");
        foreach (var variety in varieties.Varieties)
        {
            table.AddRow(
                Markup.Escape(variety.Name),
                Print.Words(variety.Skin),
                variety.Maturity is { } maturity ? Print.Words(maturity.Class) : "-",
                Days(variety.Dormancy),
                Markup.Escape(Basis(variety)));
        }

        console.Write(table);
        console.WriteLine("Days from harvest until 80 % of the tubers have a sprout of 5 mm; eyes peep 2 to 4 weeks before. Check the eyes: no table knows your season.");
        console.WriteLine("rootcellar crops NAME shows a variety with the source of every figure.");
    }

    public static void Details(IAnsiConsole console, Variety variety)
    {
        var table = new Table().Border(TableBorder.Simple).AddColumn(Markup.Escape(variety.Name)).AddColumn("").AddColumn("Source");
        void Row(string what, string value, string source) =>
            table.AddRow(Markup.Escape(what), Markup.Escape(value), Markup.Escape(source));
        if (variety.Aliases.Count > 0)
            Row("Also called", string.Join(", ", variety.Aliases), "");
        Row("Skin", Print.Words(variety.Skin), variety.Source);
        if (variety.Maturity is { } maturity)
        {
            string days = maturity is { DaysLow: { } low, DaysHigh: { } high } ? $", {Between(low, high)} days from planting" : "";
            Row("Ripe", Print.Words(maturity.Class) + days, maturity.Source);
        }

        var prior = variety.Dormancy;
        Row("Dormancy reckoned with", Days(prior), prior.Source);
        foreach (var figure in variety.DormancyFigures)
            Row("  published", Figure(figure), figure.Source);
        foreach (var rating in variety.DormancyRatings)
            Row("  called", Print.Words(rating.Class), rating.Source);
        if (variety.Greening is { } greening)
            Row("Greening", greening.Text, greening.Source);
        if (variety.Sweetening is { } sweetening)
            Row("Sweetening in the cold", sweetening.Text, sweetening.Source);
        if (variety.Note is { } note)
            Row("Note", note, "");
        console.Write(table);
        console.WriteLine("Days from harvest until 80 % of the tubers have a sprout of 5 mm; eyes peep 2 to 4 weeks before. CFIA: Canadian Food Inspection Agency.");
        console.WriteLine("Bands and the rest as potato: rootcellar crops potato. Nothing here says whether a tuber is fit to eat.");
    }

    private static string Days(DormancyPrior prior) =>
        $"{Print.Number(prior.DaysAt, "0")} ({Print.Number(prior.LowDays, "0")} to {Print.Number(prior.HighDays, "0")}) at {Print.Temperature(prior.TemperatureC)}";

    private static string Basis(Variety variety) => DormancyPrior.FigureOf(variety) is { } figure
        ? figure.Doubtful ? "published days, doubtful" : "published days"
        : variety.DormancyRatings is [var rating, ..] ? $"the word \"{Print.Words(rating.Class)}\"" : "nothing to go by";

    private static string Figure(DormancyFigure figure)
    {
        string days = figure switch
        {
            { DaysLow: { } low, DaysHigh: { } high } => $"{Between(low, high)} days",
            { DaysHigh: { } high } => $"under {high} days",
            _ => $"over {figure.DaysLow} days",
        };
        string temperature = figure is { TemperatureLowC: { } cold, TemperatureHighC: { } warm }
            ? $" at {Print.Range(cold, warm)}" : ", temperature not given";
        return days + temperature + (figure.Doubtful ? ", doubtful" : "");
    }

    private static string Between(int low, int high) => low == high ? $"{low}" : $"{low} to {high}";
}
