using System.Text.Json;
using System.Text.Json.Nodes;
using Microsoft.Data.Sqlite;
using RootCellar.Household;
using RootCellar.Ledger.Events;
using RootCellar.Storage;

namespace RootCellar.Ledger;

/// <summary>
/// The ledger as CSV: one row an entry, its fields as one JSON document, so that nothing is lost on the way out and back.
/// </summary>
internal static class LedgerCsv
{
    private static readonly string[] Columns =
        ["id", "event", "at", "recorded_at", "by", "note", "of", "question", "fields", "key", "key_index", "print"];

    /// <summary>Numbers above it are no entry's, and leave room for those that are written after them.</summary>
    private const long LargestId = RowText.LargestId / 1_000;

    /// <summary>A question that was kept, with its figures, letters.</summary>
    private const int LongestQuestion = 20_000;

    /// <param name="from">Entries that happened from then on, as they were written.</param>
    /// <param name="to">And before then.</param>
    public static int Export(SqliteConnection connection, TextWriter output, DateTimeOffset from, DateTimeOffset to,
        CsvFor use = CsvFor.Import)
    {
        using var csv = CsvFile.Write(output, Columns, use);
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
            csv.WriteField(JsonSerializer.Serialize(entry.Body, JsonRules.Options));
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
    /// <param name="calendar">Whose days those of the entries are.</param>
    /// <param name="looked">A person has looked at dates and names the ledger would ask about, and they are so.</param>
    /// <exception cref="CsvProblemException">Something in it cannot be taken.</exception>
    public static int Import(SqliteConnection connection, TextReader input, DateTimeOffset now, HouseholdCalendar calendar, bool looked)
    {
        var there = LedgerRows.After(connection, 0).ToList();
        var known = there.ToDictionary(r => r.Entry.Id);
        var before = connection.Scalar("SELECT max(id) FROM ledger") is long highest ? highest : 0;
        var last = before;
        using var csv = new CsvRows(input, Columns);
        var described = there.Select(r => Recorded.Of(r.Entry).Event).OfType<CropDescribed>().ToList();
        var crops = CropDescribed.Table(described);
        var added = 0;
        while (csv.Read())
        {
            var row = Row(csv);
            if (known.TryGetValue(row.Entry.Id, out var same))
            {
                if (!Same(same, row))
                    throw csv.No($"id {row.Entry.Id} is another entry in this ledger ({same.Entry.Event}, {CsvFile.Time(same.Entry.At)}). The ledger is never overwritten; import into an empty one");
                continue;
            }

            if (row.Entry.Id <= last) throw csv.No($"id {row.Entry.Id} comes after {last}; the rows must be in the order of their ids");
            Judge(csv, row.Entry, now, calendar, looked);
            var told = Recorded.Of(row.Entry).Event;
            if (told is CropDescribed crop)
            {
                described.Add(crop);
                crops = CropDescribed.Table(described);
            }
            else if (told?.About().Crop is { } written && crops.NameOf(written) is null)
                throw csv.No($"fields: {FieldReader.NoSuchCrop(crops, written).TrimEnd('.')}");
            if (row.Entry.Of is { } of && !known.ContainsKey(of)) throw csv.No($"of {of}: there is no such entry before this one");
            last = row.Entry.Id;
            known.Add(last, row);
            try
            {
                LedgerRows.Add(connection, row);
            }
            catch (SqliteException e) when (e.SqliteErrorCode == 19)
            {
                throw csv.No($"key '{row.Key}' belongs to another entry already");
            }

            added++;
        }

        // Whatever a start would set aside would be lost without a word.
        if (added > 0 && LedgerRows.Read(connection, 0, static _ => false).FirstOrDefault(r => r.Damaged?.Taken > before).Damaged is { } bad)
            throw new CsvProblemException($"id {bad.Number}: {bad.Why}.");
        return added;
    }

    /// <summary>As the door does: what cannot be is refused, what is doubtful needs a person's word.</summary>
    private static void Judge(CsvRows csv, LedgerEntry entry, DateTimeOffset now, HouseholdCalendar calendar, bool looked)
    {
        const string say = "If it is so, say so with --checked";
        // The dates among its fields were looked at when they were read.
        if ((GivenDates.Impossible("at", entry.At) ?? GivenDates.Impossible("recorded_at", entry.RecordedAt)) is { } impossible)
            throw csv.No(impossible.Text.TrimEnd('.'));
        if (looked) return;
        if (entry.RecordedAt > now + BookBuilder.ClockSlack)
            throw csv.No($"recorded_at: {CsvFile.Time(entry.RecordedAt)} is still to come. {say}");
        if (GivenNames.Refuse(entry.Body, static (_, _) => false) is { } odd) throw csv.No($"{odd.Text} {say}");
        // Said already: by who wrote it down, or as an entry that waits to be checked.
        if (entry.Question is not null || (entry.Body.TryGetProperty("checked", out var sure) && sure.ValueKind == JsonValueKind.True))
            return;
        if (entry.At > entry.RecordedAt + BookBuilder.ClockSlack)
            throw csv.No($"at: {CsvFile.Time(entry.At)} was to come when it was written down. {say}");
        if (GivenDates.Doubtful(entry.Kind, entry.Body, entry.At, entry.RecordedAt, calendar) is { } doubtful)
            throw csv.No($"{GivenDates.Ask(doubtful).Text} {say}");
    }

    private static LedgerRow Row(CsvRows csv)
    {
        if (csv.Whole("id") is not { } id || id is <= 0 or > LargestId) throw csv.No($"id: '{csv.Short("id")}' is not the number of an entry");
        var what = csv.Text("event");
        if (what is null || EventKinds.Find(what) is null)
            throw csv.No($"event: '{csv.Short("event")}' is not one of {string.Join(", ", EventKinds.Names)}.{FieldReader.Near(what ?? "", EventKinds.Names)}".TrimEnd('.'));
        var at = LedgerRows.AsKept(csv.Moment("at"));
        var of = csv.Whole("of");
        if (what == Correction.Name && of is null) throw csv.No("of: it is missing from a correction");
        if (what != Correction.Name && of is not null) throw csv.No("of: it is for a correction only");
        var entry = new LedgerEntry(id, what, at, LedgerRows.AsKept(csv.Moment("recorded_at")).ToUniversalTime(), csv.Text("by"),
            csv.Text("note", EventReader.LongestNote), Fields(csv, what, at, of), Question.Read(csv.Text("question", LongestQuestion)), of);
        if (csv.Whole("key_index") is var index && index is < 0 or > int.MaxValue)
            throw csv.No($"key_index: '{index}' is not which of the entries of one sending it was; right would be 0 or more");
        return new LedgerRow(entry, csv.Text("key"), (int?)index, csv.Text("print"));
    }

    /// <summary>The fields of an entry, if the door would read them.</summary>
    private static JsonElement Fields(CsvRows csv, string what, DateTimeOffset at, long? of)
    {
        JsonElement fields;
        try
        {
            using var document = JsonDocument.Parse(csv.Text("fields", CsvFile.LongestCell) ?? "");
            fields = document.RootElement.Clone();
        }
        catch (JsonException)
        {
            throw csv.No("fields: they are not JSON");
        }

        if (fields.ValueKind != JsonValueKind.Object) throw csv.No("fields: they are not a JSON object");
        var names = fields.EnumerateObject().Select(p => p.Name).ToList();
        if (names.GroupBy(n => n, StringComparer.Ordinal).FirstOrDefault(g => g.Count() > 1) is { } twice)
            throw csv.No($"fields: {twice.Key} is there twice");
        if (names.Find(n => n != "checked" && EventReader.OfEvery.Contains(n)) is { } column)
            throw csv.No($"fields: {column} is no field of an event; it has a column of its own");
        if (TooLarge(fields) is { } number)
            throw csv.No($"fields: {(number.Length > 60 ? number[..60] + "..." : number)} is larger than any number that can be kept");
        var sent = JsonObject.Create(fields)!;
        (sent["event"], sent["of"]) = (what, of);
        return EventReader.Read(EventReader.Element(sent), at, out var wrong) is null
            ? throw csv.No($"fields: {wrong!.TrimEnd('.')}") : fields;
    }

    /// <summary>A number that cannot be held, wherever in the fields; a correction is read only with what it corrects.</summary>
    private static string? TooLarge(JsonElement fields) => fields.ValueKind switch
    {
        JsonValueKind.Number when !double.IsFinite(fields.GetDouble()) => fields.GetRawText(),
        JsonValueKind.Array => fields.EnumerateArray().Select(TooLarge).FirstOrDefault(n => n is not null),
        JsonValueKind.Object => fields.EnumerateObject().Select(p => TooLarge(p.Value)).FirstOrDefault(n => n is not null),
        _ => null,
    };

    private static bool Same(LedgerRow a, LedgerRow b) =>
        a with { Entry = a.Entry with { Body = default } } == b with { Entry = b.Entry with { Body = default } }
        && a.Entry.At.Offset == b.Entry.At.Offset && JsonElement.DeepEquals(a.Entry.Body, b.Entry.Body);
}
