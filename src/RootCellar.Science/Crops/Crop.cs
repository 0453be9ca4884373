using RootCellar.Science.Keeping;

namespace RootCellar.Science.Crops;

/// <summary>A band of temperature and relative humidity, in C and percent whatever unit its source printed.</summary>
/// <param name="TemperatureLowC">Low edge, C.</param>
/// <param name="TemperatureHighC">High edge, C.</param>
/// <param name="HumidityLowPercent">Low edge, percent over water.</param>
/// <param name="HumidityHighPercent">High edge, percent over water.</param>
/// <param name="PrintedTemperature">The temperatures as the table has them, such as "50 to 60 F".</param>
/// <param name="Source">Where it was read.</param>
public abstract record Band(
    double TemperatureLowC,
    double TemperatureHighC,
    double HumidityLowPercent,
    double HumidityHighPercent,
    string PrintedTemperature,
    string Source);

/// <summary>The band a crop is cured in, for how long and by which rule.</summary>
public sealed record CuringBand(
    double TemperatureLowC,
    double TemperatureHighC,
    double HumidityLowPercent,
    double HumidityHighPercent,
    string PrintedTemperature,
    string Source,
    int DaysLow,
    int DaysHigh,
    CuringRule Rule)
    : Band(TemperatureLowC, TemperatureHighC, HumidityLowPercent, HumidityHighPercent, PrintedTemperature, Source);

/// <summary>A band a crop keeps in. <paramref name="For"/> says for what use; null for the general one.</summary>
public sealed record StorageBand(
    double TemperatureLowC,
    double TemperatureHighC,
    double HumidityLowPercent,
    double HumidityHighPercent,
    string PrintedTemperature,
    string Source,
    string? For)
    : Band(TemperatureLowC, TemperatureHighC, HumidityLowPercent, HumidityHighPercent, PrintedTemperature, Source);

/// <summary>
/// How much ethylene a crop gives off (at 20 C: very low under 0.1 uL/(kg h), each step ten times more), or how much it minds it.
/// </summary>
public enum EthyleneLevel
{
    /// <summary>Under 0.1 uL/(kg h).</summary>
    VeryLow,

    /// <summary>0.1 to 1.</summary>
    Low,

    /// <summary>1 to 10.</summary>
    Moderate,

    /// <summary>10 to 100.</summary>
    High,

    /// <summary>Over 100.</summary>
    VeryHigh,
}

/// <summary>A figure and where it was read.</summary>
public sealed record Sourced(double Value, string Source);

/// <summary>
/// What a crop loses faster at first, while its surface dries off and its skin, necks or rind close. Both parts fall to a third (1/e) over
/// <paramref name="Days"/> of age or over <paramref name="CuringDays"/> of curing, whichever has come further.
/// </summary>
/// <param name="Percent">Loss that no humidity stops, percent of the weight, in all.</param>
/// <param name="FreshCoefficient">Water loss of it fresh, ng/(kg s Pa), going to <see cref="Crop.Transpiration"/>; null where no more than
/// that.</param>
/// <param name="Days">Days of age over which it falls to a third.</param>
/// <param name="CuringDays">Days of curing at its rule's own temperature that do the same (<see cref="Keeping.Curing.RatePerDay"/>); null where
/// curing does not hasten it.</param>
/// <param name="Source">Where it was read.</param>
public sealed record EarlyLoss(double Percent, double? FreshCoefficient, double Days, double? CuringDays, string Source);

/// <summary>Words and where they were read.</summary>
public sealed record SourcedText(string Text, string Source);

/// <summary>How strongly a crop smells of itself, or how readily it takes up another's smell.</summary>
public enum OdourLevel
{
    /// <summary>Not to speak of.</summary>
    None,

    /// <summary>Where they lie long and close together.</summary>
    Some,

    /// <summary>Through a whole room.</summary>
    Strong,
}

/// <summary>Smell given to others and taken up from them.</summary>
/// <param name="Gives">How strongly it smells.</param>
/// <param name="TakesUp">How readily it takes up the smell of others.</param>
/// <param name="Source">Where it was read.</param>
public sealed record Odours(OdourLevel Gives, OdourLevel TakesUp, string Source);

/// <summary>
/// Fresh weight that fills jars, for planning. Quantities only, no directions: <see cref="CautionOf"/> stands wherever one is shown.
/// </summary>
/// <param name="As">How it is cut.</param>
/// <param name="PoundsPer7LiquidQuarts">Pounds as bought to a canner load of 7 liquid quarts. A liquid quart is no dry quart: see
/// <see cref="DryMeasure"/>.</param>
/// <param name="PoundsPer9LiquidPints">Pounds as bought to a canner load of 9 liquid pints.</param>
/// <param name="Container">What a bag or bushel makes, in words; null where not given.</param>
/// <param name="Source">Edition it was read in, and what others say.</param>
public sealed record CanningYield(string As, double PoundsPer7LiquidQuarts, double PoundsPer9LiquidPints, string? Container, string Source)
{
    /// <summary>What must be said beside every quantity of a crop that is low in acid.</summary>
    public const string Caution =
        "Quantities only. Low-acid foods are canned only by a tested pressure process: follow the current directions of USDA or NCHFP.";

    /// <summary>What must be said beside every quantity of fruit.</summary>
    public const string FruitCaution =
        "Quantities only. Fruit is canned only by a tested process of its own kind: follow the current directions of USDA or NCHFP.";

    /// <summary>What must be said of a crop that has no tested process plain.</summary>
    public const string PickleCaution =
        "Quantities only. No tested process is known here for it plain: pickle it only by a tested recipe of USDA or NCHFP.";

    /// <summary>What must be said beside every quantity of a crop.</summary>
    public static string CautionOf(CanningProcess? process) => process switch
    {
        CanningProcess.Fruit => FruitCaution,
        CanningProcess.Pickle => PickleCaution,
        _ => Caution,
    };
}

/// <summary>What a crop is made of, as far as heat is concerned.</summary>
/// <param name="WaterPercent">Water, percent of fresh mass.</param>
/// <param name="SpecificHeatKJPerKgK">Specific heat above freezing, kJ/(kg K).</param>
/// <param name="Source">Where it was read.</param>
public sealed record ThermalTraits(double WaterPercent, double SpecificHeatKJPerKgK, string Source);

/// <summary>
/// A cellar crop as the table has it. The bands are for keeping quality; nothing here says whether produce is fit to eat.
/// </summary>
public sealed record Crop
{
    /// <summary>What configuration, API and bins call it, such as "sweet-potato".</summary>
    public required string Id { get; init; }

    /// <summary>What people read.</summary>
    public required string Name { get; init; }

    /// <summary>Other names it is found by.</summary>
    public required IReadOnlyList<string> Aliases { get; init; }

    /// <summary>Of a household's own crop: the crop of the table it is said to keep like; null where it is like none.</summary>
    public string? Like { get; init; }

    /// <summary>Of a household's own crop: all that was said of it; null for a crop of the table.</summary>
    public string? Definition { get; init; }

    /// <summary>How it is cured; null where it is not.</summary>
    public CuringBand? Curing { get; init; }

    /// <summary>The band of an unrefrigerated cellar: advice goes by it. Alarms go by <see cref="HarmTable"/>.</summary>
    public required StorageBand Storage { get; init; }

    /// <summary>The band of a refrigerated store.</summary>
    public required StorageBand Ideal { get; init; }

    /// <summary>Bands for particular uses: seed, chips, planting stock.</summary>
    public required IReadOnlyList<StorageBand> OtherStorage { get; init; }

    /// <summary>How long it keeps at the ideal band, in words.</summary>
    public required string StorageLife { get; init; }

    /// <summary>Where <see cref="StorageLife"/> was read.</summary>
    public required string StorageLifeSource { get; init; }

    /// <summary>Highest freezing point, C, with its source.</summary>
    public required Sourced Freezing { get; init; }

    /// <summary>Highest freezing point, C: the freezing alarm stands on this, not on 0 C.</summary>
    public double FreezingPointC => Freezing.Value;

    /// <summary>Chilling injury below, C, with its source; null where the crop has none above freezing.</summary>
    public Sourced? Chilling { get; init; }

    /// <summary>Degree-days below <see cref="Chilling"/> that harm it, C d, with its source; null where no figure is known.</summary>
    public Sourced? ChillingHarm { get; init; }

    /// <summary>Chilling injury below, C; null where the crop has none above freezing.</summary>
    public double? ChillingBelowC => Chilling?.Value;

    /// <summary>Ethylene given off.</summary>
    public required EthyleneLevel EthyleneProduction { get; init; }

    /// <summary>How much it minds ethylene.</summary>
    public required EthyleneLevel EthyleneSensitivity { get; init; }

    /// <summary>Where the ethylene columns were read.</summary>
    public required string EthyleneSource { get; init; }

    /// <summary>How it comes in.</summary>
    public required Harvest Harvest { get; init; }

    /// <summary>What is asked of it at harvest.</summary>
    public required IReadOnlyList<HarvestSign> Asks { get; init; }

    /// <summary>Whether it sprouts in store.</summary>
    public required SproutKind Sprouts { get; init; }

    /// <summary>For what it is culled, the commonest first.</summary>
    public required IReadOnlyList<CullReason> Cull { get; init; }

    /// <summary>The kind of tested process it is canned by; null where it is not canned.</summary>
    public CanningProcess? Canned { get; init; }

    /// <summary>Whether it is kept to eat; false: to plant.</summary>
    public bool Food { get; init; } = true;

    /// <summary>The share of its first weight it may lose before it shows, with its source.</summary>
    public required Sourced Shriveled { get; init; }

    /// <summary>Whether light turns it green, so that light in its place is an alarm.</summary>
    public bool GreensInLight { get; init; }

    /// <summary>Where <see cref="GreensInLight"/> was read; null where it is not so.</summary>
    public string? GreensInLightSource { get; init; }

    /// <summary>What ethylene does to it; null where it hardly minds.</summary>
    public SourcedText? EthyleneEffect { get; init; }

    /// <summary>Smell given and taken up.</summary>
    public required Odours Odours { get; init; }

    /// <summary>
    /// Water loss, ng/(kg s Pa): mass of water per fresh mass, second and Pa by which the vapour pressure at the surface exceeds
    /// that of the air, of a single layer in gently moving air. A pile or a box loses less, for its air is damper than the room's.
    /// </summary>
    public required Sourced Transpiration { get; init; }

    /// <summary>Its early part; null where no source in hand shows one.</summary>
    public EarlyLoss? Early { get; init; }

    /// <summary>The 5 to 95 % factor about its water loss, either way, of a lot nothing else is known of.</summary>
    public required Sourced Spread { get; init; }

    /// <summary>Vapour pressure at the crop's surface over that of pure water at the same temperature, a little under 1.</summary>
    public required Sourced VapourPressureLowering { get; init; }

    /// <summary>How fast it breathes.</summary>
    public required RespirationTable Respiration { get; init; }

    /// <summary>Water and specific heat; null where no figure is known.</summary>
    public ThermalTraits? Thermal { get; init; }

    /// <summary>
    /// Fresh weight to a canner load, by how it is cut; empty where none is published. Show <see cref="CanningYield.CautionOf"/> with it.
    /// </summary>
    public IReadOnlyList<CanningYield> Canning { get; init; } = [];

    /// <summary>Approximate or legal weight of a US bushel, kg; null where none is known. Not a density: a bushel may be heaped.</summary>
    public Sourced? BushelKg { get; init; }

    /// <summary>Low end of the density of a pile, kg/m3; null where none is known.</summary>
    public Sourced? BulkDensityLowKgPerM3 { get; init; }

    /// <summary>High end of the density of a pile, kg/m3; null where none is known.</summary>
    public Sourced? BulkDensityHighKgPerM3 { get; init; }

    /// <summary>What else to mind; null where nothing.</summary>
    public string? Note { get; init; }

    /// <summary>Every source the row rests on, once each.</summary>
    public IReadOnlyList<string> Sources =>
    [
        .. new[] { Curing?.Source, Storage.Source, Ideal.Source }
            .Concat(OtherStorage.Select(band => band.Source))
            .Concat([StorageLifeSource, Freezing.Source, Chilling?.Source, EthyleneSource, EthyleneEffect?.Source,
                Odours.Source, Transpiration.Source, Early?.Source, Spread.Source,
                VapourPressureLowering.Source, Respiration.Source, Thermal?.Source, GreensInLightSource, Shriveled.Source, BushelKg?.Source,
                BulkDensityLowKgPerM3?.Source])
            .Concat(Canning.Select(item => item.Source))
            .OfType<string>()
            .Distinct(StringComparer.Ordinal),
    ];
}
