using RootCellar.Science.Air;

namespace RootCellar.Science.Keeping;

/// <summary>Air over a span of time, going straight from one state to the other; the same twice for a steady hold.</summary>
/// <param name="Hours">Length, h, above 0.</param>
/// <param name="From">Air at its start.</param>
/// <param name="To">Air at its end.</param>
public readonly record struct AirSpan(double Hours, LotAir From, LotAir To)
{
    /// <summary>A steady hold.</summary>
    public static AirSpan Hold(double temperatureC, double relativeHumidityPercent, double days) =>
        new(days * 24, new LotAir(temperatureC, relativeHumidityPercent), new LotAir(temperatureC, relativeHumidityPercent));

    internal LotAir At(double share) => new(
        Between(From.TemperatureC, To.TemperatureC, share),
        Between(From.RelativeHumidityPercent, To.RelativeHumidityPercent, share),
        Between(From.PulpC, To.PulpC, share),
        Between(From.LightLux, To.LightLux, share),
        Between(From.Co2Ppm, To.Co2Ppm, share));

    /// <summary>What is known at one end only stands for the span.</summary>
    private static double Between(double from, double to, double share) =>
        from == to || double.IsNaN(to) ? from : double.IsNaN(from) ? to : from + (to - from) * share;
}

/// <summary>The lot at the end of a day: its middle, and how far it may be off.</summary>
/// <param name="Day">Days since digging.</param>
/// <param name="Lost">All weight lost, share of the first weight, with its 90 % interval.</param>
/// <param name="RestUsed">Share of the rest used, 0 to 1, with its 90 % interval.</param>
/// <param name="State">The lot with every figure in its middle.</param>
public sealed record OutlookDay(double Day, Interval Lost, Interval RestUsed, LotState State);

/// <summary>What a lot comes to.</summary>
public enum Milestone
{
    /// <summary>The suberin layer has closed.</summary>
    Sealed,

    /// <summary>Fit to move.</summary>
    Adequate,

    /// <summary>Full wound periderm.</summary>
    Healed,

    /// <summary>Sprouts show: 80 % of the tubers have one of 2 mm (<see cref="Dormancy.VisibleMm"/>).</summary>
    Peeping,

    /// <summary>80 % of the tubers have a sprout of 5 mm.</summary>
    Sprouted,
}

/// <summary>When a milestone is reached, in days since digging; null: not within the conditions.</summary>
/// <param name="What">The milestone.</param>
/// <param name="Early">Five lots in a hundred are earlier.</param>
/// <param name="Likely">The lot with every figure in its middle.</param>
/// <param name="Late">Five lots in a hundred are later.</param>
public sealed record MilestoneDays(Milestone What, double? Early, double? Likely, double? Late);

/// <summary>
/// What a lot will do in stated air: the fold of <see cref="LotState"/> over it, once in the middle of what is known and once
/// for each member of <see cref="LotPrior"/>. The air is taken as given: a sensor's error is not in the intervals.
/// </summary>
public sealed record Outlook(IReadOnlyList<OutlookDay> Days, IReadOnlyList<MilestoneDays> Milestones)
{
    private const double LongestStepHours = 1;

    /// <summary>Runs the fold.</summary>
    /// <param name="lot">The lot.</param>
    /// <param name="air">The air from digging on, span after span; at most 3 years.</param>
    /// <exception cref="ArgumentOutOfRangeException">No air, too much of it, or air a lot cannot be in.</exception>
    public static Outlook Run(LotPrior lot, IReadOnlyList<AirSpan> air)
    {
        ArgumentNullException.ThrowIfNull(lot);
        ArgumentNullException.ThrowIfNull(air);
        double hours = air.Sum(span => span.Hours);
        if (!(hours > 0 && hours <= 3 * 366 * 24) || air.Any(span => !(span.Hours > 0)))
            throw new ArgumentOutOfRangeException(nameof(air), hours / 24, "The air must last more than no time and at most three years.");

        var middle = Follow(LotState.Dug(lot.Middle()), air, hours);
        var members = new Trajectory[LotPrior.Members];
        for (int i = 0; i < members.Length; i++)
            members[i] = Follow(LotState.Dug(lot.Member(i)), air, hours);

        var days = new OutlookDay[middle.States.Count];
        for (int d = 0; d < days.Length; d++)
        {
            var state = middle.States[d];
            days[d] = new OutlookDay(
                Math.Min(d, hours / 24),
                Spread(members, c => c.States[d].Lost, state.Lost),
                Spread(members, c => c.States[d].RestUsed, state.RestUsed),
                state);
        }

        var milestones = Enum.GetValues<Milestone>()
            .Select(what => When(what, middle, members))
            .Where(m => m is { Early: not null } or { Likely: not null })
            .ToArray();
        return new Outlook(days, milestones);
    }

    private static MilestoneDays When(Milestone what, Trajectory middle, Trajectory[] members)
    {
        double[] sorted = [.. members.Select(c => c.Reached[(int)what]).Order()];
        return new MilestoneDays(what, Known(Quantile(sorted, 0.05)), Known(middle.Reached[(int)what]), Known(Quantile(sorted, 0.95)));
    }

    private static double? Known(double day) => double.IsFinite(day) ? day : null;

    private static Interval Spread(Trajectory[] members, Func<Trajectory, double> figure, double middle)
    {
        double[] sorted = [.. members.Select(figure).Order()];
        return new Interval(Math.Min(middle, Quantile(sorted, 0.05)), middle, Math.Max(middle, Quantile(sorted, 0.95)));
    }

    /// <summary>Between the members' midpoints; infinite where a neighbour is.</summary>
    private static double Quantile(double[] sorted, double p)
    {
        double at = Math.Clamp(p * sorted.Length - 0.5, 0, sorted.Length - 1);
        int i = Math.Min((int)at, sorted.Length - 2);
        double share = at - i;
        return double.IsFinite(sorted[i + 1]) ? sorted[i] + share * (sorted[i + 1] - sorted[i]) : sorted[share < 0.5 ? i : i + 1];
    }

    private static Trajectory Follow(LotState lot, IReadOnlyList<AirSpan> air, double hours)
    {
        var course = new Trajectory();
        course.States.Add(lot);
        int spanIndex = 0;
        double into = 0;
        double done = 0;
        double nextDay = Math.Min(24, hours);
        while (spanIndex < air.Count)
        {
            var span = air[spanIndex];
            double step = Math.Min(Math.Min(LongestStepHours, span.Hours - into), nextDay - done);
            var before = lot;
            lot = LotState.Advance(lot, span.At((into + step / 2) / span.Hours), step);
            course.Note(before, lot);
            into += step;
            done += step;
            if (done >= nextDay - 1e-9)
            {
                course.States.Add(lot);
                nextDay = Math.Min(nextDay + 24, hours);
            }

            if (into >= span.Hours - 1e-9)
            {
                spanIndex++;
                into = 0;
            }
        }

        return course;
    }

    /// <summary>One lot's way through the air.</summary>
    private sealed class Trajectory
    {
        public List<LotState> States { get; } = [];

        /// <summary>Days since digging, by milestone.</summary>
        public double[] Reached { get; } = [.. Enum.GetValues<Milestone>().Select(_ => double.PositiveInfinity)];

        public void Note(in LotState before, in LotState after)
        {
            var traits = after.Traits;
            for (var stage = HealingStage.Sealed; stage <= HealingStage.Healed; stage++)
                Note((Milestone)(stage - 1), before, after, before.HealedDays, after.HealedDays,
                    Curing.DaysTo(traits.Rule, stage) * traits.HealingMultiplier);
            Note(Milestone.Peeping, before, after, before.SproutMm, after.SproutMm, Dormancy.VisibleMm);
            Note(Milestone.Sprouted, before, after, before.SproutMm, after.SproutMm, Dormancy.SproutedMm);
        }

        private void Note(Milestone what, in LotState before, in LotState after, double from, double to, double threshold)
        {
            if (double.IsPositiveInfinity(Reached[(int)what]) && to >= threshold)
                Reached[(int)what] = before.AgeDays + (after.AgeDays - before.AgeDays) * (
                    to > from ? Math.Clamp((threshold - from) / (to - from), 0, 1) : 1);
        }
    }
}
