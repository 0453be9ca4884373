using System.Globalization;
using System.Text.Json;
using CsvHelper;
using CsvHelper.Configuration;
using Microsoft.Data.Sqlite;
using RootCellar.Storage;

namespace RootCellar.Ledger;

/// <summary>The file cannot be taken; nothing of it was. The message says the line.</summary>
internal sealed class CsvProblemException(string message) : Exception(message);

/// <summary>The ledger as CSV: one row an entry, its fields as one JSON document, so that nothing is lost on the way out and back.</summary>
internal static class LedgerCsv
{
    private static readonly string[] Columns = ["id", "event", "at", "recorded_at", "by", "note", "of", "question", "fields", "key", "key_index", "print"];

    public static CsvConfiguration Format() => new(CultureInfo.InvariantCulture)
    {
        NewLine = "\n",
        // A note that is text in quotes stays as it is; spreadsheets are not guarded against, for the file is to come back unchanged.
        InjectionOptions = InjectionOptions.None,
        // Both are told in words of our own.
        MissingFieldFound = null,
        BadDataFound = null,
        TrimOptions = TrimOptions.None,
    };

    /// <param name="from">Entries that happened from then on, as they were written.</param>
    /// <param name="to">And before then.</param>
    public static int Export(SqliteConnection connection, TextWriter output, DateTimeOffset from, DateTimeOffset to)
    {
        using var csv = new CsvWriter(output, Format(), leaveOpen: true);
        foreach (var column in Columns) csv.WriteField(column);
        csv.NextRecord();
        var count = 0;
        foreach (var (entry, key, index, print) in LedgerRows.After(connection, 0).Where(r => r.Entry.At >= from && r.Entry.At < to))
        {
            csv.WriteField(entry.Id);
            csv.WriteField(entry.Event);
            csv.WriteField(Time(entry.At));
            csv.WriteField(Time(entry.RecordedAt));
            csv.WriteField(entry.By);
            csv.WriteField(entry.Note);
            csv.WriteField(entry.Of);
            csv.WriteField(entry.Question);
            csv.WriteField(JsonSerializer.Serialize(entry.Body, Json.Options));
            csv.WriteField(key);
            csv.WriteField(index);
            csv.WriteField(print);
            csv.NextRecord();
            count++;
        }

        return count;
    }

    /// <summary>Adds the entries that are not there yet. All or nothing; an entry of a number that is there must be the same.</summary>
    /// <returns>How many were added.</returns>
    /// <exception cref="CsvProblemException">Something in it cannot be taken.</exception>
    public static int Import(SqliteConnection connection, TextReader input)
    {
        var there = LedgerRows.After(connection, 0);
        var known = there.ToDictionary(r => r.Entry.Id);
        var last = there.Count == 0 ? 0 : there[^1].Entry.Id;
        using var csv = new CsvReader(input, Format(), leaveOpen: true);
        ReadHeader(csv, Columns);
        var added = 0;
        while (csv.Read())
        {
            var row = Row(csv);
            if (known.TryGetValue(row.Entry.Id, out var same))
            {
                if (!Same(same, row)) throw No(csv, $"id {row.Entry.Id} is another entry in this ledger ({same.Entry.Event}, {Time(same.Entry.At)}). The ledger is never overwritten; import into an empty one");
                continue;
            }

            if (row.Entry.Id <= last) throw No(csv, $"id {row.Entry.Id} comes after {last}; the rows must be in the order of their ids");
            if (row.Entry.Of is { } of && !known.ContainsKey(of)) throw No(csv, $"of {of}: there is no such entry before this one");
            last = row.Entry.Id;
            known.Add(last, row);
            try
            {
                LedgerRows.Add(connection, row);
            }
            catch (SqliteException e) when (e.SqliteErrorCode == 19)
            {
                throw No(csv, $"key '{row.Key}' belongs to another entry already");
            }

            added++;
        }

        return added;
    }

    public static void ReadHeader(CsvReader csv, IReadOnlyList<string> columns)
    {
        if (!csv.Read() || !csv.ReadHeader()) throw new CsvProblemException($"The file is empty. Its first line would be {string.Join(',', columns)}");
        foreach (var column in columns.Where(c => !csv.HeaderRecord!.Contains(c, StringComparer.Ordinal)))
            throw new CsvProblemException($"Line 1: the column {column} is missing. Right would be {string.Join(',', columns)}");
    }

    public static CsvProblemException No(CsvReader csv, string what) => new($"Line {csv.Parser.RawRow}: {what}.");

    public static string Time(DateTimeOffset at) => at.ToString("yyyy-MM-dd'T'HH:mm:ss.fffzzz", CultureInfo.InvariantCulture);

    public static string? Text(CsvReader csv, string column) => csv.GetField(column) is { Length: > 0 } text ? text : null;

    public static DateTimeOffset Moment(CsvReader csv, string column) => Text(csv, column) is { } text && FieldReader.TryTime(text, out var at)
        ? at
        : throw No(csv, $"{column}: '{csv.GetField(column)}' is not a time; right would be 2026-10-03T16:30:00.000-05:00");

    private static LedgerRow Row(CsvReader csv)
    {
        if (Number(csv, "id") is not { } id || id <= 0) throw No(csv, $"id: '{csv.GetField("id")}' is not the number of an entry");
        var what = Text(csv, "event");
        if (what is null || !FactReader.Events.Contains(what)) throw No(csv, $"event: '{what}' is not one of {string.Join(", ", FactReader.Events)}.{FieldReader.Near(what ?? "", FactReader.Events)}".TrimEnd('.'));
        var at = LedgerRows.AsKept(Moment(csv, "at"));
        var of = Number(csv, "of");
        if (what == FactReader.Correction && of is null) throw No(csv, "of: it is missing from a correction");
        if (what != FactReader.Correction && of is not null) throw No(csv, "of: it is for a correction only");
        JsonElement fields;
        try
        {
            using var document = JsonDocument.Parse(Text(csv, "fields") ?? "");
            fields = document.RootElement.Clone();
        }
        catch (JsonException)
        {
            throw No(csv, "fields: they are not JSON");
        }

        if (fields.ValueKind != JsonValueKind.Object) throw No(csv, "fields: they are not a JSON object");
        if (of is null)
        {
            FactReader.Read(what, fields, at, out var wrong);
            if (wrong is not null) throw No(csv, $"fields: {wrong.TrimEnd('.')}");
        }

        var entry = new LedgerEntry(id, what, at, LedgerRows.AsKept(Moment(csv, "recorded_at")).ToUniversalTime(), Text(csv, "by"), Text(csv, "note"), fields, Text(csv, "question"), of);
        return new LedgerRow(entry, Text(csv, "key"), (int?)Number(csv, "key_index"), Text(csv, "print"));
    }

    private static bool Same(LedgerRow a, LedgerRow b) =>
        a with { Entry = a.Entry with { Body = default } } == b with { Entry = b.Entry with { Body = default } }
        && a.Entry.At.Offset == b.Entry.At.Offset && JsonElement.DeepEquals(a.Entry.Body, b.Entry.Body);

    private static long? Number(CsvReader csv, string column) => Text(csv, column) is not { } text
        ? null
        : long.TryParse(text, NumberStyles.None, CultureInfo.InvariantCulture, out var number) ? number : throw No(csv, $"{column}: '{text}' is not a whole number");
}
