using Microsoft.Data.Sqlite;

namespace RootCellar.Storage;

/// <summary>Single facts of the household: the passphrase's hash, the sensor password, whether set-up is finished.</summary>
internal static class Meta
{
    public const string PassphraseHash = "passphrase_hash";
    public const string SensorPassword = "sensor_password";
    public const string OldSensorPassword = "sensor_password_old";
    public const string HouseAddress = "house_address";
    public const string SecureHouseAddress = "house_address_secure";
    public const string CalendarLink = "calendar_link_hash";
    public const string SetUpFinished = "set_up_finished";
    public const string FirstEvening = "first_evening";
    public const string FirstTest = "first_test";

    public static string? Get(SqliteConnection connection, string key) =>
        connection.Scalar("SELECT value FROM meta WHERE key = $key", ("$key", key)) as string;

    public static void Set(SqliteConnection connection, string key, string value) => connection.Execute(
        "INSERT INTO meta (key, value) VALUES ($key, $value) ON CONFLICT (key) DO UPDATE SET value = excluded.value",
        ("$key", key),
        ("$value", value));

    public static void Remove(SqliteConnection connection, string key) =>
        connection.Execute("DELETE FROM meta WHERE key = $key", ("$key", key));
}
