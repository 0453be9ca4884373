using System.ComponentModel.DataAnnotations;
using RootCellar.Entry;

namespace RootCellar.Household;

/// <summary>
/// Key <c>Limits</c>: how much may be asked and written, so that one phone or program cannot use up the machine. The household and tokens
/// for everything are bound by the book's size alone.
/// </summary>
internal sealed class LimitOptions
{
    /// <summary>
    /// Requests a minute by one helper, one token for logging, or one address that is not signed in. More are answered 429 with
    /// Retry-After. Pictures and files of the pages do not count.
    /// </summary>
    [Range(10, 1_000_000)]
    public int CallsAMinute { get; set; } = 600;

    /// <summary>Entries a minute by one helper or token for logging, in as many calls as they like.</summary>
    [Range(10, 1_000_000)]
    public int EntriesAMinute { get; set; } = 1_000;

    /// <summary>Entries a day by one helper or token for logging. A family writes some tens a day.</summary>
    [Range(10, 10_000_000)]
    public int EntriesADay { get; set; } = 10_000;

    /// <summary>
    /// The most entries the book takes, whoever writes; what is in it stays. 0: as many as fit into a third of the memory the program may
    /// use, at least 20 000.
    /// </summary>
    [Range(0, 100_000_000)]
    public int BookEntries { get; set; }

    /// <summary>
    /// Memory an entry takes while the service runs, in bytes (from memory, on the safe side: 1,600 to 2,500 were measured).
    /// </summary>
    private const long BytesAnEntry = 4_000;

    private const int FewestBookEntries = 20_000;

    /// <summary><see cref="BookEntries"/> on this machine.</summary>
    public int MostBookEntries => BookEntries > 0
        ? BookEntries
        : (int)Math.Clamp(GC.GetGCMemoryInfo().TotalAvailableMemoryBytes / 3 / BytesAnEntry, FewestBookEntries, 1_000_000);
}
