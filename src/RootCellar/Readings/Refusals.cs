using System.Net;

namespace RootCellar.Readings;

/// <summary>Why the built-in broker refused something.</summary>
internal enum Refusal
{
    /// <summary>A wrong password, or none where one is needed.</summary>
    Password,

    /// <summary>A client id that another client with other rights has.</summary>
    ClientId,

    /// <summary>A message under a topic that is not the client's.</summary>
    Topic,

    /// <summary>A subscription to what the client may not read, or to more than it may.</summary>
    Subscription,

    /// <summary>A packet longer than Mqtt:Limits:PacketBytes.</summary>
    Packet,

    /// <summary>A client that did not fetch what was for it (PendingBytes, PendingMessages).</summary>
    Pending,

    /// <summary>A message that there was no room to keep (RetainedMessages, RetainedBytes).</summary>
    Retained,

    /// <summary>More connections than one address may have.</summary>
    AddressConnections,

    /// <summary>More connections than the broker takes in all.</summary>
    Connections,
}

/// <summary>What was refused for one reason since <paramref name="Since"/>.</summary>
/// <param name="Addresses">The first few addresses it came from; <paramref name="MoreAddresses"/> where there were others.</param>
internal sealed record RefusalView(Refusal Reason, long Count, DateTimeOffset Since, DateTimeOffset Last, IReadOnlyList<string> Addresses,
    bool MoreAddresses);

/// <summary>
/// Counts what the built-in broker refuses, so that a flood of it is one line on the Sensors page and one a minute in the log.
/// The first for a reason is logged at once. A count ends when nothing came for a day.
/// </summary>
internal sealed class Refusals : IDisposable
{
    private const int MostAddresses = 5;
    private static readonly TimeSpan LogEvery = TimeSpan.FromMinutes(1);
    private static readonly TimeSpan Forget = TimeSpan.FromDays(1);

    private readonly Lock one = new();
    private readonly SortedDictionary<Refusal, Tally> tallies = [];
    private readonly long[] totals = new long[Enum.GetValues<Refusal>().Length];
    private readonly TimeProvider time;
    private readonly ILogger<Refusals> log;
    private readonly ITimer timer;

    public Refusals(TimeProvider time, ILogger<Refusals> log)
    {
        this.time = time;
        this.log = log;
        timer = time.CreateTimer(_ => Sum(), null, LogEvery, LogEvery);
    }

    /// <param name="detail">What is known of this one, for the log.</param>
    public void Count(Refusal reason, IPAddress from, string detail)
    {
        Interlocked.Increment(ref totals[(int)reason]);
        var now = time.GetUtcNow();
        lock (one)
        {
            if (!tallies.TryGetValue(reason, out var tally) || now - tally.Last > Forget) tallies[reason] = tally = new Tally(now);
            tally.Add(from.ToString(), now);
            if (tally.Count > 1)
            {
                tally.Unlogged++;
                return;
            }
        }

        log.LogWarning("The broker refused {Reason}: {Detail} (from {Address}). More of it is summed up once a minute", Word(reason),
            detail, from);
    }

    /// <summary>What was refused in the last day, by reason.</summary>
    public IReadOnlyList<RefusalView> View()
    {
        var now = time.GetUtcNow();
        lock (one) return [.. tallies.Where(t => now - t.Value.Last <= Forget).Select(t => t.Value.View(t.Key))];
    }

    /// <summary>Since the service started.</summary>
    public long Total(Refusal reason) => Interlocked.Read(ref totals[(int)reason]);

    public void Dispose() => timer.Dispose();

    /// <summary>As it stands in metrics and the API.</summary>
    public static string Word(Refusal reason) => reason switch
    {
        Refusal.Password => "password",
        Refusal.ClientId => "client-id",
        Refusal.Topic => "topic",
        Refusal.Subscription => "subscription",
        Refusal.Packet => "packet",
        Refusal.Pending => "pending",
        Refusal.Retained => "retained",
        Refusal.AddressConnections => "connections-of-address",
        _ => "connections",
    };

    private void Sum()
    {
        lock (one)
        {
            foreach (var (reason, tally) in tallies.Where(t => t.Value.Unlogged > 0))
            {
                log.LogWarning(
                    "The broker refused {Reason} {Count} more times in the last minute, {All} since {Since}, from {Addresses}{More}",
                    Word(reason), tally.Unlogged, tally.Count, tally.Since, string.Join(", ", tally.Addresses),
                    tally.More ? " and others" : "");
                tally.Unlogged = 0;
            }
        }
    }

    private sealed class Tally(DateTimeOffset since)
    {
        public DateTimeOffset Since { get; } = since;

        public DateTimeOffset Last { get; private set; } = since;

        public long Count { get; private set; }

        public long Unlogged { get; set; }

        public List<string> Addresses { get; } = [];

        public bool More { get; private set; }

        public void Add(string address, DateTimeOffset now)
        {
            Count++;
            Last = now;
            if (Addresses.Contains(address)) return;
            if (Addresses.Count < MostAddresses) Addresses.Add(address);
            else More = true;
        }

        public RefusalView View(Refusal reason) => new(reason, Count, Since, Last, [.. Addresses], More);
    }
}
