using System.Globalization;
using System.Text.Json;
using RootCellar.Household;
using RootCellar.Ledger;
using RootCellar.Ledger.Events;
using RootCellar.Science;

namespace RootCellar.Pages.Bins;

/// <summary>What cannot be written down however much one insists.</summary>
internal sealed partial class QuestionWords
{
    private string Refused(JsonElement f) => Text(f, "refusal") switch
    {
        Refusal.OutOfRange => OutOfRange(Text(f, "field"), f.GetProperty("low").GetDouble(), f.GetProperty("high").GetDouble()),
        Refusal.NotADate => Strings.RefusedDate.With(Text(f, "given")),
        Refusal.Year => Strings.RefusedYear.With(Text(f, "given"), f.GetProperty("first").GetInt32(), f.GetProperty("last").GetInt32()),
        Refusal.OddName => Strings.RefusedName.With(Text(f, "given"), Text(f, "right")),
        Refusal.TooLong => Strings.RefusedLong.With(Start(Text(f, "given") ?? ""), f.GetProperty("longest").GetInt32()),
        Refusal.OneLine => Strings.RefusedLine,
        Refusal.TooMuch => Strings.RefusedMuch.With(Whole(f, "kg"), Whole(f, "mostKg")),
        Refusal.BinTwice => Strings.RefusedBinTwice.With(Text(f, "bin")),
        _ => Strings.RefusedOther,
    };

    private string OutOfRange(string? field, double low, double high) => field switch
    {
        "pulpC" => Strings.RefusedPulp.With(show.Temperature(low), show.Temperature(high)),
        "maturityDays" => Strings.RefusedDays.With(low, high),
        "lengthM" => Strings.RefusedRowLength.With(show.Length(low), show.Length(high)),
        "lengthFt" => Strings.RefusedRowLength.With(show.Length(low * Foot.Metres), show.Length(high * Foot.Metres)),
        "length" => Strings.RefusedSprouts.With(Units.Number(show.ShortOf(high), "0") + (show.Pounds ? "\u00A0in" : "\u00A0mm")),
        "tareKg" => Strings.RefusedTare.With(show.Weight(high)),
        _ => Strings.RefusedNumber.With(low.ToString("0.######", CultureInfo.CurrentCulture),
            high.ToString("0.######", CultureInfo.CurrentCulture)),
    };

    private string Whole(JsonElement f, string name) => show.WeightOf(f.GetProperty(name).GetDouble())
        .ToString("0", CultureInfo.CurrentCulture) + "\u00A0" + show.WeightUnit;

    private static string Start(string text) => text.Length <= 24 ? text : text[..24].TrimEnd() + "…";
}
