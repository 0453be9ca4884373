namespace RootCellar.Science.Tests.Published;

/// <summary>A page of docs/science that the tests write.</summary>
internal static class GeneratedPage
{
    /// <summary>Fails, having written the page anew, where it is not what the tests say.</summary>
    public static void MustBe(string fileName, string content)
    {
        string path = Path.Combine(Root(), "docs", "science", fileName);
        content = content.ReplaceLineEndings("\n");
        string? kept = File.Exists(path) ? File.ReadAllText(path) : null;
        if (string.Equals(kept, content, StringComparison.Ordinal))
            return;
        Directory.CreateDirectory(Path.GetDirectoryName(path)!);
        File.WriteAllText(path, content);
        Assert.Fail($"docs/science/{fileName} has been written anew: look at it and commit it");
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
