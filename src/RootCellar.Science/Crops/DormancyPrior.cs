namespace RootCellar.Science.Crops;

/// <summary>
/// Days from harvest to the end of rest at one temperature, before anybody has looked at the eyes. The end is the University of
/// Idaho's: 80 % of the tubers with a sprout of 5 mm or more. Eyes peep 2 to 4 weeks before that (Olsen, Univ. of Idaho 2013).
/// </summary>
/// <param name="DaysAt">Expected days.</param>
/// <param name="TemperatureC">Temperature they stand for, C.</param>
/// <param name="LowDays">Low end of the interval, days.</param>
/// <param name="HighDays">High end of the interval, days.</param>
/// <param name="Source">Where it comes from, and how the interval was made.</param>
public sealed record DormancyPrior(double DaysAt, double TemperatureC, double LowDays, double HighDays, string Source)
{
    /// <summary>45 F, where most of the published days stand.</summary>
    public const double ReferenceC = (45 - 32) * 5.0 / 9;

    // Outside this the response to temperature is not supported by data: such figures are shown, not used.
    private const double ColdestC = 2;
    private const double WarmestC = 10;

    private const double SeasonSpread = 0.25;
    private const double DoubtfulSpread = 0.4;

    /// <summary>
    /// For a variety nobody has named. Earliness is no help: over 46 varieties it was not closely related to the length
    /// (Sowa-Niedzialkowska, IHAR).
    /// </summary>
    public static DormancyPrior Unknown { get; } = new(120, ReferenceC, 75, 175, "assumed for a variety of which nothing is published");

    /// <summary>For a published word, with nothing else known. The days are assumed, from the range of published ones.</summary>
    /// <param name="rest">The word.</param>
    /// <returns>Days at 45 F (7.2 C).</returns>
    /// <exception cref="ArgumentOutOfRangeException">No such word.</exception>
    public static DormancyPrior For(DormancyClass rest) => rest switch
    {
        DormancyClass.Short => new(90, ReferenceC, 70, 110, "days assumed for \"short\""),
        DormancyClass.Medium => new(125, ReferenceC, 100, 150, "days assumed for \"medium\""),
        DormancyClass.MediumLong =>
            new(142.5, ReferenceC, 100, 185, "days assumed for \"medium to long\": midway, over the spread of both"),
        DormancyClass.Long => new(160, ReferenceC, 140, 185, "days assumed for \"long\""),
        _ => throw new ArgumentOutOfRangeException(nameof(rest), rest, "Unknown length of rest."),
    };

    /// <summary>
    /// For a variety of the table: the published figure by Idaho's definition nearest 45 F, from 2 to 10 C, with 25 % to either
    /// side (from season to season), 40 % where the figure is doubtful (assumed); else its first published word; else
    /// <see cref="Unknown"/>.
    /// </summary>
    /// <param name="variety">The variety.</param>
    /// <returns>Its days with their interval.</returns>
    public static DormancyPrior Of(Variety variety)
    {
        if (FigureOf(variety) is { } figure)
        {
            double days = figure.Days!.Value;
            double spread = figure.Doubtful ? DoubtfulSpread : SeasonSpread;
            string interval = figure.Doubtful ? "40 % to either side, for the figure is doubtful"
                : "25 % to either side, from season to season";
            return new DormancyPrior(days, figure.TemperatureC!.Value, days * (1 - spread), days * (1 + spread),
                $"{figure.Source}; {interval}");
        }

        if (variety.DormancyRatings is [var first, ..])
        {
            var prior = For(first.Class);
            return prior with { Source = $"{first.Source}; {prior.Source}" };
        }

        return Unknown;
    }

    /// <summary>The published figure <see cref="Of"/> stands on.</summary>
    /// <param name="variety">The variety.</param>
    /// <returns>The figure by Idaho's definition nearest 45 F, from 2 to 10 C; null where there is none.</returns>
    public static DormancyFigure? FigureOf(Variety variety)
    {
        ArgumentNullException.ThrowIfNull(variety);
        return variety.DormancyFigures
            .Where(figure => figure is { End: DormancyEnd.Idaho, Days: not null, TemperatureC: >= ColdestC and <= WarmestC })
            .MinBy(figure => Math.Abs(figure.TemperatureC!.Value - ReferenceC));
    }
}
