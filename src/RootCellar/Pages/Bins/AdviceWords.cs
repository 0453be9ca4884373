using System.Globalization;
using RootCellar.Household;
using RootCellar.Ledger;
using RootCellar.Lots;
using RootCellar.Science.Crops;
using RootCellar.Science.Keeping;

namespace RootCellar.Pages.Bins;

/// <summary>
/// The one line for a bin in the words of the pages and the household's units: by what it says and its figures, never out of its English.
/// </summary>
internal sealed class AdviceWords(Show show)
{
    public string Of(BinAdvice advice)
    {
        var f = advice.Figures;
        var crop = f.Of;
        string name = crop is null ? "" : CropWords.Name(crop);
        return advice.Says switch
        {
            AdviceSays.FitAbout when f.When?.Likely is { } likely => Strings.AdviceFitAbout.With(show.Day(likely) + Between(f.When)),
            AdviceSays.Freezing => Strings.AdviceFreezing.With(
                name, show.Temperature(f.PulpC!.Value), show.Temperature(crop!.FreezingPointC)),
            AdviceSays.NearFreezing => Strings.AdviceNearFreezing.With(
                name, show.Temperature(f.PulpC!.Value), show.Temperature(crop!.FreezingPointC)),
            AdviceSays.Wet => Strings.AdviceWet.With(Span(f.Hours!.Value)),
            AdviceSays.RotSeen => Strings.AdviceRotSeen.With(
                LogKinds.Choice(f.Seen!).ToLower(CultureInfo.CurrentCulture), show.Day(f.At!.Value)),
            AdviceSays.SignsFromTheField => Signs(f.Signs, crop),
            AdviceSays.GreenLight => Strings.AdviceGreenLight.With(Hours(f)),
            AdviceSays.Light => Strings.AdviceLight.With(Hours(f)),
            AdviceSays.Move => (crop!.Chilling is { Value: > Advising.WarmFromC } ? Strings.AdviceMoveWarm
                : show.InFahrenheit ? Strings.AdviceMoveF : Strings.AdviceMoveC)
                .With(Range(crop), f.ToName ?? Strings.StorageRoom),
            AdviceSays.NowhereToMove => Strings.AdviceNowhereToMove.With(Range(crop!)),
            AdviceSays.Chilling => Strings.AdviceChilling.With(
                name, show.Temperature(f.PulpC!.Value), show.Temperature(crop!.ChillingBelowC!.Value),
                f.Hours > 0 ? Strings.AdviceChillingLeft.With(Span(f.Hours.Value)) : Strings.AdviceChillingDone,
                f.ToName is null ? Strings.AdviceBringWarm : Strings.AdviceBringTo.With(f.ToName, show.Temperature(f.ToC!.Value))),
            AdviceSays.Chilled => Strings.AdviceChilled.With(name.ToLower(CultureInfo.CurrentCulture)),
            AdviceSays.DryAir or AdviceSays.DryAirCover =>
                (advice.Says == AdviceSays.DryAir ? Strings.AdviceDryAir : Strings.AdviceDryAirCover).With(
                show.Rough(f.Kg!.Value), f.Percent!.Value.ToString("0", CultureInfo.CurrentCulture),
                name.ToLower(CultureInfo.CurrentCulture), Show.HumidityRange(f.LowPercent!.Value, f.HighPercent!.Value),
                Span(f.Hours!.Value)),
            AdviceSays.LongSprouts => Strings.AdviceLongSprouts.With(
                show.Pounds ? Strings.AnInch : "25\u00A0mm"),
            AdviceSays.Sprouted => Strings.AdviceSprouted.With(show.Pounds ? Strings.FifthOfAnInch : "5\u00A0mm"),
            AdviceSays.Sprouting => Strings.AdviceSprouting,
            AdviceSays.SproutsSeen => Strings.AdviceSproutsSeen.With(
                show.Day(f.At!.Value), LogKinds.Choice(f.Seen!).ToLower(CultureInfo.CurrentCulture)),
            AdviceSays.SeedSprouting => Strings.AdviceSeedSprouting,
            AdviceSays.WillPeep when f.When?.Likely is { } likely => Strings.AdviceWillPeep.With(show.Day(likely) + Between(f.When)),
            AdviceSays.Silent => Strings.AdviceSilent.With(Span(f.Hours!.Value)),
            AdviceSays.NeverMeasured => Strings.AdviceNeverMeasured.With(name.ToLower(CultureInfo.CurrentCulture)),
            AdviceSays.NoProbe => Strings.AdviceNoProbe.With(name.ToLower(CultureInfo.CurrentCulture)),
            _ => Strings.AdviceNothing,
        };
    }

    private string Range(Crop crop) => show.TemperatureRange(crop.Storage.TemperatureLowC, crop.Storage.TemperatureHighC);

    private static string Signs(RotSigns signs, Crop? crop)
    {
        var advice = RotRisk.Advise(signs);
        if (crop is not null && Curing.RuleOf(crop) is var cures && !RotRisk.HealsInDampAir(cures))
        {
            return (advice.SkipCuring ? Strings.AdviceHighRotStored : Strings.AdviceFieldSignsStored).With(
                cures == CuringRule.Drying ? Strings.AdviceDryLonger + " " : "");
        }

        string drying = advice.Flags switch
        {
            0 => "",
            1 => Strings.AdviceDryDays,
            2 => Strings.AdviceDryWeeks,
            _ => Strings.AdviceDryMonths,
        };
        if (!advice.SkipCuring) return Strings.AdviceFieldSigns.With(drying);
        return drying.Length == 0 ? Strings.AdviceHighRot : Strings.AdviceHighRotDry.With(drying);
    }

    private string Between(When? when) => when is { Early: { } early, Late: { } late }
        ? " " + Strings.AdviceBetween.With(show.Day(early), show.Day(late)) : "";

    private static string Hours(AdviceFigures f) => Math.Max(1, f.Hours!.Value).ToString("0", CultureInfo.CurrentCulture);

    private static string Span(double hours) => hours < 72
        ? Strings.HoursOf.With(Math.Max(1, Math.Round(hours))) : Strings.AdviceDays.With(Math.Round(hours / 24));
}
