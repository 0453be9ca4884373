using RootCellar.Science.Air;

namespace RootCellar.Science.Cellar;

/// <summary>Air of two sources after it has mixed, with the fog that fell out of it.</summary>
/// <param name="Air">What is left: never above 100 % humidity.</param>
/// <param name="FogGramsPerKg">Water that became fog or dew, g per kg dry air; nought where the mix is not supersaturated.</param>
public readonly record struct BlendedAir(AirState Air, double FogGramsPerKg);

/// <summary>
/// The air of a room as one perfectly mixed box. Walls and produce are not in it: they give heat back for hours, so the
/// air of a real room moves less than this says, and comes back when the vent is shut.
/// </summary>
/// <remarks>
/// Frost point and wet bulb of the returned airs come from ice below 0 C, whose last bit may differ between machines
/// (<see cref="Saturation"/>); no sum here uses them.
/// </remarks>
public static class RoomAir
{
    /// <summary>Coldest outside air taken, C.</summary>
    public const double ColdestC = -40;

    /// <summary>Warmest air taken, C.</summary>
    public const double WarmestC = 45;

    /// <summary>
    /// Heat capacity of liquid water, J/(kg K), for the fog's own enthalpy (ASHRAE Fundamentals 2017 ch. 1: 4.186 kJ/(kg K)).
    /// </summary>
    private const double WaterHeatJPerKgK = 4186;

    /// <summary>
    /// Room air with a share of its dry air replaced. Water and enthalpy of the two airs are conserved; where the mix holds more
    /// water than it can, the surplus falls out as fog of its own temperature and the latent heat warms the air:
    /// h = h(T, W saturated at T) + (W - W saturated) 4186 T, solved for T by bisection to 1e-10 C (derived).
    /// </summary>
    /// <param name="inside">Room air, -40 to 45 C.</param>
    /// <param name="outside">Air coming in, same pressure.</param>
    /// <param name="freshShare">Share of dry air replaced, 0 to 1.</param>
    /// <exception cref="ArgumentException">The airs differ in pressure.</exception>
    public static BlendedAir Blend(AirState inside, AirState outside, double freshShare)
    {
        if (inside.PressurePa != outside.PressurePa)
            throw new ArgumentException("Only airs of the same pressure can be mixed.", nameof(outside));
        Require.Within(inside.TemperatureC, ColdestC, WarmestC, nameof(inside));
        Require.Within(outside.TemperatureC, ColdestC, WarmestC, nameof(outside));
        Require.Within(freshShare, 0, 1, nameof(freshShare));

        double ratio = (1 - freshShare) * inside.HumidityRatio + freshShare * outside.HumidityRatio;
        double enthalpy = (1 - freshShare) * inside.EnthalpyJoulesPerKilogram + freshShare * outside.EnthalpyJoulesPerKilogram;
        double pressure = inside.PressurePa;
        double temperatureC = (enthalpy - 2_501_000 * ratio) / (1006 + 1860 * ratio);
        double fog = 0;
        if (ratio > SaturatedRatio(temperatureC, pressure))
        {
            temperatureC = FoggedC(temperatureC, ratio, enthalpy, pressure);
            fog = Math.Max(0, ratio - SaturatedRatio(temperatureC, pressure));
        }

        double vapour = MoistAir.VapourPressureOfRatioPa(ratio, pressure);
        double humidity = Math.Min(100, 100 * vapour / Saturation.OverWaterPa(temperatureC));
        return new BlendedAir(MoistAir.At(temperatureC, humidity, pressure), 1000 * fog);
    }

    private static double SaturatedRatio(double temperatureC, double pressurePa) =>
        MoistAir.HumidityRatio(Saturation.OverWaterPa(temperatureC), pressurePa);

    private static double FoggedC(double fromC, double ratio, double enthalpy, double pressure)
    {
        // Saturated air of the dry mix's temperature holds too little heat; 2.5 MJ/kg over 1 kJ/(kg K) bounds the rise.
        double low = fromC;
        double high = fromC + 2500 * ratio + 1;
        while (high - low > 1e-10)
        {
            double middle = (low + high) / 2;
            double saturated = SaturatedRatio(middle, pressure);
            double there = MoistAir.EnthalpyJoulesPerKilogram(middle, saturated) + (ratio - saturated) * WaterHeatJPerKgK * middle;
            if (there < enthalpy)
                low = middle;
            else
                high = middle;
        }

        return (low + high) / 2;
    }
}
