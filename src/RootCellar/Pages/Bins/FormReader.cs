using System.Globalization;
using System.Text.Json;
using System.Text.Json.Nodes;
using RootCellar.Household;
using RootCellar.Ledger;
using RootCellar.Ledger.Events;

namespace RootCellar.Pages.Bins;

/// <summary>Makes an event of what was typed, as the API would be sent it; what is wrong is said in the words of the form.</summary>
internal sealed partial class FormReader(LogForm form, Show show)
{
    // The book takes no more at once; of a field that is dug, ten times as much.
    private const double MostKg = 50_000;

    private readonly JsonObject body = [];

    // It is written, not put right.
    private bool written;

    public string? Problem { get; private set; }

    /// <summary>The event to give to the door; null with <see cref="Problem"/> said.</summary>
    public NewEntry? Read(EventKind what, DateTimeOffset now)
    {
        written = true;
        if (Fields(what, bin: null) is not { } fields) return null;
        return Read(fields, now);
    }

    /// <summary>The event of fields that were put together elsewhere; null with <see cref="Problem"/> said.</summary>
    public NewEntry? Read(JsonObject fields, DateTimeOffset now)
    {
        var entry = EventReader.Examine(JsonSerializer.SerializeToElement(fields), now, out var wrong);
        if (wrong is not null) Problem = new QuestionWords(show).Of(wrong, []);
        return entry is null ? null : WhenTyped(entry, now);
    }

    /// <summary>The fields of the event as the API would be sent them; null with <see cref="Problem"/> said.</summary>
    /// <param name="bin">The bin as it is by the book; null where it has none.</param>
    public JsonObject? Fields(EventKind what, BinView? bin)
    {
        body["event"] = what.Name;
        Text("note", form.Note);
        When();
        Insist();
        if (what == Dug.Event) OfLot();
        else if (what == Promised.Event) OfOrder();
        else if (LogKinds.IsOfRow(what)) OfRow(what);
        else
        {
            Needed("bin", form.Bin, Strings.WhichBinMissing);
            OfBin(what, bin);
        }

        return Problem is null ? body : null;
    }

    // Beside what is compared under the key: sent twice, it has waited two lengths of time and is the same all the same.
    private NewEntry WhenTyped(NewEntry entry, DateTimeOffset now) => entry.At is null && Waited is { } waited
        ? entry with { At = now - waited } : entry;

    /// <summary>How long it waited to be sent, where that is long enough to matter.</summary>
    private TimeSpan? Waited => int.TryParse(form.Waited, NumberStyles.None, CultureInfo.InvariantCulture, out var seconds)
        && seconds is > 60 and < 90 * 86_400
        ? TimeSpan.FromSeconds(seconds)
        : null;

    private void OfBin(EventKind what, BinView? bin)
    {
        switch (what.Name)
        {
            case Filled.Name:
                Needed("lot", form.Lot, Strings.LotMissing);
                Text("grade", form.Grade);
                Text("place", form.Place);
                Text("lies", form.Lies);
                if (Kilograms(form.Piece, show.PieceUnit) is { } piece) body["pieceKg"] = Math.Round(piece, 4);
                Amount(zero: false);
                Tare();
                break;
            case Weighed.Name:
                Amount(zero: true);
                Tare();
                break;
            case Moved.Name:
                Needed("place", form.Place, Strings.PlaceMissing);
                break;
            case Sprouts.Name:
                Needed("share", form.Choice, Strings.ChoiceMissing);
                if (Optional(form.Length) is { } length) body["length"] = Math.Round(show.ShortMm(length), 1);
                break;
            case Appearance.Name:
                Needed("what", form.Choice, Strings.ChoiceMissing);
                break;
            case Sorted.Name:
                Into();
                break;
            default:
                Out(what, bin);
                break;
        }
    }

    private void Tare()
    {
        if (Kilograms(form.Tare, show.WeightUnit) is not { } tare) return;
        body["tareKg"] = Math.Round(tare, 4);
        var (gross, unit) = WrittenWeight.Parts(form.Amount);
        if (Numerals.TryRead(gross, out var amount) && Measures.Of(unit ?? Unit, "", false, null, out _) is { } each
            && tare > amount * each.KgPerUnit)
            Say(Strings.TareTooHeavy);
    }

    /// <summary>A weight that may be left out, in the field's unit where none is written behind it.</summary>
    private double? Kilograms(string? text, string unit)
    {
        var (number, said) = WrittenWeight.Parts(text);
        return Optional(number) is { } amount && Measures.Of(said ?? unit, "", false, null, out _) is { } each
            ? amount * each.KgPerUnit : null;
    }

    private void Out(EventKind what, BinView? bin)
    {
        if (what == TakenOut.Culled) Needed("reason", form.Choice, Strings.ReasonMissing);
        else Text("order", form.Order);
        if (form.Empties) body["empties"] = true;
        // All of it, and nobody weighed it: what the book has. Of what is written the door looks that up, under the key: sent once more,
        // when the bin is empty by it, it is the same.
        var all = form.Empties && string.IsNullOrWhiteSpace(form.Amount);
        if (all && written) return;
        if (all && bin is { Grams: > 0 }) body["weightKg"] = bin.BookKg;
        else Amount(zero: false);
    }

    private void OfLot()
    {
        Needed("lot", form.Lot, Strings.LotMissing);
        Needed("crop", form.Crop, Strings.CropMissing);
        Text("variety", form.Variety);
        Text("row", form.Row);
        Text("plantedOn", form.PlantedOn);
        Text("dugOn", form.DugOn);
        Text("skin", form.Skin);
        if (form.Flags.Length > 0) body["flags"] = new JsonArray([.. form.Flags.Select(f => JsonValue.Create(f))]);
        if (!string.IsNullOrWhiteSpace(form.Amount)) Amount(zero: false);
        if (string.IsNullOrWhiteSpace(form.Pulp)) return;
        if (Numerals.TryRead(form.Pulp, out var degrees)) body["pulpC"] = Math.Round(show.Celsius(degrees), 3);
        else Say(Units.NotANumber(form.Pulp));
    }

    private void OfOrder()
    {
        Needed("order", form.Order, Strings.OrderMissing);
        Needed("crop", form.Crop, Strings.CropMissing);
        Text("grade", form.Grade);
        Text("due", form.Due);
        Amount(zero: false);
    }

    private void Into()
    {
        var into = new JsonArray();
        for (var i = 0; i < form.IntoBin.Length; i++)
        {
            var (name, amount) = (form.IntoBin[i]?.Trim(), form.IntoAmount.ElementAtOrDefault(i)?.Trim());
            var (given, said) = WrittenWeight.Parts(amount);
            if (string.IsNullOrEmpty(name) && string.IsNullOrEmpty(amount)) continue;
            if (string.IsNullOrEmpty(name)) Say(Strings.IntoBinMissing.With(amount));
            else if (!Numerals.TryRead(given, out var number))
                Say(string.IsNullOrEmpty(amount) ? Strings.IntoAmountMissing.With(name) : Units.NotANumber(given!));
            else
            {
                // 0 of a measure cannot be, 0 kg can: nothing was left of that grade.
                var (item, unit) = (new JsonObject { ["bin"] = name }, said ?? show.WeightUnit);
                if (unit != "kg" && number > 0) item["measure"] = new JsonObject { ["amount"] = number, ["unit"] = unit };
                else item["weightKg"] = number;
                if (form.IntoGrade.ElementAtOrDefault(i)?.Trim() is { Length: > 0 } grade) item["grade"] = grade;
                into.Add(item);
            }
        }

        if (into.Count == 0) Say(Strings.IntoMissing);
        body["into"] = into;
    }

    private void Amount(bool zero)
    {
        if (string.IsNullOrWhiteSpace(form.Amount))
        {
            Say(Strings.AmountMissing);
            return;
        }

        var (typed, said) = WrittenWeight.Parts(form.Amount);
        if (!Numerals.TryRead(typed, out var number) || number < 0)
        {
            Say(Units.NotANumber(typed!.Trim()));
            return;
        }

        if (number == 0 && !zero) Say(Strings.AmountZero);
        var unit = said ?? Unit;
        var own = LogKinds.Own(unit, show);
        if ((own ?? Measures.Of(unit, "", false, null, out _)) is { } each
            && number * each.KgPerUnit > MostKg * ((string?)body["event"] == Dug.Name ? 10 : 1))
            Say(Strings.AmountHuge.With(form.Amount.Trim()));
        // A weight is kept as it was entered, pounds as pounds; kg and 0 need no factor.
        if (unit == "kg" || number == 0) body["weightKg"] = number;
        else
        {
            var measure = new JsonObject { ["amount"] = number, ["unit"] = unit };
            if (own is not null) (measure["kgPerUnit"], measure["source"]) = (own.KgPerUnit, own.Source);
            body["measure"] = measure;
        }
    }

    private string Unit => string.IsNullOrEmpty(form.Unit) ? show.WeightUnit : form.Unit;

    private double? Optional(string? text)
    {
        if (string.IsNullOrWhiteSpace(text)) return null;
        if (Numerals.TryRead(text, out var number) && number >= 0) return number;
        Say(Units.NotANumber(text.Trim()));
        return null;
    }

    private void When()
    {
        if (!string.IsNullOrWhiteSpace(form.When))
        {
            if (DateTime.TryParseExact(form.When.Trim(), ["yyyy-MM-dd'T'HH:mm", "yyyy-MM-dd'T'HH:mm:ss", "yyyy-MM-dd' 'HH:mm"],
                CultureInfo.InvariantCulture, DateTimeStyles.None, out var local))
            {
                // At the edge of the calendar there is no moment to make of it; the book says what is wrong with the year.
                body["at"] = local.Year is < GivenDates.FirstYear or > GivenDates.LastYear ? form.When.Trim() : Moment(local)
                    .ToString("yyyy-MM-dd'T'HH:mm:sszzz", CultureInfo.InvariantCulture);
            }
            else
            {
                Say(Strings.WhenWrong.With(form.When));
            }
        }
    }

    // In the nights when the clocks change a time comes twice or not at all: asked about, not guessed.
    private DateTimeOffset Moment(DateTime local)
    {
        var moments = show.Calendar.Moments(local);
        var shown = WrittenTime.Hour(local);
        if (moments.Count == 0) Say(Strings.WhenSkipped.With(shown, show.Day(DateOnly.FromDateTime(local))));
        if (moments.Count == 2 && form.Again is not (LogForm.FirstTime or LogForm.SecondTime))
            Say(Strings.WhenTwice.With(shown, show.Day(DateOnly.FromDateTime(local))));
        return moments.Count == 2 && form.Again == LogForm.SecondTime ? moments[1] : show.Moment(local);
    }

    private void Insist()
    {
        if (form.Answer is "checked" or "keep") body[form.Answer] = true;
    }

    private void Needed(string field, string? value, string missing)
    {
        if (string.IsNullOrWhiteSpace(value)) Say(missing);
        Text(field, value);
    }

    private void Text(string field, string? value)
    {
        if (!string.IsNullOrWhiteSpace(value)) body[field] = value.Trim();
    }

    private void Say(string problem) => Problem ??= problem;
}
