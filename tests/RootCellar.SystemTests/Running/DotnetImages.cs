using System.Text.Json.Nodes;

namespace RootCellar.SystemTests.Running;

/// <summary>
/// The two images our Dockerfile begins from, made of this machine's own .NET, for where no registry of images is reached.
/// </summary>
internal static class DotnetImages
{
    /// <summary>Names of the tests' own, so that the Dockerfile's are tried by nobody but those who reach their registry.</summary>
    public const string Sdk = "rootcellar-test/sdk:1";
    public const string Runtime = "rootcellar-test/aspnet:1";

    /// <param name="repository">Its lock files say which packages a build needs; they are taken from this machine's cache, so that it needs
    /// no network.</param>
    public static async Task PackAsync(DockerDaemon docker, string repository)
    {
        using var scratch = new Scratch();
        await Needs.PackagesAsync("tzdata", "fonts-dejavu-core");
        var root = await DotnetRootAsync();
        var packages = Environment.GetEnvironmentVariable("NUGET_PACKAGES")
            ?? Path.Combine(Environment.GetFolderPath(Environment.SpecialFolder.UserProfile), ".nuget", "packages");

        var small = Directory.CreateDirectory(scratch.File("small")).FullName;
        await DockerDaemon.PutAsync(small, ["/bin/sh", "/bin/mkdir", "/bin/cat", "/bin/rm"]);
        await PutLibrariesAsync(small, root);
        Directory.CreateDirectory(Path.Combine(small, "usr/bin"));
        // Without a name for its user MSBuild waits for its own helpers for ever.
        Directory.CreateDirectory(Path.Combine(small, "etc"));
        await File.WriteAllTextAsync(Path.Combine(small, "etc/passwd"),
            "root:x:0:0:root:/root:/bin/sh\napp:x:1654:1654::/home/app:/bin/sh\n");
        File.CreateSymbolicLink(Path.Combine(small, "usr/bin/dotnet"), Path.Combine(root, "dotnet"));
        string inRoot = root.TrimStart('/');
        await docker.ImportAsync(
            Runtime, ["-C", small, ".", "-C", "/", $"{inRoot}/dotnet", $"{inRoot}/host", $"{inRoot}/shared"],
            "ENV PATH=/usr/bin:/bin");

        Directory.CreateDirectory(Path.Combine(small, "no-source"));
        var config = Directory.CreateDirectory(Path.Combine(small, "root/.nuget/NuGet")).FullName;
        await File.WriteAllTextAsync(Path.Combine(config, "NuGet.Config"),
            """<configuration><packageSources><clear/><add key="none" value="/no-source"/></packageSources></configuration>""");
        await docker.ImportAsync(
            Sdk, ["-C", small, ".", "-C", "/", inRoot, "usr/share/zoneinfo", "usr/share/fonts/truetype/dejavu", .. Packages(repository).Select(p => Path.Combine(packages, p).TrimStart('/'))],
            $"ENV PATH=/usr/bin:/bin HOME=/root NUGET_PACKAGES={packages} DOTNET_CLI_TELEMETRY_OPTOUT=1 DOTNET_NOLOGO=1 DOTNET_SYSTEM_GLOBALIZATION_INVARIANT=1");
    }

    private static async Task<string> DotnetRootAsync()
    {
        var listed = (await Tool.RunAsync("dotnet", ["--list-sdks"])).Out.Trim().Split('\n')[^1];
        var folder = listed[(listed.IndexOf('[', StringComparison.Ordinal) + 1)..].TrimEnd(']', '\r');
        return Path.GetDirectoryName(folder)!;
    }

    /// <summary>What the runtime's own libraries are linked to, and what it opens by name.</summary>
    private static async Task PutLibrariesAsync(string small, string root)
    {
        var own = Directory.GetFiles(Path.Combine(root, "shared"), "*.so", SearchOption.AllDirectories)
            .Append(Path.Combine(root, "dotnet")).ToList();
        var needed = new HashSet<string>(StringComparer.Ordinal);
        foreach (var library in own)
        {
            foreach (var word in (await Tool.RunAsync("ldd", [library])).Out.Split(
                (char[])[' ', '\n', '\t'], StringSplitOptions.RemoveEmptyEntries))
                if (word.StartsWith('/') && word.Contains(".so", StringComparison.Ordinal)
                    && !word.StartsWith(root, StringComparison.Ordinal))
                    needed.Add(word);
        }

        foreach (var name in (string[])["libssl.so.3", "libcrypto.so.3"])
        {
            if (Directory.GetDirectories("/usr/lib", "*-linux-gnu").Select(d => Path.Combine(d, name))
                .FirstOrDefault(File.Exists) is { } file)
                needed.Add(file);
        }

        await DockerDaemon.PutAsync(small, [.. needed]);
    }

    private static IEnumerable<string> Packages(string repository) =>
        Directory.GetFiles(Path.Combine(repository, "src"), "packages.lock.json", SearchOption.AllDirectories)
        .SelectMany(file => JsonNode.Parse(File.ReadAllText(file))!["dependencies"]!.AsObject())
        .SelectMany(framework => framework.Value!.AsObject())
        .Where(p => (string?)p.Value!["type"] != "Project")
        .Select(p => $"{p.Key}/{(string)p.Value!["resolved"]!}".ToLowerInvariant())
        .Distinct(StringComparer.Ordinal);
}
