using RootCellar.Science.Keeping;

namespace RootCellar.Lots;

/// <summary>When something is reached: 5 to 95 % of lots between early and late. Null: not within the look ahead.</summary>
internal sealed record When(DateTimeOffset? Early, DateTimeOffset? Likely, DateTimeOffset? Late);

/// <summary>
/// What a lot will do if its place stays as it was on the mean of the last three days: the fold carried on in steps of six hours, its
/// figures noted day by day.
/// </summary>
internal sealed class Ahead
{
    public const int Days = 240;
    private const double StepHours = 6;

    private readonly double[] water = new double[Days + 1];
    private readonly double[] breath = new double[Days + 1];
    private readonly double[] healed = new double[Days + 1];
    private readonly double[] rest = new double[Days + 1];
    private readonly double[] sprout = new double[Days + 1];
    private readonly double[] share = new double[Days + 1];
    private readonly Course from;

    private Ahead(Course from, LotAir air, bool assumed)
    {
        this.from = from;
        Air = air;
        Assumed = assumed;
    }

    /// <summary>The air it is reckoned with.</summary>
    public LotAir Air { get; }

    /// <summary>Whether that air is an assumption, nothing being known of the last three days.</summary>
    public bool Assumed { get; }

    /// <summary>When it starts.</summary>
    public DateTimeOffset Start => Cells.At(from.Cell);

    public static Ahead Of(Course course, LotAir air, bool assumed)
    {
        var ahead = new Ahead(course, air, assumed);
        var going = course.Clone();
        ahead.Note(0, going);
        for (int day = 1; day <= Days; day++)
        {
            for (double hour = 0; hour < 24; hour += StepHours) going.Ahead(air, StepHours);
            ahead.Note(day, going);
        }

        return ahead;
    }

    /// <summary>Water (as a sum of shares, by the middle of what is published) and breath lost from now to a day.</summary>
    public (double Water, double Breath) Lost(double days) => (At(water, days) - water[0], At(breath, days) - breath[0]);

    /// <summary>Share of the tubers with a sprout of 5 mm in so many days.</summary>
    public double SproutedShare(double days) => At(share, days);

    /// <summary>Length of the sprouts in so many days if the rest is <paramref name="restDaysAt10C"/>, mm.</summary>
    public double SproutMm(double days, double restDaysAt10C)
    {
        double begun = from.SproutMm(restDaysAt10C);
        double day = begun > 0 ? 0 : Day(rest, restDaysAt10C);
        return day < days ? begun + At(sprout, days) - At(sprout, day) : begun;
    }

    /// <summary>When healing comes to a stage whose days may be off by a factor either way. In the past: now.</summary>
    public When? Healing(double days, double factor) =>
        double.IsFinite(days) ? new When(Reached(healed, days / factor), Reached(healed, days), Reached(healed, days * factor)) : null;

    /// <summary>When the rest is over.</summary>
    public When? Peeping(double restDays, double factor) =>
        double.IsNaN(restDays) ? null : new When(Reached(rest, restDays / factor), Reached(rest, restDays), Reached(rest, restDays * factor));

    /// <summary>When 80 % of the tubers have a sprout of 5 mm.</summary>
    public When? Sprouted(double restDays, double factor) =>
        double.IsNaN(restDays) ? null : new When(Long(restDays / factor), Long(restDays), Long(restDays * factor));

    private DateTimeOffset? Long(double restDays)
    {
        // Grown since peeping: what has grown by now, and from then or from now on.
        double begun = from.SproutMm(restDays);
        double day = Day(rest, restDays);
        return double.IsFinite(day) ? Reached(sprout, At(sprout, day) + Dormancy.SproutedMm - begun) : null;
    }

    private DateTimeOffset? Reached(double[] series, double value) => Day(series, value) is var day && double.IsFinite(day) ? Start.AddDays(day) : null;

    private static double Day(double[] series, double value)
    {
        if (series[0] >= value) return 0;
        int i = Array.FindIndex(series, s => s >= value);
        return i < 0 ? double.PositiveInfinity : i - 1 + ((value - series[i - 1]) / (series[i] - series[i - 1]));
    }

    private static double At(double[] series, double days)
    {
        double at = Math.Clamp(days, 0, Days);
        int i = Math.Min((int)at, Days - 1);
        return series[i] + ((at - i) * (series[i + 1] - series[i]));
    }

    private void Note(int day, Course course)
    {
        water[day] = course.Water;
        breath[day] = course.Breath;
        healed[day] = course.State.HealedDays;
        rest[day] = course.RestDays;
        sprout[day] = course.SproutPotentialMm;
        share[day] = course.State.SproutedShare;
    }
}
