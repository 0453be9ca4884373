using Microsoft.Data.Sqlite;
using RootCellar.Storage;

namespace RootCellar.Tell;

/// <summary>The contacts in the record.</summary>
internal static class ContactRows
{
    public static IReadOnlyList<Contact> All(SqliteConnection connection) => connection.Query(
        """
        SELECT id, name, channel, address, wants, report, wait_minutes, quiet_from, quiet_to, wakes, low_in_the_morning, most_a_day, all_is_well, language
        FROM contact ORDER BY name
        """,
        row => new Contact(row.GetString(0), row.GetString(1), row.GetString(2), row.GetString(3), row.GetString(4), row.GetInt32(5) != 0)
        {
            WaitMinutes = row.GetInt32(6),
            QuietFrom = row.StringOrNull(7),
            QuietTo = row.StringOrNull(8),
            Wakes = row.GetString(9),
            LowInTheMorning = row.GetInt32(10) != 0,
            MostADay = row.IsDBNull(11) ? null : row.GetInt32(11),
            AllIsWell = row.GetString(12),
            Language = row.StringOrNull(13),
        });

    public static void Save(SqliteConnection connection, Contact contact) => connection.Execute(
        """
        INSERT OR REPLACE INTO contact (id, name, channel, address, wants, report, wait_minutes, quiet_from, quiet_to, wakes, low_in_the_morning, most_a_day, all_is_well, language)
        VALUES ($id, $name, $channel, $address, $wants, $report, $wait, $from, $to, $wakes, $low, $most, $well, $language)
        """,
        ("$id", contact.Id),
        ("$name", contact.Name),
        ("$channel", contact.Channel),
        ("$address", contact.Address),
        ("$wants", contact.Wants),
        ("$report", contact.Report ? 1 : 0),
        ("$wait", contact.WaitMinutes),
        ("$from", contact.QuietFrom),
        ("$to", contact.QuietTo),
        ("$wakes", contact.Wakes),
        ("$low", contact.LowInTheMorning ? 1 : 0),
        ("$most", contact.MostADay),
        ("$well", contact.AllIsWell),
        ("$language", contact.Language));

    public static bool Remove(SqliteConnection connection, string id) =>
        connection.Execute("DELETE FROM contact WHERE id = $id", ("$id", id)) > 0;
}
