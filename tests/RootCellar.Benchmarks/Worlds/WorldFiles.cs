using System.Globalization;
using System.Text.Json.Nodes;

namespace RootCellar.Benchmarks.Worlds;

/// <summary>A world's files as <c>import</c> takes them, and the truth beside them.</summary>
internal static class WorldFiles
{
    /// <param name="seed">Of the sensors' noise: the same whenever the readings are written.</param>
    public static void Readings(string file, WorldSeason season, int seed, double untilDay = WorldAir.Days)
    {
        using var csv = File.CreateText(file);
        season.Air.Write(csv, new WorldChance(seed), untilDay);
    }

    /// <param name="right">Weigh-ins of which the person who was asked has said that they are right.</param>
    public static void Ledger(string file, WorldSeason season, IReadOnlySet<WorldWeighing> right, double untilDay = WorldAir.Days)
    {
        using var csv = File.CreateText(file);
        csv.WriteLine("id,event,at,recorded_at,by,note,of,question,fields,key,key_index,print");
        int id = 0;
        foreach (var entry in season.Entries.Where(e => e.Step < untilDay * WorldAir.StepsADay))
        {
            var fields = (JsonObject)entry.Fields.DeepClone();
            if (entry.Weighing is { } weighing && right.Contains(weighing)) fields["checked"] = true;
            var at = WorldAir.At(entry.Step);
            string quoted = fields.ToJsonString().Replace("\"", "\"\"", StringComparison.Ordinal);
            csv.WriteLine($"{++id},{entry.Event},{Time(at)},{Time(at.AddMinutes(1))},,,,,\"{quoted}\",,,");
        }
    }

    /// <summary>What was so: every bin at every midnight.</summary>
    public static void Truth(string file, WorldSeason season)
    {
        using var csv = File.CreateText(file);
        csv.WriteLine("at,bin,weighings,net_kg");
        foreach (var bin in season.Bins)
        {
            for (int day = 0; day < WorldAir.Days; day++)
            {
                if (!double.IsNaN(bin.AtMidnight[day]))
                    csv.WriteLine($"{Time(WorldAir.Start.AddDays(day))},{bin.Name},{bin.Weighings},{bin.AtMidnight[day]:0.0000}");
            }
        }
    }

    private static string Time(DateTimeOffset at) => at.ToString("yyyy-MM-dd'T'HH:mm:sszzz", CultureInfo.InvariantCulture);
}
