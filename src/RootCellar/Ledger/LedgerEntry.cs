using System.Text.Json;
using System.Text.Json.Serialization;
using RootCellar.Household;
using RootCellar.Ledger.Events;

namespace RootCellar.Ledger;

/// <summary>
/// A row of the ledger, as it was entered: it never changes. <see cref="Body"/> holds the fields of the event under the names of the API,
/// measures with the factor they were turned into kg by. <see cref="At"/> is when it happened by the person's word,
/// <see cref="RecordedAt"/>
/// when it was written down; both UTC, to the millisecond.
/// </summary>
/// <param name="Id">Running number; the order of writing.</param>
/// <param name="Event">The name of its kind, as it is on the wire.</param>
/// <param name="Question">Null, or why it is to be checked: then it counts for nothing until a correction clears it.</param>
/// <param name="Of">The entry a correction puts right.</param>
internal sealed record LedgerEntry(
    long Id,
    string Event,
    DateTimeOffset At,
    DateTimeOffset RecordedAt,
    string? By,
    string? Note,
    JsonElement Body,
    Question? Question,
    long? Of)
{
    [JsonIgnore]
    public EventKind Kind => EventKinds.Find(Event) ?? throw new InvalidOperationException($"An event nobody knows: {Event}");
}

/// <summary>An event that was read and makes sense by itself; whether the book can take it is another question.</summary>
/// <param name="At">When it happened; null: now.</param>
/// <param name="Keep">Keep it to be checked rather than ask back.</param>
/// <param name="Checked">The person was asked and says it is so: what the book doubts is taken all the same, as far as it can be.</param>
/// <param name="Fingerprint">A hash of what was sent, to know a repeat by.</param>
internal sealed record NewEntry(
    string Event,
    DateTimeOffset? At,
    string? By,
    string? Note,
    JsonElement Body,
    long? Of,
    bool Keep,
    bool Checked,
    string Fingerprint);

/// <summary>What the book asks back about one of the events given.</summary>
/// <param name="Index">Its place in the array, 0 for a single one.</param>
internal sealed record LedgerQuestion(int Index, [property: JsonIgnore] Question Asked)
{
    public string Code => Asked.Code;

    /// <summary>In English.</summary>
    public string Question => Asked.Text;

    public JsonElement Figures => Asked.Figures;
}

/// <summary>What became of what was given to the door. Either all of it was kept (or was kept before), or nothing.</summary>
internal abstract record LedgerAnswer
{
    /// <summary>Kept; those with a <see cref="LedgerEntry.Question"/> to be checked.</summary>
    internal sealed record Kept(IReadOnlyList<LedgerEntry> Entries) : LedgerAnswer;

    /// <summary>The same was kept before under the same key: nothing changed.</summary>
    internal sealed record Repeated(IReadOnlyList<LedgerEntry> Entries) : LedgerAnswer;

    /// <summary>Nothing was kept: the book asks back.</summary>
    internal sealed record Asked(IReadOnlyList<LedgerQuestion> Questions) : LedgerAnswer;

    /// <summary>Nothing was kept: it cannot be read, whoever insists.</summary>
    internal sealed record Wrong(int Index, Question Refused) : LedgerAnswer
    {
        public string Detail => Refused.Text;
    }

    /// <summary>Nothing was kept: the key belongs to something else.</summary>
    internal sealed record KeyTaken(string Detail) : LedgerAnswer;
}
