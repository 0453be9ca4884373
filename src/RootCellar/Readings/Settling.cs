using Microsoft.Data.Sqlite;
using RootCellar.Storage;

namespace RootCellar.Readings;

/// <summary>How still a sensor's reading of one quantity stands, uncorrected, since it was laid somewhere to be calibrated.</summary>
/// <param name="Reads">The middle one of its last readings; null where none came lately.</param>
/// <param name="Moved">Highest less lowest of them.</param>
/// <param name="Over">The time that is looked at: ten minutes, longer for a sensor that sends seldom.</param>
/// <param name="Enough">Whether that time has gone by and readings came all through it.</param>
/// <param name="Most">What a settled one moves by at most in that time, in the unit of the reading.</param>
internal sealed record Settling(double? Reads, double Moved, TimeSpan Over, bool Enough, double Most)
{
    private static readonly TimeSpan TenMinutes = TimeSpan.FromMinutes(10);
    private const int Fewest = 3;

    public bool Still => Enough && Moved <= Most;

    /// <param name="interval">How often the sensor sends.</param>
    /// <param name="since">When it was laid there: what it read before says nothing.</param>
    public static Settling Of(SqliteConnection connection, string sensor, Quantity quantity, TimeSpan interval, DateTimeOffset since, DateTimeOffset now)
    {
        var over = 3 * interval > TenMinutes ? 3 * interval : TenMinutes;
        var from = now - over - interval;
        var rows = connection.Query(
            "SELECT r.at_ms, r.value FROM sensor s JOIN reading r ON r.sensor = s.id AND r.quantity = $quantity WHERE s.key = $key " +
            "AND r.at_ms >= $from AND r.value IS NOT NULL ORDER BY r.at_ms",
            row => (At: row.Time(0), Value: row.GetDouble(1)),
            ("$quantity", (int)quantity),
            ("$key", sensor),
            ("$from", (from > since ? from : since).ToUnixTimeMilliseconds()));
        // 0.5 % in ten minutes: common practice; 0.2 C: assumed.
        var most = quantity == Quantity.Humidity ? 0.5 : 0.2;
        if (rows.Count == 0) return new(null, 0, over, false, most);
        var values = rows.Select(r => r.Value).Order().ToList();
        // One that is a message late at either end is still heard all through.
        var enough = rows.Count >= Fewest && rows[^1].At - rows[0].At >= over - (2 * interval) && now - rows[^1].At <= (2 * interval) + TimeSpan.FromMinutes(1);
        return new(values[values.Count / 2], values[^1] - values[0], over, enough, most);
    }
}
