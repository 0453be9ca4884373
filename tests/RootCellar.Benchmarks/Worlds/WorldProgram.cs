using System.Diagnostics;
using System.Globalization;
using System.Text.Json.Nodes;
using RootCellar.Benchmarks.Load;

namespace RootCellar.Benchmarks.Worlds;

/// <summary>A row of the export: a bin at a midnight.</summary>
internal readonly record struct Estimate(double LowKg, double Kg, double HighKg);

/// <summary>The built program and a data folder, through its doors only: the API for places, import and export for the rest.</summary>
internal sealed class WorldProgram(string folder)
{
    private const string Record = "rootcellar.db";

    private static readonly string Built = Path.Combine(AppContext.BaseDirectory, "rootcellar");

    /// <summary>Makes a folder in which the places are set up, by a service that runs for it alone and is ended.</summary>
    public static async Task SetUpAsync(string folder, CancellationToken cancellationToken)
    {
        await using var service = await Service.StartAsync(cancellationToken);
        await service.AddPlacesAsync(WorldAir.Rooms.ToDictionary(r => r.Id, r => r.Purpose), cancellationToken);
        await service.StopAsync();
        Directory.CreateDirectory(folder);
        foreach (string file in Directory.EnumerateFiles(service.Folder, Record + "*"))
            File.Copy(file, Path.Combine(folder, Path.GetFileName(file)), overwrite: true);
        await File.WriteAllTextAsync(Path.Combine(folder, "rootcellar.json"), """{"Household":{"TimeZone":"UTC"}}""", cancellationToken);
    }

    /// <summary>A folder beside it with the same in it.</summary>
    public WorldProgram CopyTo(string other)
    {
        Directory.CreateDirectory(other);
        foreach (string file in Directory.EnumerateFiles(folder).Where(f => !f.EndsWith(".lock", StringComparison.Ordinal)))
            File.Copy(file, Path.Combine(other, Path.GetFileName(file)), overwrite: true);
        return new WorldProgram(other);
    }

    /// <returns>How many it took.</returns>
    public async Task<long> ImportAsync(string what, string file, CancellationToken cancellationToken)
    {
        var (exit, said, wrong) = await RunAsync(["import", "--what", what, file, "--data", folder, "--json"], cancellationToken);
        if (exit != 0) throw new InvalidOperationException($"import --what {what} {file}: {wrong}");
        return (long)JsonNode.Parse(said)!["added"]!;
    }

    /// <summary>Every bin at every midnight, by bin and day of the season.</summary>
    public async Task<IReadOnlyDictionary<(string Bin, int Day), Estimate>> EstimatesAsync(CancellationToken cancellationToken)
    {
        var (exit, said, wrong) = await RunAsync(["export", "--what", "estimates", "--for", "import", "--data", folder], cancellationToken);
        if (exit != 0) throw new InvalidOperationException($"export --what estimates: {wrong}");
        await File.WriteAllTextAsync(Path.Combine(folder, "estimates.csv"), said, cancellationToken);
        var lines = said.Split('\n', StringSplitOptions.RemoveEmptyEntries);
        string[] columns = lines[0].Split(',');
        int[] at = [.. new[] { "at", "bin", "estimate_low_kg", "estimate_kg", "estimate_high_kg" }.Select(c => Array.IndexOf(columns, c))];
        var estimates = new Dictionary<(string, int), Estimate>();
        foreach (string[] cells in lines.Skip(1).Select(l => l.Split(',')))
        {
            double day = (DateTimeOffset.Parse(cells[at[0]], CultureInfo.InvariantCulture) - WorldAir.Start).TotalDays;
            // The last row of a bin stands at the last air, which is no midnight.
            if (day == Math.Floor(day) && day < WorldAir.Days)
                estimates[(cells[at[1]], (int)day)] = new Estimate(Kg(cells[at[2]]), Kg(cells[at[3]]), Kg(cells[at[4]]));
        }

        return estimates;

        static double Kg(string cell) => double.Parse(cell, CultureInfo.InvariantCulture);
    }

    private static async Task<(int Exit, string Said, string Wrong)> RunAsync(IEnumerable<string> arguments,
        CancellationToken cancellationToken)
    {
        var start = new ProcessStartInfo(Built, arguments)
        { UseShellExecute = false, RedirectStandardOutput = true, RedirectStandardError = true };
        using var process = Process.Start(start)!;
        using var patience = CancellationTokenSource.CreateLinkedTokenSource(cancellationToken);
        patience.CancelAfter(TimeSpan.FromMinutes(5));
        try
        {
            var said = process.StandardOutput.ReadToEndAsync(patience.Token);
            var wrong = process.StandardError.ReadToEndAsync(patience.Token);
            await process.WaitForExitAsync(patience.Token);
            return (process.ExitCode, await said, (await wrong).Trim());
        }
        catch (OperationCanceledException)
        {
            process.Kill();
            throw;
        }
    }
}
