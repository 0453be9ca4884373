using System.Globalization;

namespace RootCellar.Science.Keeping;

/// <summary>What a weighing that cannot be may have been.</summary>
public enum ScaleQuestionKind
{
    /// <summary>Heavier than a bin can have become: topped up, or another bin.</summary>
    ToppedUp,

    /// <summary>Lighter than a bin can have become: some taken out, or another bin.</summary>
    TakenOut,

    /// <summary>Read in pounds and entered as kilograms.</summary>
    PoundsAsKilograms,

    /// <summary>Read in kilograms and entered as pounds.</summary>
    KilogramsAsPounds,

    /// <summary>The empty bin was not taken off.</summary>
    TareForgotten,

    /// <summary>The scale had been zeroed with the empty bin, and it was taken off once more.</summary>
    TareTakenTwice,

    /// <summary>A decimal point slipped.</summary>
    DecimalPoint,
}

/// <summary>A weighing to ask about. The belief has not changed by it.</summary>
/// <param name="Kind">What it may have been.</param>
/// <param name="Bin">The bin.</param>
/// <param name="GrossKg">What was entered, kg.</param>
/// <param name="ExpectedLowKg">Gross weight expected at least, kg (99 % interval).</param>
/// <param name="ExpectedHighKg">Gross weight expected at most, kg.</param>
/// <param name="MeantGrossKg">The gross weight that was likely meant, kg; null where none is suggested.</param>
public sealed record ScaleQuestion(
    ScaleQuestionKind Kind, string Bin, double GrossKg, double ExpectedLowKg, double ExpectedHighKg, double? MeantGrossKg)
{
    /// <summary>What to ask, such as "Bin 3 weighs 61 lb; expected 47.1 to 48.9 lb. Was it topped up, or is it another bin?"</summary>
    /// <param name="pounds">True for pounds, false for kilograms.</param>
    public string Words(bool pounds)
    {
        string unit = pounds ? "lb" : "kg";
        string seen = $"{Bin} weighs {Number(GrossKg)} {unit}; expected {Number(Math.Max(0, ExpectedLowKg))} to {Number(ExpectedHighKg)} {unit}.";
        return Kind switch
        {
            ScaleQuestionKind.ToppedUp => $"{seen} Was it topped up, or is it another bin?",
            ScaleQuestionKind.TakenOut => $"{seen} Was some taken out, or is it another bin?",
            ScaleQuestionKind.PoundsAsKilograms =>
                $"{seen} Was it read in pounds and entered as kilograms? That would be {Number(MeantGrossKg!.Value)} {unit}.",
            ScaleQuestionKind.KilogramsAsPounds =>
                $"{seen} Was it read in kilograms and entered as pounds? That would be {Number(MeantGrossKg!.Value)} {unit}.",
            ScaleQuestionKind.TareForgotten => $"{seen} Was the empty bin not taken off?",
            ScaleQuestionKind.TareTakenTwice => $"{seen} Was the scale zeroed with the empty bin on it already?",
            _ => $"{seen} Did the decimal point slip? {Number(MeantGrossKg!.Value)} {unit} would fit.",
        };

        string Number(double kg) => (Math.Round(pounds ? kg / Pound.Kilograms : kg, 1, MidpointRounding.AwayFromZero) + 0.0)
            .ToString("0.#", CultureInfo.InvariantCulture);
    }
}
