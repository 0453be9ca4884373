using System.Text.Json;
using Microsoft.Data.Sqlite;
using RootCellar.Household;
using RootCellar.Storage;

namespace RootCellar.Ledger;

/// <summary>An entry as a row, with what only the door needs of it.</summary>
/// <param name="Key">The Idempotency-Key it came with, and its place in the array.</param>
internal sealed record LedgerRow(LedgerEntry Entry, string? Key, int? KeyIndex, string? Print);

/// <summary>The ledger in the record. Rows are only ever added: triggers of the database see to it.</summary>
internal static class LedgerRows
{
    private const string Columns = "id, event, at_ms, at_offset, recorded_ms, by_whom, note, body, question, of_id, idem_key, idem_index, print";

    public static List<LedgerRow> After(SqliteConnection connection, long id) => connection.Query(
        $"SELECT {Columns} FROM ledger WHERE id > $id ORDER BY id", Read, ("$id", id));

    /// <summary>The book of all of them.</summary>
    /// <param name="calendar">Whose days those of the book are.</param>
    public static Book Book(SqliteConnection connection, HouseholdCalendar calendar) =>
        BookBuilder.Build([.. After(connection, 0).Select(r => Recorded.Of(r.Entry, calendar))], calendar);

    public static void Add(SqliteConnection connection, LedgerRow row) => connection.Execute(
        $"""
        INSERT INTO ledger ({Columns})
        VALUES ($id, $event, $at, $offset, $recorded, $by, $note, $body, $question, $of, $key, $index, $print)
        """,
        ("$id", row.Entry.Id),
        ("$event", row.Entry.Event),
        ("$at", row.Entry.At.ToUnixTimeMilliseconds()),
        ("$offset", (int)row.Entry.At.TotalOffsetMinutes),
        ("$recorded", row.Entry.RecordedAt.ToUnixTimeMilliseconds()),
        ("$by", row.Entry.By),
        ("$note", row.Entry.Note),
        ("$body", JsonSerializer.Serialize(row.Entry.Body, Json.Options)),
        ("$question", row.Entry.Question?.Kept()),
        ("$of", row.Entry.Of),
        ("$key", row.Key),
        ("$index", row.KeyIndex),
        ("$print", row.Print));

    /// <summary>A moment as the ledger holds it: to the millisecond and the minute of its offset, so that what is read back is what was used.</summary>
    public static DateTimeOffset AsKept(DateTimeOffset at) =>
        DateTimeOffset.FromUnixTimeMilliseconds(at.ToUnixTimeMilliseconds()).ToOffset(TimeSpan.FromMinutes(at.TotalOffsetMinutes));

    private static LedgerRow Read(SqliteDataReader row)
    {
        using var body = JsonDocument.Parse(row.GetString(7));
        var entry = new LedgerEntry(
            row.GetInt64(0),
            row.GetString(1),
            row.Time(2).ToOffset(TimeSpan.FromMinutes(row.GetInt32(3))),
            row.Time(4),
            row.StringOrNull(5),
            row.StringOrNull(6),
            body.RootElement.Clone(),
            Question.Read(row.StringOrNull(8)),
            row.IsDBNull(9) ? null : row.GetInt64(9));
        return new LedgerRow(entry, row.StringOrNull(10), row.IsDBNull(11) ? null : row.GetInt32(11), row.StringOrNull(12));
    }
}
