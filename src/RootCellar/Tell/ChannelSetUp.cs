using System.Text.Json;
using RootCellar.Household;
using RootCellar.Storage;

namespace RootCellar.Tell;

/// <summary>What the household set up itself, on the page or by the API, of the ways texts go out; null: not set up there.</summary>
internal sealed record ChannelSetUp(MailSetUp? Mail = null, PostSetUp? Post = null, ModemSetUp? Modem = null);

/// <param name="Tls">As <see cref="MailOptions.Tls"/>.</param>
/// <param name="Password">In clear: the mail server wants it so. Never shown again.</param>
internal sealed record MailSetUp(string Host, int Port, string Tls, string? User, string? Password, string From)
{
    public MailOptions Options => new() { Host = Host, Port = Port, Tls = Tls, User = User, From = From };
}

/// <param name="Headers">Often with a key of the gateway's: their values are never shown again.</param>
/// <param name="Body">What is sent, as <see cref="PostOptions.BodyTemplate"/>.</param>
internal sealed record PostSetUp(
    string Url, string Method, IReadOnlyDictionary<string, string> Headers, string ContentType, string Body)
{
    public PostOptions Options => new()
    {
        Url = Url,
        Method = Method,
        Headers = Headers.ToDictionary(StringComparer.OrdinalIgnoreCase),
        ContentType = ContentType,
        BodyTemplate = Body,
    };
}

/// <summary>Texts go out by the modem that the machine's modem daemon has; which program hands them over is the installer's to say.</summary>
internal sealed record ModemSetUp;

/// <summary>Keeps it beside the record, its user's alone, so that texts go out also while the record cannot be opened.</summary>
internal sealed class ChannelFile(string folder)
{
    private static readonly JsonSerializerOptions Form = new() { WriteIndented = true };

    private string Path => System.IO.Path.Combine(folder, DataFolder.Channels);

    /// <summary>What is set up, and what is wrong with the file; then nothing of it holds.</summary>
    public (ChannelSetUp SetUp, string? Problem) Read()
    {
        try
        {
            return File.Exists(Path)
                ? (JsonSerializer.Deserialize<ChannelSetUp>(File.ReadAllBytes(Path)) ?? new ChannelSetUp(), null)
                : (new ChannelSetUp(), null);
        }
        catch (Exception e) when (e is JsonException or IOException or UnauthorizedAccessException)
        {
            return (new ChannelSetUp(), Strings.ChannelFileBad.With(e.Message));
        }
    }

    /// <summary>Writes it whole and synced. A file that could not be read is set aside first, never overwritten.</summary>
    /// <exception cref="IOException">It could not be written; the old file stands.</exception>
    /// <exception cref="UnauthorizedAccessException">The same.</exception>
    public void Write(ChannelSetUp setUp, bool setAside)
    {
        if (setAside && File.Exists(Path)) File.Move(Path, Path + ".bad", overwrite: true);
        DiskSync.WriteWhole(Path, stream => JsonSerializer.Serialize(stream, setUp, Form));
    }
}
