using RootCellar.SystemTests.Running;


namespace RootCellar.SystemTests.Packaging;

/// <summary>What is in the Debian package, and what Debian's own examiner says of it.</summary>
public sealed class PackageTests(ITestOutputHelper output)
{
    private const string Version = "0.1.0";

    [Fact]
    public async Task Lintian_finds_nothing_in_it()
    {
        var lintian = await Needs.LintianAsync();
        var package = await PackageAsync();
        var said = await Tool.RunAsync(lintian, ["--allow-root", "--fail-on", "error,warning", "--tag-display-limit", "0", package],
            longest: TimeSpan.FromMinutes(5));
        output.WriteLine(said.Out);
        said.Out.Should().BeEmpty();
        said.Exit.Should().Be(0, said.ToString());
    }

    [Fact]
    public async Task It_names_every_package_of_others_with_its_licence_and_brings_what_belongs_to_it()
    {
        using var scratch = new Scratch();
        (await Tool.RunAsync("dpkg-deb", ["-x", await PackageAsync(), scratch.Path])).Exit.Should().Be(0);
        var notices = await File.ReadAllTextAsync(scratch.File("usr/share/doc/rootcellar/copyright"), TestContext.Current.CancellationToken);
        var shipped = Directory.GetFiles(scratch.File("usr/lib/rootcellar"), "*.dll").Select(f => Path.GetFileNameWithoutExtension(f));
        shipped.Should().Contain("MQTTnet").And.Contain("MailKit");
        foreach (var name in new[] { "MQTTnet", "MailKit", "InfluxDB.Client", "SkiaSharp", "ScottPlot", "NodaTime", "Polly.Core" })
            notices.Should().MatchRegex($@"(?m)^{name.Replace(".", @"\.", StringComparison.Ordinal)} \d[^:]*: \S.*\. \S");
        notices.Should().Contain("SIL Open Font License");
        File.Exists(scratch.File("usr/share/doc/rootcellar/third-party/MQTTnet/LICENSE")).Should().BeTrue();
        Directory.GetFiles(scratch.Path, "*", SearchOption.AllDirectories).Should()
            .NotContain(f => f.EndsWith(".exe", StringComparison.Ordinal) || f.EndsWith(".dylib", StringComparison.Ordinal));
    }

    [Fact]
    public async Task Its_manual_page_is_read_by_man_without_a_complaint()
    {
        await Needs.LintianAsync();
        var start = new Dictionary<string, string>(StringComparer.Ordinal) { ["LC_ALL"] = "C.UTF-8", ["MANWIDTH"] = "100" };
        var said = await Tool.RunAsync("man", ["--warnings=all", "-l", Repository.File("src/RootCellar/Packaging/rootcellar.1")], start);
        said.Error.Should().BeEmpty();
        said.Out.Should().Contain("rootcellar token add").And.Contain("rootcellar outlook --crop potato");
    }

    private static async Task<string> PackageAsync() => Path.Combine(
        await BuiltPackages.OfAsync(Version), $"rootcellar_{Version}_{await BuiltPackages.ArchitectureAsync()}.deb");
}
