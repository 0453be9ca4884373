using RootCellar.Science.Crops;

namespace RootCellar.Science.Keeping;

/// <summary>How bad the cold is.</summary>
public enum ColdLevel
{
    /// <summary>Above every edge.</summary>
    None,

    /// <summary>Chilling goes on.</summary>
    Caution,

    /// <summary>Cold spots may be near freezing, or chilling has lasted long.</summary>
    Warning,

    /// <summary>It may be freezing now.</summary>
    Emergency,
}

/// <summary>
/// Chilling and freezing. Hours below the crop's own edges are counted as they come: how much harm an hour does at each
/// temperature is published for no cellar crop that could be found. Below freezing tubers can stay liquid until they are
/// moved (USDA Bulletin 916, 1921; its limits could not be read), so frozen and not yet frozen cannot be told apart.
/// </summary>
public static class Cold
{
    /// <summary>Sensor error allowed for, C (the accuracy of cheap parts, from their data sheets, rounded up).</summary>
    public const double SensorErrorC = 0.5;

    /// <summary>How much colder than the sensor the coldest spot is taken to be, C (assumed).</summary>
    public const double ColdSpotC = 0.5;

    /// <summary>
    /// Hours below the chilling edge before it is said (potatoes: Univ. Nebraska CropWatch says "a few hours" near 0 C, UC Davis weeks; 12
    /// h assumed).
    /// </summary>
    public const double CautionAfterHours = 12;

    /// <summary>Hours below the chilling edge of another crop that make a caution a warning (assumed).</summary>
    public const double LongChillingHours = 72;

    /// <summary>Pulp of a potato below this is a warning, C (NDSU: mahogany browning and poor seed at 31 to 34 F, -0.5 to 1.1 C).</summary>
    public const double PotatoWarningC = 1.1;

    /// <summary>
    /// Pulp of a potato below this is an emergency, C: freezing harm begins at -0.8 C (UC Davis) or -1.1 C (Bethke; Univ.
    /// Nebraska), and the difference is what a sensor and a cold spot can hide.
    /// </summary>
    public const double PotatoEmergencyC = 0;

    /// <summary>
    /// Share of a time spent below an edge, 0 to 1, while the temperature goes straight from one end to the other. 0 where an end is not
    /// known (NaN).
    /// </summary>
    /// <param name="edgeC">The crop's chilling edge or freezing point, C; minus infinity where it has none.</param>
    /// <param name="startC">Temperature of the produce at the start, C.</param>
    /// <param name="endC">Temperature at the end, C.</param>
    public static double ShareBelow(double edgeC, double startC, double endC)
    {
        double low = Math.Min(startC, endC);
        double high = Math.Max(startC, endC);
        return high < edgeC ? 1 : low < edgeC ? (edgeC - low) / (high - low) : 0;
    }

    /// <summary>Pulp below which a cold spot may be near freezing, C: the freezing point and both guards.</summary>
    public static double WarningBelowC(Crop crop)
    {
        ArgumentNullException.ThrowIfNull(crop);
        return IsPotato(crop) ? PotatoWarningC : crop.FreezingPointC + SensorErrorC + ColdSpotC;
    }

    /// <summary>Pulp below which it may be freezing now, C: the freezing point and what the sensor may be off.</summary>
    public static double EmergencyBelowC(Crop crop)
    {
        ArgumentNullException.ThrowIfNull(crop);
        return IsPotato(crop) ? PotatoEmergencyC : crop.FreezingPointC + SensorErrorC;
    }

    /// <summary>
    /// Air below this harms the crop if it stays there, C: near freezing, or so far below its chilling edge that it is no sensor's error.
    /// Potatoes, which keep for weeks near freezing (USDA), are only held to the former.
    /// </summary>
    public static double HarmBelowC(Crop crop)
    {
        ArgumentNullException.ThrowIfNull(crop);
        double freezing = WarningBelowC(crop);
        return !IsPotato(crop) && crop.ChillingBelowC is { } edge ? Math.Max(freezing, edge - SensorErrorC) : freezing;
    }

    /// <summary>
    /// Hours that are left before cold harms the crop, if it stays as cold as it is; 0 where it has had that much. Infinite where it is
    /// not below its edge, or no figure is known (<see cref="Crop.ChillingHarm"/>).
    /// </summary>
    /// <param name="crop">The crop.</param>
    /// <param name="pulpC">Its temperature now, C.</param>
    /// <param name="degreeDays">What it has had so far, C d (<see cref="LotState.ChillDegreeDays"/>).</param>
    public static double HoursLeft(Crop crop, double pulpC, double degreeDays)
    {
        ArgumentNullException.ThrowIfNull(crop);
        if (crop.ChillingHarm is not { Value: var harm }) return double.PositiveInfinity;
        if (degreeDays >= harm) return 0;
        return pulpC < crop.ChillingBelowC!.Value ? 24 * (harm - degreeDays) / (crop.ChillingBelowC.Value - pulpC) : double.PositiveInfinity;
    }

    /// <summary>Mean depth below an edge, C, over a time in which the temperature goes straight from one end to the other.</summary>
    /// <param name="edgeC">The edge, C; minus infinity where there is none.</param>
    /// <param name="startC">Temperature at the start, C.</param>
    /// <param name="endC">Temperature at the end, C.</param>
    public static double DepthBelow(double edgeC, double startC, double endC)
    {
        double low = Math.Min(startC, endC);
        double high = Math.Max(startC, endC);
        return high <= edgeC ? edgeC - ((low + high) / 2) : low < edgeC ? (edgeC - low) * (edgeC - low) / (2 * (high - low)) : 0;
    }

    /// <summary>How bad it is.</summary>
    /// <param name="crop">The crop.</param>
    /// <param name="pulpC">Temperature of the produce now, C; NaN where not known: nothing is said.</param>
    /// <param name="chillingHours">Hours it has been below the chilling edge without a break.</param>
    public static ColdLevel Level(Crop crop, double pulpC, double chillingHours = 0)
    {
        if (pulpC < EmergencyBelowC(crop))
            return ColdLevel.Emergency;
        if (pulpC < WarningBelowC(crop))
            return ColdLevel.Warning;
        if (!(pulpC < crop.ChillingBelowC) || !(chillingHours > CautionAfterHours))
            return ColdLevel.None;
        return !IsPotato(crop) && chillingHours > LongChillingHours ? ColdLevel.Warning : ColdLevel.Caution;
    }

    /// <summary>What to say, whatever the level.</summary>
    /// <param name="crop">The crop.</param>
    /// <param name="pulpC">Temperature of the produce now, C; NaN where not known: that is said.</param>
    /// <param name="chillingHours">Hours it has been below the chilling edge without a break.</param>
    /// <param name="degrees">How a temperature in C is written; null: in F with C behind it.</param>
    public static string Words(Crop crop, double pulpC, double chillingHours = 0, Func<double, string>? degrees = null)
    {
        degrees ??= Said.Degrees;
        ArgumentNullException.ThrowIfNull(crop);
        if (double.IsNaN(pulpC))
            return "How cold the produce is is not known.";
        string now = $"{crop.Name} at {degrees(pulpC)}";
        bool chilled = pulpC < crop.ChillingBelowC && chillingHours > CautionAfterHours;
        return Level(crop, pulpC, chillingHours) switch
        {
            ColdLevel.Emergency =>
                $"{now}: it may be freezing now (harm begins near {degrees(crop.FreezingPointC)}); bring warmth in or cover it, and do not move or handle it before it has warmed, for produce colder than its freezing point can freeze through when it is shaken.",
            ColdLevel.Warning when pulpC < WarningBelowC(crop) =>
                $"{now}: the coldest corner may be near freezing (harm begins near {degrees(crop.FreezingPointC)}); close the vent, cover it or bring warmth in.",
            ColdLevel.Caution or ColdLevel.Warning when chilled =>
                $"{now}, {Said.Hours(chillingHours)} below {degrees(crop.ChillingBelowC!.Value)}: cold this long can harm it without freezing{(IsPotato(crop) ? ", turning flesh brown and weakening seed" : "")}; let it warm a little.",
            _ => pulpC < crop.ChillingBelowC
                ? $"{now} is below the {degrees(crop.ChillingBelowC.Value)} where chilling begins: do not leave it so."
                : $"{now} is not too cold.",
        };
    }

    private static bool IsPotato(Crop crop) => Curing.RuleOf(crop) == CuringRule.Potato;
}
