using System.Globalization;
using System.Xml;
using System.Xml.Linq;
using Microsoft.AspNetCore.DataProtection.Repositories;
using RootCellar.Household;
using RootCellar.Storage;

namespace RootCellar.Entry;

/// <summary>
/// The keys that seal cookies and forms, one XML file each. A file is written whole and synced. One that cannot be read (a card that died,
/// an editor) is set aside under another name and said on every page and in health: signing in goes on with the other keys or a new one,
/// and phones whose cookie hung on the bad one sign in once more. While no key can be written it is kept in memory until one can.
/// </summary>
internal sealed class KeyFolder(string folder, TimeProvider time, ILogger<KeyFolder> log) : IXmlRepository
{
    private const string Aside = ".bad";

    private readonly Lock one = new();
    private readonly Dictionary<string, XElement> unwritten = new(StringComparer.Ordinal);
    private string? problem;

    /// <summary>
    /// What is wrong with the keys, with what to do; null while all is well. A file that was set aside counts until somebody deletes it.
    /// </summary>
    public string? Problem
    {
        get
        {
            lock (one)
            {
                if (problem is not null) return problem;
                return SetAside() is { Count: > 0 } names
                    ? Strings.KeySetAside.With(names[^1])
                    : null;
            }
        }
    }

    public IReadOnlyCollection<XElement> GetAllElements()
    {
        lock (one)
        {
            WriteAgain();
            var read = new List<XElement>(unwritten.Values);
            foreach (var file in Files("*.xml"))
            {
                if (Read(file, out var why) is { } element) read.Add(element);
                else PutAside(file, why);
            }

            return read;
        }
    }

    public void StoreElement(XElement element, string friendlyName)
    {
        lock (one)
        {
            unwritten[Name(friendlyName)] = element;
            WriteAgain();
        }
    }

    private void WriteAgain()
    {
        problem = null;
        foreach (var (name, element) in unwritten.ToList())
        {
            try
            {
                Directory.CreateDirectory(folder);
                DiskSync.WriteWhole(Path.Combine(folder, name), stream => element.Save(stream));
                unwritten.Remove(name);
            }
            catch (Exception e) when (e is IOException or UnauthorizedAccessException)
            {
                problem = Strings.KeyNotWritten.With(e.Message);
                log.LogError("{Problem}", problem);
            }
        }
    }

    private static XElement? Read(string file, out string why)
    {
        why = "";
        try
        {
            var element = XDocument.Load(file).Root!;
            // What the framework would leave out without a word, or fail at when it seals the first cookie.
            if (element.Name == "revocation" || IsWholeKey(element)) return element;
            why = Strings.KeyNone;
        }
        catch (Exception e) when (e is XmlException or IOException or UnauthorizedAccessException)
        {
            why = e.Message;
        }

        return null;
    }

    private static bool IsWholeKey(XElement element) =>
        element.Name == "key" && Guid.TryParse(element.Attribute("id")?.Value, out _)
        && IsDate(element, "creationDate") && IsDate(element, "expirationDate") && HasSecret(element);

    private static bool IsDate(XElement key, string name) =>
        DateTimeOffset.TryParse(key.Element(name)?.Value, CultureInfo.InvariantCulture, out _);

    private static bool HasSecret(XElement key)
    {
        var secret = key.Descendants().FirstOrDefault(e => e.Name.LocalName == "masterKey")?.Descendants("value").FirstOrDefault()?.Value;
        // 512 bits, as the framework draws them.
        return secret is not null && Convert.TryFromBase64String(secret, new byte[secret.Length], out var bytes) && bytes >= 32;
    }

    private void PutAside(string file, string why)
    {
        var aside = $"{Path.GetFileName(file)}.{time.GetUtcNow().ToString("yyyyMMdd-HHmmss", CultureInfo.InvariantCulture)}{Aside}";
        try
        {
            File.Move(file, Path.Combine(folder, aside), overwrite: true);
            log.LogError("The key file {File} cannot be read ({Why}) and is set aside as {Aside}. Phones sign in once more", file, why,
                aside);
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException)
        {
            problem = Strings.KeyNotAside.With(Path.GetFileName(file), why, e.Message);
            log.LogError("{Problem}", problem);
        }
    }

    private List<string> SetAside() => [.. Files("*" + Aside).Select(f => Path.GetFileName(f)!).Order(StringComparer.Ordinal)];

    private string[] Files(string pattern)
    {
        try
        {
            return Directory.Exists(folder) ? Directory.GetFiles(folder, pattern) : [];
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException)
        {
            problem = Strings.KeyFolderUnread.With(e.Message);
            return [];
        }
    }

    // As the framework's own folder names them, so that either reads the other's.
    private static string Name(string friendly) =>
        (friendly.Length > 0 && friendly.All(c => char.IsAsciiLetterOrDigit(c) || c is '-' or '_') ? friendly : Guid.NewGuid()
            .ToString()) + ".xml";
}
