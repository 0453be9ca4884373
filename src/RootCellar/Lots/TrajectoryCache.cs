using Microsoft.Data.Sqlite;

namespace RootCellar.Lots;

/// <summary>A state to keep: written by whoever may write.</summary>
internal readonly record struct KeptState(string Key, long Cell, string Body);

/// <summary>
/// Where every path stands, and where it stood at any time. Goes on from what is in memory, else from the last kept state,
/// else from digging; whichever way, the bits are the same. Not for several threads at once.
/// </summary>
/// <param name="trustKept">False: nothing on disk is begun from; for a replay that is to prove it.</param>
internal sealed class TrajectoryCache(bool trustKept = true)
{
    private readonly PlaceAirRecord air = new();
    private readonly Dictionary<string, Trajectory> live = new(StringComparer.Ordinal);
    private readonly Dictionary<string, SortedList<long, Trajectory>> remembered = new(StringComparer.Ordinal);
    private readonly Dictionary<string, SortedList<long, Trajectory>> fresh = new(StringComparer.Ordinal);
    private readonly Dictionary<string, long[]> onDisk = new(StringComparer.Ordinal);

    /// <summary>Pieces folded since the last look; for telling how long things take.</summary>
    public long Folded { get; private set; }

    /// <summary>The air it folds over.</summary>
    public PlaceAirRecord Air => air;

    /// <summary>Begins a piece of work: everything is read through this connection until the next.</summary>
    public void Use(SqliteConnection connection)
    {
        air.Connection = connection;
        onDisk.Clear();
    }

    /// <summary>The states worth keeping since the last call.</summary>
    public IReadOnlyList<KeptState> TakeNew()
    {
        var taken = fresh.SelectMany(f => f.Value.Select(s => new KeptState(f.Key, s.Key, s.Value.Write()))).ToList();
        fresh.Clear();
        return taken;
    }

    /// <summary>The path at the beginning of <paramref name="cell"/>, kept in memory to go on from. Read only.</summary>
    public Trajectory Live(LotPath path, long cell)
    {
        if (cell < path.Dug) cell = path.Dug;
        string key = path.KeyAt(cell);
        if (live.TryGetValue(key, out var known) && known.Cell == cell) return known;
        var course = Nearest(path, cell);
        Run(path, course, cell, now: cell);
        live[key] = course;
        return course;
    }

    /// <summary>
    /// The path as it was at the beginning of an earlier piece: asked for again and again, so remembered and kept. Read only.
    /// </summary>
    public Trajectory Past(LotPath path, long cell)
    {
        if (cell < path.Dug) cell = path.Dug;
        string key = path.KeyAt(cell);
        if (!remembered.TryGetValue(key, out var times)) remembered.Add(key, times = []);
        if (times.TryGetValue(cell, out var known)) return known;
        var course = Kept(path, cell);
        // The bins of a lot are weighed on one day, and week after week: the time before is often the nearest.
        if (Before(times, cell) is { } before && (course is null || before.Cell > course.Cell)) course = before.Clone();
        course ??= Trajectory.Dug(path);
        if (course.Cell != cell)
        {
            Run(path, course, cell, now: long.MaxValue);
            Keep(key, course);
        }

        times.Add(cell, course);
        return course;
    }

    /// <summary>What is remembered of times gone by.</summary>
    public IReadOnlySet<(string Key, long Cell)> Remembered => remembered.SelectMany(r => r.Value.Keys.Select(c => (r.Key, c))).ToHashSet();

    /// <summary>Lets go of everything a reading of <paramref name="cell"/> has a part in.</summary>
    public void Forget(long cell)
    {
        foreach (var key in live.Where(l => l.Value.Cell > cell).Select(l => l.Key).ToList()) live.Remove(key);
        foreach (var states in remembered.Values) Forget(states, cell);
        foreach (var states in fresh.Values) Forget(states, cell);

        air.Forget(cell);
    }

    /// <summary>Lets go of all that was begun of a lot, and of the air that was read for it.</summary>
    public void Abandon(string lot)
    {
        var own = lot + "#";
        foreach (var key in live.Keys.Where(k => k.StartsWith(own, StringComparison.Ordinal)).ToList()) live.Remove(key);
        foreach (var key in remembered.Keys.Where(k => k.StartsWith(own, StringComparison.Ordinal)).ToList()) remembered.Remove(key);
        foreach (var key in fresh.Keys.Where(k => k.StartsWith(own, StringComparison.Ordinal)).ToList()) fresh.Remove(key);
        air.Forget(long.MinValue / 2);
    }

    /// <summary>Lets go of what no path of these leads through any more.</summary>
    public void KeepOnly(IReadOnlySet<string> keys)
    {
        foreach (var key in live.Keys.Where(k => !keys.Contains(k)).ToList()) live.Remove(key);
        foreach (var key in remembered.Keys.Where(k => !keys.Contains(k)).ToList()) remembered.Remove(key);
    }

    private static void Forget<T>(SortedList<long, T> states, long cell)
    {
        for (int i = states.Count - 1; i >= 0 && states.GetKeyAtIndex(i) > cell; i--) states.RemoveAt(i);
    }

    /// <summary>The last of these up to a piece of time.</summary>
    private static Trajectory? Before(SortedList<long, Trajectory> times, long cell)
    {
        int low = 0, high = times.Count;
        while (low < high)
        {
            int middle = (low + high) / 2;
            if (times.GetKeyAtIndex(middle) <= cell) low = middle + 1;
            else high = middle;
        }

        return low == 0 ? null : times.GetValueAtIndex(low - 1);
    }

    private Trajectory Nearest(LotPath path, long cell)
    {
        // What is in memory under the key of some time before, nearest first: a bin that has just been moved goes on from its lot.
        Trajectory? best = null;
        for (int i = path.StayAt(cell - 1); i >= 0 && best is null; i--)
        {
            long until = i + 1 < path.Stays.Count ? Math.Min(cell, path.Stays[i + 1].From) : cell;
            if (live.TryGetValue(path.KeyAt(path.Stays[i].From + 1), out var known) && known.Cell <= until) best = known.Clone();
        }

        if (remembered.TryGetValue(path.KeyAt(cell), out var times) && Before(times, cell) is { } before
            && (best is null || before.Cell > best.Cell))
            best = before.Clone();
        var kept = best is null || cell - best.Cell > TimeStep.PerDay ? Kept(path, cell) : null;
        return kept is not null && (best is null || kept.Cell > best.Cell) ? kept : best ?? Trajectory.Dug(path);
    }

    /// <param name="now">Only what thinning would leave by then is kept of a long way; near its end every six hours.</param>
    private void Run(LotPath path, Trajectory course, long to, long now)
    {
        int stay = path.StayAt(course.Cell);
        while (course.Cell < to)
        {
            while (stay + 1 < path.Stays.Count && path.Stays[stay + 1].From <= course.Cell) stay++;
            course.Advance(air.Around(path.Stays[stay], course.Cell, path.Assumed(stay)));
            Folded++;
            if (Snapshots.Stays(course.Cell, now))
                Keep(path.KeyAt(course.Cell), course.Clone());
        }
    }

    /// <param name="course">Not to go on.</param>
    private void Keep(string key, Trajectory course)
    {
        if (!fresh.TryGetValue(key, out var states)) fresh.Add(key, states = []);
        states[course.Cell] = course;
    }

    /// <summary>The last kept state, on disk or on its way there.</summary>
    private Trajectory? Kept(LotPath path, long cell)
    {
        var kept = trustKept ? Snapshots.Last(air.Connection, path, cell, OnDisk) : null;
        long end = cell;
        for (int i = path.StayAt(cell - 1); i >= 0; i--)
        {
            if (fresh.TryGetValue(path.KeyAt(path.Stays[i].From + 1), out var states))
            {
                for (int s = states.Count - 1; s >= 0 && states.GetKeyAtIndex(s) > (kept?.Cell ?? path.Dug); s--)
                {
                    if (states.GetKeyAtIndex(s) <= end) return states.GetValueAtIndex(s).Clone();
                }
            }

            end = path.Stays[i].From;
        }

        return kept;
    }

    /// <summary>When states are kept of, so that what is not there is not asked for a hundred times.</summary>
    private long[] OnDisk(string key)
    {
        if (!onDisk.TryGetValue(key, out var cells)) onDisk.Add(key, cells = Snapshots.CellsOf(air.Connection, key));
        return cells;
    }
}
