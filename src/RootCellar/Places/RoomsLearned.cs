using Microsoft.Data.Sqlite;
using RootCellar.Science.Cellar;
using RootCellar.Storage;

namespace RootCellar.Places;

/// <summary>What the kept air says of a room.</summary>
/// <param name="At">When it was worked out.</param>
/// <param name="MeanC">Its air over the last day; null where nobody measured.</param>
internal sealed record RoomLearned(DateTimeOffset At, RoomResponse Response, double? MeanC);

/// <summary>
/// Each room's response, learned from the last fourteen days of its kept air beside outdoors, when somebody asks and the last answer is an
/// hour old. On the asker's thread, one room at a time; nothing of it is written down.
/// </summary>
internal sealed class RoomsLearned(Store store, TimeProvider time)
{
    private const int Days = 14;
    private const int MostRooms = 64;
    private static readonly TimeSpan Every = TimeSpan.FromHours(1);
    private static readonly TimeSpan Step = TimeSpan.FromMinutes(5);
    private static readonly string[] Columns = ["temperature_c", "humidity_pct"];

    private readonly Lock one = new();
    private readonly Dictionary<(string Room, string? Outdoors), RoomLearned> known = [];

    /// <param name="room">The room's id.</param>
    /// <param name="outdoors">The place outdoors; null where there is none.</param>
    public RoomLearned Of(string room, string? outdoors)
    {
        lock (one)
        {
            var now = time.GetUtcNow();
            if (known.TryGetValue((room, outdoors), out var learned) && (now - learned.At).Duration() < Every) return learned;
            try
            {
                learned = Learn(room, outdoors, now);
            }
            catch (SqliteException)
            {
                // The banner says that the record is in trouble; what is asked again is learned again.
                return new RoomLearned(now, RoomResponse.Assumed(RoomDoubt.TooFewHours), null);
            }

            if (known.Count >= MostRooms) known.Remove(known.MinBy(k => k.Value.At).Key);
            return known[(room, outdoors)] = learned;
        }
    }

    private RoomLearned Learn(string room, string? outdoors, DateTimeOffset now)
    {
        var from = now.AddDays(-Days);
        var inside = Air(room, from, now);
        double[] lastDay = [.. inside.C[^288..].Where(double.IsFinite)];
        double? mean = lastDay.Length > 0 ? lastDay.Average() : null;
        if (outdoors is null) return new RoomLearned(now, RoomResponse.Assumed(RoomDoubt.NoOutdoorAir), mean);
        var outside = Air(outdoors, from, now);
        return new RoomLearned(now, RoomFit.Of(new RoomRecord(inside.C, inside.Percent, outside.C, outside.Percent)), mean);
    }

    /// <summary>One figure each five minutes; the latest where there are several.</summary>
    private (double[] C, double[] Percent) Air(string place, DateTimeOffset from, DateTimeOffset to)
    {
        var (c, percent) = (new double[Days * 288], new double[Days * 288]);
        Array.Fill(c, double.NaN);
        Array.Fill(percent, double.NaN);
        var first = from.ToUnixTimeMilliseconds();
        return store.Read(connection =>
        {
            using var scan = new AirScan(connection, Columns, place, first, to.ToUnixTimeMilliseconds());
            while (scan.Read())
            {
                var at = Math.Min((int)((scan.AtMs - first) / (long)Step.TotalMilliseconds), c.Length - 1);
                (c[at], percent[at]) = (Plain(scan.Figure(0)), scan.Figure(1));
            }

            return (c, percent);
        });
    }

    // No room and no weather; a sensor's wild figure must not end the sums.
    private static double Plain(double celsius) => celsius is >= RoomAir.ColdestC and <= 60 ? celsius : double.NaN;
}
