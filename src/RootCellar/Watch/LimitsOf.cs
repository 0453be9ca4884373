namespace RootCellar.Watch;

/// <summary>The limits of a band, figure by figure, in the units of the record.</summary>
internal static class LimitsOf
{
    public static (double Low, double High) Temperature(Band band) => (band.Air.TemperatureLowC, band.Air.TemperatureHighC);

    /// <summary>Roots can hardly have too much short of dew: there nothing is too wet.</summary>
    public static (double Low, double High) Humidity(Band band) =>
        (band.Air.HumidityLowPercent, band.KeptDry ? band.Air.HumidityHighPercent : double.PositiveInfinity);

    public static (double Low, double High) Light(Band band) => (double.NegativeInfinity, band.LightLimitLux ?? double.PositiveInfinity);
}
