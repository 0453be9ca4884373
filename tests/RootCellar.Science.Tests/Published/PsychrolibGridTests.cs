using System.ComponentModel;
using System.Diagnostics;
using System.Globalization;
using RootCellar.Science.Air;

namespace RootCellar.Science.Tests.Published;

/// <summary>
/// A grid of airs against psychrolib (MIT), a general-purpose library of the ASHRAE equations, run by node. It takes Hyland and
/// Wexler's saturation pressure where we take IAPWS, which is most of every distance found. Skipped, saying why, where
/// node or the package is not to be had.
/// </summary>
public sealed class PsychrolibGridTests(ITestOutputHelper output)
{
    private const string Package = "psychrolib@1.1.1";

    /// <summary>
    /// What is compared, and how far apart the two may be: what was found, rounded up. Also in docs/science/validation.md.
    /// </summary>
    internal static readonly (string What, string Unit, double Allowed)[] Compared =
    [
        ("saturation pressure over water, 0.5 to 40 C", "% of it", 0.018),
        ("saturation pressure over ice, -20 to -1 C", "% of it", 0.021),
        ("dew point, 0.5 C and warmer", "C", 0.0023),
        ("frost point", "C", 0.0037),
        ("wet bulb, water on the wick", "C", 0.002),
        ("wet bulb, ice on the wick", "C", 0.001),
        ("humidity ratio, neither with the enhancement factor", "% of it", 0.019),
        ("enthalpy", "J/kg", 22),
        ("vapour pressure deficit, 0.5 C and warmer", "Pa", 0.9),
    ];

    [Fact]
    public async Task A_grid_of_airs_agrees_with_psychrolib()
    {
        var airs = Grid().ToList();
        var folder = Directory.CreateTempSubdirectory("psychrolib-grid-");
        string answers;
        try
        {
            await InstallAsync(folder.FullName);
            string script = Path.Combine(AppContext.BaseDirectory, "Published", "psychrolib-grid.cjs");
            var (exit, written, problem) = await RunAsync(
                "node", [script, folder.FullName], folder.FullName, string.Join('\n', airs.Select(Line)));
            exit.Should().Be(0, problem);
            answers = written;
        }
        finally
        {
            folder.Delete(recursive: true);
        }

        double[][] theirs = [.. answers.Trim().Split('\n')
            .Select(line => line.Split(' ').Select(n => double.Parse(n, CultureInfo.InvariantCulture)).ToArray())];
        theirs.Should().HaveCount(airs.Count);
        var largest = new (double Distance, string At)[Compared.Length];
        for (int i = 0; i < airs.Count; i++)
        {
            foreach (var (row, distance) in Distances(airs[i], theirs[i]))
            {
                if (!(Math.Abs(distance) <= Math.Abs(largest[row].Distance)))
                    largest[row] = (distance, Line(airs[i]));
            }
        }

        for (int row = 0; row < Compared.Length; row++)
        {
            output.WriteLine(string.Create(CultureInfo.InvariantCulture,
                $"{Compared[row].What}: {largest[row].Distance:G3} {Compared[row].Unit} at most, at {largest[row].At} (C, humidity, Pa, Pa); {Compared[row].Allowed} allowed"));
        }

        for (int row = 0; row < Compared.Length; row++)
        {
            largest[row].At.Should().NotBeNullOrEmpty("the grid must reach " + Compared[row].What);
            Math.Abs(largest[row].Distance).Should().BeLessThanOrEqualTo(
                Compared[row].Allowed, Compared[row].What + " at " + largest[row].At);
        }
    }

    /// <summary>At and near 0 C is left out: the two libraries change from ice to water at 0 and 0.01 C.</summary>
    private static IEnumerable<AirState> Grid()
    {
        foreach (double pressure in (double[])[101_325, 85_000])
        {
            foreach (double c in (double[])[-20, -15, -10, -5, -2, -1, 0.5, 1, 2, 4, 7, 10, 13, 16, 20, 25, 29, 35, 40])
            {
                for (double humidity = 10; humidity <= 100; humidity += 5)
                {
                    var air = MoistAir.At(c, humidity, pressure);
                    // Below 0 C air near saturation over water is past saturation over ice, which psychrolib refuses.
                    if (c > 0 || air.VapourPressurePa < 0.9995 * Saturation.OverIcePa(c))
                        yield return air;
                }
            }
        }
    }

    private static IEnumerable<(int Row, double Distance)> Distances(AirState air, double[] theirs)
    {
        double c = air.TemperatureC;
        bool ice = c < 0;
        yield return ice
            ? (1, 100 * (Saturation.OverIcePa(c) / theirs[0] - 1))
            : (0, 100 * (air.SaturationVapourPressurePa / theirs[0] - 1));
        if (air.DewPointC >= 0.5)
            yield return (2, air.DewPointC - theirs[1]);
        else if (air.DewPointC < -0.5)
            yield return (3, MoistAir.FrostPointC(air.VapourPressurePa) - theirs[1]);
        if (ice || air.HumidityRatio < Math.Min(WetBulb.HumidityRatio(c, 0, air.PressurePa),
            WetBulb.HumidityRatio(c, -1e-9, air.PressurePa)))
            yield return (5, air.WetBulbC - theirs[2]);
        else if (air.HumidityRatio > Math.Max(WetBulb.HumidityRatio(c, 0, air.PressurePa), WetBulb.HumidityRatio(c, -1e-9, air.PressurePa)))
            yield return (4, air.WetBulbC - theirs[2]);
        yield return (6, 100 * (air.HumidityRatio / theirs[3] - 1));
        yield return (7, air.EnthalpyJoulesPerKilogram - theirs[4]);
        if (!ice)
            yield return (8, air.VapourPressureDeficitPa - theirs[5]);
    }

    private static string Line(AirState air) => string.Create(CultureInfo.InvariantCulture,
        $"{air.TemperatureC} {(air.TemperatureC > 0 ? (air.RelativeHumidityPercent / 100).ToString(CultureInfo.InvariantCulture) : "-")} {air.VapourPressurePa} {air.PressurePa}");

    private static async Task InstallAsync(string folder)
    {
        try
        {
            var (node, _, nodeProblem) = await RunAsync("node", ["--version"], folder, "");
            Skips.Unless(node == 0, "node does not run: " + nodeProblem);
            var (exit, _, problem) = await RunAsync(
                "npm", ["install", "--ignore-scripts", "--no-audit", "--no-fund", "--fetch-retries=1", "--fetch-timeout=20000", Package],
                folder, "");
            Skips.Unless(exit == 0, $"npm could not fetch {Package}: {problem.Split('\n')[0]}");
        }
        catch (Win32Exception e)
        {
            Skips.Because("node or npm is not on this machine: " + e.Message);
        }
    }

    private static async Task<(int Exit, string Written, string Problem)> RunAsync(
        string program, string[] arguments, string folder, string input)
    {
        var start = new ProcessStartInfo(program, arguments)
        {
            UseShellExecute = false,
            WorkingDirectory = folder,
            RedirectStandardInput = true,
            RedirectStandardOutput = true,
            RedirectStandardError = true,
        };
        using var process = Process.Start(start)!;
        using var limit = CancellationTokenSource.CreateLinkedTokenSource(TestContext.Current.CancellationToken);
        limit.CancelAfter(TimeSpan.FromSeconds(60));
        var written = process.StandardOutput.ReadToEndAsync(limit.Token);
        var problem = process.StandardError.ReadToEndAsync(limit.Token);
        try
        {
            await process.StandardInput.WriteAsync(input.AsMemory(), limit.Token);
            process.StandardInput.Close();
            await process.WaitForExitAsync(limit.Token);
            return (process.ExitCode, await written, await problem);
        }
        catch (OperationCanceledException) when (!TestContext.Current.CancellationToken.IsCancellationRequested)
        {
            process.Kill(entireProcessTree: true);
            return (-1, "", program + " gave no answer within 60 s");
        }
    }
}
