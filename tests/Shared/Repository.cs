namespace RootCellar.Shared;

/// <summary>The files that the tests were built from.</summary>
internal static class Repository
{
    /// <summary>The folder above the tests that holds the solution.</summary>
    public static string Root { get; } = Find();

    /// <summary>A file of it.</summary>
    /// <param name="path">From its top on, with slashes.</param>
    public static string File(string path) => Path.Combine(Root, path);

    private static string Find()
    {
        var folder = new DirectoryInfo(AppContext.BaseDirectory);
        while (!System.IO.File.Exists(Path.Combine(folder.FullName, "RootCellar.sln")))
            folder = folder.Parent ?? throw new DirectoryNotFoundException("The repository is not above the tests.");
        return folder.FullName;
    }
}
