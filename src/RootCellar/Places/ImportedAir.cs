using Microsoft.Data.Sqlite;
using RootCellar.Readings;

namespace RootCellar.Places;

/// <summary>
/// The air of places out of readings that came from a file (<see cref="PastAir"/>). Where the record has air of a five minutes already,
/// that stays.
/// </summary>
internal static class ImportedAir
{
    /// <summary>Fills in what <paramref name="readings"/> say; belongs to whatever transaction the connection is in.</summary>
    /// <returns>How many samples of air were added.</returns>
    public static long Add(SqliteConnection connection, ReadingsTaken readings)
    {
        var stays = SensorStays.All(connection);
        var added = 0L;
        foreach (var place in PlaceRows.All(connection))
        {
            var spans = readings.Spans.Where(s => stays[s.Key].Any(stay => stay.Place == place.Id)).Select(s => s.Value).ToList();
            if (spans.Count == 0) continue;
            var to = spans.Max(s => s.To);
            // A five minutes that has begun is told as far as it is known.
            foreach (var air in PastAir.Of(connection, place, spans.Min(s => s.From), to, anewFrom: DateTimeOffset.MaxValue))
            {
                PlaceRows.SaveAir(connection, air);
                added++;
            }
        }

        return added;
    }
}
