using RootCellar.Storage;

namespace RootCellar.Ledger;

/// <summary>The book has as many entries as it takes (Limits:BookEntries): nothing was kept, and what is in it stands.</summary>
internal sealed class BookFullException(int most)
    : StoreProblemException(
        $"The book has {most} entries, as many as it takes here. The household can raise Limits:BookEntries in rootcellar.json; more entries need more memory.");
