namespace RootCellar.Ledger;

/// <summary>The book changed. <see cref="FromWhen"/> is the earliest moment whose truth changed.</summary>
internal delegate void BookChanged(Book book, DateTimeOffset fromWhen);
