using RootCellar.Household;
using RootCellar.Ledger.Events;

namespace RootCellar.Pages.Bins;

/// <summary>What happens to a row.</summary>
internal sealed partial class FormReader
{
    private void OfRow(EventKind what)
    {
        Needed("row", form.Row, Strings.RowMissing);
        if (what == VinesDead.Event)
        {
            Needed("how", form.How, Strings.ChoiceMissing);
            Text("on", form.On);
            return;
        }

        Needed("crop", form.Crop, Strings.CropMissing);
        Text("variety", form.Variety);
        Text("plantedOn", form.PlantedOn);
        // The packet's days say more than a word.
        if (Above0(form.MaturityDays) is { } days) body["maturityDays"] = days;
        else Text("maturity", form.Maturity);
        if (Above0(form.Length) is { } length) body[show.Pounds ? "lengthFt" : "lengthM"] = length;
    }

    private double? Above0(string? text)
    {
        if (Optional(text) is not { } number) return null;
        if (number > 0) return number;
        Say(Units.NotANumber(text!.Trim()));
        return null;
    }
}
