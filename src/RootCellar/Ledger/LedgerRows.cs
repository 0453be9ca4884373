using System.Text.Json;
using Microsoft.Data.Sqlite;
using RootCellar.Household;
using RootCellar.Storage;

namespace RootCellar.Ledger;

/// <summary>An entry as a row, with what only the door needs of it.</summary>
/// <param name="Key">The Idempotency-Key it came with, and its place in the array.</param>
internal sealed record LedgerRow(LedgerEntry Entry, string? Key, int? KeyIndex, string? Fingerprint);

/// <summary>What was read of one row: the entry, or what is wrong with it.</summary>
internal readonly record struct RowRead(LedgerRow? Row, DamagedRow? Damaged);

/// <summary>The ledger in the record. Rows are only ever added: triggers of the database see to it.</summary>
internal static class LedgerRows
{
    private const string Columns =
        "id, event, at_ms, at_offset, recorded_ms, by_whom, note, body, question, of_id, idem_key, idem_index, print";

    // A correction of a correction of a correction: nobody needs more, and each costs a step of the stack.
    private const int DeepestCorrection = 200;

    /// <summary>The rows that can be read, one at a time.</summary>
    /// <param name="id">Only those with a number above it; 0 for all.</param>
    public static IEnumerable<LedgerRow> After(SqliteConnection connection, long id) => Read(connection, id, static _ => true)
        .Where(r => r.Row is not null).Select(r => r.Row!);

    /// <summary>Every row, in the order of writing, read by itself: one that cannot be read is told of and stops no other.</summary>
    /// <param name="after">Only rows with a number above it; 0 for all.</param>
    /// <param name="known">Whether there is an entry of a number up to <paramref name="after"/>.</param>
    public static IEnumerable<RowRead> Read(SqliteConnection connection, long after, Func<long, bool> known)
    {
        var sieve = new Sieve(after, known);
        var broken = false;
        using (var command = connection.Command($"SELECT {Columns} FROM ledger{(after == 0 ? "" : " WHERE id > $after")} ORDER BY id",
            ("$after", after)))
        using (var row = command.ExecuteReader())
        {
            while (Next(row, ref broken)) yield return sieve.Judge(RowText.Read(row));
        }

        if (!broken) yield break;
        // A page of the file is damaged. What lies beyond it is read from the other end.
        yield return new RowRead(
            null, new DamagedRow("?", $"the file is damaged after entry {sieve.Last}: what was written there cannot be read", ""));
        foreach (var read in Backward(connection, Math.Max(after, sieve.Last))) yield return sieve.Judge(read);
    }

    /// <summary>The book of all that can be read.</summary>
    /// <param name="calendar">Whose days those of the book are.</param>
    public static Book Book(SqliteConnection connection, HouseholdCalendar calendar) => BookBuilder.Build(
        [.. Read(connection, 0, static _ => false).Where(r => r.Row is not null).Select(r => Recorded.Of(r.Row!.Entry))], calendar);

    /// <summary>How many rows there are, readable or not; of a table with a damaged page, how many numbers were given out.</summary>
    public static long Count(SqliteConnection connection)
    {
        try
        {
            return connection.Scalar("SELECT count(*) FROM ledger") is long count ? count : 0;
        }
        catch (SqliteException e) when (e.SqliteErrorCode == 11)
        {
            return connection.Scalar("SELECT max(id) FROM ledger") is long highest ? highest : 0;
        }
    }

    /// <summary>What was written under an Idempotency-Key: number and print of each.</summary>
    public static List<(long Id, string? Fingerprint)> UnderKey(SqliteConnection connection, string key) => connection.Query(
        "SELECT id, print FROM ledger WHERE idem_key = $key ORDER BY idem_index", static row => (row.GetInt64(0), row.StringOrNull(1)),
        ("$key", key));

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
        ("$body", JsonSerializer.Serialize(row.Entry.Body, JsonRules.Options)),
        ("$question", row.Entry.Question?.Kept()),
        ("$of", row.Entry.Of),
        ("$key", row.Key),
        ("$index", row.KeyIndex),
        ("$print", row.Fingerprint));

    /// <summary>
    /// A moment as the ledger holds it: to the millisecond and the minute of its offset, so that what is read back is what was used.
    /// </summary>
    public static DateTimeOffset AsKept(DateTimeOffset at) =>
        DateTimeOffset.FromUnixTimeMilliseconds(at.ToUnixTimeMilliseconds()).ToOffset(TimeSpan.FromMinutes(at.TotalOffsetMinutes));

    private static List<RowRead> Backward(SqliteConnection connection, long downTo)
    {
        var read = new List<RowRead>();
        var broken = false;
        using var command = connection.Command($"SELECT {Columns} FROM ledger WHERE id > $down ORDER BY id DESC", ("$down", downTo));
        try
        {
            using var row = command.ExecuteReader();
            while (Next(row, ref broken)) read.Add(RowText.Read(row));
        }
        catch (SqliteException)
        {
            // Nor from there.
        }

        read.Reverse();
        return read;
    }

    private static bool Next(SqliteDataReader row, ref bool broken)
    {
        try
        {
            return row.Read();
        }
        catch (SqliteException)
        {
            broken = true;
            return false;
        }
    }

    /// <summary>What a row cannot tell by itself: whether its number is there twice, and whether what it corrects is there.</summary>
    private sealed class Sieve(long after, Func<long, bool> known)
    {
        private readonly List<long> good = [];
        private readonly Dictionary<long, int> depths = [];
        private long last;

        public long Last => Math.Max(last, after);

        public RowRead Judge(RowRead read)
        {
            if (read.Row is not { Entry: var entry } row) return read;
            if (entry.Id <= Last) return Aside(row, $"there is an entry {entry.Id} already");
            last = entry.Id;
            if (entry.Of is { } of)
            {
                if (of <= after ? !known(of) : good.BinarySearch(of) < 0)
                    return Aside(row, $"it corrects entry {of}, which is not there or cannot be read");
                var depth = depths.GetValueOrDefault(of) + 1;
                if (depth > DeepestCorrection) return Aside(row, $"it is a correction of a correction, {depth} deep");
                depths[entry.Id] = depth;
            }

            good.Add(entry.Id);
            return read;
        }

        private static RowRead Aside(LedgerRow row, string why) => new(null, new DamagedRow(
            row.Entry.Id.ToString(System.Globalization.CultureInfo.InvariantCulture), why,
            $"{row.Entry.Event} {row.Entry.At:O} {row.Entry.Body.GetRawText()}"));
    }
}
