using RootCellar.Ledger;
using RootCellar.Science;
using RootCellar.Science.Keeping;

namespace RootCellar.Lots;

/// <summary>A part of a bin's water loss that others have too.</summary>
/// <param name="Key">What has it: a place, a way to lie, a variety.</param>
/// <param name="Share">How much of it the bin has.</param>
/// <param name="Variance">How far such parts lie apart, as variance of the logarithm.</param>
internal readonly record struct LossTerm(string Key, double Share, double Variance);

/// <summary>
/// What a bin's water loss is made of, from the house down to the lot: by how much each may be off, before anything was weighed. What is
/// published of lots spreads by <see cref="LotPrior.WaterFactor"/>; how that is shared between the levels no source says (assumed).
/// </summary>
internal static class LossTerms
{
    /// <summary>
    /// A place's part: how far its air is from what its sensor says, as the logarithm of the deficit, one standard deviation. Makers give 3
    /// points of humidity as typical (data sheets of SHT30, SHT20, BME280; DHT22 5 above 90 %), read as one standard deviation (assumed),
    /// which at 92 % and 5 C is 0.4 of a crate's deficit (derived). A potato's loss goes by the root of it, a root's by all of it.
    /// </summary>
    private const double PlaceSd = 0.4;

    /// <summary>How it lies: crates against sacks, heaps, sand, which no figures tell apart, one standard deviation (assumed).</summary>
    private const double PackingSd = 0.15;

    /// <summary>Of what is left, the house's and the season's share: hands, soils, the year's skins (assumed: a sixth each).</summary>
    private const double HouseShare = 1 / 6.0;

    /// <summary>And the variety's; the rest, as much again, is the lot's own (assumed).</summary>
    private const double VarietyShare = 1 / 3.0;

    /// <summary>What a lot shares with others wherever it stands.</summary>
    public static IReadOnlyList<LossTerm> OfLot(LotView lot, LotPrior prior)
    {
        double left = Left(prior);
        var terms = new List<LossTerm>
        {
            new($"house {lot.Crop}", 1, HouseShare * left),
            new(FormattableString.Invariant($"season {lot.Crop} {lot.DugOn.Year}"), 1, HouseShare * left),
        };
        if (lot.Variety is { } variety) terms.Add(new(VarietyKey(lot.Crop, variety), 1, VarietyShare * left));
        return terms;
    }

    /// <summary>What is a lot's own; of a variety nobody named, that too.</summary>
    public static double Own(LotView lot, LotPrior prior) =>
        (1 - (2 * HouseShare) - (lot.Variety is null ? 0 : VarietyShare)) * Left(prior);

    /// <summary>What a bin has of the places it lost in, and of how it lies.</summary>
    /// <param name="exponent">How its crop's loss goes with the deficit (<see cref="LotTraits.Exponent"/>).</param>
    /// <param name="lies">How it lies, as the book has it; null where nobody said.</param>
    /// <param name="places">Where it lost.</param>
    public static IReadOnlyList<LossTerm> OfBin(double exponent, string? lies, PlaceShares places)
    {
        var terms = new List<LossTerm> { new($"lies {lies}", 1, PackingSd * PackingSd) };
        foreach (var (place, share) in places.All()) terms.Add(new(PlaceKey(place), exponent * share, PlaceSd * PlaceSd));
        return terms;
    }

    public static string PlaceKey(string place) => $"place {place}";

    public static string VarietyKey(string crop, string variety) => $"variety {crop} {variety.ToLowerInvariant()}";

    /// <summary>One less the other.</summary>
    public static IReadOnlyList<LossTerm> Less(IReadOnlyList<LossTerm> of, IReadOnlyList<LossTerm> other) =>
        Sum(of, other.Select(t => t with { Share = -t.Share }));

    /// <summary>On the way from one to the other, so much of it.</summary>
    public static IReadOnlyList<LossTerm> Toward(IReadOnlyList<LossTerm> from, IReadOnlyList<LossTerm> to, double share) =>
        Sum(from.Select(t => t with { Share = (1 - share) * t.Share }), to.Select(t => t with { Share = share * t.Share }));

    private static List<LossTerm> Sum(IEnumerable<LossTerm> of, IEnumerable<LossTerm> other)
    {
        var sum = new List<LossTerm>();
        foreach (var term in of.Concat(other))
        {
            int at = sum.FindIndex(t => t.Key == term.Key);
            if (at < 0) sum.Add(term);
            else sum[at] = term with { Share = sum[at].Share + term.Share };
        }

        sum.RemoveAll(t => t.Share == 0);
        return sum;
    }

    private static double Left(LotPrior prior)
    {
        double spread = Portable.Log(prior.WaterFactor) / LotUncertainty.Z90;
        return (spread * spread) - (PackingSd * PackingSd);
    }
}
