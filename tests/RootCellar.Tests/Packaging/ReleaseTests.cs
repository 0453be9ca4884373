using System.Diagnostics;
using YamlDotNet.RepresentationModel;

namespace RootCellar.Tests.Packaging;

/// <summary>What a release is made with: the changelog's command, and the forge's workflow.</summary>
public sealed class ReleaseTests : IDisposable
{
    private readonly string file = Path.GetTempFileName();

    public void Dispose() => File.Delete(file);

    [Fact]
    public void The_unreleased_part_is_cut_once_and_is_then_the_notes_of_the_release()
    {
        File.WriteAllText(file, "# Changelog\n\n## 0.1.0, not yet released\n\n- A thing\n  that is new.\n\n## 0.0.9, 2026-01-01\n\n- Old.\n");

        Run("cut", "0.1.0").Exit.Should().Be(0);

        var lines = File.ReadAllText(file);
        lines.Should().StartWith("# Changelog\n\n## 0.2.0, not yet released\n\n## 0.1.0, 20").And.EndWith("## 0.0.9, 2026-01-01\n\n- Old.\n");
        Run("notes", "0.1.0").Out.Trim().Should().Be("- A thing\n  that is new.");
        Run("debian", "0.1.0").Out.Should().StartWith("rootcellar (0.1.0) stable; urgency=medium\n\n  * A thing that is new.\n").And
            .Contain("\n -- ").And.NotContain("Old");
        var again = Run("cut", "0.1.0");
        again.Exit.Should().Be(1);
        again.Error.Should().Contain("0.1.0 is released already");
        Run("cut", "0.2.0").Error.Should().Contain("nothing is written for 0.2.0 yet");
        File.ReadAllText(file).Should().Be(lines);
    }

    [Theory]
    [InlineData("1.0")]
    [InlineData("v1.0.0")]
    [InlineData("")]
    public void What_is_no_version_is_refused_with_what_would_be_right(string version)
    {
        var said = Run("cut", version);
        said.Exit.Should().Be(1);
        said.Error.Should().Contain("is not a version. Right: 0.1.0");
    }

    [Fact]
    public void The_workflow_does_what_CI_does_and_builds_the_packages_with_their_bill_of_materials()
    {
        var yaml = new YamlStream();
        using (var reader = new StreamReader(Repository.File(".github/workflows/build.yml"))) yaml.Load(reader);
        var jobs = (YamlMappingNode)yaml.Documents[0].RootNode["jobs"];
        var commands = jobs.SelectMany(j => (YamlSequenceNode)j.Value["steps"]).OfType<YamlMappingNode>()
            .Where(s => s.Children.ContainsKey("run")).Select(s => s["run"].ToString()).ToList();
        commands.Should().Contain("bash .ci/run").And.Contain("build/Package/run --sbom");
        foreach (var script in commands.SelectMany(c => c.Split(' ', '\n')).Where(w => w.StartsWith("build/", StringComparison.Ordinal)))
            File.Exists(Repository.File(script)).Should().BeTrue(script);
        foreach (var needing in new[] { "packages", "image" }) jobs[needing]["needs"].ToString().Should().Be("check");
    }

    private (int Exit, string Out, string Error) Run(params string[] arguments)
    {
        var start = new ProcessStartInfo(Repository.File("build/Package/changelog"), arguments)
        { RedirectStandardOutput = true, RedirectStandardError = true, UseShellExecute = false };
        start.Environment["ROOTCELLAR_CHANGELOG"] = file;
        using var command = Process.Start(start)!;
        var (said, error) = (command.StandardOutput.ReadToEnd(), command.StandardError.ReadToEnd());
        command.WaitForExit();
        return (command.ExitCode, said, error);
    }
}
