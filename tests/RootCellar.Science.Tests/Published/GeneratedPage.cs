namespace RootCellar.Science.Tests.Published;

/// <summary>A page of docs/science that the tests write, on purpose only: a run that finds a page out of date leaves it as it is.</summary>
internal static class GeneratedPage
{
    /// <summary>Set to 1: pages that are out of date are written anew. CI never sets it.</summary>
    public const string Switch = "ROOTCELLAR_TESTS_WRITE_PAGES";

    /// <summary>Fails where the page is not what the tests say.</summary>
    public static void MustBe(string fileName, string content) =>
        MustBe(Path.Combine(Root(), "docs", "science"), fileName, content, Environment.GetEnvironmentVariable(Switch) == "1");

    internal static void MustBe(string folder, string fileName, string content, bool write)
    {
        string path = Path.Combine(folder, fileName);
        content = content.ReplaceLineEndings("\n");
        string kept = File.Exists(path) ? File.ReadAllText(path) : "";
        if (string.Equals(kept, content, StringComparison.Ordinal))
            return;
        if (!write)
            Assert.Fail($"docs/science/{fileName} is out of date. {FirstDifference(kept, content)} Write it anew on purpose: {Switch}=1 dotnet test");
        Directory.CreateDirectory(folder);
        File.WriteAllText(path, content);
    }

    private static string FirstDifference(string kept, string content)
    {
        string[] old = kept.Split('\n'), now = content.Split('\n');
        int line = 0;
        while (line < old.Length && line < now.Length && old[line] == now[line])
            line++;
        return $"Line {line + 1} is '{old.ElementAtOrDefault(line)}' and would be '{now.ElementAtOrDefault(line)}'.";
    }

    private static string Root()
    {
        for (DirectoryInfo? at = new(AppContext.BaseDirectory); at is not null; at = at.Parent)
        {
            if (File.Exists(Path.Combine(at.FullName, "RootCellar.sln")))
                return at.FullName;
        }

        throw new DirectoryNotFoundException("No folder above the tests holds RootCellar.sln.");
    }
}

/// <summary>How a page that is out of date is met.</summary>
public sealed class GeneratedPageTests : IDisposable
{
    private readonly string folder = Directory.CreateTempSubdirectory("rootcellar-page-").FullName;

    [Fact]
    public void A_page_that_is_out_of_date_fails_every_run_and_is_left_as_it_is()
    {
        File.WriteAllText(Path.Combine(folder, "a.md"), "# A\nold\n");
        for (int run = 0; run < 2; run++)
        {
            Action check = () => GeneratedPage.MustBe(folder, "a.md", "# A\nnew\n", write: false);
            check.Should().Throw<Exception>().Which.Message.Should()
                .Contain("Line 2 is 'old' and would be 'new'").And.Contain(GeneratedPage.Switch + "=1");
        }

        File.ReadAllText(Path.Combine(folder, "a.md")).Should().Be("# A\nold\n");
        Action missing = () => GeneratedPage.MustBe(folder, "b.md", "# B\n", write: false);
        missing.Should().Throw<Exception>();
        File.Exists(Path.Combine(folder, "b.md")).Should().BeFalse();
    }

    [Fact]
    public void On_purpose_it_is_written_anew()
    {
        GeneratedPage.MustBe(folder, "a.md", "# A\r\nnew\r\n", write: true);
        File.ReadAllText(Path.Combine(folder, "a.md")).Should().Be("# A\nnew\n");
        GeneratedPage.MustBe(folder, "a.md", "# A\nnew\n", write: false);
    }

    public void Dispose() => Directory.Delete(folder, recursive: true);
}
