using RootCellar.Lots;
using RootCellar.Science.Crops;

namespace RootCellar.Advice;

/// <summary>Two crops of one room that do not go together, and what stands there of each.</summary>
/// <param name="Conflicts">What speaks against it, the worst first.</param>
/// <param name="KgA">Of the first crop.</param>
internal sealed record CropsApart(string Place, IReadOnlyList<Conflict> Conflicts, double KgA, double KgB, IReadOnlyList<string> Bins)
{
    public Conflict Worst => Conflicts[0];

    /// <summary>
    /// Every pair that costs quality or keeping time where it stands, room by room. What is bearable with care is no job.
    /// </summary>
    public static IReadOnlyList<CropsApart> Of(LotViews views) =>
    [
        .. views.Bins.Values.Where(b => b.Place is not null)
            .GroupBy(b => b.Place!, StringComparer.Ordinal)
            .OrderBy(g => g.Key, StringComparer.Ordinal)
            .SelectMany(there => Pairs(there.Key, [.. there])),
    ];

    private static IEnumerable<CropsApart> Pairs(string place, IReadOnlyList<BinEstimate> bins)
    {
        var crops = bins.Select(b => b.Kind).ToList();
        return Compatibility.Check(crops).GroupBy(c => (A: c.A.Id, B: c.B.Id))
            .Where(pair => pair.First().Severity >= Severity.Serious)
            .Select(pair => new CropsApart(
                place,
                [.. pair.Where(c => c.Severity >= Severity.Serious)],
                Kg(pair.Key.A),
                Kg(pair.Key.B),
                [.. bins.Where(b => Is(b, pair.Key.A) || Is(b, pair.Key.B)).Select(b => b.Bin).Order(StringComparer.Ordinal)]));

        double Kg(string crop) => bins.Where(b => Is(b, crop)).Sum(b => b.Kg.Value);

        static bool Is(BinEstimate bin, string crop) => bin.Kind.Id == crop;
    }
}
