namespace RootCellar.Tests.Packaging;

/// <summary>The unit is one file, and what is read about it says so.</summary>
public sealed class UnitFileTests
{
    [Fact]
    public void The_page_on_installing_points_to_the_unit_and_has_no_copy_of_it()
    {
        var page = File.ReadAllText(Repository.File("docs/install.md"));
        page.Should().Contain("src/RootCellar/Packaging/rootcellar.service").And.NotContain("[Service]");
        File.Exists(Repository.File("src/RootCellar/Packaging/rootcellar.service")).Should().BeTrue();
    }
}
