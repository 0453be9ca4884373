using System.Text.Json;

namespace RootCellar.Storage;

/// <summary>
/// A small file beside the record that the service writes itself, its user's alone: so that what it says holds also while the record cannot
/// be opened.
/// </summary>
internal sealed class KeptFile<T>(string folder, string name)
    where T : class, new()
{
    private static readonly JsonSerializerOptions Form = new() { WriteIndented = true };

    private string Path => System.IO.Path.Combine(folder, name);

    /// <summary>What it says, and why it cannot be read; then nothing of it holds.</summary>
    public (T Content, string? Problem) Read()
    {
        try
        {
            return File.Exists(Path) ? (JsonSerializer.Deserialize<T>(File.ReadAllBytes(Path)) ?? new T(), null) : (new T(), null);
        }
        catch (Exception e) when (e is JsonException or IOException or UnauthorizedAccessException)
        {
            return (new T(), e.Message);
        }
    }

    /// <summary>Writes it whole and synced. A file that could not be read is set aside first, never overwritten.</summary>
    /// <exception cref="IOException">It could not be written; the old file stands.</exception>
    /// <exception cref="UnauthorizedAccessException">The same.</exception>
    public void Write(T content, bool setAside)
    {
        if (setAside && File.Exists(Path)) File.Move(Path, Path + ".bad", overwrite: true);
        DiskSync.WriteWhole(Path, stream => JsonSerializer.Serialize(stream, content, Form));
    }
}
