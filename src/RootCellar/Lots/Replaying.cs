using Microsoft.Data.Sqlite;
using RootCellar.Ledger;
using RootCellar.Places;
using RootCellar.Storage;

namespace RootCellar.Lots;

/// <summary>A figure of a kept state that the replay does not come to.</summary>
internal sealed record ReplayDifference(string Lot, IReadOnlyList<string> Bins, DateTimeOffset At, string Figure, double Kept,
    double Replayed);

/// <summary>What a replay found.</summary>
/// <param name="States">Kept states that were held against the replay.</param>
/// <param name="Late">Kept states that wait for late air to be taken in: they are to be made anew and prove nothing.</param>
/// <param name="Others">Kept states of ways no bin takes any more, or of another program.</param>
internal sealed record ReplayReport(int Lots, int Bins, long Pieces, int States, int Late, int Others,
    IReadOnlyList<ReplayDifference> Differences, IReadOnlyList<string> NotFollowed)
{
    public bool Agree => Differences.Count == 0;
}

/// <summary>
/// Works every lot out anew from digging on, from readings and ledger alone, and holds the kept states against it bit for bit.
/// </summary>
internal static class Replaying
{
    public static ReplayReport Run(SqliteConnection connection, Book book)
    {
        using var moment = connection.BeginTransaction(deferred: true);
        var places = PlaceRows.All(connection).ToDictionary(p => p.Id, p => p.Purpose, StringComparer.Ordinal);
        long late = LateAir.Earliest(connection)?.Cell ?? long.MaxValue;
        var kept = connection.Query("SELECT bin, at_ms, body FROM lot_snapshot", row =>
            (Key: row.GetString(0), Cell: TimeStep.Of(row.GetInt64(1)), Body: row.GetString(2)))
            .GroupBy(s => s.Key, StringComparer.Ordinal).ToDictionary(
                g => g.Key, g => g.OrderBy(s => s.Cell).ToList(), StringComparer.Ordinal);
        var air = new PlaceAirRecord { Connection = connection };
        // What was learned decides the rest; it is worked out without the kept states as well.
        var courses = new TrajectoryCache(trustKept: false);
        courses.Use(connection);

        var ways = new Dictionary<string, (LotPath Path, List<string> Bins)>(StringComparer.Ordinal);
        var not = new List<string>();
        int lots = 0, bins = 0;
        long end = kept.Count == 0 ? 0 : kept.Values.Max(s => s[^1].Cell);
        foreach (var lot in book.Lots.Values)
        {
            lots++;
            bins += lot.Bins.Count;
            foreach (var (bin, path) in LotLearning.AllWays(lot, places, courses, end))
            {
                if (!ways.TryGetValue(path.Key, out var way)) ways.Add(path.Key, way = (path, []));
                if (!way.Bins.Contains(bin)) way.Bins.Add(bin);
            }

            if (LotKnown.Prior(lot) is null || Unfollowed.IsTooOld(lot, end))
                not.AddRange(lot.Bins.Select(b => b.Id));
        }

        var checkedStates = new HashSet<(string, long)>();
        var differences = new List<ReplayDifference>();
        int waiting = 0;
        long pieces = courses.Folded;
        foreach (var (path, of) in ways.Values)
        {
            var due = path.AllKeys.Distinct(StringComparer.Ordinal).SelectMany(k => kept.GetValueOrDefault(k) ?? []).OrderBy(s => s.Cell)
                .Where(s => path.KeyAt(s.Cell) == s.Key && !checkedStates.Contains((s.Key, s.Cell))).ToList();
            if (due.Count == 0) continue;
            var course = Trajectory.Dug(path);
            foreach (var state in due)
            {
                checkedStates.Add((state.Key, state.Cell));
                if (state.Cell > late)
                {
                    waiting++;
                    continue;
                }

                while (course.Cell < state.Cell)
                {
                    int stay = path.StayAt(course.Cell);
                    course.Advance(air.Around(path.Stays[stay], course.Cell, path.Assumed(stay)));
                    pieces++;
                }

                if (Trajectory.Difference(state.Body, course.Write()) is { } difference)
                    differences.Add(new ReplayDifference(path.Lot, of, TimeStep.At(state.Cell), difference.Figure, difference.Kept,
                        difference.Replayed));
            }
        }

        int states = checkedStates.Count - waiting;
        return new ReplayReport(lots, bins, pieces, states, waiting, kept.Values.Sum(s => s.Count) - checkedStates.Count, differences, not);
    }
}
