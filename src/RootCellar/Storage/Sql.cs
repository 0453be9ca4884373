using Microsoft.Data.Sqlite;

namespace RootCellar.Storage;

/// <summary>The few lines that keep SQL readable beside the method that runs it; parameters are always bound.</summary>
internal static class Sql
{
    public static SqliteCommand Command(this SqliteConnection connection, string sql,
        params ReadOnlySpan<(string Name, object? Value)> parameters)
    {
        var command = connection.CreateCommand();
#pragma warning disable CA2100 // The text is ours, written at the call; what varies is bound below.
        command.CommandText = sql;
#pragma warning restore CA2100
        foreach (var (name, value) in parameters)
        {
            command.Parameters.AddWithValue(name, value ?? DBNull.Value);
        }

        return command;
    }

    public static int Execute(this SqliteConnection connection, string sql, params ReadOnlySpan<(string Name, object? Value)> parameters)
    {
        using var command = connection.Command(sql, parameters);
        return command.ExecuteNonQuery();
    }

    public static object? Scalar(this SqliteConnection connection, string sql, params ReadOnlySpan<(string Name, object? Value)> parameters)
    {
        using var command = connection.Command(sql, parameters);
        return command.ExecuteScalar();
    }

    public static List<T> Query<T>(this SqliteConnection connection, string sql, Func<SqliteDataReader, T> row,
        params ReadOnlySpan<(string Name, object? Value)> parameters)
    {
        using var command = connection.Command(sql, parameters);
        using var reader = command.ExecuteReader();
        var rows = new List<T>();
        while (reader.Read())
        {
            rows.Add(row(reader));
        }

        return rows;
    }

    public static double? DoubleOrNull(this SqliteDataReader reader, int column) => reader.IsDBNull(column)
        ? null : reader.GetDouble(column);

    public static string? StringOrNull(this SqliteDataReader reader, int column) => reader.IsDBNull(column)
        ? null : reader.GetString(column);

    public static DateTimeOffset Time(this SqliteDataReader reader, int column) =>
        DateTimeOffset.FromUnixTimeMilliseconds(reader.GetInt64(column));
}
