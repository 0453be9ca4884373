using System.Globalization;
using System.Text.Json;
using System.Text.Json.Nodes;
using RootCellar.Household;
using RootCellar.Ledger;

namespace RootCellar.Pages.Bins;

/// <summary>An entry as whoever opened its form saw it.</summary>
internal sealed record Seen(JsonElement Fields, DateTimeOffset At, string? Note);

/// <summary>
/// Makes a correction of a form that was filled in again: only what the person changed. Compared with the entry as it was when the form was
/// opened, so that a correction by somebody else meanwhile is not taken back unseen, and the same form sent twice says the same.
/// </summary>
internal static class Correcting
{
    /// <summary>The entry with the corrections up to number <paramref name="last"/> in it; a correction that waits to be checked, with what it is of under it.</summary>
    public static Seen AsOf(Book book, Standing standing, long last)
    {
        var (fields, at, note) = (standing.Entry.Body, standing.Entry.At, standing.Entry.Note);
        if (standing.Entry.Of is { } of)
        {
            (var under, at, note) = AsOf(book, book.Find(of)!, standing.Entry.Id - 1);
            fields = EventReader.Merge(under, fields);
            (at, note) = Righted(standing.Entry.Body, at, note);
        }

        foreach (var id in standing.CorrectedBy.Where(id => id <= last))
        {
            var correction = book.Find(id)!;
            if (!InEffect(book, correction, last)) continue;
            var said = OwnFields(book, correction, last);
            fields = EventReader.Merge(fields, said);
            (at, note) = Righted(said, at, note);
        }

        return new Seen(EventReader.OfItself(fields), at, note);
    }

    /// <summary>The form as it would have been filled in.</summary>
    public static LogForm Form(string what, Seen seen, Show show)
    {
        var f = seen.Fields;
        var (amount, unit) = Amount(f, show);
        var into = f.TryGetProperty("into", out var list) && list.ValueKind == JsonValueKind.Array ? list.EnumerateArray().ToList() : [];
        // A row's day that nobody said was that of writing.
        var day = WriteModel.Date(show.DayOf(seen.At));
        return new LogForm
        {
            Bin = Text(f, "bin"),
            Amount = amount,
            Unit = unit,
            Empties = Emptied(f),
            Tare = Number(f, "tareKg") is { } tare ? Plain(show.WeightOf(tare), 3) : null,
            Choice = Text(f, what switch { "culled" => "reason", "sprouts-seen" => "share", _ => "what" }),
            Length = LogKinds.IsOfRow(what) ? RowLength(f, show) : Number(f, "length") is { } length ? Plain(show.Pounds ? length / 25.4 : length, 2) : null,
            Place = Text(f, "place"),
            Order = Text(f, "order"),
            Due = Text(f, "due"),
            Lot = Text(f, "lot"),
            Grade = Text(f, "grade"),
            Crop = Text(f, "crop"),
            Variety = Text(f, "variety"),
            Row = Text(f, "row"),
            PlantedOn = Text(f, "plantedOn") ?? (what == "row-planted" ? day : null),
            DugOn = Text(f, "dugOn") is { } dug && FieldReader.TryTime(dug, out var moment) ? WriteModel.Date(show.DayOf(moment)) : Text(f, "dugOn"),
            Skin = Text(f, "skin"),
            Pulp = Number(f, "pulpC") is { } pulp ? Plain(show.Fahrenheit ? (pulp * 1.8) + 32 : pulp, 1) : null,
            Flags = f.TryGetProperty("flags", out var flags) && flags.ValueKind == JsonValueKind.Array ? [.. flags.EnumerateArray().Where(i => i.ValueKind == JsonValueKind.String).Select(i => i.GetString()!)] : [],
            Maturity = Text(f, "maturity"),
            MaturityDays = Number(f, "maturityDays") is { } days ? Plain(days, 0) : null,
            On = Text(f, "on") ?? (what == "vines-dead" ? day : null),
            How = Text(f, "how"),
            IntoBin = [.. into.Select(i => Text(i, "bin") ?? "")],
            IntoGrade = [.. into.Select(i => Text(i, "grade") ?? "")],
            IntoAmount = [.. into.Select(i => Kilograms(i) is { } kg ? Plain(show.WeightOf(kg), 3) : "")],
            Note = seen.Note,
            When = show.Local(seen.At).ToString("yyyy-MM-dd'T'HH:mm", CultureInfo.InvariantCulture),
        };
    }

    /// <summary>The fields of the correction; null where nothing was changed.</summary>
    /// <param name="before">What the form said when it was opened, read as an event.</param>
    /// <param name="after">What it says now, read as an event.</param>
    public static JsonObject? Changes(long of, Seen seen, JsonObject before, JsonObject after)
    {
        var changes = new JsonObject();
        foreach (var name in before.Select(p => p.Key).Union(after.Select(p => p.Key), StringComparer.Ordinal))
        {
            var (was, now) = (before[name], after[name]);
            if (name is "event" or "checked" or "keep" || JsonNode.DeepEquals(was, now)) continue;
            if (name == "at")
            {
                // A time that is taken out of the form says nothing about when it was.
                if (now is not null) changes["rightAt"] = now.DeepClone();
            }
            else if (name == "note")
            {
                changes["rightNote"] = now?.DeepClone();
            }
            else if (now is not null || EventReader.Instead(name) is not { } other || !after.ContainsKey(other))
            {
                changes[name] = name == "into" ? Into(seen.Fields, was as JsonArray, (JsonArray)now!) : now?.DeepClone();
            }
        }

        if (changes.Count == 0) return null;
        Measure(seen.Fields, changes);
        foreach (var answer in (string[])["checked", "keep"])
        {
            if (after[answer] is { } said) changes[answer] = said.DeepClone();
        }

        changes["event"] = FactReader.Correction;
        changes["of"] = of;
        return changes;
    }

    /// <summary>What one unit weighed stays as it was kept, unless the unit changed or it may be another crop's now.</summary>
    private static void Measure(JsonElement fields, JsonObject changes)
    {
        if (!fields.TryGetProperty("measure", out var was) || was.ValueKind != JsonValueKind.Object || Text(was, "unit") is not { } unit) return;
        var elsewhere = (changes.ContainsKey("lot") || changes.ContainsKey("bin") || changes.ContainsKey("crop")) && was.TryGetProperty("source", out _) && !Measures.IsWeight(unit);
        if (changes["measure"] is JsonObject now)
        {
            if (elsewhere || (string?)now["unit"] != unit) return;
            foreach (var name in (string[])["kgPerUnit", "source", "as"])
            {
                if (was.TryGetProperty(name, out var value)) now[name] = JsonNode.Parse(value.GetRawText());
            }
        }
        else if (elsewhere && !changes.ContainsKey("weightKg"))
        {
            var again = JsonObject.Create(was)!;
            again.Remove("kgPerUnit");
            again.Remove("source");
            changes["measure"] = again;
        }
    }

    /// <summary>A line that nobody changed is kept as it was entered, with what the form does not show.</summary>
    private static JsonArray Into(JsonElement fields, JsonArray? before, JsonArray after)
    {
        var first = fields.TryGetProperty("into", out var list) && list.ValueKind == JsonValueKind.Array ? list.EnumerateArray().ToList() : [];
        var into = new JsonArray();
        foreach (var line in after.OfType<JsonObject>())
        {
            var same = before?.Select((b, i) => (b, i)).FirstOrDefault(p => JsonNode.DeepEquals(p.b, line), (null, -1)).i ?? -1;
            var named = first.FindIndex(f => Text(f, "bin") == (string?)line["bin"]);
            var made = same >= 0 && same < first.Count ? JsonNode.Parse(first[same].GetRawText())! : line.DeepClone();
            if (same < 0 && named >= 0 && Text(first[named], "place") is { } place) made["place"] = place;
            into.Add(made);
        }

        return into;
    }

    private static (DateTimeOffset At, string? Note) Righted(JsonElement said, DateTimeOffset at, string? note)
    {
        if (EventReader.RightAt(said, out var right)) at = right;
        if (said.TryGetProperty("rightNote", out var other)) note = other.ValueKind == JsonValueKind.String ? other.GetString() : null;
        return (at, note);
    }

    private static JsonElement OwnFields(Book book, Standing correction, long last) => correction.CorrectedBy
        .Where(id => id <= last)
        .Select(id => book.Find(id)!)
        .Where(c => InEffect(book, c, last))
        .Aggregate(correction.Entry.Body, (fields, c) => EventReader.Merge(fields, OwnFields(book, c, last)));

    private static bool InEffect(Book book, Standing correction, long last)
    {
        var on = correction.CorrectedBy.Where(id => id <= last).Select(id => book.Find(id)!).Where(c => Stands(book, c, last)).ToList();
        return !Corrections.IsVoid(correction.Entry.Body) && !on.Exists(c => Corrections.IsVoid(c.Entry.Body)) && (correction.Entry.Question is null || on.Count > 0);
    }

    // A taking back stands as other corrections do, but changes no field.
    private static bool Stands(Book book, Standing correction, long last)
    {
        var on = correction.CorrectedBy.Where(id => id <= last).Select(id => book.Find(id)!).Where(c => Stands(book, c, last)).ToList();
        return !on.Exists(c => Corrections.IsVoid(c.Entry.Body)) && (correction.Entry.Question is null || on.Count > 0);
    }

    private static (string? Amount, string? Unit) Amount(JsonElement fields, Show show)
    {
        if (fields.TryGetProperty("measure", out var measure) && measure.ValueKind == JsonValueKind.Object && Number(measure, "amount") is { } amount) return (Plain(amount, 6), Text(measure, "unit") is { } unit ? Measures.Unit(unit) ?? unit : null);
        if (Number(fields, "weightKg") is not { } kg) return (null, null);
        // With "nothing left" nobody entered a weight: it is the book's, so it is shown as the household counts. A weight that was entered is not turned round.
        return show.Pounds && kg > 0 && !Emptied(fields) ? (Plain(kg, 6), "kg") : (Plain(show.WeightOf(kg), show.Pounds ? 2 : 6), show.WeightUnit);
    }

    private static bool Emptied(JsonElement fields) => fields.TryGetProperty("empties", out var empties) && empties.ValueKind == JsonValueKind.True;

    private static string? RowLength(JsonElement fields, Show show)
    {
        var metres = Number(fields, "lengthM") ?? Number(fields, "lengthFt") * FactReader.MetresPerFoot;
        return metres is { } m ? Plain(show.Pounds ? m / FactReader.MetresPerFoot : m, 2) : null;
    }

    private static double? Kilograms(JsonElement item) => Number(item, "weightKg")
        ?? (item.TryGetProperty("measure", out var m) && m.ValueKind == JsonValueKind.Object ? Number(m, "amount") * Number(m, "kgPerUnit") : null);

    private static string Plain(double value, int digits) => Math.Round(value, digits).ToString("0.######", CultureInfo.InvariantCulture);

    private static double? Number(JsonElement fields, string name) => fields.TryGetProperty(name, out var value) && value.ValueKind == JsonValueKind.Number ? value.GetDouble() : null;

    private static string? Text(JsonElement fields, string name) => fields.ValueKind == JsonValueKind.Object && fields.TryGetProperty(name, out var value) && value.ValueKind == JsonValueKind.String ? value.GetString() : null;
}
