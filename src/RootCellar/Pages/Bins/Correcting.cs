using System.Globalization;
using System.Text.Json;
using System.Text.Json.Nodes;
using RootCellar.Household;
using RootCellar.Ledger;
using RootCellar.Ledger.Events;
using RootCellar.Science;

namespace RootCellar.Pages.Bins;

/// <summary>An entry as whoever opened its form saw it.</summary>
internal sealed record Seen(JsonElement Fields, DateTimeOffset At, string? Note);

/// <summary>
/// Makes a correction of a form that was filled in again: only what the person changed. Compared with the entry as it was when the form was
/// opened, so that a correction by somebody else meanwhile is not taken back unseen, and the same form sent twice says the same.
/// </summary>
internal static class Correcting
{
    /// <summary>
    /// The entry with the corrections up to number <paramref name="last"/> in it; a correction that waits to be checked, with what it is of
    /// under it.
    /// </summary>
    public static Seen AsOf(Book book, Standing standing, long last)
    {
        var (fields, at, note) = (standing.Entry.Body, standing.Entry.At, standing.Entry.Note);
        if (standing.Entry.Of is { } of)
        {
            (var under, at, note) = AsOf(book, book.Find(of)!, standing.Entry.Id - 1);
            fields = Correction.Merge(under, fields);
            (at, note) = Righted(standing.Entry.Body, at, note);
        }

        foreach (var id in standing.CorrectedBy.Where(id => id <= last))
        {
            var correction = book.Find(id)!;
            if (!InEffect(book, correction, last)) continue;
            var said = OwnFields(book, correction, last);
            fields = Correction.Merge(fields, said);
            (at, note) = Righted(said, at, note);
        }

        return new Seen(Correction.OfItself(fields), at, note);
    }

    /// <summary>The form as it would have been filled in; where its fields make no sense, an empty one.</summary>
    public static LogForm Form(EventKind what, Seen seen, Show show)
    {
        // A row's day that nobody said was that of writing.
        var day = WriteModel.Date(show.DayOf(seen.At));
        var form = new LogForm
        {
            Note = seen.Note,
            When = show.Local(seen.At).ToString(
            "yyyy-MM-dd'T'HH:mm", CultureInfo.InvariantCulture),
            Again = show.Calendar.Moments(show.Local(seen.At).DateTime) is [var first, _]
                ? first == seen.At ? LogForm.FirstTime : LogForm.SecondTime : null,
        };
        return what.Read(seen.Fields) switch
        {
            Dug d => Amount(form, d.Amount, show) with
            {
                Lot = d.Lot,
                Crop = d.Crop,
                Variety = d.Variety,
                Row = d.Row,
                PlantedOn = d.PlantedOn is { } planted ? WriteModel.Date(planted) : null,
                DugOn = FieldReader.DayOrMoment(d.DugOn).Moment is { } moment ? WriteModel.Date(show.DayOf(moment)) : d.DugOn,
                Skin = d.Skin,
                Flags = [.. d.Flags ?? []],
                Pulp = d.PulpC is { } pulp ? Plain(show.Degrees(pulp), 1) : null,
            },
            Filled f => Amount(form, f.Amount, show) with
            {
                Bin = f.Bin,
                Lot = f.Lot,
                Grade = f.Grade,
                Place = f.Place,
                Lies = f.Lies,
                Piece = f.PieceKg is { } piece ? Plain(show.PieceOf(piece), 1) : null,
                Tare = f.TareKg is { } empty ? Plain(show.WeightOf(empty), 3) : null,
            },
            Moved m => form with { Bin = m.Bin, Place = m.Place },
            Weighed w => Amount(form, w.Amount, show) with
            {
                Bin = w.Bin,
                Tare = w.TareKg is { } tare ? Plain(show.WeightOf(tare), 3) : null
            },
            Sorted s => form with
            {
                Bin = s.Bin,
                IntoBin = [.. s.Into.Select(i => i.Bin)],
                IntoGrade = [.. s.Into.Select(i => i.Grade ?? "")],
                IntoAmount = [.. s.Into.Select(i => i.Amount.Kg is { } kg ? Plain(show.WeightOf(kg), 3) : "")],
            },
            TakenOut o => Amount(form, o.Amount, show, o.Empties) with
            {
                Bin = o.Bin,
                Choice = o.Reason,
                Order = o.Order,
                Empties = o.Empties
            },
            Promised p => Amount(form, p.Amount, show) with
            {
                Order = p.Order,
                Crop = p.Crop,
                Grade = p.Grade,
                Due = p.Due is { } due ? WriteModel.Date(due) : null,
            },
            Sprouts s => form with
            {
                Bin = s.Bin,
                Choice = s.Share,
                Length = s.Length is { } mm ? Plain(show.ShortOf(mm), 2) : null,
            },
            Appearance c => form with { Bin = c.Bin, Choice = c.What },
            RowPlanted r => form with
            {
                Row = r.Row,
                Crop = r.Crop,
                Variety = r.Variety,
                PlantedOn = r.PlantedOn is { } on ? WriteModel.Date(on) : day,
                Maturity = r.Maturity,
                MaturityDays = r.MaturityDays is { } days ? Plain(days, 0) : null,
                Length = r.Metres() is { } metres ? Plain(show.Pounds ? metres / Foot.Metres : metres, 2) : null,
            },
            VinesDead v => form with { Row = v.Row, How = v.How, On = v.On is { } dead ? WriteModel.Date(dead) : day },
            _ => form,
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
            else if (now is not null || Correction.Instead(name) is not { } other || !after.ContainsKey(other))
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

        changes["event"] = Correction.Name;
        changes["of"] = of;
        return changes;
    }

    /// <summary>What one unit weighed stays as it was kept, unless the unit changed or it may be another crop's now.</summary>
    private static void Measure(JsonElement fields, JsonObject changes)
    {
        if (!fields.TryGetProperty("measure", out var was) || was.ValueKind != JsonValueKind.Object || Text(was, "unit") is not { } unit)
            return;
        var elsewhere = (changes.ContainsKey("lot") || changes.ContainsKey("bin") || changes.ContainsKey("crop"))
            && was.TryGetProperty("source", out _) && !Measures.IsWeight(unit);
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
        var first = fields.TryGetProperty("into", out var list) && list.ValueKind == JsonValueKind.Array ? list.EnumerateArray()
            .ToList() : [];
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
        if (Correction.RightAt(said, out var right)) at = right;
        if (said.TryGetProperty("rightNote", out var other)) note = other.ValueKind == JsonValueKind.String ? other.GetString() : null;
        return (at, note);
    }

    private static JsonElement OwnFields(Book book, Standing correction, long last) => correction.CorrectedBy
        .Where(id => id <= last)
        .Select(id => book.Find(id)!)
        .Where(c => InEffect(book, c, last))
        .Aggregate(correction.Entry.Body, (fields, c) => Correction.Merge(fields, OwnFields(book, c, last)));

    private static bool InEffect(Book book, Standing correction, long last)
    {
        var on = correction.CorrectedBy.Where(id => id <= last).Select(id => book.Find(id)!).Where(c => Stands(book, c, last)).ToList();
        return !Correction.IsVoid(correction.Entry.Body) && !on.Exists(c => Correction.IsVoid(c.Entry.Body))
            && (correction.Entry.Question is null || on.Count > 0);
    }

    // A taking back stands as other corrections do, but changes no field.
    private static bool Stands(Book book, Standing correction, long last)
    {
        var on = correction.CorrectedBy.Where(id => id <= last).Select(id => book.Find(id)!).Where(c => Stands(book, c, last)).ToList();
        return !on.Exists(c => Correction.IsVoid(c.Entry.Body)) && (correction.Entry.Question is null || on.Count > 0);
    }

    private static LogForm Amount(LogForm form, Amount? given, Show show, bool emptied = false)
    {
        if (given is not { } amount) return form;
        if (amount.Unit is { } unit) return form with { Amount = Plain(amount.Units, 6), Unit = unit };
        // With "nothing left" nobody entered a weight: it is the book's, so it is shown as the household counts. A weight that was entered
        // is not turned round.
        return show.Pounds && amount.Units > 0 && !emptied
            ? form with { Amount = Plain(amount.Units, 6), Unit = "kg" }
            : form with { Amount = Plain(show.WeightOf(amount.Units), show.Pounds ? 2 : 6), Unit = show.WeightUnit };
    }

    public static string Plain(double value, int digits) => Math.Round(value, digits).ToString("0.######", CultureInfo.InvariantCulture);

    private static string? Text(JsonElement fields, string name) =>
        fields.ValueKind == JsonValueKind.Object && fields.TryGetProperty(name, out var value) && value.ValueKind == JsonValueKind.String
            ? value.GetString() : null;
}
