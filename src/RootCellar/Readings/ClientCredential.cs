using Microsoft.Data.Sqlite;
using RootCellar.Storage;

namespace RootCellar.Readings;

/// <summary>What an MQTT client is by what it showed when it connected.</summary>
internal enum ClientKind
{
    /// <summary>Showed nothing.</summary>
    Anonymous,

    /// <summary>Knows the sensor password, which all sensors of a simple house share.</summary>
    Shared,

    /// <summary>Has the password of one sensor.</summary>
    Sensor,

    /// <summary>Has a password for reading what the service publishes: a dashboard, a siren.</summary>
    Reader,
}

/// <summary>A password of one sensor or one reader; only its hash is known.</summary>
/// <param name="Name">Of a sensor its key (PLACE/SENSOR, or the topic of a mapped one); of a reader what the household calls it.</param>
/// <param name="FirstUsed">From then on nobody else may publish for that sensor; null before.</param>
internal sealed record ClientCredential(long Id, ClientKind Kind, string Name, string Hash, DateTimeOffset CreatedAt,
    DateTimeOffset? FirstUsed);

/// <summary>What decides who may connect to the built-in broker.</summary>
/// <param name="Password">The sensor password, as it is typed.</param>
/// <param name="OldPassword">The one before, which still holds until the household stops it.</param>
internal sealed record DoorFacts(string? Password, string? OldPassword, bool SetUpFinished, IReadOnlyList<ClientCredential> Credentials);

/// <summary>The passwords of single clients in the record.</summary>
internal static class ClientCredentialRows
{
    public const int LongestName = 129;

    public static IReadOnlyList<ClientCredential> All(SqliteConnection connection) => connection.Query(
        "SELECT id, kind, name, hash, created_ms, used_ms FROM client_credential ORDER BY kind, name",
        row => new ClientCredential(
            row.GetInt64(0),
            row.GetString(1) == "reader" ? ClientKind.Reader : ClientKind.Sensor,
            row.GetString(2),
            row.GetString(3),
            row.Time(4),
            row.IsDBNull(5) ? null : row.Time(5)));

    /// <summary>A new password for a sensor or reader; one that was there before ends. Its number.</summary>
    public static long Put(SqliteConnection connection, ClientKind kind, string name, string hash, DateTimeOffset now) =>
        (long)connection.Scalar(
        """
        INSERT INTO client_credential (kind, name, hash, created_ms) VALUES ($kind, $name, $hash, $now)
        ON CONFLICT (kind, name) DO UPDATE SET hash = excluded.hash, created_ms = excluded.created_ms
        RETURNING id
        """,
        ("$kind", kind == ClientKind.Reader ? "reader" : "sensor"),
        ("$name", name),
        ("$hash", hash),
        ("$now", now.ToUnixTimeMilliseconds()))!;

    public static bool Remove(SqliteConnection connection, long id) =>
        connection.Execute("DELETE FROM client_credential WHERE id = $id", ("$id", id)) > 0;

    /// <summary>The password of a sensor that is forgotten.</summary>
    public static void RemoveOfSensor(SqliteConnection connection, string key) =>
        connection.Execute("DELETE FROM client_credential WHERE kind = 'sensor' AND name = $key", ("$key", key));

    /// <summary>It was used; only the first time is kept.</summary>
    public static void Used(SqliteConnection connection, long id, DateTimeOffset now) => connection.Execute(
        "UPDATE client_credential SET used_ms = $now WHERE id = $id AND used_ms IS NULL",
        ("$id", id),
        ("$now", now.ToUnixTimeMilliseconds()));

    public static DoorFacts Facts(SqliteConnection connection) => new(
        Meta.Get(connection, Meta.SensorPassword),
        Meta.Get(connection, Meta.OldSensorPassword),
        Meta.Get(connection, Meta.SetUpFinished) is not null,
        All(connection));
}
