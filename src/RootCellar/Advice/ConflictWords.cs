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
        public string What()
        {
            var (first, second) = (CropWords.Name(conflict.First), CropWords.Name(conflict.Second));
            switch (conflict.Kind)
            {
                case ConflictKind.Temperature:
                    var (cold, warm, gap) = (Degrees(conflict.First), Degrees(conflict.Second),
                        $"{Number(conflict.Gap)} C ({Number(conflict.Gap * Fahrenheit.PerCelsius)} F)");
                    return conflict.Second.ChillingBelowC is { } chills && chills > conflict.First.Storage.TemperatureHighC
                        ? Strings.ConflictChills.With(first, cold, second, warm, gap, Number(chills))
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

    private static string Degrees(Crop crop)
    {
        var (low, high) = (crop.Storage.TemperatureLowC, crop.Storage.TemperatureHighC);
        return $"{Strings.Range.With(Number(low), Number(high))} C ({Strings.Range.With(Number(Fahrenheit.Of(low)), Number(Fahrenheit.Of(high)))} F)";
    }

    private static string Percent(Crop crop) =>
        Strings.Range.With(Number(crop.Storage.HumidityLowPercent), Number(crop.Storage.HumidityHighPercent)) + " %";

    private static string Number(double value) => Units.Number(value, "0.#");
}
