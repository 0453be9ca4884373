namespace RootCellar.SystemTests.Running;

/// <summary>A folder of one test, gone with it.</summary>
/// <param name="within">Where it is made; null for the usual place.</param>
public sealed class Scratch(string? within = null) : IDisposable
{
    public string Path { get; } = within is null
        ? Directory.CreateTempSubdirectory("rootcellar-test-").FullName
        : Directory.CreateDirectory(System.IO.Path.Combine(within, $"rootcellar-test-{Guid.NewGuid():N}")).FullName;

    public string File(string name) => System.IO.Path.Combine(Path, name);

    public void Dispose()
    {
        try
        {
            Directory.Delete(Path, recursive: true);
        }
        catch (IOException)
        {
            // A process that is still closing its files; the folder is in the temporary place anyway.
        }
    }
}
