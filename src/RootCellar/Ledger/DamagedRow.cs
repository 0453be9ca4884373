using System.Globalization;
using System.Text.Json;
using Microsoft.Data.Sqlite;
using RootCellar.Ledger.Events;

namespace RootCellar.Ledger;

/// <summary>A row of the ledger that no entry can be made of. It stays where it is and counts for nothing.</summary>
/// <param name="Number">Its number, as far as it has one.</param>
/// <param name="Why">What is wrong with it, in English.</param>
/// <param name="Raw">What lies there, as text; cut after <see cref="RowText.LongestRaw"/> letters.</param>
internal sealed record DamagedRow(string Number, string Why, string Raw)
{
    /// <summary>The number as one that is taken; 0 where it is none.</summary>
    public long Taken => long.TryParse(Number, CultureInfo.InvariantCulture, out var id) && id <= RowText.LargestId
        ? id : 0;
}

/// <summary>Reads one row, believing nothing of it: a table that was repaired or rewritten by hand may hold anything.</summary>
internal sealed class RowText
{
    public const int LongestRaw = 2_000;

    /// <summary>Numbers above it are damage: it would take a thousand entries a second for thirty thousand years.</summary>
    public const long LargestId = 1_000_000_000_000_000;

    private const long FirstMs = 0;

    // The first moment of the year 3000: times up to there were taken once, and count.
    private const long LastMs = 32_503_680_000_000;

    private readonly SqliteDataReader row;
    private string? wrong;

    private RowText(SqliteDataReader row) => this.row = row;

    public static RowRead Read(SqliteDataReader row)
    {
        var text = new RowText(row);
        try
        {
            var read = text.Entry();
            return text.wrong is null ? new RowRead(read, null) : text.Damaged();
        }
        catch (Exception e) when (
            e is JsonException or SqliteException or InvalidCastException or InvalidOperationException or ArgumentException or OverflowException)
        {
            text.wrong ??= e.Message;
            return text.Damaged();
        }
    }

    private LedgerRow Entry()
    {
        var id = Whole(0, "id", 1, LargestId);
        var what = Text(1, "event", needed: true)!;
        if (EventKinds.Find(what) is { } known) what = known.Name;
        else wrong ??= $"event: '{what}' is none this version knows";
        var at = DateTimeOffset.FromUnixTimeMilliseconds(Whole(2, "at_ms", FirstMs, LastMs))
            .ToOffset(TimeSpan.FromMinutes(Whole(3, "at_offset", -14 * 60, 14 * 60)));
        var recorded = DateTimeOffset.FromUnixTimeMilliseconds(Whole(4, "recorded_ms", FirstMs, LastMs));
        var (by, note) = (Text(5, "by_whom"), Text(6, "note"));
        var body = Body(Text(7, "body", needed: true));
        var question = Question.Read(Text(8, "question"));
        long? of = row.IsDBNull(9) ? null : Whole(9, "of_id", 1, LargestId);
        if (wrong is null && (what == Correction.Name) != (of is not null))
            wrong = of is null ? "of_id: a correction without what it corrects" : $"of_id: a {what} corrects nothing";
        if (wrong is null && of >= id) wrong = $"of_id: it corrects entry {of}, which came later";
        var (key, index, print) =
            (Text(10, "idem_key"), row.IsDBNull(11) ? (int?)null : (int)Whole(11, "idem_index", 0, int.MaxValue), Text(12, "print"));
        return new LedgerRow(new LedgerEntry(id, what, at, recorded, by, note, body, question, of), key, index, print);
    }

    private JsonElement Body(string? text)
    {
        if (wrong is not null) return default;
        try
        {
            using var document = JsonDocument.Parse(text!);
            if (document.RootElement.ValueKind != JsonValueKind.Object) wrong = "body: it is not a JSON object";
            else if (text!.Contains("\\u", StringComparison.Ordinal) && !IsText(document.RootElement))
                wrong = "body: there is half a character in it";
            else return document.RootElement.Clone();
        }
        catch (JsonException)
        {
            wrong = "body: it is not JSON";
        }

        return default;
    }

    /// <summary>JSON may hold half a character, which no text can be made of.</summary>
    private static bool IsText(JsonElement element)
    {
        try
        {
            return element.ValueKind switch
            {
                JsonValueKind.String => element.GetString() is not null,
                JsonValueKind.Array => element.EnumerateArray().All(IsText),
                JsonValueKind.Object => element.EnumerateObject().All(p => p.Name.Length >= 0 && IsText(p.Value)),
                _ => true,
            };
        }
        catch (InvalidOperationException)
        {
            return false;
        }
    }

    private long Whole(int column, string name, long low, long high)
    {
        if (row.GetValue(column) is long number && number >= low && number <= high) return number;
        wrong ??= $"{name}: {(row.IsDBNull(column) ? "it is missing" : $"'{Shown(column)}' is not a number from {low} to {high}")}";
        return 0;
    }

    private string? Text(int column, string name, bool needed = false)
    {
        var value = row.GetValue(column);
        if (value is string text) return text;
        if (value is DBNull && !needed) return null;
        wrong ??= $"{name}: {(value is DBNull ? "it is missing" : $"'{Shown(column)}' is not a text")}";
        return needed ? "" : null;
    }

    private RowRead Damaged()
    {
        var number = row.GetValue(0) is long id ? id.ToString(CultureInfo.InvariantCulture) : "?";
        var raw = string.Join(' ', Enumerable.Range(0, row.FieldCount).Where(c => !row.IsDBNull(c))
            .Select(c => $"{row.GetName(c)}={Shown(c)}"));
        return new RowRead(null, new DamagedRow(number, wrong!, Cut(raw)));
    }

    private string Shown(int column) => row.GetValue(column) switch
    {
        byte[] bytes => "0x" + Convert.ToHexString(bytes.AsSpan(0, Math.Min(bytes.Length, 64))),
        var value => Cut(Convert.ToString(value, CultureInfo.InvariantCulture) ?? ""),
    };

    private static string Cut(string text) => text.Length <= LongestRaw ? text : text[..LongestRaw] + "…";
}
