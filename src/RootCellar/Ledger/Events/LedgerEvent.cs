using System.Text.Json.Serialization;
using RootCellar.Household;

namespace RootCellar.Ledger.Events;

/// <summary>
/// Something that happened, as it was entered. Each kind is one file: its fields, what is checked of them, what it does to the book and
/// what the book asks about it. The properties are the fields of the API under their names; what follows from them is a method.
/// </summary>
internal abstract record LedgerEvent
{
    /// <summary>A person has looked at it and says it is so: the book does not ask.</summary>
    public bool Checked { get; init; }

    public abstract EventKind Kind();

    /// <summary>What it says it is about.</summary>
    public virtual About About() => default;

    /// <summary>Every bin it names.</summary>
    public virtual IEnumerable<string> Bins() => About().Bin is { } bin ? [bin] : [];

    /// <summary>Every place it names.</summary>
    public virtual IEnumerable<string> Places() => [];

    /// <summary>The bins it puts something into.</summary>
    public virtual IEnumerable<string> Fills() => [];

    /// <summary>The weight it is about; null where it is about none, or nobody knows it.</summary>
    public virtual long? Grams() => null;

    /// <summary>
    /// When it happened. What is written down by its day happened that day, though it was written in the evening or later.
    /// </summary>
    /// <param name="at">When it is to have happened by the entry.</param>
    /// <param name="calendar">Whose days those of the event are.</param>
    public virtual DateTimeOffset Happened(DateTimeOffset at, HouseholdCalendar calendar) => at;

    /// <summary>Does to the book what it does, and asks what there is to ask.</summary>
    /// <returns>False: it cannot be counted.</returns>
    public abstract bool Post(WorkingBook book);

    protected static string Kg(long grams) => $"{grams / 1000.0:0.###} kg";

    protected static DateTimeOffset Earlier(DateTimeOffset one, DateTimeOffset other) => one < other ? one : other;
}

/// <summary>What an event is about, where it says so.</summary>
internal readonly record struct About(string? Bin = null, string? Lot = null, string? Row = null, string? Crop = null);

/// <summary>What happens to a bin that holds something.</summary>
internal abstract record BinEvent([property: JsonPropertyOrder(-1)] string Bin) : LedgerEvent
{
    public sealed override About About() => new(Bin);

    public sealed override bool Post(WorkingBook book) => book.Bin(Bin) is { } bin && Post(book, bin);

    protected abstract bool Post(WorkingBook book, WorkingBin bin);
}
