using Xunit;

namespace RootCellar.Shared;

/// <summary>A file of the repository that the tests write, on purpose only: a run that finds it out of date leaves it as it is.</summary>
internal static class GeneratedPage
{
    /// <summary>Set to 1: files that are out of date are written anew. CI never sets it.</summary>
    public const string Switch = "ROOTCELLAR_TESTS_WRITE_PAGES";

    /// <summary>Fails where the file is not what the tests say.</summary>
    /// <param name="file">The file, from the top of the repository on.</param>
    /// <param name="content">What it should be.</param>
    public static void MustBe(string file, string content) =>
        MustBe(Repository.Root, file, content, Environment.GetEnvironmentVariable(Switch) == "1");

    internal static void MustBe(string folder, string file, string content, bool write)
    {
        string path = Path.Combine(folder, file);
        content = content.ReplaceLineEndings("\n");
        string kept = File.Exists(path) ? File.ReadAllText(path) : "";
        if (string.Equals(kept, content, StringComparison.Ordinal))
            return;
        if (!write)
            Assert.Fail($"{file} is out of date. {FirstDifference(kept, content)} Write it anew on purpose: {Switch}=1 dotnet test");
        Directory.CreateDirectory(Path.GetDirectoryName(path)!);
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
}
