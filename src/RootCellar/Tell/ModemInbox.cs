using System.Text;
using System.Text.RegularExpressions;
using RootCellar.Household;

namespace RootCellar.Tell;

/// <summary>A text that the modem received.</summary>
/// <param name="File">The name of its file, by which it is known.</param>
/// <param name="From">The number it came from, as the network gives it.</param>
/// <param name="At">When the daemon had it.</param>
internal sealed record Received(string File, string From, string Text, DateTimeOffset At);

/// <summary>
/// Where gammu-smsd puts the texts that come in (its "files" service): one file each, named INdate_time_serial_number_part.txt. Only read;
/// what lies there is the household's.
/// </summary>
internal sealed partial class ModemInbox(TellOptions tell, ChannelDesk desk)
{
    private const string DaemonsConfig = "/etc/gammu-smsdrc";

    // A text of ten parts in two-byte letters is below 2 KB.
    private const int LongestFile = 8_192;

    private volatile string? problem = "";

    /// <summary>Whether answers come: then texts have the number to answer with.</summary>
    public bool IsHeard => IsAsked && problem is null;

    /// <summary>Whether answers are to be heard: the modem is on, and the installer did not turn it off.</summary>
    public bool IsAsked => tell.Modem.Answers && desk.Find(ModemChannel.ChannelName) is not null;

    /// <summary>Why no answers come though they are to; null while they do, empty before the first look.</summary>
    public string? Problem => problem;

    /// <summary>What lies there that is younger than <paramref name="since"/>, the oldest first; the problem is said in <see cref="Problem"/>.</summary>
    public IReadOnlyList<Received> Look(DateTimeOffset since, Func<string, bool> isDone)
    {
        try
        {
            var found = Folder() is { } folder ? Read(folder, since, isDone) : null;
            problem = found is null ? Strings.AnswersNoFolder.With(Config) : null;
            return found ?? [];
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException)
        {
            problem = e.Message;
            return [];
        }
    }

    private string Config => tell.Modem.Config is { Length: > 0 } own ? own : DaemonsConfig;

    private string? Folder() => tell.Modem.Inbox is { Length: > 0 } set ? set
        : File.ReadLines(Config).Select(l => InboxPath().Match(l)).LastOrDefault(m => m.Success)?.Groups["path"].Value;

    private static List<Received> Read(string folder, DateTimeOffset since, Func<string, bool> isDone)
    {
        List<Received> found = [];
        foreach (var file in new DirectoryInfo(folder).EnumerateFiles("IN*.txt"))
        {
            var name = Name().Match(file.Name);
            var written = new DateTimeOffset(file.LastWriteTimeUtc, TimeSpan.Zero);
            // An empty file is one that the daemon is about to write.
            if (!name.Success || file.Length is 0 or > LongestFile || written < since || isDone(file.Name)) continue;
            found.Add(new Received(file.Name, name.Groups["from"].Value, Text(File.ReadAllBytes(file.FullName)), written));
        }

        found.Sort((a, b) => string.CompareOrdinal(a.File, b.File));
        return found;
    }

    // UTF-8 with Debian's build; older ones write two-byte letters, marked as such.
    private static string Text(byte[] bytes)
    {
        using var reader = new StreamReader(new MemoryStream(bytes), Encoding.UTF8, detectEncodingFromByteOrderMarks: true);
        return reader.ReadToEnd();
    }

    // The first part says it; what follows in a long text is read by nobody.
    [GeneratedRegex(@"^IN[0-9]{8}_[0-9]{6}_[0-9]+_(?<from>[^_]+)_00\.txt$", RegexOptions.ExplicitCapture, matchTimeoutMilliseconds: 1000)]
    private static partial Regex Name();

    [GeneratedRegex(@"^\s*inboxpath\s*=\s*(?<path>\S.*?)\s*$",
        RegexOptions.IgnoreCase | RegexOptions.CultureInvariant | RegexOptions.ExplicitCapture, matchTimeoutMilliseconds: 1000)]
    private static partial Regex InboxPath();
}
