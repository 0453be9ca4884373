using RootCellar.Science;
using RootCellar.Science.Keeping;

namespace RootCellar.Lots;

/// <summary>When something is reached: 5 to 95 % of lots between early and late. Null: not within the look ahead.</summary>
internal sealed record When(DateTimeOffset? Early, DateTimeOffset? Likely, DateTimeOffset? Late);

/// <summary>Air a lot is thought to have from a day on.</summary>
/// <param name="FromDay">Days from now.</param>
/// <param name="Air">As it is now.</param>
/// <param name="Assumed">Whether it is an assumption, nothing being known of the last three days there.</param>
/// <param name="DriftC">By how much it will have gone on warming or cooling in the end; null where its trend is not known.</param>
/// <param name="KnownHours">Of how many hours it is the mean.</param>
/// <param name="Held">Whether it is air somebody asks about, "if you held it at": taken as said.</param>
internal readonly record struct AirAhead(
    double FromDay, LotAir Air, bool Assumed, double? DriftC = null, double KnownHours = 0, bool Held = false)
{
    /// <summary>
    /// A trend goes on and fades, a third of it left after so many days (a damped trend: Gardner and McKenzie 1985, Management Science 31,
    /// from memory; the days are assumed).
    /// </summary>
    public const double TrendDays = 30;

    public LotAir In(double days)
    {
        if (DriftC is not { } drift || drift == 0) return Air;
        double by = drift * (1 - Portable.Exp(-days / TrendDays));
        return Air with { TemperatureC = Air.TemperatureC + by, PulpC = Air.PulpC + by };
    }
}

/// <summary>
/// What a lot will do in the air it is thought to have: the fold carried on in steps of six hours, its figures noted day by day.
/// Each air begins as the mean of the last three days and goes on with the trend of the last weeks; how far months to come may be off that
/// is <see cref="RestFactor"/>.
/// </summary>
internal sealed class Ahead
{
    /// <summary>What is not reached within so many days has no date.</summary>
    public const int Days = 240;

    /// <summary>The ends of an interval may lie further off: in steady air what is to come goes on as on the last day.</summary>
    private const int EdgeDays = 480;

    private const double StepHours = 6;

    /// <summary>
    /// How far the mean of months to come may be from that of the last three days, C, 5 to 95 % (assumed: an unheated cellar goes through
    /// 5 to 8 C from fall to midwinter, and the mean on the way is off by half of that at most).
    /// </summary>
    public const double AirOffC = 3.3;

    /// <summary>
    /// And where the air is assumed to begin with, or nobody knows yet whether it warms or cools, C: as
    /// <see cref="LotUncertainty.DarkRestFactor"/>.
    /// </summary>
    public const double AssumedOffC = 3;

    /// <summary>Half of <see cref="AirOffC"/> is reached after so many days (assumed: weather passes, the season stays).</summary>
    private const double AirOffDays = 30;

    /// <summary>A bin is moved up to so many days after it is fit to, 95 % (assumed: the next weekend).</summary>
    public const double MovedLaterDays = 7;

    private readonly double[] water = new double[Days + 1];
    private readonly double[] darkWater = new double[Days + 1];
    private readonly double[] breath = new double[Days + 1];
    private readonly double[] healed = new double[Days + 1];
    private readonly double[] rest = new double[Days + 1];
    private readonly double[] sprout = new double[Days + 1];
    private readonly double[] share = new double[Days + 1];
    private readonly double[] pulp = new double[Days + 1];
    private readonly Trajectory from;
    private readonly IReadOnlyList<AirAhead> legs;
    private readonly double moveOffDays;
    private volatile Ahead? held;

    private Ahead(Trajectory from, IReadOnlyList<AirAhead> legs, double moveOffDays) =>
        (this.from, this.legs, this.moveOffDays) = (from, legs, moveOffDays);

    /// <summary>The air it begins with.</summary>
    public LotAir Air => legs[0].Air;

    /// <summary>Of how many hours that air is the mean.</summary>
    public double KnownHours => legs[0].KnownHours;

    /// <summary>Whether that air is an assumption, nothing being known of the last three days.</summary>
    public bool Assumed => legs[0].Assumed;

    /// <summary>When it starts.</summary>
    public DateTimeOffset Start => TimeStep.At(from.Cell);

    /// <param name="course">Where it stands.</param>
    /// <param name="legs">The airs it will have one after the other, the first from now on.</param>
    /// <param name="moveOffDays">How many days the changes from one to the next may be off, 5 to 95 % either way.</param>
    public static Ahead Of(Trajectory course, IReadOnlyList<AirAhead> legs, double moveOffDays)
    {
        var ahead = new Ahead(course, legs, moveOffDays);
        var going = course.Clone();
        ahead.Note(0, going, 0);
        double dark = 0;
        int leg = 0;
        for (int day = 1; day <= Days; day++)
        {
            for (double hour = 0; hour < 24; hour += StepHours)
            {
                // A change within a step falls on its beginning.
                while (leg + 1 < legs.Count && legs[leg + 1].FromDay < day - 1 + ((hour + StepHours) / 24)) leg++;
                double before = going.Water;
                going.Ahead(legs[leg].In(day - 1 + ((hour + (StepHours / 2)) / 24)), StepHours);
                if (legs[leg].Assumed) dark += going.Water - before;
            }

            ahead.Note(day, going, dark);
        }

        return ahead;
    }

    /// <summary>
    /// The same way with its last air held at another: what cures, cures first as it would. The last one asked for is remembered. From any
    /// thread.
    /// </summary>
    public Ahead HeldAt(double temperatureC, double humidityPercent)
    {
        var last = legs[^1];
        var air = last.Air with { TemperatureC = temperatureC, RelativeHumidityPercent = humidityPercent, PulpC = double.NaN };
        if (held is { } known && known.legs[^1].Air.Equals(air)) return known;
        var leg = new AirAhead(last.FromDay, air, Assumed: false, DriftC: 0, Held: true);
        return held = Of(from, [.. legs.Take(legs.Count - 1), leg], moveOffDays);
    }

    /// <summary>When the last air of the way begins.</summary>
    public DateTimeOffset LastAirFrom => Start.AddDays(legs[^1].FromDay);

    /// <summary>All that is lost from digging to a day: as <see cref="Lost"/>.</summary>
    public Lost LostSinceDug(double days) =>
        new(At(water, days), from.DarkWater + At(darkWater, days), At(breath, days), from.State.AgeDays + days);

    /// <summary>Days of healing come to in so many days, at the rule's own temperature.</summary>
    public double HealedDays(double days) => At(healed, days);

    /// <summary>
    /// Logarithms of how many times more or less it loses, as water and as breath, in so many days if the air to come is as far off as it may
    /// be, 5 to 95 %: at the same humidity the deficit grows with the vapour pressure of saturation, 7 % a degree near 5 C (Magnus), and
    /// breath doubles in 10 C (common practice). How far the humidity is off is the place's part in <see cref="LossTerms"/> and the wandering of
    /// the rate.
    /// </summary>
    public (double Water, double Breath) OffLoss(double days) => OffC(days) is var off and > 0 ? (0.07 * off, 0.0693 * off) : (0, 0);

    /// <summary>
    /// Water (as a sum of shares, by the middle of what is published), what of it is in assumed air, and breath, lost from now to a day.
    /// </summary>
    public (double Water, double DarkWater, double Breath) Lost(double days) =>
        (At(water, days) - water[0], At(darkWater, days), At(breath, days) - breath[0]);

    /// <summary>Share of the tubers with a sprout of 5 mm in so many days.</summary>
    public double SproutedShare(double days) => At(share, days);

    /// <summary>Length of the sprouts in so many days if the rest is <paramref name="restDaysAt10C"/>, mm.</summary>
    public double SproutMm(double days, double restDaysAt10C)
    {
        double begun = from.SproutMm(restDaysAt10C);
        double day = begun > 0 ? 0 : Day(rest, restDaysAt10C, EdgeDays);
        return day < days ? begun + At(sprout, days) - At(sprout, day) : begun;
    }

    /// <summary>
    /// What is not known of the way adds so much to the spread of a rest, as a 5 to 95 % factor: air to come that is warmer or colder than
    /// it was of late, and a move that comes sooner or later. Without either the dates would be as sure as the weather of these three days.
    /// </summary>
    public double RestFactor(double restDaysAt10C)
    {
        double day = Day(rest, restDaysAt10C, EdgeDays);
        if (!(day > 0)) return 1;
        // The rest of a lot that takes years is not known to a factor better than one that takes the whole look ahead.
        day = Math.Min(day, EdgeDays);
        double gone = rest[0], all = Math.Max(gone + 1e-9, On(rest, day)), toCome = all - gone;
        double offC = OffC(day);
        double warmer = (gone + (toCome * Portable.Exp(Portable.Log(Dormancy.Q10) * offC / 10))) / all;
        double moved = 1;
        if (legs.Count > 1 && legs[1].FromDay < day)
        {
            double between = Math.Abs(Dormancy.TemperatureFactor(PulpC(legs[0].Air)) - Dormancy.TemperatureFactor(PulpC(legs[1].Air)));
            moved = (all + (between * Math.Min(moveOffDays, day))) / all;
        }

        return LotUncertainty.Factor(warmer, moved);
    }

    /// <summary>How far the mean temperature up to a day may be off, C, 5 to 95 % either way.</summary>
    private double OffC(double days)
    {
        // Air that is held is as said: it takes from the mean what it has of the days.
        double open = legs[^1].Held ? Math.Min(days, legs[^1].FromDay) : days;
        if (!(open > 0)) return 0;
        return open / days * LotUncertainty.RootSumSquare(
            AirOffC * open / (open + AirOffDays),
            legs.Any(l => (l.Assumed || l.DriftC is null) && l.FromDay < open) ? AssumedOffC : 0);
    }

    /// <summary>When healing comes to a stage whose days may be off by a factor either way. In the past: now.</summary>
    public When? Healing(double days, double factor) =>
        double.IsFinite(days)
            ? new When(Reached(healed, days / factor), Reached(healed, days), Reached(healed, days * factor, EdgeDays))
            : null;

    /// <summary>
    /// When 80 % of the tubers have a sprout of a length (<see cref="Dormancy.VisibleMm"/>, <see cref="Dormancy.SproutedMm"/>). The air
    /// that ends the rest sooner or later lengthens the sprouts faster or slower too.
    /// </summary>
    /// <param name="sproutMm">The length, mm.</param>
    /// <param name="restDays">The rest, days at 10 C.</param>
    /// <param name="shorter">By what factor it may be shorter (5 %).</param>
    /// <param name="longer">And longer (95 %).</param>
    public When? Sprouts(double sproutMm, double restDays, double shorter, double longer)
    {
        if (double.IsNaN(restDays)) return null;
        double likely = Long(sproutMm, restDays, 0, Days);
        double off = OffC(Math.Min(likely, Days));
        return new When(
            Date(Long(sproutMm, restDays / shorter, off, Days)), Date(likely), Date(Long(sproutMm, restDays * longer, -off, EdgeDays)));
    }

    /// <summary>In how many days the sprouts have a length, in air warmer by so many C than thought; infinite: not within.</summary>
    private double Long(double sproutMm, double restDays, double warmerC, int within)
    {
        double mm = from.SproutMm(restDays), day = mm > 0 ? 0 : Day(rest, restDays, within);
        if (mm >= sproutMm) return 0;
        while (day < within)
        {
            double next = Math.Min(within, Math.Floor(day) + 1);
            double grown = GrowthMm((int)Math.Min(day, Days - 1), warmerC) * (next - day);
            if (mm + grown >= sproutMm) return day + ((sproutMm - mm) / grown * (next - day));
            (mm, day) = (mm + grown, next);
        }

        return double.PositiveInfinity;
    }

    /// <summary>What sprouts grow on a day, mm.</summary>
    private double GrowthMm(int day, double warmerC)
    {
        double lux = legs.Last(l => l.FromDay <= day).Air.LightLux;
        return Dormancy.SproutMmPerDay(((pulp[day] + pulp[day + 1]) / 2) + warmerC) * (1 - Dormancy.LightInhibition(lux));
    }

    private double PulpC(LotAir air) =>
        double.IsNaN(air.PulpC) ? air.TemperatureC + PackingTraits.Of(from.State.Traits.Packing).WarmerC : air.PulpC;

    private DateTimeOffset? Reached(double[] series, double value, int within = Days) => Date(Day(series, value, within));

    private DateTimeOffset? Date(double day) => double.IsFinite(day) ? Start.AddDays(day) : null;

    private static double Day(double[] series, double value, int within)
    {
        if (series[0] >= value) return 0;
        int i = Array.FindIndex(series, s => s >= value);
        if (i >= 0) return i - 1 + ((value - series[i - 1]) / (series[i] - series[i - 1]));
        double aDay = series[Days] - series[Days - 1];
        double day = aDay > 0 ? Days + ((value - series[Days]) / aDay) : double.PositiveInfinity;
        return day <= within ? day : double.PositiveInfinity;
    }

    private static double At(double[] series, double days) => On(series, Math.Clamp(days, 0, Days));

    /// <summary>As <see cref="At"/>; beyond the last day it goes on as on that.</summary>
    private static double On(double[] series, double days)
    {
        int i = Math.Clamp((int)days, 0, Days - 1);
        return series[i] + ((days - i) * (series[i + 1] - series[i]));
    }

    private void Note(int day, Trajectory course, double dark)
    {
        water[day] = course.Water;
        darkWater[day] = dark;
        breath[day] = course.Breath;
        healed[day] = course.State.HealedDays;
        rest[day] = course.RestDays;
        sprout[day] = course.SproutPotentialMm;
        share[day] = course.State.SproutedShare;
        pulp[day] = course.State.PulpC;
    }
}
