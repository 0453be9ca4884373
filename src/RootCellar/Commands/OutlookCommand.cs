using System.CommandLine;
using RootCellar.Science.Air;
using RootCellar.Science.Crops;
using RootCellar.Science.Keeping;
using Spectre.Console;

namespace RootCellar.Commands;

/// <summary>`outlook`: what a lot will do in stated air.</summary>
internal static class OutlookCommand
{
    private static readonly Dictionary<string, SkinState> Skins = new(StringComparer.OrdinalIgnoreCase)
    {
        ["set"] = SkinState.Set,
        ["tender"] = SkinState.Tender,
        ["scuffed"] = SkinState.Scuffed,
        ["cut"] = SkinState.Cut,
    };

    private static readonly Dictionary<string, Packing> Packings = new(StringComparer.OrdinalIgnoreCase)
    {
        ["crate"] = Packing.Crate,
        ["layer"] = Packing.SingleLayer,
        ["bin"] = Packing.DeepBin,
    };

    public static Command Build()
    {
        var crop = new Option<string>("--crop") { HelpName = "CROP", Description = "The crop, by id or name", Required = true };
        var variety = new Option<string?>("--variety")
        { HelpName = "NAME", Description = "The variety, for how long it rests (potatoes); rootcellar crops --varieties lists them" };
        var skin = new Option<string>("--skin")
        { HelpName = "SKIN", Description = "The skin it was dug with: set, tender, scuffed or cut", DefaultValueFactory = _ => "set" };
        var dormancy = new Option<string?>("--dormancy")
        {
            HelpName = "DAYS@TEMP",
            Description = "When the lot would sprout if held at that temperature, such as 165d@7.2C; goes before --variety"
        };
        var weight = Measure.Option("--weight", "W", "Weight of the lot, such as 50lb: adds the weight left", Measure.Weight, 0.01,
            1_000_000, "from 10g to 1000000kg");
        var packed = new Option<string>("--packed")
        {
            HelpName = "HOW",
            Description = "How it stands: crate, layer (one layer, air all round) or bin (half a metre deep or more)",
            DefaultValueFactory = _ => "crate"
        };
        var piece = Measure.Option("--piece", "W", "Mean weight of one potato, such as 150g: small ones lose more", Measure.Weight, 0.02, 1,
            "from 20g to 1kg");
        var hold = new Option<string[]>("--hold")
        {
            HelpName = "TEMP RH DAYS",
            Description = "Air held, such as \"12.8C 95% 14d\", or going over as in \"12.8C..7.2C 95% 20d\"; several follow each other",
            Arity = ArgumentArity.OneOrMore,
            AllowMultipleArgumentsPerToken = true
        };
        var air = new Option<string?>("--air")
        {
            HelpName = "FILE.csv",
            Description = "Air from a file: hours,temperature_c,humidity_pct and, where known, pulp_c,light_lx; hours since digging, the last row ends it"
        };
        var data = OwnCrops.Data();
        var json = Print.JsonOption();
        var command = new CommandWithExamples("outlook",
            "What a lot will do in stated air: weight loss, healing, rest and sprouting, with how sure that is",
            "rootcellar outlook --crop potato --hold \"12.8C 95% 14d\" --hold \"4C 92% 150d\" --weight 500lb",
            "rootcellar outlook --crop potato --variety \"Alpine Russet\" --skin scuffed --hold \"55F 95% 14d\" \"55F..45F 95% 20d\" \"45F 95% 200d\" --json",
            "rootcellar outlook --crop potato --dormancy 165d@7.2C --air cellar.csv")
        {
            crop, variety, skin, dormancy, weight, packed, piece, hold, air, data, json,
        };
        command.SetAction(parsed =>
        {
            var found = Crop(OwnCrops.Table(parsed, data), parsed.GetValue(crop)!);
            var lot = LotPrior.Of(found) with
            {
                Skin = Named("--skin", parsed.GetValue(skin)!, Skins),
                Packing = Named("--packed", parsed.GetValue(packed)!, Packings),
                PieceGrams = parsed.GetValue(piece) * 1000 ?? double.NaN,
            };
            if (Curing.RuleOf(found) != CuringRule.Potato)
            {
                if (lot.Skin != SkinState.Set)
                    throw new UsageException($"--skin is for potatoes; leave it out for {found.Name.ToLowerInvariant()}.");
                if (!double.IsNaN(lot.PieceGrams))
                    throw new UsageException($"--piece is for potatoes; leave it out for {found.Name.ToLowerInvariant()}.");
            }

            var named = parsed.GetValue(variety) is { } written ? Variety(found, written) : null;
            if (parsed.GetValue(dormancy) is { } rest)
                lot = lot with { Rest = lot.Rest is null ? throw NoRest("--dormancy", found) : OutlookInput.Rest(rest) };
            else if (named is not null)
                lot = lot with { Rest = RestPrior.Of(named) };

            string[] holds = parsed.GetValue(hold) ?? [];
            string? file = parsed.GetValue(air);
            if (holds.Length > 0 == file is not null)
                throw new UsageException(
                    $"give the air the lot will stand in, by {(file is null ? "--hold \"12.8C 95% 14d\" or --air FILE.csv" : "--hold or by --air, not by both")}.");
            var outlook = Outlook.Run(lot, file is null ? OutlookInput.Holds(holds) : OutlookInput.File(file));
            var output = parsed.InvocationConfiguration.Output;
            double? kilograms = parsed.GetValue(weight);
            if (parsed.GetValue(json))
                Print.Json(output, Document(found, named, outlook, kilograms));
            else
                OutlookTables.Write(Print.Console(output), lot, named, outlook, kilograms);
            return 0;
        });
        return command;
    }

    private static Crop Crop(CropTable crops, string written)
    {
        if (crops.Find(written) is { } found) return found;
        if (crops.NameOf(written) is { } own)
            throw new UsageException(
                $"--crop: {own} is known to the book only; an outlook needs figures: say what it keeps like, on the page Crops or in crops.json.");
        throw new UsageException(
            crops.Suggest(written) is { } near
                ? $"--crop: no crop is called \"{written}\"; did you mean {near}? rootcellar crops lists them all."
                : $"--crop: no crop is called \"{written}\"; rootcellar crops lists them all.");
    }

    private static Variety Variety(Crop crop, string written)
    {
        if (Curing.RuleOf(crop) != CuringRule.Potato)
            throw NoRest("--variety", crop);
        return VarietyTable.Default.Find(written) ?? throw new UsageException(
            VarietyTable.Default.Suggest(written) is { } near
                ? $"--variety: no potato variety is called \"{written}\"; did you mean {near}? rootcellar crops --varieties lists them; --dormancy 120d@7.2C says it for any other."
                : $"--variety: no potato variety is called \"{written}\"; rootcellar crops --varieties lists them; leave it out, or say --dormancy 120d@7.2C.");
    }

    private static UsageException NoRest(string option, Crop crop) =>
        new($"{option} is for potatoes only; leave it out for {crop.Id}.");

    private static T Named<T>(string option, string written, Dictionary<string, T> known) => known.TryGetValue(written, out var value)
        ? value
        : throw new UsageException($"{option} {written} is not known; it may be {string.Join(", ", known.Keys)}.");

    private static OutlookDocument Document(Crop crop, Variety? variety, Outlook outlook, double? kilograms) => new(
        crop.Id,
        variety?.Name,
        crop.Definition is null ? null : true,
        crop.Like,
        [.. outlook.Days.Select(day => Document(day, kilograms))],
        [.. outlook.Milestones.Select(
            m => new MilestoneDocument(m.What.ToString().ToLowerInvariant(),
                new DaysDocument(Round(m.Early), Round(m.Likely), Round(m.Late))))]);

    private static DayDocument Document(OutlookDay day, double? kilograms)
    {
        var state = day.State;
        return new DayDocument(
            Math.Round(day.Day, 3),
            new RangeDocument(Percent(day.Lost.Low), Percent(day.Lost.Value), Percent(day.Lost.High)),
            Percent(state.WaterLost),
            Percent(state.Breathed),
            new HealingDocument(Math.Round(state.HealedDays, 3), OutlookTables.Stage(state)),
            new RangeDocument(Math.Round(day.RestUsed.Low, 4), Math.Round(day.RestUsed.Value, 4), Math.Round(day.RestUsed.High, 4)),
            Math.Round(state.SproutMm, 2),
            Math.Round(100 * state.SproutedShare, 2),
            Math.Round(state.LightHours, 2),
            Math.Round(state.WetHours, 2),
            Math.Round(state.ColdHours, 2),
            kilograms is { } w ? new RangeDocument(Kilograms(w, day.Lost.High), Kilograms(w, day.Lost.Value), Kilograms(w, day.Lost.Low))
                : null);
    }

    private static double Percent(double share) => Math.Round(100 * share, 4);

    private static double Kilograms(double first, double lost) => Math.Round(first * (1 - lost), 4);

    private static double? Round(double? days) => days is { } d ? Math.Round(d, 2) : null;

    private sealed record OutlookDocument(string Crop,
        [property: System.Text.Json.Serialization.JsonIgnore(
            Condition = System.Text.Json.Serialization.JsonIgnoreCondition.Never)] string? Variety, bool? Own, string? Like, IReadOnlyList<DayDocument> Days,
                IReadOnlyList<MilestoneDocument> Milestones);

    private sealed record DayDocument(
        double Day,
        RangeDocument WeightLossPercent,
        double WaterLossPercent,
        double RespirationLossPercent,
        HealingDocument Healing,
        RangeDocument DormancyUsed,
        double SproutMillimetres,
        double SproutedSharePercent,
        double LightHours,
        double WetHours,
        double ColdHours,
        RangeDocument? WeightKg);

    private sealed record RangeDocument(double Low, double Mid, double High);

    private sealed record HealingDocument([property: System.Text.Json.Serialization.JsonPropertyName("days20C")] double Days20C,
        string Stage);

    private sealed record MilestoneDocument(string What, DaysDocument Day);

    private sealed record DaysDocument(
        [property: System.Text.Json.Serialization.JsonIgnore(
            Condition = System.Text.Json.Serialization.JsonIgnoreCondition.Never)] double? Early,
        [property: System.Text.Json.Serialization.JsonIgnore(
            Condition = System.Text.Json.Serialization.JsonIgnoreCondition.Never)] double? Likely,
        [property: System.Text.Json.Serialization.JsonIgnore(
            Condition = System.Text.Json.Serialization.JsonIgnoreCondition.Never)] double? Late);
}
