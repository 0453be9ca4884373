namespace RootCellar.Science.Keeping;

/// <summary>
/// The air a lot stands in over one step. Relative humidity is over water. What no sensor told is NaN: no pulp probe (the
/// tubers then follow the air, <see cref="PackingTraits"/>), no light, no CO2 (taken as none to speak of).
/// </summary>
/// <param name="TemperatureC">Air temperature, C.</param>
/// <param name="RelativeHumidityPercent">Relative humidity over water, percent.</param>
/// <param name="PulpC">Temperature inside the produce, C; NaN where unknown.</param>
/// <param name="LightLux">Light, lux; NaN where unknown.</param>
/// <param name="Co2Ppm">Carbon dioxide, ppm; NaN where unknown.</param>
public readonly record struct LotAir(
    double TemperatureC,
    double RelativeHumidityPercent,
    double PulpC = double.NaN,
    double LightLux = double.NaN,
    double Co2Ppm = double.NaN);

/// <summary>The skin a lot came in with.</summary>
public enum SkinState
{
    /// <summary>Set: the thumb does not rub it off.</summary>
    Set,

    /// <summary>Tender: an early crop, or dug before the skin had set.</summary>
    Tender,

    /// <summary>Scuffed: set skin rubbed off in places by digging or handling.</summary>
    Scuffed,

    /// <summary>Cut or split by the fork or the digger.</summary>
    Cut,
}

/// <summary>How produce stands in the room.</summary>
public enum Packing
{
    /// <summary>One layer on a tray or bench, air on all sides.</summary>
    SingleLayer,

    /// <summary>A slatted crate or a sack of about 25 kg.</summary>
    Crate,

    /// <summary>A bin or heap half a metre deep or more.</summary>
    DeepBin,
}

/// <summary>What the packing does to the produce's own air and temperature.</summary>
/// <param name="LagHours">How slowly the produce follows the air: time constant, h.</param>
/// <param name="WarmerC">How much its own breath keeps it above the air, C.</param>
/// <param name="AirConductance">What the bin's air exchanges with the room's, in the unit of a transpiration coefficient, ng/(kg s Pa);
/// infinite where there is no bin.</param>
public readonly record struct PackingTraits(double LagHours, double WarmerC, double AirConductance)
{
    /// <summary>
    /// How much of the warmth of its depth draws no water out of it, C: what the middle of a deep bin gives off, the cooler produce above
    /// and about it takes up again, so that it is drained as a crate is (assumed; clamps lose very little in damp air: Huijbregts et al.
    /// 2013, told in a sugar beet storage encyclopedia).
    /// </summary>
    public double RegainedC => Math.Max(0, WarmerC - 0.2);

    /// <summary>
    /// The traits of a packing. Lag: 2 h for a single tuber in still air (density x heat capacity x radius / 3h, derived), crate
    /// and bin assumed. Warmer: assumed; Burton et al., J. Agric. Sci., saw 2/3 F per foot of height in an unventilated heap.
    /// Conductance: fitted by hand and rounded, the bin to the Russian loss norms of 2013 for bulk beets, the crate to the cabbage
    /// regression of Acta Horticulturae 157 (34).
    /// </summary>
    public static PackingTraits Of(Packing packing) => packing switch
    {
        Packing.SingleLayer => new PackingTraits(2, 0.05, double.PositiveInfinity),
        Packing.DeepBin => new PackingTraits(36, 0.4, 25),
        _ => new PackingTraits(8, 0.2, 200),
    };
}
