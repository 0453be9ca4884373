namespace RootCellar.Shared;

/// <summary>Who may read a file, where files know that.</summary>
internal static class FileModes
{
    public static void Set(string file, UnixFileMode mode)
    {
        if (!OperatingSystem.IsWindows()) File.SetUnixFileMode(file, mode);
    }
}
