using Microsoft.Data.Sqlite;
using RootCellar.Storage;

namespace RootCellar.Tell;

/// <summary>
/// Who is told. <see cref="Wants"/> is "all" or "urgent"; <see cref="Report"/>: whether the weekly report comes too, by mail.
/// </summary>
internal sealed record Contact(string Id, string Name, string Channel, string Address, string Wants, bool Report = true);

/// <summary>The contacts in the record.</summary>
internal static class ContactRows
{
    public static IReadOnlyList<Contact> All(SqliteConnection connection) => connection.Query(
        "SELECT id, name, channel, address, wants, report FROM contact ORDER BY name",
        row => new Contact(row.GetString(0), row.GetString(1), row.GetString(2), row.GetString(3), row.GetString(4), row.GetInt32(5) != 0));

    public static void Save(SqliteConnection connection, Contact contact) => connection.Execute(
        """
        INSERT INTO contact (id, name, channel, address, wants, report) VALUES ($id, $name, $channel, $address, $wants, $report)
        ON CONFLICT (id) DO UPDATE SET name = excluded.name, channel = excluded.channel, address = excluded.address, wants = excluded.wants, report = excluded.report
        """,
        ("$id", contact.Id),
        ("$name", contact.Name),
        ("$channel", contact.Channel),
        ("$address", contact.Address),
        ("$wants", contact.Wants),
        ("$report", contact.Report ? 1 : 0));

    public static bool Remove(SqliteConnection connection, string id) =>
        connection.Execute("DELETE FROM contact WHERE id = $id", ("$id", id)) > 0;
}
