using RootCellar.Science.Air;
using RootCellar.Science.Crops;
using RootCellar.Science.Keeping;

namespace RootCellar.Science.Cellar;

/// <summary>What comes of a load of warm crop.</summary>
/// <param name="HeatMegajoules">To take out of it down to the band, MJ.</param>
/// <param name="BreathWatts">Its own heat as it comes in, W.</param>
/// <param name="Hours">Until the load is within the band; null where it is not within <see cref="WarmLoad.LongestDays"/>.</param>
/// <param name="WarmestAirC">The warmest the room's air gets by it, C.</param>
public readonly record struct LoadOutcome(double HeatMegajoules, double BreathWatts, double? Hours, double WarmestAirC);

/// <summary>
/// A load of warm crop in a shut room: the load gives its heat to the air, the air to outdoors, walls and produce, and those to the ground.
/// The room's response says how these stand to each other; the one scale, watts, comes from the area of its walls.
/// </summary>
/// <param name="roomM3">Volume of the room, m3.</param>
/// <param name="naturalC">Air of the room without the load, C.</param>
/// <param name="highC">The band's upper end, C.</param>
/// <param name="heat">The room's response to heat.</param>
/// <param name="crop">What is brought in.</param>
public sealed class WarmLoad(double roomM3, double naturalC, double highC, HeatResponse heat, Crop crop)
{
    /// <summary>
    /// From still air to a wall, W/(m2 K): ASHRAE's simple figures for natural convection are 3.08 on a wall and 0.95 to 4.04 on floor and
    /// ceiling (Fundamentals, from memory); 2.5 is assumed as their middle.
    /// </summary>
    public const double WallWPerM2K = 2.5;

    /// <summary>How well that is known for a room with shelves and bins in it, a factor either way (assumed).</summary>
    public const double WallFactor = 2.5;

    /// <summary>Longest a load is followed, days.</summary>
    public const double LongestDays = 20;

    // A crate of about 25 kg follows the air so slowly, h.
    private static readonly double LagHours = PackingTraits.Of(Packing.Crate).LagHours;

    // kJ/(kg K). Of a crop whose table has none: 0.837 + 3.349 of its share of water, here 0.85 (Siebel 1892 by the ASHRAE Refrigeration
    // handbook, from memory).
    private readonly double specific = crop.Thermal?.SpecificHeatKJPerKgK ?? 3.68;

    /// <summary>How well hours and weights are known for the room's sake, a factor either way: its walls, its long run.</summary>
    public double Factor
    {
        get
        {
            double walls = Portable.Log(WallFactor), kept = Portable.Log(Math.Max(1, heat.InTheLongRun.High / heat.InTheLongRun.Value));
            return Portable.Exp(Math.Sqrt((walls * walls) + (kept * kept)));
        }
    }

    /// <summary>A single load, in a room whose walls take so many times the middle.</summary>
    public LoadOutcome Of(double kg, double loadC, double wallTimes = 1)
    {
        Check(kg, loadC);
        var (hours, warmest) = Follow(kg, loadC, wallTimes, everyDay: false);
        return new LoadOutcome(
            kg * specific * Math.Max(0, loadC - highC) / 1000, kg * WattsPerKg(loadC, 0), hours, warmest);
    }

    /// <summary>
    /// The most of it that may come in day by day for a week with the air staying within the band, kg a day; nought where the air is
    /// beyond it already.
    /// </summary>
    public double KgPerDay(double loadC, double wallTimes = 1)
    {
        Check(1, loadC);
        if (naturalC >= highC)
            return 0;
        double low = 0, high = 1;
        while (high < 1e6 && Fits(high))
            (low, high) = (high, high * 2);
        for (int i = 0; i < 12; i++)
        {
            double middle = (low + high) / 2;
            if (Fits(middle))
                low = middle;
            else
                high = middle;
        }

        return low;

        bool Fits(double kg) => Follow(kg, loadC, wallTimes, everyDay: true).WarmestC <= highC;
    }

    private static void Check(double kg, double loadC)
    {
        Require.Within(kg, 0, 1e7, nameof(kg));
        Require.Within(loadC, -2, 45, nameof(loadC));
    }

    private double WattsPerKg(double pulpC, double days) =>
        Breath.MilliwattsPerKg(crop.Respiration.At(Math.Clamp(pulpC, -5, 45)) *
            (Curing.RuleOf(crop) == CuringRule.Potato ? Breath.FreshnessFactor(days) : 1))
        / 1000;

    /// <summary>
    /// Air (without heat of its own), walls and produce as one mass, and the loads, each a lump, in steps of a quarter of an hour; all as
    /// what they are above the room's own temperature.
    /// </summary>
    private (double? Hours, double WarmestC) Follow(double kg, double loadC, double wallTimes, bool everyDay)
    {
        const double Step = 0.25;
        // What an empty response would make of it: never a room that takes heat without end or none.
        double w = Math.Clamp(heat.AtOnce.Value, 0.005, 0.9);
        double kept = Math.Clamp(w / Math.Max(w, heat.InTheLongRun.Value), w + 0.01, 0.99);
        double all = WallWPerM2K * wallTimes * 6 * Math.Cbrt(roomM3) * Math.Cbrt(roomM3);
        double outdoors = w * all, walls = all - outdoors, slow = (kept - w) * all;
        double ground = walls * slow / (walls - slow);
        double massJPerK = heat.SlowHours.Value * 3600 * ((walls * w) + ground);
        double loadJPerK = kg * specific * 1000, contact = loadJPerK / (LagHours * 3600);
        List<double> loads = [];
        double mass = 0, warmest = 0;
        double steps = (everyDay ? 7 : LongestDays) * 24 / Step;
        for (int i = 0; i < steps; i++)
        {
            if (everyDay ? i % (24 / Step) == 0 : i == 0)
                loads.Add(loadC - naturalC);
            double air = ((walls * mass) + (contact * loads.Sum())) / (outdoors + walls + (contact * loads.Count));
            warmest = Math.Max(warmest, air);
            if (!everyDay && loads[0] + naturalC <= highC)
                return (i * Step, naturalC + warmest);
            mass += Step * 3600 * ((walls * (air - mass)) - (ground * mass)) / massJPerK;
            for (int l = 0; l < loads.Count; l++)
            {
                double days = ((i * Step) - (l * 24)) / 24;
                loads[l] += Step * 3600 * ((contact * (air - loads[l])) + (kg * WattsPerKg(loads[l] + naturalC, days))) / loadJPerK;
            }
        }

        return (null, naturalC + warmest);
    }
}
