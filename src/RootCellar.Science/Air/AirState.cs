namespace RootCellar.Science.Air;

/// <summary>
/// Air of one temperature, humidity and pressure, with everything that follows. Made by <see cref="MoistAir.At"/> and
/// <see cref="MoistAir.TryAt"/>. Says nothing of how far the sensor can be trusted: see <see cref="Uncertainty"/>.
/// </summary>
/// <param name="TemperatureC">Air temperature, C.</param>
/// <param name="RelativeHumidityPercent">Relative humidity over water, percent, also below 0 C.</param>
/// <param name="PressurePa">Pressure of the air, Pa.</param>
/// <param name="SaturationVapourPressurePa">Saturation vapour pressure over water at air temperature, Pa.</param>
/// <param name="VapourPressurePa">Vapour pressure, Pa.</param>
/// <param name="VapourPressureDeficitPa">Deficit at air temperature, Pa.</param>
/// <param name="DewPointC">Dew point over water, C, also below 0 C.</param>
/// <param name="FrostPointC">Frost point (over ice), C; null in air of 0 C or warmer.</param>
/// <param name="WetBulbC">Wet bulb, C; see <see cref="WetBulb"/>.</param>
/// <param name="HumidityRatio">kg water per kg dry air, ideal gases.</param>
/// <param name="AbsoluteHumidityGramsPerCubicMetre">Water in the air, g/m3.</param>
/// <param name="EnthalpyJoulesPerKilogram">J per kg dry air, nought for dry air at 0 C.</param>
public readonly record struct AirState(
    double TemperatureC,
    double RelativeHumidityPercent,
    double PressurePa,
    double SaturationVapourPressurePa,
    double VapourPressurePa,
    double VapourPressureDeficitPa,
    double DewPointC,
    double? FrostPointC,
    double WetBulbC,
    double HumidityRatio,
    double AbsoluteHumidityGramsPerCubicMetre,
    double EnthalpyJoulesPerKilogram)
{
    /// <summary>How far produce of this temperature is above the dew point, C. Nought or less: it gets wet.</summary>
    public double CondensationMarginC(double pulpC) => MoistAir.CondensationMarginC(pulpC, DewPointC);

    /// <summary>Deficit between produce of this temperature and the air, Pa. Below nought: it gets wet.</summary>
    public double PulpDeficitPa(double pulpC) => MoistAir.PulpDeficitPa(pulpC, VapourPressurePa);
}
