using System.Globalization;
using System.Text.Json;
using System.Text.Json.Nodes;
using RootCellar.Ledger;
using RootCellar.Pages.Bins;

namespace RootCellar.Pages.Rows;

/// <summary>What was typed about a row, kept so that a question or a mistake loses nothing. The length is in the household's unit.</summary>
internal sealed record RowForm
{
    /// <summary>Made when the form is shown: the same under it counts once, however often it is sent.</summary>
    public string? Key { get; init; }

    /// <summary>What the person says to a question: checked or keep; empty before there was one.</summary>
    public string? Answer { get; init; }

    public string? Row { get; init; }

    public string? Crop { get; init; }

    public string? Variety { get; init; }

    public string? PlantedOn { get; init; }

    public string? Maturity { get; init; }

    public string? MaturityDays { get; init; }

    public string? Length { get; init; }

    public string? On { get; init; }

    public string? How { get; init; }

    public string? Note { get; init; }

    /// <summary>Seconds since it was typed, put in by the page's script: what waited for the Wi-Fi did not happen when it came through.</summary>
    public string? Waited { get; init; }

    /// <summary>All that was typed as fields of a form, for asking "is it right" about exactly that.</summary>
    public IEnumerable<(string Name, string Value)> Fields() => new (string Name, string? Value)[]
    {
        ("key", Key), ("row", Row), ("crop", Crop), ("variety", Variety), ("plantedOn", PlantedOn), ("maturity", Maturity), ("maturityDays", MaturityDays), ("length", Length), ("on", On),
        ("how", How), ("note", Note), ("waited", Waited),
    }.Where(f => f.Value is not null).Select(f => (f.Name, f.Value!));

    /// <summary>The event to give to the door, or what is wrong in the words of the form.</summary>
    public NewEntry? Read(string what, Show show, DateTimeOffset now, out string? problem)
    {
        problem = null;
        var body = new JsonObject { ["event"] = what };
        if (string.IsNullOrWhiteSpace(Row)) problem = Strings.RowMissing;
        Put("row", Row);
        Put("note", Note);
        if (Answer is "checked" or "keep") body[Answer] = true;
        if (what == "row-planted")
        {
            if (string.IsNullOrWhiteSpace(Crop)) problem ??= Strings.CropMissing;
            Put("crop", Crop);
            Put("variety", Variety);
            Put("plantedOn", PlantedOn);
            // The packet's days say more than a word.
            if (Number(MaturityDays, ref problem) is { } days) body["maturityDays"] = days;
            else Put("maturity", Maturity);
            if (Number(Length, ref problem) is { } length) body[show.Pounds ? "lengthFt" : "lengthM"] = length;
        }
        else
        {
            if (string.IsNullOrWhiteSpace(How)) problem ??= Strings.ChoiceMissing;
            Put("how", How);
            Put("on", On);
        }

        if (problem is not null) return null;
        var entry = EventReader.Read(JsonSerializer.SerializeToElement(body), now, out var wrong);
        if (wrong is not null) problem = Strings.NotUnderstood.With(wrong);
        return entry is not null && int.TryParse(Waited, NumberStyles.None, CultureInfo.InvariantCulture, out var seconds) && seconds is > 60 and < 90 * 86_400
            ? entry with { At = now - TimeSpan.FromSeconds(seconds) }
            : entry;

        void Put(string field, string? value)
        {
            if (!string.IsNullOrWhiteSpace(value)) body[field] = value.Trim();
        }
    }

    /// <summary>The form of a planting: the row after the last one, of the same kind.</summary>
    public static RowForm Plant(Book book, string? like, DateOnly today)
    {
        var model = like is null ? null : book.Row(like);
        var number = int.TryParse(like, NumberStyles.None, CultureInfo.InvariantCulture, out var last) ? last + 1 : 1;
        var taken = book.Rows.Where(r => r.PlantedOn.Year == today.Year || (r.Lots.Count == 0 && !r.Ended)).Select(r => r.Row).ToHashSet(StringComparer.Ordinal);
        while (taken.Contains(number.ToString(CultureInfo.InvariantCulture))) number++;
        return new RowForm
        {
            Key = LogForm.NewKey(),
            Row = number.ToString(CultureInfo.InvariantCulture),
            Crop = model?.Crop ?? "potato",
            Variety = model?.Variety,
            Maturity = model?.Maturity,
            MaturityDays = model?.MaturityDays?.ToString(CultureInfo.InvariantCulture),
            PlantedOn = WriteModel.Date(today),
        };
    }

    /// <summary>The form of a digging with what the book knows of the row.</summary>
    public static LogForm Dig(Book book, string name, DateOnly today, LogForm form)
    {
        if (book.Row(name.Trim()) is not { } row) return form with { Row = name };
        var first = row.Lot ?? (row.Row.Length > 0 && char.IsAsciiDigit(row.Row[0]) ? $"{today.Year}-R{row.Row}" : $"{today.Year}-{row.Row}");
        var (lot, number) = (first, 2);
        while (book.Lots.ContainsKey(lot)) lot = $"{first}-{number++}";
        return form with { Lot = lot, Crop = row.Crop, Variety = row.Variety, Row = row.Row, PlantedOn = WriteModel.Date(row.PlantedOn) };
    }

    private static double? Number(string? text, ref string? problem)
    {
        if (string.IsNullOrWhiteSpace(text)) return null;
        if (FormReader.TryNumber(text, out var number) && number > 0) return number;
        problem ??= Strings.NumberWrong.With(text.Trim());
        return null;
    }
}
