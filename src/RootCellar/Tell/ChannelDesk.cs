using RootCellar.Household;
using RootCellar.Storage;

namespace RootCellar.Tell;

/// <summary>One way out as it is now.</summary>
internal sealed class OpenChannel(IChannel channel) : IDisposable
{
    private readonly CancellationTokenSource replaced = new();

    public IChannel Channel { get; } = channel;

    /// <summary>Cancelled once it is set up otherwise, or no more: whoever waits to try it again looks anew.</summary>
    public CancellationToken Replaced => replaced.Token;

    public void Replace() => replaced.Cancel();

    public void Dispose() => replaced.Dispose();
}

/// <summary>
/// The ways out of the house. What the installer configured (file or environment) wins and stays as it is; what the household set up on the
/// page holds at once. Safe from any thread.
/// </summary>
internal sealed class ChannelDesk : IDisposable
{
    /// <summary>All that can be set up.</summary>
    public static readonly IReadOnlyList<string> All = [MailChannel.ChannelName, PostChannel.ChannelName, ModemChannel.ChannelName];

    private readonly Lock one = new();
    private readonly TellOptions configured;
    private readonly KeptFile<ChannelSetUp>? file;
    private readonly ChannelMaker? make;
    private volatile Dictionary<string, OpenChannel> open;

    public ChannelDesk(TellOptions configured, KeptFile<ChannelSetUp> file, ChannelMaker make, IEnumerable<IChannel> others)
    {
        (this.configured, this.file, this.make) = (configured, file, make);
        (SetUp, var why) = file.Read();
        Problem = why is null ? null : Strings.ChannelFileBad.With(why);
        open = Opened([
            .. others,
            .. All.Select(Make).OfType<IChannel>()]);
    }

    /// <summary>These and no others; nothing can be set up.</summary>
    public ChannelDesk(params IEnumerable<IChannel> only)
    {
        (configured, SetUp) = (new TellOptions(), new ChannelSetUp());
        open = Opened(only);
    }

    /// <summary>What the household set up itself.</summary>
    public ChannelSetUp SetUp { get; private set; }

    /// <summary>What is wrong with the file of it; null while all is well.</summary>
    public string? Problem { get; private set; }

    public IReadOnlyCollection<string> Names => open.Keys;

    /// <summary>The installer's own settings, which win.</summary>
    public TellOptions Configured => configured;

    /// <summary>Whether the installer configured the ping: then it is set up in no other place.</summary>
    public bool IsPingConfigured => configured.Ping.Url is { Length: > 0 };

    /// <summary>The address that is told that all is alive, and how often; null: none.</summary>
    public PingSetUp? Ping => IsPingConfigured ? new PingSetUp(configured.Ping.Url!, configured.Ping.EverySeconds) : SetUp.Ping;

    /// <summary>Keeps the ping as it was set up and goes by it from now on.</summary>
    /// <exception cref="IOException">It could not be kept; all is as it was.</exception>
    /// <exception cref="UnauthorizedAccessException">The same.</exception>
    public void SavePing(PingSetUp? ping)
    {
        lock (one)
        {
            var fresh = SetUp with { Ping = ping };
            file!.Write(fresh, setAside: Problem is not null);
            (SetUp, Problem) = (fresh, null);
        }
    }

    public OpenChannel? Find(string name) => open.GetValueOrDefault(name);

    /// <summary>Whether the installer configured it: then it is set up in no other place.</summary>
    public bool IsConfigured(string channel) => channel switch
    {
        MailChannel.ChannelName => configured.Mail.Host is { Length: > 0 },
        PostChannel.ChannelName => configured.Post.Url is { Length: > 0 },
        ModemChannel.ChannelName => configured.Modem.On,
        _ => true,
    };

    /// <summary>Keeps what was set up and goes by it from now on, also for texts that wait.</summary>
    /// <exception cref="IOException">It could not be kept; all is as it was.</exception>
    /// <exception cref="UnauthorizedAccessException">The same.</exception>
    public void Save(string channel, ChannelSetUp fresh)
    {
        lock (one)
        {
            file!.Write(fresh, setAside: Problem is not null);
            (SetUp, Problem) = (fresh, null);
            var next = new Dictionary<string, OpenChannel>(open, StringComparer.Ordinal);
            next.Remove(channel, out var before);
            if (Make(channel) is { } made) next[channel] = new OpenChannel(made);
            open = next;
            before?.Replace();
        }
    }

    public void Dispose()
    {
        foreach (var channel in open.Values) channel.Dispose();
    }

    private static Dictionary<string, OpenChannel> Opened(IEnumerable<IChannel> channels) =>
        channels.ToDictionary(c => c.Name, c => new OpenChannel(c), StringComparer.Ordinal);

    private IChannel? Make(string channel) => channel switch
    {
        MailChannel.ChannelName when IsConfigured(channel) => make!.Mail(configured.Mail, password: null),
        MailChannel.ChannelName => SetUp.Mail is { } mail ? make!.Mail(mail.Options, mail.Password ?? "") : null,
        PostChannel.ChannelName when IsConfigured(channel) => make!.Post(configured.Post),
        PostChannel.ChannelName => SetUp.Post is { } post ? make!.Post(post.Options) : null,
        ModemChannel.ChannelName => IsConfigured(channel) || SetUp.Modem is not null ? new ModemChannel(configured.Modem) : null,
        _ => null,
    };
}
