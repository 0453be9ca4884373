using System.Globalization;
using System.Text.RegularExpressions;
using Microsoft.Data.Sqlite;

namespace RootCellar.Storage;

/// <summary>
/// Holds a file's schema against the one our migrations give for its version. A trigger that is not ours would run with every reading; a
/// table that lacks would stop the service at the next.
/// </summary>
internal static partial class RecordSchema
{
    /// <summary>What is wrong with it, a sentence that names the object and what would be right; null where all is as we make it.</summary>
    public static string? Foreign(SqliteConnection connection, int version)
    {
        if (connection.Scalar("PRAGMA application_id") is not 0L and var id)
            return string.Create(CultureInfo.InvariantCulture, $"its application_id is {id}, which is another program's; right is 0.");
        using var right = StoreFile.SchemaOf(version);
        var (ours, theirs) = (Objects(right), Objects(connection));
        foreach (var (name, (kind, _)) in theirs)
        {
            if (!ours.ContainsKey(name)) return $"it holds the {kind} '{name}', which no record of schema {version} has.";
        }

        foreach (var (name, (kind, sql)) in ours)
        {
            if (!theirs.TryGetValue(name, out var there)) return $"it lacks the {kind} '{name}' of schema {version}.";
            if (there.Kind != kind) return $"'{name}' is a {there.Kind} in it; right is a {kind}.";
            if (!string.Equals(there.Sql, sql, StringComparison.Ordinal))
                return Difference(connection, right, name, kind) ?? $"its {kind} '{name}' is not that of schema {version}; right is: {sql}";
        }

        return connection.Query("PRAGMA foreign_key_check", row => row.GetString(0)).FirstOrDefault() is { } table
            ? $"in its table '{table}' a row points at one that is not there." : null;
    }

    /// <summary>
    /// By name, which SQLite lets only one object have. What SQLite keeps for itself (counters, statistics, automatic indexes) is left out.
    /// </summary>
    private static SortedDictionary<string, (string Kind, string Sql)> Objects(SqliteConnection connection)
    {
        var rows = connection.Query(
            "SELECT type, name, sql, tbl_name FROM sqlite_schema WHERE name NOT GLOB 'sqlite_*'",
            row => (Kind: row.GetString(0), Name: row.GetString(1), Sql: row.IsDBNull(2) ? "" : row.GetString(2), On: row.GetString(3)));
        var all = new SortedDictionary<string, (string, string)>(StringComparer.OrdinalIgnoreCase);
        foreach (var (kind, name, sql, on) in rows)
        {
            var plain = Normal(sql);
            // A name twice is no work of SQLite's own.
            if (!all.TryAdd(name, (plain.StartsWith("create virtual", StringComparison.OrdinalIgnoreCase) ? "virtual table" : kind, plain)))
                all[$"{name} (on {on})"] = (kind, plain);
        }

        return all;
    }

    /// <summary>The columns of a table that differ, which says more than two long statements do.</summary>
    private static string? Difference(SqliteConnection connection, SqliteConnection right, string name, string kind)
    {
        if (kind != "table") return null;
        var (ours, theirs) = (Columns(right, name), Columns(connection, name));
        var lacks = ours.Except(theirs, StringComparer.OrdinalIgnoreCase).ToList();
        var more = theirs.Except(ours, StringComparer.OrdinalIgnoreCase).ToList();
        if (lacks.Count + more.Count == 0) return null;
        var parts = new List<string>();
        if (lacks.Count > 0) parts.Add($"lacks {string.Join(", ", lacks)}");
        if (more.Count > 0) parts.Add($"has {string.Join(", ", more)}, which no record has");
        return $"its table '{name}' {string.Join(" and ", parts)}.";
    }

    private static List<string> Columns(SqliteConnection connection, string table) =>
        [.. connection.Query("SELECT name FROM pragma_table_xinfo($table)", row => row.GetString(0), ("$table", table))];

    /// <summary>The statement without comments and without what spaces may vary: earlier programs laid theirs out in other ways.</summary>
    private static string Normal(string sql) => Around().Replace(Spaces().Replace(Comments().Replace(sql, " "), " "), "${sign}").Trim();

    [GeneratedRegex(@"--[^\n]*|/\*.*?\*/", RegexOptions.Singleline | RegexOptions.NonBacktracking)]
    private static partial Regex Comments();

    [GeneratedRegex(@"\s+", RegexOptions.NonBacktracking)]
    private static partial Regex Spaces();

    [GeneratedRegex(@" ?(?<sign>[(),;=<>]) ?", RegexOptions.ExplicitCapture | RegexOptions.NonBacktracking)]
    private static partial Regex Around();
}
