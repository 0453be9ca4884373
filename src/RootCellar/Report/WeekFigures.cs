using Microsoft.Data.Sqlite;
using RootCellar.Advice;
using RootCellar.Household;
using RootCellar.Ledger;
using RootCellar.Lots;
using RootCellar.Places;
using RootCellar.Readings;
using RootCellar.Watch;

namespace RootCellar.Report;

/// <summary>
/// The figures of one week, worked out from the two records alone: the kept air and the ledger, as corrected since. What was weighed or
/// seen after the week has no part in it, so that the same week says the same whenever it is asked for.
/// </summary>
/// <param name="UpTo">How far the week is known: its end, or the last five minutes on disk while it runs.</param>
/// <param name="UseFirst">Bins at <paramref name="UpTo"/>, first the one that loses most if left.</param>
/// <param name="AtRisk">Open promises that are not sure to be met.</param>
/// <param name="WeighIn">The weigh-in that would teach most; null where none would teach anything.</param>
/// <param name="Jobs">The first three of the one list.</param>
internal sealed record WeekFigures(
    Week Week,
    DateTimeOffset UpTo,
    IReadOnlyList<PlaceWeek> Places,
    IReadOnlyList<LotWeek> Lots,
    IReadOnlyList<BinEstimate> UseFirst,
    IReadOnlyList<PromisePlan> AtRisk,
    WeighInWorth? WeighIn,
    AlarmWeek Alarms,
    IReadOnlyList<SensorTrouble> Sensors,
    IReadOnlyList<Job> Jobs)
{
    public const int MostUseFirst = 5;
    public const int MostJobs = 3;

    /// <summary>The book as it was at <see cref="UpTo"/>.</summary>
    public required Book Then { get; init; }

    /// <summary>What people call sensors now, by their topic; those without a name are missing.</summary>
    public IReadOnlyDictionary<string, string> SensorNames { get; init; } = new Dictionary<string, string>();

    /// <summary>What the report said when it went out; null where it did not yet.</summary>
    public AsSent? Sent { get; init; }

    /// <summary>What of that is known better now.</summary>
    public IReadOnlyList<CorrectedFigure> Corrected { get; init; } = [];

    /// <summary>Nothing was measured and nothing is in the book.</summary>
    public bool IsEmpty => Lots.Count == 0 && Alarms.Raised == 0 && Places.All(p => p.Temperature is null && p.Humidity is null);

    public long ShrinkGrams => Lots.Sum(l => l.Estimate.ShrinkGrams);

    /// <summary>What the air cost against ideal air, kg; below 0 where it was kinder.</summary>
    public double AirCostKg => Lots.Sum(l => l.Air?.CostKg ?? 0);

    /// <summary>How far a week is told: its end, or as far as the air is on disk.</summary>
    public static DateTimeOffset Until(Week week, DateTimeOffset upTo) =>
        TimeStep.At(Math.Clamp(TimeStep.Of(upTo), TimeStep.Of(week.From), TimeStep.Of(week.To)));

    /// <param name="connection">The record; what is read is of one moment.</param>
    /// <param name="book">The book as it stands now.</param>
    /// <param name="week">Which week.</param>
    /// <param name="upTo">How far it is to be looked at: no later than the air that is on disk.</param>
    /// <param name="watch">What judging goes by.</param>
    /// <param name="courses">States already worked out from this record; null to begin with those it keeps.</param>
    public static WeekFigures Of(SqliteConnection connection, Book book, Week week, DateTimeOffset upTo, WatchOptions watch,
        TrajectoryCache? courses = null)
    {
        using var moment = connection.BeginTransaction(deferred: true);
        long first = TimeStep.Of(week.From);
        var until = Until(week, upTo);
        long end = TimeStep.Of(until);
        courses ??= new TrajectoryCache();
        courses.Use(connection);
        var places = PlaceRows.All(connection);
        var purposes = places.ToDictionary(p => p.Id, p => p.Purpose, StringComparer.Ordinal);
        var then = BookBuilder.Then(book, until);
        var estimating = new Estimating(courses);
        var views = estimating.At(then, places, end);
        views = views with { WeighIn = estimating.WeighIn(then, end) };
        var work = new LotWeeks(then, views, estimating, purposes, courses, week, first, end);
        var lots = work.All();
        var bands = new BandsInForce(CropLookup.Of(book.Crops), watch);
        var placeWeeks = places.Select(
            p => PlaceWeek.Of(connection, p, BandsOver.Of(then, bands, p, week.From, until), week.From, until, work.Pieces)).ToList();
        var alarms = AlarmWeek.Of(AlarmRows.Between(connection, week.From, until), until);
        var sensors = SensorWeek.Of(connection, week.From, until);
        var promises = AcrossBins.Promises(then, views);
        var open = alarms.Open;
        IReadOnlyList<RoomWrong> rooms =
        [
            .. open.Where(a => a.Rule.IsOfRoomAir()).GroupBy(a => a.Place, StringComparer.Ordinal)
                .Select(g => new RoomWrong(g.Key, [.. g.Select(a => (a.Rule, a.Since))], g.Any(a => a.CallsForSomeone))),
        ];
        var jobs = Advice.Jobs.Of(new JobFacts(until, then, views, rooms, [.. open.Where(a => !a.Rule.IsOfRoomAir())], promises, sensors));
        return new WeekFigures(
            week, until, placeWeeks, lots, [.. views.WorthUsingFirst.Take(MostUseFirst)], [.. promises.Where(p => p.Answer != CanMeet.Yes)],
            views.WeighIn, alarms, sensors,
            [.. jobs.Take(MostJobs)])
        {
            Then = then,
            SensorNames = SensorRows.Names(connection),
        };
    }
}
