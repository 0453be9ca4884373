using System.CommandLine;
using RootCellar.Science.Crops;
using Spectre.Console;

namespace RootCellar.Commands;

/// <summary>`crops`: what crops and potato varieties want, whether crops can share a room, and where every figure was read.</summary>
internal static class CropsCommand
{
    public static Command Build()
    {
        var name = new Argument<string?>("NAME")
        { Description = "A crop or a potato variety, by id or name; without it all crops are listed", Arity = ArgumentArity.ZeroOrOne };
        var together = new Option<string?>("--together")
        { Description = "Crops, by commas: whether they can share a room", HelpName = "CROP,CROP" };
        var varieties = new Option<bool>("--varieties") { Description = "List the potato varieties" };
        var data = OwnCrops.Data();
        var json = Print.JsonOption();
        var command = new CommandWithExamples("crops", "Curing and storage bands of cellar crops, with their sources",
            "rootcellar crops",
            "rootcellar crops potato",
            "rootcellar crops \"sweet potato\" --json",
            "rootcellar crops --together potato,apple,onion",
            "rootcellar crops --varieties",
            "rootcellar crops \"Alpine Russet\"",
            "rootcellar crops Medlar --data /var/lib/rootcellar")
        {
            name, together, varieties, data, json,
        };
        command.SetAction(parsed =>
        {
            var output = parsed.InvocationConfiguration.Output;
            bool asJson = parsed.GetValue(json);
            string? written = parsed.GetValue(name);
            string? list = parsed.GetValue(together);
            bool allVarieties = parsed.GetValue(varieties);
            if ((written is null ? 0 : 1) + (list is null ? 0 : 1) + (allVarieties ? 1 : 0) > 1)
                throw new UsageException(
                    "give a NAME, --together or --varieties, one of them; crops by commas without spaces, as in --together potato,apple");
            var crops = OwnCrops.Table(parsed, data);
            if (list is not null)
                Together(output, Crops(crops, list), asJson);
            else if (allVarieties)
                Varieties(output, asJson);
            else if (written is not null)
                One(output, crops, written, asJson);
            else
                All(output, crops, asJson);
            return 0;
        });
        return command;
    }

    private static void All(TextWriter output, CropTable crops, bool json)
    {
        if (json)
            Print.Json(output, crops.Crops.Select(CropDocument.Of));
        else
            CropTables.List(Print.Console(output), crops);
    }

    private static void One(TextWriter output, CropTable crops, string written, bool json)
    {
        if (crops.TryFind(written, out var crop))
        {
            if (json)
                Print.Json(output, CropDocument.Of(crop));
            else
                CropTables.Details(Print.Console(output), crop);
        }
        else if (VarietyTable.Default.TryFind(written, out var variety))
        {
            if (json)
                Print.Json(output, VarietyDocument.Of(variety));
            else
                VarietyTables.Details(Print.Console(output), variety);
        }
        else if (crops.NameOf(written) is { } bookOnly)
        {
            if (json)
                Print.Json(output, new { id = bookOnly, name = bookOnly, own = true, bookOnly = true });
            else
                output.WriteLine($"{bookOnly} is one of the household's own and known to the book only: it has no figures.");
        }
        else
        {
            string suggestion = (crops.Suggest(written) ?? VarietyTable.Default.Suggest(written)) is { } near
                ? $"did you mean {near}? " : "";
            throw new UsageException(
                $"no crop is called \"{written}\"; {suggestion}rootcellar crops lists them all, --varieties the potato varieties.");
        }
    }

    private static void Varieties(TextWriter output, bool json)
    {
        if (json)
            Print.Json(output, VarietyTable.Default.Varieties.Select(VarietyDocument.Of));
        else
            VarietyTables.List(Print.Console(output), VarietyTable.Default);
    }

    private static void Together(TextWriter output, IReadOnlyList<Crop> crops, bool json)
    {
        var conflicts = Compatibility.Check(crops);
        var common = Compatibility.Common(crops);
        if (json)
            Print.Json(output, new TogetherDocument([.. crops.Select(crop => crop.Id)], common,
                [.. conflicts.Select(ConflictDocument.Of)]));
        else
            CropTables.Together(Print.Console(output), crops, common, conflicts);
    }

    private static Crop[] Crops(CropTable table, string list)
    {
        string[] names = list.Split(',', StringSplitOptions.RemoveEmptyEntries | StringSplitOptions.TrimEntries);
        Crop[] crops = [.. names.Select(name => Known(table, name)).DistinctBy(crop => crop.Id, StringComparer.Ordinal)];
        return crops.Length >= 2
            ? crops
            : throw new UsageException("--together takes two different crops or more by commas, such as potato,apple");

        static Crop Known(CropTable table, string written)
        {
            if (table.TryFind(written, out var crop))
                return crop;
            string suggestion = table.Suggest(written) is { } near
                ? $"did you mean {near}? "
                : VarietyTable.Default.TryFind(written, out _) ? "it is a potato variety: write potato. " : "";
            throw new UsageException($"no crop is called \"{written}\"; {suggestion}rootcellar crops lists them all.");
        }
    }
}
