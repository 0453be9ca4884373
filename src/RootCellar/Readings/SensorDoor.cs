using System.Net;
using System.Net.Sockets;
using System.Threading.RateLimiting;

namespace RootCellar.Readings;

/// <summary>What an MQTT client may do.</summary>
/// <param name="Sensor">Of a sensor's own password the sensor's key.</param>
/// <param name="Proof">The hash of what it showed; null where it showed nothing.</param>
/// <param name="IsGuessable">It showed a short password of before.</param>
internal sealed record ClientRights(ClientKind Kind, long Credential = 0, string? Sensor = null, string? Proof = null,
    bool IsGuessable = false)
{
    /// <summary>Whether both came with the same credential. All who know the sensor password are one.</summary>
    public bool IsSame(ClientRights other) => Kind == other.Kind && Credential == other.Credential;
}

/// <summary>
/// The answer to a client that wants to connect: its rights, or none; <paramref name="Busy"/> where it was not looked at.
/// </summary>
internal readonly record struct Admission(ClientRights? Rights, bool Busy);

/// <summary>
/// Who may connect to the built-in broker, and what each may do there. A right password always opens at once, whoever else
/// is guessing from the same address; a wrong one waits for its answer. The exception are the short passwords of before, which
/// could be guessed: one of those counts as a try itself, unless that client was let in from that address before.
/// </summary>
internal sealed class SensorDoor : IDisposable
{
    /// <summary>Wrong tries that are answered at once: of one address, and of all.</summary>
    public const int FreeTries = 10;
    public const int FreeTriesOfAll = 60;

    /// <summary>After those one address is answered once in this time, and five times that often all together.</summary>
    public static readonly TimeSpan OneTry = TimeSpan.FromSeconds(2);

    private const int MostWaiting = 10;
    private const int MostKnown = 2_000;
    private const string Root = "rootcellar/";

    private readonly PartitionedRateLimiter<IPAddress> tries = PartitionedRateLimiter.CreateChained(
        PartitionedRateLimiter.Create<IPAddress, string>(
            address => RateLimitPartition.GetTokenBucketLimiter(From(address), _ => Bucket(FreeTries, MostWaiting, 1))),
        PartitionedRateLimiter.Create<IPAddress, int>(
            _ => RateLimitPartition.GetTokenBucketLimiter(0, _ => Bucket(FreeTriesOfAll, 10 * MostWaiting, 5))));

    // Clients that knew a short password, and from where.
    private readonly HashSet<(string Address, string Client)> known = [];
    private readonly Func<string, ReadOnlyMemory<byte>, IReadOnlyList<string>> sensorsOf;
    private readonly bool allowAnonymous;
    private volatile State state = State.Of(new DoorFacts(null, null, false, []));

    /// <param name="sensorsOf">The keys of the sensors that a message is of, by its topic and payload.</param>
    public SensorDoor(bool allowAnonymous, Func<string, ReadOnlyMemory<byte>, IReadOnlyList<string>> sensorsOf)
    {
        this.allowAnonymous = allowAnonymous;
        this.sensorsOf = sensorsOf;
    }

    /// <summary>Passwords or set-up changed: some who are inside may have to leave.</summary>
    public event EventHandler? Changed;

    public DoorFacts Facts => state.Facts;

    /// <summary>Set-up is not finished: anybody on the network may publish, and read what the service publishes.</summary>
    public bool IsOpen => allowAnonymous && !state.Facts.SetUpFinished;

    public void Set(DoorFacts facts)
    {
        state = State.Of(facts);
        Changed?.Invoke(this, EventArgs.Empty);
    }

    /// <summary>Ends when the answer may be given: a wrong password waits here.</summary>
    /// <param name="client">The id it connects under.</param>
    public async Task<Admission> AdmitAsync(string? given, IPAddress address, string client, CancellationToken cancellationToken)
    {
        var rights = Rights(given, IPAddress.IsLoopback(address));
        if (rights is { IsGuessable: false } || (rights is not null && IsKnown(address, client))) return new Admission(rights, false);
        using var turn = await tries.AcquireAsync(address, 1, cancellationToken);
        if (!turn.IsAcquired) return new Admission(null, Busy: true);
        if (rights is not null) Remember(address, client);
        return new Admission(rights, Busy: false);
    }

    /// <summary>Whether a client that is inside would still be let in.</summary>
    public bool Holds(ClientRights rights, bool fromThisMachine)
    {
        var now = state;
        return rights.Proof is not { } proof
            ? allowAnonymous && (fromThisMachine || !now.Facts.SetUpFinished)
            : now.Passwords.Any(p => p.Hash == proof) || now.ByHash.ContainsKey(proof);
    }

    /// <summary>Everything of a sensor with a password of its own is its alone; readers publish nothing.</summary>
    public bool MayPublish(ClientRights rights, string topic, ReadOnlyMemory<byte> payload)
    {
        if (topic.StartsWith('$') || topic.StartsWith(Announcements.Root, StringComparison.Ordinal) || topic == Announcements.Root[..^1])
            return false;
        return rights.Kind switch
        {
            ClientKind.Reader => false,
            // What is another's too, which has a password of its own, is not this one's to say.
            ClientKind.Sensor => IsOf(topic, payload, [rights.Sensor!]) && !IsOf(topic, payload, [.. state.OwnVoice.Where(s => s != rights.Sensor)]),
            _ => state.OwnVoice.Count == 0 || !IsOf(topic, payload, state.OwnVoice),
        };
    }

    /// <summary>
    /// Only what the service publishes can be read, and only by readers; while everything is open, also by those without a sensor's own
    /// password.
    /// </summary>
    public bool MayRead(ClientRights rights, string filter) =>
        filter.StartsWith(Announcements.Root, StringComparison.Ordinal)
            && (rights.Kind == ClientKind.Reader || (rights.Kind != ClientKind.Sensor && IsOpen));

    public void Dispose() => tries.Dispose();

    private ClientRights? Rights(string? given, bool fromThisMachine)
    {
        var now = state;
        if (string.IsNullOrEmpty(given))
            return allowAnonymous && (fromThisMachine || !now.Facts.SetUpFinished) ? new ClientRights(ClientKind.Anonymous) : null;
        var hash = SensorSecret.Hash(given);
        if (now.ByHash.TryGetValue(hash, out var own) && SensorSecret.AreEqual(hash, own.Hash))
        {
            return new ClientRights(own.Kind, own.Id, own.Kind == ClientKind.Sensor ? own.Name : null, hash);
        }

        ClientRights? shared = null;
        foreach (var password in now.Passwords)
        {
            if (SensorSecret.AreEqual(hash, password.Hash))
                shared = new ClientRights(ClientKind.Shared, Proof: hash, IsGuessable: !password.IsLong);
        }

        return shared;
    }

    // PLACE/SENSOR and below, and what the grower mapped to one of these sensors.
    private bool IsOf(string topic, ReadOnlyMemory<byte> payload, IReadOnlyCollection<string> sensors)
    {
        var own = topic.StartsWith(Root, StringComparison.Ordinal) ? topic[Root.Length..] : topic;
        return sensors.Any(s => own == s || own.StartsWith($"{s}/", StringComparison.Ordinal))
            || sensorsOf(topic, payload).Any(s => sensors.Contains(s, StringComparer.Ordinal));
    }

    private bool IsKnown(IPAddress address, string client)
    {
        lock (known) return known.Contains((From(address), client));
    }

    private void Remember(IPAddress address, string client)
    {
        lock (known)
        {
            if (known.Count < MostKnown) known.Add((From(address), client));
        }
    }

    // Of IPv6 the network's half: who has one address there has as many as he likes.
    private static string From(IPAddress address)
    {
        if (address.IsIPv4MappedToIPv6) address = address.MapToIPv4();
        return address.AddressFamily == AddressFamily.InterNetworkV6 && !IPAddress.IsLoopback(address)
            ? Convert.ToHexString(address.GetAddressBytes().AsSpan(0, 8)) : address.ToString();
    }

    private static TokenBucketRateLimiterOptions Bucket(int free, int waiting, int each) => new()
    {
        TokenLimit = free,
        TokensPerPeriod = each,
        ReplenishmentPeriod = OneTry,
        QueueLimit = waiting,
        QueueProcessingOrder = QueueProcessingOrder.OldestFirst,
    };

    private sealed record State(
        DoorFacts Facts,
        IReadOnlyList<(string Hash, bool IsLong)> Passwords,
        IReadOnlyDictionary<string, ClientCredential> ByHash,
        IReadOnlyCollection<string> OwnVoice)
    {
        public static State Of(DoorFacts facts) => new(
            facts,
            [.. new[] { facts.Password, facts.OldPassword }.OfType<string>().Select(p => (SensorSecret.Hash(p), SensorSecret.IsLong(p)))],
            facts.Credentials.ToDictionary(c => c.Hash, StringComparer.Ordinal),
            facts.Credentials.Where(c => c is { Kind: ClientKind.Sensor, FirstUsed: not null }).Select(c => c.Name)
                .ToHashSet(StringComparer.Ordinal));
    }
}
