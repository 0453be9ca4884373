namespace RootCellar.Science.Crops;

/// <summary>
/// Days from planting until a crop is full grown, as a range. Lists differ by weeks for the same variety, for some count from
/// planting and some from emergence, and some stop at table size and some at dead vines: dead vines tell better than any list.
/// </summary>
/// <param name="Low">Fewest days from planting.</param>
/// <param name="High">Most days from planting.</param>
/// <param name="Source">Where the range is from.</param>
public sealed record DaysToMaturity(int Low, int High, string Source)
{
    /// <summary>
    /// Days from planting to emergence at most, by which a packet that counts from emergence is late: three weeks (common practice for
    /// potatoes; assumed for others).
    /// </summary>
    public const int EmergenceDays = 21;

    private const string Lists =
        "seed lists and garden columns: early under 90 days, mid-season 100 or so, late 110 or more (Mother Earth News, growing potatoes); 90, 110 and 135 (Hughes, PlantVillage, Penn State 2014); the low ends from memory";

    /// <summary>
    /// Potatoes of a class. Early 65 to 90 days, mid-season 80 to 110, late 100 to 135, from lists that differ by as much; a class
    /// between two spans both, and very late ends at the 150 days a garden nursery's leaflet gives a russet.
    /// </summary>
    public static DaysToMaturity OfPotato(MaturityClass ripe) => ripe switch
    {
        MaturityClass.Early => new(65, 90, Lists),
        MaturityClass.MidEarly => new(65, 110, Lists),
        MaturityClass.MidSeason => new(80, 110, Lists),
        MaturityClass.MidLate => new(80, 135, Lists),
        MaturityClass.Late => new(100, 135, Lists),
        MaturityClass.VeryLate => new(100, 150, Lists),
        _ => throw new ArgumentOutOfRangeException(nameof(ripe), ripe, "Not a maturity class."),
    };

    /// <summary>
    /// What is known of a row: the packet's own days first, then days published for the variety, then the grower's word, then the
    /// variety's class; null where there is none of them. Of crops other than potatoes no table gives days, so only the packet's count.
    /// </summary>
    /// <param name="potato">Whether it is a potato.</param>
    /// <param name="variety">The variety's name, found as the table finds it; null where nobody said.</param>
    /// <param name="word">Early, mid-season or late by the grower; null where nobody said.</param>
    /// <param name="packetDays">Days as packet or seed list give them; null where nobody said.</param>
    public static DaysToMaturity? Of(bool potato, string? variety, MaturityClass? word, int? packetDays)
    {
        if (packetDays is { } days)
            return new(days, days + EmergenceDays,
                "the days you gave, counted from planting at the earliest and from emergence at the latest");
        if (!potato)
            return null;
        var ripe = variety is null ? null : VarietyTable.Default.Find(variety)?.Maturity;
        if (ripe is { DaysLow: { } low, DaysHigh: { } high })
            return new(low, high, ripe.Source);
        return (word ?? ripe?.Class) is { } known ? OfPotato(known) : null;
    }
}
