namespace RootCellar.Readings;

/// <summary>What a sensor measures. Values are held in SI or the unit named here, never in F or lb.</summary>
internal enum Quantity
{
    /// <summary>Air temperature, degrees C.</summary>
    Temperature = 1,

    /// <summary>Relative humidity over water, percent, also below 0 C.</summary>
    Humidity = 2,

    /// <summary>Temperature inside the produce, degrees C.</summary>
    Pulp = 3,

    /// <summary>Illuminance, lux.</summary>
    Light = 4,

    /// <summary>Carbon dioxide, ppm. From a cheap sensor: not a safety instrument.</summary>
    Co2 = 5,

    /// <summary>Air pressure, Pa.</summary>
    Pressure = 6,

    /// <summary>Weight on a scale, kg, as the sensor reports it (gross).</summary>
    Weight = 7,

    /// <summary>Battery, V.</summary>
    BatteryVolts = 8,

    /// <summary>Battery, percent of full.</summary>
    BatteryPercent = 9,

    /// <summary>Radio signal strength, dBm.</summary>
    SignalStrength = 10,
}
