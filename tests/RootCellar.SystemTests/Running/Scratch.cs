namespace RootCellar.SystemTests.Running;

/// <summary>A folder of one test, gone with it.</summary>
public sealed class Scratch : IDisposable
{
    public string Path { get; } = Directory.CreateTempSubdirectory("rootcellar-test-").FullName;

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
