namespace RootCellar.Science.Crops;

/// <summary>A potato's skin.</summary>
public enum SkinColour
{
    /// <summary>Brown and netted.</summary>
    Russet,

    /// <summary>Red or pink.</summary>
    Red,

    /// <summary>White to buff.</summary>
    White,

    /// <summary>Yellow.</summary>
    Yellow,

    /// <summary>Blue or purple.</summary>
    Blue,
}

/// <summary>When a variety is ripe, by its breeder's word. It does not tell how long the tubers rest.</summary>
public enum MaturityClass
{
    /// <summary>Early.</summary>
    Early,

    /// <summary>Between early and mid-season.</summary>
    MidEarly,

    /// <summary>Mid-season.</summary>
    MidSeason,

    /// <summary>Between mid-season and late.</summary>
    MidLate,

    /// <summary>Late.</summary>
    Late,

    /// <summary>Very late.</summary>
    VeryLate,
}

/// <summary>How long a variety rests, by a published word.</summary>
public enum DormancyClass
{
    /// <summary>Short.</summary>
    Short,

    /// <summary>Medium.</summary>
    Medium,

    /// <summary>Between medium and long.</summary>
    MediumLong,

    /// <summary>Long.</summary>
    Long,
}

/// <summary>What counts as the end of rest: publishers differ, and so do their days.</summary>
public enum DormancyEnd
{
    /// <summary>University of Idaho: 80 % of the tubers with a sprout of 5 mm or more; eyes peep 2 to 4 weeks before.</summary>
    Idaho,

    /// <summary>Great Britain: more than half of the tubers with a sprout of 3 mm or more, at 15 C.</summary>
    Britain,

    /// <summary>First sprouts seen.</summary>
    FirstSprouts,

    /// <summary>The source does not say.</summary>
    NotSaid,
}

/// <summary>When a variety is ripe.</summary>
/// <param name="Class">The breeder's word.</param>
/// <param name="DaysLow">Fewest published days from planting; null where none are known.</param>
/// <param name="DaysHigh">Most published days from planting; null where none are known.</param>
/// <param name="Source">Where it was read.</param>
public sealed record Maturity(MaturityClass Class, int? DaysLow, int? DaysHigh, string Source);

/// <summary>A published length of rest.</summary>
/// <param name="DaysLow">Fewest days from harvest; null for "under <paramref name="DaysHigh"/>".</param>
/// <param name="DaysHigh">Most days; null for "over <paramref name="DaysLow"/>"; the same as the fewest for one figure.</param>
/// <param name="TemperatureLowC">Low edge of the temperature it was seen at, C; null where the source gives none.</param>
/// <param name="TemperatureHighC">High edge, C.</param>
/// <param name="End">What counted as the end.</param>
/// <param name="Doubtful">Whether the figure is disputed or poorly remembered.</param>
/// <param name="Source">Where it was read, and what speaks against it.</param>
public sealed record DormancyFigure(
    int? DaysLow,
    int? DaysHigh,
    double? TemperatureLowC,
    double? TemperatureHighC,
    DormancyEnd End,
    bool Doubtful,
    string Source)
{
    /// <summary>Middle of the days; null for "under" and "over".</summary>
    public double? Days => (DaysLow + DaysHigh) / 2.0;

    /// <summary>Middle of the temperature, C; null where none is given.</summary>
    public double? TemperatureC => (TemperatureLowC + TemperatureHighC) / 2;
}

/// <summary>A published word for the length of rest.</summary>
/// <param name="Class">The word.</param>
/// <param name="Source">Where it was read.</param>
public sealed record DormancyRating(DormancyClass Class, string Source);

/// <summary>A potato variety as the table has it. Nothing here says whether a tuber is fit to eat.</summary>
public sealed record Variety
{
    /// <summary>What it is called.</summary>
    public required string Name { get; init; }

    /// <summary>Other names it is found by.</summary>
    public required IReadOnlyList<string> Aliases { get; init; }

    /// <summary>Its skin.</summary>
    public required SkinColour Skin { get; init; }

    /// <summary>Where name and skin were read.</summary>
    public required string Source { get; init; }

    /// <summary>When it is ripe; null where no source was found.</summary>
    public Maturity? Maturity { get; init; }

    /// <summary>Every published length of its rest, conflicting ones too.</summary>
    public required IReadOnlyList<DormancyFigure> DormancyFigures { get; init; }

    /// <summary>Published words for the length of its rest, conflicting ones too; the first is used.</summary>
    public required IReadOnlyList<DormancyRating> DormancyRatings { get; init; }

    /// <summary>What is known of its greening; null where nothing.</summary>
    public SourcedText? Greening { get; init; }

    /// <summary>What is known of its sweetening in the cold; null where nothing.</summary>
    public SourcedText? Sweetening { get; init; }

    /// <summary>What else to know; null where nothing.</summary>
    public string? Note { get; init; }

    /// <summary>How long it is expected to rest, before anybody has looked at its eyes.</summary>
    public DormancyPrior Dormancy => DormancyPrior.Of(this);

    /// <summary>Every source the row rests on, once each.</summary>
    public IReadOnlyList<string> Sources =>
    [
        .. new[] { Source, Maturity?.Source }
            .Concat(DormancyFigures.Select(figure => figure.Source))
            .Concat(DormancyRatings.Select(rating => rating.Source))
            .Concat([Greening?.Source, Sweetening?.Source])
            .OfType<string>()
            .Distinct(StringComparer.Ordinal),
    ];
}
