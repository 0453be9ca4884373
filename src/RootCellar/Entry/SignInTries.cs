using System.Net;

namespace RootCellar.Entry;

/// <summary>How many wrong tries are free, and how the wait grows after them: <see cref="First"/>, then twice that, up to <see cref="Most"/>.</summary>
internal sealed record Patience(int Free, TimeSpan First, TimeSpan Most)
{
    /// <summary>What is left of the wait after so many wrong tries, the last of them that long ago. A clock that was put back adds nothing to it.</summary>
    public TimeSpan Left(int failures, TimeSpan since)
    {
        if (failures < Free) return TimeSpan.Zero;
        var wait = First * Math.Pow(2, Math.Min(failures - Free, 20));
        if (wait > Most) wait = Most;
        return since <= TimeSpan.Zero ? wait : since < wait ? wait - since : TimeSpan.Zero;
    }
}

/// <summary>
/// How often signing in may be tried: from one address, and by everybody together. Asked by the sign-in page itself and not by middleware, so
/// that looking at the page costs no try and the refusal is a page that says when to come back. Kept in memory: a restart forgives an
/// address, not the wrong PINs of a helper, which are in the record (<see cref="Helpers.Try"/>).
/// </summary>
internal sealed class SignInTries(TimeProvider time)
{
    /// <summary>Wrong PINs in a row after which only the household lets a helper in again: 20 in 10 000 is one chance in 500.</summary>
    public const int MostInARow = 20;

    public static readonly Patience OfName = new(5, TimeSpan.FromMinutes(1), TimeSpan.FromHours(1));
    public static readonly Patience OfAddress = new(10, TimeSpan.FromMinutes(5), TimeSpan.FromHours(1));

    /// <summary>Many addresses at once. Its waits stay short, so that a stranger cannot keep the household out for long.</summary>
    public static readonly Patience OfAll = new(60, TimeSpan.FromSeconds(5), TimeSpan.FromMinutes(1));

    private const string All = "";
    private const int MostKept = 20_000;
    private static readonly TimeSpan Forget = TimeSpan.FromHours(24);

    private readonly Lock one = new();
    private readonly Dictionary<string, (int Failures, long Last)> wrong = new(StringComparer.Ordinal);

    public DateTimeOffset Now => time.GetUtcNow();

    /// <summary>Counts a try as wrong before it is looked at; the wait where it comes too early, and then it is not counted.</summary>
    public TimeSpan Begin(IPAddress? address)
    {
        lock (one)
        {
            var from = From(address);
            var wait = Left(from, OfAddress);
            if (Left(All, OfAll) is var all && all > wait) wait = all;
            if (wait > TimeSpan.Zero) return wait;
            Count(from);
            Count(All);
            return TimeSpan.Zero;
        }
    }

    /// <summary>The same for a name nobody has, which must look like one that somebody has.</summary>
    public PinTry BeginUnknown(string name)
    {
        lock (one)
        {
            var key = $"name {Helpers.Key(name)}";
            var locked = wrong.GetValueOrDefault(key).Failures >= MostInARow;
            var wait = Left(key, OfName);
            if (wait == TimeSpan.Zero && !locked) Count(key);
            return new PinTry(0, "", "", wait, locked);
        }
    }

    /// <summary>The passphrase was right: the address is forgiven.</summary>
    public void Forgive(IPAddress? address)
    {
        lock (one)
        {
            wrong.Remove(From(address));
            Uncount();
        }
    }

    /// <summary>A PIN was right: that try was none, but what went before stands, or a helper could guess at others' between two of their own.</summary>
    public void Uncount(IPAddress? address)
    {
        lock (one)
        {
            var from = From(address);
            if (wrong.TryGetValue(from, out var seen)) wrong[from] = (seen.Failures - 1, seen.Last);
            Uncount();
        }
    }

    private void Uncount()
    {
        if (wrong.TryGetValue(All, out var all)) wrong[All] = (Math.Max(0, all.Failures - 1), all.Last);
    }

    private TimeSpan Left(string key, Patience patience) =>
        wrong.TryGetValue(key, out var seen) && time.GetElapsedTime(seen.Last) is var since && since < Forget ? patience.Left(seen.Failures, since) : TimeSpan.Zero;

    private void Count(string key)
    {
        if (wrong.Count > MostKept)
        {
            foreach (var (old, _) in wrong.Where(w => w.Key != All).OrderBy(w => w.Value.Last).Take(MostKept / 2).ToList()) wrong.Remove(old);
        }

        var before = wrong.TryGetValue(key, out var seen) && time.GetElapsedTime(seen.Last) < (key == All ? TimeSpan.FromHours(1) : Forget) ? seen.Failures : 0;
        wrong[key] = (before + 1, time.GetTimestamp());
    }

    // The whole address also of IPv6: every phone of the house shares the first half. Who changes addresses meets what all share.
    private static string From(IPAddress? address) => (address is { IsIPv4MappedToIPv6: true } ? address.MapToIPv4() : address)?.ToString() ?? "?";
}
