namespace RootCellar.Tests.Packaging;

/// <summary>The unit is one file; the page that shows it shows that file.</summary>
public sealed class UnitFileTests
{
    [Fact]
    public void The_page_on_installing_shows_the_unit_as_it_is()
    {
        var unit = File.ReadAllLines(Repository("src", "RootCellar", "Packaging", "rootcellar.service"));
        var page = File.ReadAllText(Repository("docs", "install.md"));
        page.Should().Contain(string.Join('\n', unit.Select(l => l.Length == 0 ? "" : "    " + l)));
    }

    private static string Repository(params string[] parts)
    {
        var folder = new DirectoryInfo(AppContext.BaseDirectory);
        while (!File.Exists(Path.Combine(folder.FullName, "RootCellar.sln")))
            folder = folder.Parent ?? throw new DirectoryNotFoundException("The repository is not above the tests.");
        return Path.Combine([folder.FullName, .. parts]);
    }
}
