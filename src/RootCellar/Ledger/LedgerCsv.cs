using System.Globalization;
using System.Text.Json;
using CsvHelper;
using Microsoft.Data.Sqlite;
using RootCellar.Storage;

namespace RootCellar.Ledger;

/// <summary>The ledger as CSV: one row an entry, its fields as one JSON document, so that nothing is lost on the way out and back.</summary>
internal static class LedgerCsv
{
    private static readonly string[] Columns = ["id", "event", "at", "recorded_at", "by", "note", "of", "question", "fields", "key", "key_index", "print"];

    /// <param name="from">Entries that happened from then on, as they were written.</param>
    /// <param name="to">And before then.</param>
    public static int Export(SqliteConnection connection, TextWriter output, DateTimeOffset from, DateTimeOffset to)
    {
        using var csv = new CsvWriter(output, CsvFile.Format(), leaveOpen: true);
        foreach (var column in Columns) csv.WriteField(column);
        csv.NextRecord();
        var count = 0;
        foreach (var (entry, key, index, print) in LedgerRows.After(connection, 0).Where(r => r.Entry.At >= from && r.Entry.At < to))
        {
            csv.WriteField(entry.Id);
            csv.WriteField(entry.Event);
            csv.WriteField(CsvFile.Time(entry.At));
            csv.WriteField(CsvFile.Time(entry.RecordedAt));
            csv.WriteField(entry.By);
            csv.WriteField(entry.Note);
            csv.WriteField(entry.Of);
            csv.WriteField(entry.Question?.Kept());
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
    /// <param name="now">When it is taken in: what is to have been written down later is asked about.</param>
    /// <param name="looked">A person has looked at dates and names the ledger would ask about, and they are so.</param>
    /// <exception cref="CsvProblemException">Something in it cannot be taken.</exception>
    public static int Import(SqliteConnection connection, TextReader input, DateTimeOffset now, bool looked)
    {
        var there = LedgerRows.After(connection, 0).ToList();
        var known = there.ToDictionary(r => r.Entry.Id);
        var last = connection.Scalar("SELECT max(id) FROM ledger") is long highest ? highest : 0;
        using var csv = new CsvReader(input, CsvFile.Format(), leaveOpen: true);
        CsvFile.ReadHeader(csv, Columns);
        var added = 0;
        while (csv.Read())
        {
            var row = Row(csv);
            if (known.TryGetValue(row.Entry.Id, out var same))
            {
                if (!Same(same, row)) throw CsvFile.No(csv, $"id {row.Entry.Id} is another entry in this ledger ({same.Entry.Event}, {CsvFile.Time(same.Entry.At)}). The ledger is never overwritten; import into an empty one");
                continue;
            }

            if (row.Entry.Id <= last) throw CsvFile.No(csv, $"id {row.Entry.Id} comes after {last}; the rows must be in the order of their ids");
            Judge(csv, row.Entry, now, looked);
            if (row.Entry.Of is { } of && !known.ContainsKey(of)) throw CsvFile.No(csv, $"of {of}: there is no such entry before this one");
            last = row.Entry.Id;
            known.Add(last, row);
            try
            {
                LedgerRows.Add(connection, row);
            }
            catch (SqliteException e) when (e.SqliteErrorCode == 19)
            {
                throw CsvFile.No(csv, $"key '{row.Key}' belongs to another entry already");
            }

            added++;
        }

        return added;
    }

    /// <summary>As the door does: what cannot be is refused, what is doubtful needs a person's word.</summary>
    private static void Judge(CsvReader csv, LedgerEntry entry, DateTimeOffset now, bool looked)
    {
        const string say = "If it is so, say so with --checked";
        if ((GivenDates.Impossible("at", entry.At) ?? GivenDates.Impossible("recorded_at", entry.RecordedAt) ?? GivenDates.Impossible(entry.Body)) is { } impossible) throw CsvFile.No(csv, impossible.Text.TrimEnd('.'));
        if (looked) return;
        if (entry.RecordedAt > now + BookBuilder.ClockSlack) throw CsvFile.No(csv, $"recorded_at: {CsvFile.Time(entry.RecordedAt)} is still to come. {say}");
        if (GivenNames.Refuse(entry.Body, static (_, _) => false) is { } odd) throw CsvFile.No(csv, $"{odd.Text} {say}");
        // Said already: by who wrote it down, or as an entry that waits to be checked.
        if (entry.Question is not null || (entry.Body.TryGetProperty("checked", out var sure) && sure.ValueKind == JsonValueKind.True)) return;
        if (entry.At > entry.RecordedAt + BookBuilder.ClockSlack) throw CsvFile.No(csv, $"at: {CsvFile.Time(entry.At)} was to come when it was written down. {say}");
        if (GivenDates.Doubtful(entry.Body, entry.At, entry.RecordedAt) is { } doubtful) throw CsvFile.No(csv, $"{GivenDates.Ask(doubtful).Text} {say}");
    }

    private static LedgerRow Row(CsvReader csv)
    {
        if (Number(csv, "id") is not { } id || id <= 0) throw CsvFile.No(csv, $"id: '{csv.GetField("id")}' is not the number of an entry");
        var what = CsvFile.Text(csv, "event");
        if (what is null || !FactReader.Events.Contains(what)) throw CsvFile.No(csv, $"event: '{what}' is not one of {string.Join(", ", FactReader.Events)}.{FieldReader.Near(what ?? "", FactReader.Events)}".TrimEnd('.'));
        var at = LedgerRows.AsKept(CsvFile.Moment(csv, "at"));
        var of = Number(csv, "of");
        if (what == FactReader.Correction && of is null) throw CsvFile.No(csv, "of: it is missing from a correction");
        if (what != FactReader.Correction && of is not null) throw CsvFile.No(csv, "of: it is for a correction only");
        JsonElement fields;
        try
        {
            using var document = JsonDocument.Parse(CsvFile.Text(csv, "fields") ?? "");
            fields = document.RootElement.Clone();
        }
        catch (JsonException)
        {
            throw CsvFile.No(csv, "fields: they are not JSON");
        }

        if (fields.ValueKind != JsonValueKind.Object) throw CsvFile.No(csv, "fields: they are not a JSON object");
        if (of is null)
        {
            FactReader.Read(what, fields, at, out var wrong);
            if (wrong is not null) throw CsvFile.No(csv, $"fields: {wrong.Text.TrimEnd('.')}");
        }

        var entry = new LedgerEntry(id, what, at, LedgerRows.AsKept(CsvFile.Moment(csv, "recorded_at")).ToUniversalTime(), CsvFile.Text(csv, "by"), CsvFile.Text(csv, "note"), fields, Question.Read(CsvFile.Text(csv, "question")), of);
        return new LedgerRow(entry, CsvFile.Text(csv, "key"), (int?)Number(csv, "key_index"), CsvFile.Text(csv, "print"));
    }

    private static bool Same(LedgerRow a, LedgerRow b) =>
        a with { Entry = a.Entry with { Body = default } } == b with { Entry = b.Entry with { Body = default } }
        && a.Entry.At.Offset == b.Entry.At.Offset && JsonElement.DeepEquals(a.Entry.Body, b.Entry.Body);

    private static long? Number(CsvReader csv, string column) => CsvFile.Text(csv, column) is not { } text
        ? null
        : long.TryParse(text, NumberStyles.None, CultureInfo.InvariantCulture, out var number) ? number : throw CsvFile.No(csv, $"{column}: '{text}' is not a whole number");
}
