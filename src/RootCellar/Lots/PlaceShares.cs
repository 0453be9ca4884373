using System.Collections.Immutable;

namespace RootCellar.Lots;

/// <summary>What of a bin's water loss over some time was lost in which place: a sensor that is off is off there alone.</summary>
internal sealed class PlaceShares
{
    private readonly ImmutableList<(string Place, double Water)> lost;

    private PlaceShares(ImmutableList<(string Place, double Water)> lost) => this.lost = lost;

    /// <summary>All of it in one place.</summary>
    public static PlaceShares In(string place) => new([(place, 1)]);

    /// <summary>From one piece of time to another, along a way. Where nothing was lost the last place counts.</summary>
    public static PlaceShares Of(LotPath path, TrajectoryCache courses, long from, long to) =>
        Of(path, from, to, cell => courses.Past(path, cell).Water);

    /// <param name="water">The sum of its water loss at a piece of time (<see cref="Trajectory.Water"/>).</param>
    public static PlaceShares Of(LotPath path, long from, long to, Func<long, double> water)
    {
        int first = path.StayAt(from), last = path.StayAt(Math.Max(from, to - 1));
        if (first == last) return In(path.Stays[last].Place);
        var stays = ImmutableList.CreateBuilder<(string, double)>();
        double before = water(from), all = 0;
        for (int stay = first; stay <= last; stay++)
        {
            double after = water(stay == last ? to : path.Stays[stay + 1].From), here = Math.Max(0, after - before);
            stays.Add((path.Stays[stay].Place, here));
            (before, all) = (after, all + here);
        }

        return all > 0 ? new PlaceShares(stays.ToImmutable()) : In(path.Stays[last].Place);
    }

    /// <summary>With more lost in a place, beside what was lost before.</summary>
    /// <param name="before">What was lost before.</param>
    /// <param name="place">Where more is lost.</param>
    /// <param name="water">How much.</param>
    public PlaceShares And(double before, string place, double water)
    {
        if (!(before + water > 0) || (lost.Count == 1 && lost[0].Place == place)) return this;
        double all = lost.Sum(l => l.Water);
        return new PlaceShares(lost.ConvertAll(l => (l.Place, l.Water / all * before)).Add((place, water)));
    }

    /// <summary>The places with their shares, which make 1.</summary>
    public IEnumerable<(string Place, double Share)> All()
    {
        double all = lost.Sum(l => l.Water);
        return lost.GroupBy(l => l.Place, StringComparer.Ordinal).Select(g => (g.Key, g.Sum(l => l.Water) / all));
    }
}
