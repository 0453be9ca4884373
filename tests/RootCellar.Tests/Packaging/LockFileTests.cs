using System.Text.Json.Nodes;

namespace RootCellar.Tests.Packaging;

/// <summary>The lock files that packages are built by hold the versions that the tests are run with.</summary>
public sealed class LockFileTests
{
    [Theory]
    [InlineData("RootCellar")]
    [InlineData("RootCellar.Science")]
    public void What_is_packed_is_what_was_tested(string project)
    {
        var tested = Versions(project, "packages.lock.json");
        var packed = Versions(project, "packages.package.lock.json");
        packed.Should().BeEquivalentTo(tested, "dotnet restore src/RootCellar -p:ForPackage=true -p:WriteLock=true --force-evaluate writes it anew");
    }

    [Fact]
    public void They_know_both_processors()
    {
        var file = JsonNode.Parse(File.ReadAllText(Repository.File("src/RootCellar/packages.package.lock.json")))!;
        file["dependencies"]!.AsObject().Select(d => d.Key).Should().BeEquivalentTo("net10.0", "net10.0/linux-x64", "net10.0/linux-arm64");
    }

    private static Dictionary<string, string> Versions(string project, string file) =>
        JsonNode.Parse(File.ReadAllText(Repository.File($"src/{project}/{file}")))!["dependencies"]!["net10.0"]!.AsObject()
            .Where(p => (string?)p.Value!["type"] != "Project")
            .ToDictionary(p => p.Key, p => (string)p.Value!["resolved"]!, StringComparer.Ordinal);
}
