using System.Collections;

namespace RootCellar.Ledger;

/// <summary>
/// Numbers of entries, added to by one thread and read by any. Who reads sees those that were there when it began. A bin may have been written
/// about a hundred thousand times, so adding one does not copy the rest.
/// </summary>
internal sealed class EntryNumbers : IEnumerable<long>
{
    public static readonly EntryNumbers None = new();

    private Kept kept = new([], 0);

    private sealed record Kept(long[] Numbers, int Count);

    /// <summary>Adds a number, once.</summary>
    public void Add(long id)
    {
        var (numbers, count) = kept;
        // Mostly it is the latest; an older one comes again when a correction names another bin.
        if (count > 0 && id <= numbers[count - 1] && Array.IndexOf(numbers, id, 0, count) >= 0) return;
        if (count == numbers.Length) Array.Resize(ref numbers, Math.Max(4, count * 2));
        // Readers go by the count, so what is written beyond it is not seen before it is counted.
        numbers[count] = id;
        Volatile.Write(ref kept, new Kept(numbers, count + 1));
    }

    public IEnumerator<long> GetEnumerator()
    {
        var (numbers, count) = Volatile.Read(ref kept);
        for (var i = 0; i < count; i++) yield return numbers[i];
    }

    IEnumerator IEnumerable.GetEnumerator() => GetEnumerator();
}
