namespace RootCellar.Ledger;

/// <summary>How large a book may be in the memory there is, so that a start comes up short of the end of it and not over it.</summary>
internal static class BookRoom
{
    /// <summary>
    /// What an entry takes, with what is made of it and what a change of the book needs beside it (measured, docs/performance.md; rounded
    /// up).
    /// </summary>
    public const long BytesPerEntry = 2_500;

    /// <summary>The share of the memory that is the book's; the rest is for readings, estimates, charts and the watch (assumed).</summary>
    private const double Share = 0.6;

    /// <summary>
    /// How many entries there is room for. The limit of the heap counts where one is set, else what machine or container have.
    /// </summary>
    public static long Entries => (long)(GC.GetGCMemoryInfo().TotalAvailableMemoryBytes * Share) / BytesPerEntry;
}

/// <summary>Why the book could not be opened: nothing of it is shown and nothing can be written into it, while the watch goes on.</summary>
/// <param name="Entries">How many entries it has, where they are more than there is memory for; else null.</param>
/// <param name="Text">In English.</param>
internal sealed record BookTrouble(long? Entries, string Text);
