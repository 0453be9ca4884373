using System.Net;
using System.Net.Sockets;

namespace RootCellar.Entry;

/// <summary>
/// How many wrong tries are free, and how the wait grows after them: <see cref="First"/>, then twice that, up to <see cref="Most"/>.
/// </summary>
internal sealed record Patience(int Free, TimeSpan First, TimeSpan Most)
{
    /// <summary>
    /// What is left of the wait after so many wrong tries, the last of them that long ago. A clock that was put back adds nothing to it.
    /// </summary>
    public TimeSpan Left(int failures, TimeSpan since)
    {
        if (failures < Free) return TimeSpan.Zero;
        var wait = First * Math.Pow(2, Math.Min(failures - Free, 20));
        if (wait > Most) wait = Most;
        return since <= TimeSpan.Zero ? wait : since < wait ? wait - since : TimeSpan.Zero;
    }
}

/// <summary>
/// Who tries to sign in: a browser in which somebody signed in before (<see cref="KnownBrowsers"/>), counted by itself wherever it is; or a
/// stranger, counted by address.
/// </summary>
internal readonly record struct Trier(IPAddress? Address, string? Browser = null);

/// <summary>
/// How often signing in may be tried: by one known browser, from one address, and by all strangers together. Asked by the sign-in page
/// itself and not by middleware, so that looking at the page costs no try and the refusal is a page that says when to come back. Kept in
/// memory: a restart forgives an address, not the wrong PINs of a helper, which are in the record (<see cref="Helpers.Try"/>).
/// </summary>
internal sealed class SignInTries(TimeProvider time)
{
    /// <summary>Wrong PINs in a row after which only the household lets a helper in again: 20 in 10 000 is one chance in 500.</summary>
    public const int MostInARow = 20;

    public static readonly Patience OfName = new(5, TimeSpan.FromMinutes(1), TimeSpan.FromHours(1));
    public static readonly Patience OfAddress = new(10, TimeSpan.FromMinutes(5), TimeSpan.FromHours(1));

    /// <summary>Strangers at many addresses at once. Known browsers have no part in it.</summary>
    public static readonly Patience OfAll = new(60, TimeSpan.FromSeconds(5), TimeSpan.FromMinutes(1));

    /// <summary>
    /// Wrong tries a day for which an address has not to wait because of what other addresses do: so that who tries without end from many
    /// addresses cannot keep the owner's new phone out. An IPv6 network has as many addresses as anybody likes and counts as one here.
    /// </summary>
    public const int OwnTries = 3;

    private const string All = "";
    private const int MostKept = 20_000;
    private static readonly TimeSpan Forget = TimeSpan.FromHours(24);

    private readonly Lock one = new();
    private readonly Dictionary<string, (int Failures, long Last)> wrong = new(StringComparer.Ordinal);

    public DateTimeOffset Now => time.GetUtcNow();

    /// <summary>Counts a try as wrong before it is looked at; the wait where it comes too early, and then it is not counted.</summary>
    public TimeSpan Begin(Trier who)
    {
        lock (one)
        {
            var keys = Keys(who);
            var wait = Left(keys[0], OfAddress);
            if (who.Browser is null && Failures(keys[^1]) >= OwnTries && Left(All, OfAll) is var all && all > wait) wait = all;
            if (wait > TimeSpan.Zero) return wait;
            foreach (var key in keys) Count(key);
            if (who.Browser is null) Count(All);
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

    /// <summary>The passphrase was right: the browser or the address is forgiven.</summary>
    public void Forgive(Trier who)
    {
        lock (one)
        {
            foreach (var key in Keys(who)) wrong.Remove(key);
            if (who.Browser is null) Uncount(All);
        }
    }

    /// <summary>
    /// A PIN was right: that try was none, but what went before stands, or a helper could guess at others' between two of their own.
    /// </summary>
    public void Uncount(Trier who)
    {
        lock (one)
        {
            foreach (var key in Keys(who)) Uncount(key);
            if (who.Browser is null) Uncount(All);
        }
    }

    private void Uncount(string key)
    {
        if (wrong.TryGetValue(key, out var seen)) wrong[key] = (Math.Max(0, seen.Failures - 1), seen.Last);
    }

    private int Failures(string key) => wrong.TryGetValue(key, out var seen) && time.GetElapsedTime(seen.Last) < Forget ? seen.Failures : 0;

    private TimeSpan Left(string key, Patience patience) =>
        wrong.TryGetValue(key, out var seen) && time.GetElapsedTime(seen.Last) is var since && since < Forget
            ? patience.Left(seen.Failures, since) : TimeSpan.Zero;

    private void Count(string key)
    {
        if (wrong.Count > MostKept)
        {
            foreach (var (old, _) in wrong.Where(w => w.Key != All).OrderBy(w => w.Value.Last).Take(MostKept / 2).ToList())
                wrong.Remove(old);
        }

        var before = wrong.TryGetValue(key, out var seen) && time.GetElapsedTime(seen.Last) < (key == All ? TimeSpan.FromHours(1) : Forget)
            ? seen.Failures : 0;
        wrong[key] = (before + 1, time.GetTimestamp());
    }

    // What waits, first; what the tries of its own are counted by, last: the same but for an IPv6 address, which has its network's. It
    // waits by the whole address, since every phone of the house shares the first half; who changes addresses meets what all strangers
    // share.
    private static string[] Keys(Trier who)
    {
        if (who.Browser is { } browser) return [$"browser {browser}"];
        var address = who.Address is { IsIPv4MappedToIPv6: true } mapped ? mapped.MapToIPv4() : who.Address;
        if (address is not { AddressFamily: AddressFamily.InterNetworkV6 }) return [address?.ToString() ?? "?"];
        return [address.ToString(), $"network {Convert.ToHexString(address.GetAddressBytes().AsSpan(0, 8))}"];
    }
}
