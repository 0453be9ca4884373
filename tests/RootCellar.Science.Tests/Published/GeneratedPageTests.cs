namespace RootCellar.Science.Tests.Published;

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
