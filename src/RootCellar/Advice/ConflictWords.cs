using RootCellar.Household;
using RootCellar.Science;
using RootCellar.Science.Crops;

namespace RootCellar.Advice;

/// <summary>
/// What happens where two crops that do not go together share a room, and what can be done. Advice for keeping quality only.
/// </summary>
internal static class ConflictWords
{
    extension(Conflict conflict)
    {
        /// <summary>What happens.</summary>
        /// <param name="units">The household's; null: in C with F behind it, for whoever asks the program without a household.</param>
        public string What(Units? units = null)
        {
            var (first, second) = (CropWords.Name(conflict.First), CropWords.Name(conflict.Second));
            switch (conflict.Kind)
            {
                case ConflictKind.Temperature:
                    var (cold, warm, gap) = (Degrees(conflict.First, units), Degrees(conflict.Second, units), units is null
                        ? $"{Number(conflict.Gap)} C ({Number(conflict.Gap * Fahrenheit.PerCelsius)} F)"
                        : Number(units.DegreesApart(conflict.Gap)) + Unit(units));
                    return conflict.Second.ChillingBelowC is { } chills && chills > conflict.First.Storage.TemperatureHighC
                        ? Strings.ConflictChills.With(first, cold, second, warm, gap,
                            units is null ? Number(chills) + " C" : Number(units.Degrees(chills)) + Unit(units))
                        : Strings.ConflictTemperature.With(first, cold, second, warm, gap);
                case ConflictKind.Humidity:
                    return Strings.ConflictHumidity.With(first, Percent(conflict.First), second, Percent(conflict.Second),
                        Number(conflict.Gap));
                case ConflictKind.Ethylene when conflict.Mutual:
                    return Strings.ConflictEthyleneMutual.With(first, second);
                case ConflictKind.Ethylene:
                    return CropWords.EthyleneEffect(conflict.Second) is { } effect ? Strings.ConflictEthylene.With(first, second, effect)
                        : Strings.ConflictEthyleneHarms.With(first, second);
                default:
                    return (conflict.Mutual ? Strings.ConflictOdourMutual : Strings.ConflictOdour).With(first, second);
            }
        }

        /// <summary>What can be done.</summary>
        public string WhatToDo() => (conflict.Kind switch
        {
            ConflictKind.Temperature => conflict.Severity == Severity.Never ? Strings.ConflictTemperatureApart
                : Strings.ConflictTemperatureDo,
            ConflictKind.Humidity => Strings.ConflictHumidityDo,
            ConflictKind.Ethylene => conflict.Mutual ? Strings.ConflictEthyleneMutualDo : Strings.ConflictEthyleneDo,
            // Ethylene wants the taker downwind, smell wants it upwind: then only walls help both.
            _ => conflict.EthyleneBack ? Strings.ConflictOdourApart : Strings.ConflictOdourDo,
        }).With(CropWords.Name(conflict.First), CropWords.Name(conflict.Second));
    }

    private static string Degrees(Crop crop, Units? units)
    {
        var (low, high) = (crop.Storage.TemperatureLowC, crop.Storage.TemperatureHighC);
        if (units is not null) return Strings.Range.With(Number(units.Degrees(low)), Number(units.Degrees(high))) + Unit(units);
        return $"{Strings.Range.With(Number(low), Number(high))} C ({Strings.Range.With(Number(Fahrenheit.Of(low)), Number(Fahrenheit.Of(high)))} F)";
    }

    private static string Unit(Units units) => "\u00A0" + units.TemperatureUnit;

    private static string Percent(Crop crop) =>
        Strings.Range.With(Number(crop.Storage.HumidityLowPercent), Number(crop.Storage.HumidityHighPercent)) + " %";

    private static string Number(double value) => Units.Number(value, "0.#");
}
