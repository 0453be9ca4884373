using System.Globalization;
using System.Text.Json;
using RootCellar.Household;

namespace RootCellar.Ledger;

/// <summary>Entries about rows.</summary>
internal sealed partial class EntryWords
{
    private IEnumerable<string?> OfRow(string what, JsonElement fields)
    {
        if (what is not ("row-planted" or "vines-dead")) yield break;
        if (Text(fields, "row") is { } row) yield return Strings.RowIs.With(row);
        if (Text(fields, "crop") is { } crop) yield return CropName(crop);
        yield return Text(fields, "variety");
        foreach (var word in (string[])["maturity", "how"]) yield return Text(fields, word) is { } said ? LogKinds.Choice(said) : null;
        if (Number(fields, "maturityDays") is { } days) yield return Strings.RowDaysAre.With(days.ToString("0", CultureInfo.CurrentCulture));
        if ((Number(fields, "lengthM") ?? Number(fields, "lengthFt") * FactReader.MetresPerFoot) is { } metres) yield return show.Length(metres);
        foreach (var day in (string[])["plantedOn", "on"])
        {
            if (Text(fields, day) is { } on && HouseholdCalendar.TryDay(on, out var date)) yield return show.Day(date);
        }
    }

    private static double? Number(JsonElement fields, string name) =>
        fields.TryGetProperty(name, out var value) && value.ValueKind == JsonValueKind.Number ? value.GetDouble() : null;
}
