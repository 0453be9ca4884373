using System.Collections.Concurrent;
using RootCellar.Tell;

namespace RootCellar.Tests.Tell;

/// <summary>A way out of the house that keeps what it is given, and refuses as often as it is told to.</summary>
internal sealed class CapturingChannel(int refusals = 0) : IChannel
{
    public const string ChannelName = "captured";

    private readonly ConcurrentQueue<Outgoing> taken = new();
    private int left = refusals;
    private int attempts;

    public string Name => ChannelName;

    public IReadOnlyList<Outgoing> Taken => [.. taken];

    /// <summary>What to do with a text instead, given how many came before; null to take it.</summary>
    public Func<Outgoing, int, CancellationToken, Task>? Instead { get; init; }

    /// <summary>The far side does not answer.</summary>
    public bool Gone { get; set; }

    public int Attempts => Volatile.Read(ref attempts);

    public async Task<string> SendAsync(Outgoing message, CancellationToken cancellationToken)
    {
        var before = Interlocked.Increment(ref attempts) - 1;
        if (Instead is { } instead) await instead(message, before, cancellationToken);
        if (Gone) throw new IOException("nobody answers");
        if (Interlocked.Decrement(ref left) >= 0) throw new RefusedException("the far side does not take it", null);
        taken.Enqueue(message);
        return "taken";
    }
}
