using RootCellar.Science;
using RootCellar.Science.Crops;
using RootCellar.Science.Keeping;
using Spectre.Console;

namespace RootCellar.Commands;

/// <summary>`outlook` for people: a row a week, the milestones, and what to mind.</summary>
internal static class OutlookTables
{
    /// <summary>The healing stage as the contract names it; "none" for a crop that is not cured.</summary>
    public static string Stage(in LotState state) => state.Traits.Rule == CuringRule.None ? "none" : state.Stage.ToString()
        .ToLowerInvariant();

    public static void Write(IAnsiConsole console, LotPrior lot, Variety? variety, Outlook outlook, double? kilograms)
    {
        var rule = Curing.RuleOf(lot.Crop);
        bool cured = rule != CuringRule.None;
        bool rests = lot.Rest is not null;
        var table = new Table().Border(TableBorder.Simple).AddColumn(new TableColumn("Day").RightAligned());
        table.AddColumn("Weight lost, %").AddColumn(new TableColumn("water").RightAligned())
            .AddColumn(new TableColumn("breath").RightAligned());
        if (kilograms is not null)
            table.AddColumn("Weight left");
        if (cured)
            table.AddColumn($"{(rule == CuringRule.Potato ? "Skin" : "Curing")} (of {Print.Number(Curing.DaysTo(rule, HealingStage.Healed), "0.#")} d{(rule == CuringRule.Potato ? " at 20 C" : "")})");
        if (rests)
            table.AddColumn("Dormancy used, %").AddColumn(new TableColumn("Sprouted, %").RightAligned());
        foreach (var day in outlook.Days.Where((day, i) => Shown(i, outlook.Days.Count)))
        {
            var cells = new List<string>
            {
                Print.Number(day.Day, "0.#"),
                $"{Print.Number(100 * day.Lost.Value, "0.0")}  ({Print.Number(100 * day.Lost.Low, "0.0")} to {Print.Number(100 * day.Lost.High, "0.0")})",
                Print.Number(100 * day.State.WaterLost, "0.0"),
                Print.Number(100 * day.State.Breathed, "0.0"),
            };
            if (kilograms is { } first)
            {
                double left = first * (1 - day.Lost.Value);
                cells.Add($"{Print.Number(left / Pound.Kilograms, left < 45 ? "0.0" : "0")} lb ({Print.Number(left, left < 100 ? "0.0" : "0")} kg)");
            }

            if (cured)
                cells.Add(day.State.Stage == HealingStage.Healed
                    ? Stage(day.State) : $"{Stage(day.State)} ({Print.Number(day.State.HealedDays, "0.0")})");
            if (rests)
            {
                cells.Add($"{Print.Number(100 * day.RestUsed.Value, "0")}  ({Print.Number(100 * day.RestUsed.Low, "0")} to {Print.Number(100 * day.RestUsed.High, "0")})");
                cells.Add(Print.Number(100 * day.State.SproutedShare, "0"));
            }

            table.AddRow([.. cells.Select(Markup.Escape)]);
        }

        console.Write(table);
        foreach (var milestone in outlook.Milestones)
            console.WriteLine(Words(milestone, rule));
        Cautions(console, outlook.Days[^1].State);
        console.WriteLine($"{Name(lot, variety)}. The ranges in brackets are for nine lots in ten, if the air is as stated: what a sensor is off by comes on top.");
        if (rule != CuringRule.Potato)
            console.WriteLine("Weight loss of crops other than potatoes rests on one table figure each, so its range is wide (docs/science/validation.md).");
        console.WriteLine("Sources: docs/science in the project, and rootcellar crops NAME. Weighing a crate now and then beats any forecast. None of this says whether a lot is fit to eat.");
    }

    // Every day of up to a fortnight, else every week, and the last.
    private static bool Shown(int index, int count) => count <= 15 || index % 7 == 0 || index == count - 1;

    private static string Name(LotPrior lot, Variety? variety)
    {
        string how = lot.Packing switch { Packing.SingleLayer => "in one layer", Packing.DeepBin => "in a deep bin", _ => "in crates" };
        string rest = lot.Rest is null ? "" : variety is null && lot.Rest == RestPrior.Unknown ? ", variety unknown" : "";
        string skin = Curing.RuleOf(lot.Crop) == CuringRule.Potato ? $"skin {lot.Skin.ToString().ToLowerInvariant()}, " : "";
        string own = CropTables.Own(lot.Crop) is { } whose ? $" ({whose})" : "";
        return $"{variety?.Name ?? lot.Crop.Name}{own}, {skin}{how}{rest}";
    }

    private static string Words(MilestoneDays milestone, CuringRule rule)
    {
        string what = milestone.What switch
        {
            Milestone.Sealed => rule switch
            {
                CuringRule.Drying => "Necks closing",
                CuringRule.Rind => "Rinds hardening",
                _ => "Skins and small wounds closed"
            },
            Milestone.Adequate => "Cured enough to move",
            Milestone.Healed => "Fully cured",
            Milestone.Peeping => "Sprouts show (2 mm on 4 tubers in 5)",
            _ => "Sprouted (5 mm on 4 tubers in 5)",
        };
        string likely = milestone.Likely is { } day ? $"about day {Print.Number(day, "0")}" : "likely not within this time";
        string early = milestone.Early is { } e ? Print.Number(e, "0") : "-";
        string late = milestone.Late is { } l ? Print.Number(l, "0") : "after the end";
        return $"{what}: {likely} (early {early}, late {late}).";
    }

    private static void Cautions(IAnsiConsole console, in LotState state)
    {
        if (state.FreezingHours > 0)
            console.WriteLine($"{Hours(state.FreezingHours)} below its freezing point of {Print.Temperature(state.Traits.Crop.FreezingPointC)}: do not handle what may be frozen; thaw slowly and sort.");
        if (state.ColdHours > 0)
            console.WriteLine($"{Hours(state.ColdHours)} colder than {Print.Temperature(state.Traits.Crop.ChillingBelowC ?? 0)}: chilling harms it.");
        if (state.WetHours > 0)
            console.WriteLine($"{Hours(state.WetHours)} wet from condensation: rot starts there, and wet skins do not heal.");
        if (state.LightHours > 0)
            console.WriteLine(Greening.Words(state.LightHours));
    }

    private static string Hours(double hours) => hours < 1 ? "Less than an hour" : $"{Print.Number(hours, "0")} hours";
}
