using Microsoft.Data.Sqlite;
using SQLitePCL;

namespace RootCellar.Places;

/// <summary>
/// The kept air of a place, row by row in the order of time, on SQLite's own calls: a season is eighty thousand rows, and a data reader
/// asks of each figure three times. For one thread, and to be disposed of before the connection does anything else.
/// </summary>
internal sealed class AirScan : IDisposable
{
    private readonly SqliteConnection connection;
    private readonly sqlite3_stmt statement;

    /// <param name="connection">The record.</param>
    /// <param name="columns">Columns and sums of them in our own words, never what somebody typed.</param>
    /// <param name="place">The place.</param>
    /// <param name="fromMs">The first moment.</param>
    /// <param name="toMs">The end, which is no part of it.</param>
    public AirScan(SqliteConnection connection, IEnumerable<string> columns, string place, long fromMs, long toMs)
    {
        this.connection = connection;
        // An infinite number stands for none: to ask whether there is one costs as much as the number.
        string figures = string.Join(", ", columns.Select(c => $"ifnull({c}, 9e999)"));
        Check(raw.sqlite3_prepare_v2(connection.Handle,
            $"SELECT at_ms, {figures} FROM air WHERE place = ?1 AND at_ms >= ?2 AND at_ms < ?3 ORDER BY at_ms", out statement));
        Check(raw.sqlite3_bind_text(statement, 1, place));
        Check(raw.sqlite3_bind_int64(statement, 2, fromMs));
        Check(raw.sqlite3_bind_int64(statement, 3, toMs));
    }

    public long AtMs => raw.sqlite3_column_int64(statement, 0);

    public bool Read()
    {
        int result = raw.sqlite3_step(statement);
        if (result != raw.SQLITE_DONE && result != raw.SQLITE_ROW) Check(result);
        return result == raw.SQLITE_ROW;
    }

    /// <summary>A figure of the row; NaN where it was not measured.</summary>
    /// <param name="column">In the order asked for, from 0.</param>
    public double Figure(int column) => raw.sqlite3_column_double(statement, column + 1) is var value && double.IsFinite(value)
        ? value : double.NaN;

    public void Dispose() => statement.Dispose();

    private void Check(int result) => SqliteException.ThrowExceptionForRC(result, connection.Handle);
}
