using RootCellar.Science.Air;

namespace RootCellar.Readings;

/// <summary>What a sensor is held against when it is calibrated, as it stands in an address.</summary>
internal enum HeldAgainst
{
    /// <summary>A damp heap of salt in a closed jar, which holds the air above it at a known humidity.</summary>
    Salt,

    /// <summary>Crushed ice and water, stirred.</summary>
    Ice,

    /// <summary>Another sensor of the house, side by side.</summary>
    Sensor,

    /// <summary>An instrument that somebody reads.</summary>
    Instrument,
}

/// <summary>How a sensor is held against it.</summary>
internal static class HeldAgainstRules
{
    /// <summary>
    /// Salts worth keeping in a cellar: for onions and curing rooms the driest, for root rooms table salt and the dampest; one that
    /// garden shops sell in between. By formula, driest first.
    /// </summary>
    public static readonly IReadOnlyList<string> Salts = ["MgCl2", "NaCl", "KCl", "K2SO4"];

    /// <summary>
    /// How long it lies there at least: a small bare sensor over salt 20 minutes, which is the least of the usual advice; a probe in ice
    /// ten; two beside each other an hour (common practice).
    /// </summary>
    public static TimeSpan Least(this HeldAgainst against) => TimeSpan.FromMinutes(against switch
    {
        HeldAgainst.Salt => 20,
        HeldAgainst.Ice => 10,
        _ => 60,
    });

    /// <summary>Whether the air there is not the place's, so that the place goes without the sensor meanwhile.</summary>
    public static bool IsElsewhere(this HeldAgainst against) => against is HeldAgainst.Salt or HeldAgainst.Ice;

    /// <summary>What this kind of quantity may be off by, and how far a correction reaches.</summary>
    public static CorrectionRules Rules(this Quantity quantity) =>
        quantity == Quantity.Humidity ? SensorCorrection.Humidity : SensorCorrection.Temperature;

    /// <summary>What a figure is good to that no calibration and no salt vouches for (assumed: a cheap instrument).</summary>
    public static double CheapPlusOrMinus(this Quantity quantity) =>
        quantity == Quantity.Humidity ? Uncertainty.CheapHumidityPercent : Uncertainty.CheapTemperatureC;
}
