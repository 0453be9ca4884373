using System.Collections.Concurrent;
using RootCellar.SystemTests.Running;

namespace RootCellar.SystemTests.Packaging;

/// <summary>
/// The packages, made by the very command that makes them for a release, of the program that is built already: what compiling it ahead with
/// .NET inside would add is minutes, and nothing to how it is installed.
/// </summary>
internal static class BuiltPackages
{
    private static readonly ConcurrentDictionary<string, Lazy<Task<string>>> Made = new(StringComparer.Ordinal);

    /// <summary>The folder with the package and the archive of a version.</summary>
    public static Task<string> OfAsync(string version) => Made.GetOrAdd(version, v => new Lazy<Task<string>>(() => MakeAsync(v))).Value;

    /// <summary>The processor that this machine's packages are for, as Debian names it.</summary>
    public static async Task<string> ArchitectureAsync() => (await Tool.RunAsync("dpkg", ["--print-architecture"])).Out.Trim();

    private static async Task<string> MakeAsync(string version)
    {
        await Needs.DpkgDebAsync();
        // From the tests' own folder (tests/NAME/bin/CONFIGURATION/FRAMEWORK) to the program's.
        var framework = Path.TrimEndingDirectorySeparator(AppContext.BaseDirectory);
        var program = Repository.File(
            $"src/RootCellar/bin/{Path.GetFileName(Path.GetDirectoryName(framework))}/{Path.GetFileName(framework)}");
        var folder = Directory.CreateTempSubdirectory("rootcellar-packages-").FullName;
        AppDomain.CurrentDomain.ProcessExit += (_, _) => Directory.Delete(folder, recursive: true);
        var said = await Tool.RunAsync(
            Repository.File("build/Package/run"), ["--arch", await ArchitectureAsync(), "--program", program, "--version", version, "--out", folder],
            longest: TimeSpan.FromMinutes(3));
        said.Exit.Should().Be(0, said.ToString());
        return folder;
    }
}
