namespace RootCellar.Science.Air;

/// <summary>From low to high, with the value itself. Not a probability: the worst the stated accuracies allow.</summary>
public readonly record struct Interval(double Low, double Value, double High);

/// <summary>How well dew point and deficit are known, given how good the sensor is.</summary>
/// <param name="DewPointC">Dew point, C.</param>
/// <param name="DeficitPa">Vapour pressure deficit at air temperature, Pa.</param>
public readonly record struct AirUncertainty(Interval DewPointC, Interval DeficitPa);

/// <summary>
/// What the sensor's own accuracy leaves of the derived figures. In a cellar this is what limits them, not the formula:
/// 95 +-3 % at 4 C is a deficit of 41 +-24 Pa.
/// </summary>
public static class Uncertainty
{
    /// <summary>
    /// Humidity accuracy assumed for a cheap sensor in damp air, percent: no cheap part is specified better than about
    /// 3 to 5 % at 95 % (makers' data sheets of the DHT22, SHT3x, SHT4x and BME280).
    /// </summary>
    public const double CheapHumidityPercent = 3;

    /// <summary>Temperature accuracy assumed for a cheap sensor, C (SHT3x data sheet: 0.2 to 0.3 C).</summary>
    public const double CheapTemperatureC = 0.3;

    /// <summary>
    /// The interval of dew point and deficit for a reading whose temperature and humidity are each good to plus or minus so much.
    /// </summary>
    /// <remarks>
    /// Both figures rise or fall steadily with temperature and humidity, so the ends are found at the corners. Humidity is held
    /// between 0.1 and 100 %: an end at 100 % is "could be saturated".
    /// </remarks>
    /// <exception cref="ArgumentOutOfRangeException">Air that <see cref="MoistAir.At"/> would refuse, or an accuracy above 5 C or 100
    /// %.</exception>
    public static AirUncertainty Of(
        double temperatureC,
        double relativeHumidityPercent,
        double temperatureAccuracyC = CheapTemperatureC,
        double humidityAccuracyPercent = CheapHumidityPercent)
    {
        Require.Within(temperatureC, MoistAir.LowestTemperatureC, MoistAir.HighestTemperatureC, nameof(temperatureC));
        Require.Within(relativeHumidityPercent, MoistAir.LowestHumidityPercent, MoistAir.HighestHumidityPercent,
            nameof(relativeHumidityPercent));
        Require.Within(temperatureAccuracyC, 0, 5, nameof(temperatureAccuracyC));
        Require.Within(humidityAccuracyPercent, 0, 100, nameof(humidityAccuracyPercent));
        // A reading above 100 % keeps its own value; only the spread is held to what air can be.
        double ceiling = Math.Max(100, relativeHumidityPercent);
        double damp = Math.Min(ceiling, relativeHumidityPercent + humidityAccuracyPercent);
        double dry = Math.Max(MoistAir.LowestHumidityPercent, relativeHumidityPercent - humidityAccuracyPercent);
        double cold = temperatureC - temperatureAccuracyC;
        double warm = temperatureC + temperatureAccuracyC;
        return new AirUncertainty(
            new Interval(Dew(cold, dry), Dew(temperatureC, relativeHumidityPercent), Dew(warm, damp)),
            new Interval(
                Math.Min(MoistAir.DeficitPa(cold, damp), MoistAir.DeficitPa(warm, damp)),
                MoistAir.DeficitPa(temperatureC, relativeHumidityPercent),
                Math.Max(MoistAir.DeficitPa(cold, dry), MoistAir.DeficitPa(warm, dry))));
    }

    private static double Dew(double temperatureC, double relativeHumidityPercent) =>
        MoistAir.DewPointC(MoistAir.VapourPressurePa(temperatureC, relativeHumidityPercent));
}
