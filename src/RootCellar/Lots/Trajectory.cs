using System.Runtime.InteropServices;
using RootCellar.Science;
using RootCellar.Science.Keeping;

namespace RootCellar.Lots;

/// <summary>
/// A lot on its way through the kept air: its state in the middle of what is known, and sums from which every other water
/// loss, breath and length of rest can be told without folding anew. Belongs to one thread.
/// </summary>
internal sealed class Trajectory
{
    /// <summary>Rest between two marks of <see cref="sproutAtRest"/>, days at 10 C.</summary>
    private const double RestStep = 5;

    private const int MostMarks = 80;

    private const int Sums = 7;

    private readonly double[] sproutAtRest = new double[MostMarks];
    private LotState state;
    private int marks;

    private Trajectory(LotState state, long cell)
    {
        this.state = state;
        Cell = cell;
    }

    /// <summary>The state at the beginning of <see cref="Cell"/>.</summary>
    public ref readonly LotState State => ref state;

    /// <summary>The first piece of time that is not folded yet.</summary>
    public long Cell { get; private set; }

    /// <summary>
    /// Sum of the shares of the weight then left that went as water: minus the logarithm of what water alone would have left.
    /// </summary>
    public double Water { get; private set; }

    /// <summary>As <see cref="Water"/>, of breath.</summary>
    public double Breath { get; private set; }

    /// <summary>What of <see cref="Water"/> was worked out without readings, or from air of which only "at least so damp" was known.</summary>
    public double DarkWater { get; private set; }

    /// <summary>Hours without readings.</summary>
    public double DarkHours { get; private set; }

    /// <summary>Hours without readings up to now without a break.</summary>
    public double DarkRunHours { get; private set; }

    /// <summary>Rest the warmth so far would have used, days at 10 C; goes on past peeping.</summary>
    public double RestDays { get; private set; }

    /// <summary>Length of a sprout that had grown from digging on, mm: differences of it are what counts.</summary>
    public double SproutPotentialMm { get; private set; }

    /// <summary>Share of its age that is dark.</summary>
    public double DarkShare => state.AgeDays > 0 ? Math.Min(1, DarkHours / (24 * state.AgeDays)) : 0;

    public static Trajectory Dug(LotPath path) => new(LotState.Dug(path.Traits), path.Dug);

    public Trajectory Clone()
    {
        var copy = new Trajectory(state, Cell)
        {
            Water = Water,
            Breath = Breath,
            DarkWater = DarkWater,
            DarkHours = DarkHours,
            DarkRunHours = DarkRunHours,
            RestDays = RestDays,
            SproutPotentialMm = SproutPotentialMm,
            marks = marks,
        };
        sproutAtRest.CopyTo(copy.sproutAtRest, 0);
        return copy;
    }

    /// <summary>Folds the next piece of time.</summary>
    public void Advance(in CellAir cell)
    {
        Fold(cell, TimeStep.Hours);
        Cell++;
    }

    /// <summary>Folds air to come, which is no part of the record: for a clone that looks ahead.</summary>
    public void Ahead(LotAir air, double hours) => Fold(new CellAir(air, Dark: false), hours);

    private void Fold(in CellAir cell, double hours)
    {
        double left = 1 - state.Lost;
        double water = state.WaterLost;
        double breath = state.Breathed;
        double wetHours = state.WetHours;
        // From measured into assumed air and back the produce is not carried along: half a degree between the two would wet it on paper.
        if (cell.Dark != DarkRunHours > 0) state = state.Elsewhere();
        state = LotState.Advance(state, cell.Air, hours);
        if (cell.Dark) state = state.NotWet(wetHours);
        water = (state.WaterLost - water) / left;
        Water += water;
        Breath += (state.Breathed - breath) / left;
        if (cell.Dark)
        {
            DarkHours += hours;
            DarkRunHours += hours;
        }
        else
        {
            DarkRunHours = 0;
        }

        if (cell.Dark || cell.AtTop) DarkWater += water;

        if (double.IsNaN(state.Traits.RestDaysAt10C)) return;
        // The rest as the fold reckons it, but counted on past peeping.
        RestDays += hours / 24 * RestFactor(state.PulpC);
        SproutPotentialMm += hours / 24 * Dormancy.SproutMmPerDay(state.PulpC) * (1 - Dormancy.LightInhibition(cell.Air.LightLux));
        while (marks < MostMarks && RestDays >= RestStep * (marks + 1)) sproutAtRest[marks++] = SproutPotentialMm;
    }

    /// <summary>Length of the sprouts by now if the rest had been <paramref name="restDaysAt10C"/>, mm.</summary>
    public double SproutMm(double restDaysAt10C)
    {
        if (!(RestDays > restDaysAt10C)) return 0;
        double at = restDaysAt10C / RestStep;
        int below = Math.Min((int)at, marks);
        double from = below == 0 ? 0 : sproutAtRest[below - 1];
        double to = below < marks ? sproutAtRest[below] : SproutPotentialMm;
        double width = below < marks ? RestStep : Math.Max(1e-9, RestDays - (RestStep * below));
        return Math.Max(0, SproutPotentialMm - (from + ((to - from) * Math.Clamp((restDaysAt10C - (RestStep * below)) / width, 0, 1))));
    }

    /// <summary>Every figure, for keeping; bit for bit.</summary>
    public string Write()
    {
        Span<double> figures = stackalloc double[LotState.FigureNames.Count + Sums + MostMarks];
        state.CopyTo(figures);
        ReadOnlySpan<double> sums = [Water, Breath, DarkWater, DarkHours, DarkRunHours, RestDays, SproutPotentialMm];
        sums.CopyTo(figures[LotState.FigureNames.Count..]);
        sproutAtRest.AsSpan(0, marks).CopyTo(figures[(LotState.FigureNames.Count + Sums)..]);
        var used = figures[..(LotState.FigureNames.Count + Sums + marks)];
        if (!BitConverter.IsLittleEndian) throw new PlatformNotSupportedException("States are kept with the low byte first.");
        return Convert.ToBase64String(MemoryMarshal.AsBytes(used));
    }

    /// <summary>A kept course; null where the text is none.</summary>
    public static Trajectory? Read(LotPath path, long cell, string body)
    {
        var bytes = new byte[body.Length];
        if (!Convert.TryFromBase64String(body, bytes, out int length) || length % sizeof(double) != 0) return null;
        var figures = MemoryMarshal.Cast<byte, double>(bytes.AsSpan(0, length));
        int names = LotState.FigureNames.Count;
        int count = figures.Length - names - Sums;
        if (count is < 0 or > MostMarks) return null;
        var course = new Trajectory(LotState.From(path.Traits, figures[..names]), cell)
        {
            Water = figures[names],
            Breath = figures[names + 1],
            DarkWater = figures[names + 2],
            DarkHours = figures[names + 3],
            DarkRunHours = figures[names + 4],
            RestDays = figures[names + 5],
            SproutPotentialMm = figures[names + 6],
            marks = count,
        };
        figures[(names + Sums)..].CopyTo(course.sproutAtRest);
        return course;
    }

    /// <summary>The first figure in which two kept bodies differ, with both values; null where they agree bit for bit.</summary>
    public static (string Figure, double Kept, double Replayed)? Difference(string kept, string replayed)
    {
        if (string.Equals(kept, replayed, StringComparison.Ordinal)) return null;
        var a = Figures(kept);
        var b = Figures(replayed);
        string[] names =
        [
            .. LotState.FigureNames, nameof(Water), nameof(Breath), nameof(DarkWater), nameof(DarkHours), nameof(DarkRunHours),
            nameof(RestDays), nameof(SproutPotentialMm),
        ];
        for (int i = 0; i < Math.Max(a.Length, b.Length); i++)
        {
            double was = i < a.Length ? a[i] : double.NaN;
            double now = i < b.Length ? b[i] : double.NaN;
            if (i >= a.Length || i >= b.Length || BitConverter.DoubleToInt64Bits(was) != BitConverter.DoubleToInt64Bits(now))
                return (i < names.Length ? names[i] : $"SproutAtRest{i - names.Length + 1}", was, now);
        }

        return null;
    }

    private static double[] Figures(string body)
    {
        var bytes = new byte[body.Length];
        return Convert.TryFromBase64String(body, bytes, out int length) ? MemoryMarshal.Cast<byte,
            double>(bytes.AsSpan(0, length - (length % sizeof(double)))).ToArray() : [];
    }

    // Once a piece for every potato lot, so from a table, straight between whole degrees: within 0.1 % of the law.
    private static readonly double[] RestFactors = [.. Enumerable.Range(-10, 31).Select(c => Dormancy.TemperatureFactor(c))];

    private static double RestFactor(double pulpC)
    {
        double at = Math.Clamp(pulpC + 10, 0, RestFactors.Length - 1.001);
        int i = (int)at;
        return RestFactors[i] + ((at - i) * (RestFactors[i + 1] - RestFactors[i]));
    }
}
