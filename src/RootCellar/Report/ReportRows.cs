using System.Text.Json;
using Microsoft.Data.Sqlite;
using RootCellar.Storage;
using RootCellar.Tell;

namespace RootCellar.Report;

/// <summary>What the report of a week said when it was sent, and up to when it told the week. Kept as long as the record.</summary>
internal sealed record AsSent(string Text, IReadOnlyList<SaidFigure> Figures, DateTimeOffset UpTo, DateTimeOffset At);

/// <summary>Which weeks were sent, and what their mails carry.</summary>
internal static class ReportRows
{
    /// <summary>From when on reports are due: when the program first ran here. Nobody wants one of the weeks before.</summary>
    private const string Since = "report_since_ms";

    private const int WeeksKept = 8;

    public static bool IsSent(SqliteConnection connection, string week) =>
        connection.Scalar("SELECT 1 FROM report_sent WHERE week = $week", ("$week", week)) is not null;

    /// <summary>Marks a week with what its mails carry; false where it is marked already.</summary>
    public static bool Mark(SqliteConnection connection, string week, DateTimeOffset at, int mails, string? html,
        IReadOnlyList<Picture> pictures, AsSent? said = null)
    {
        if (IsSent(connection, week)) return false;
        connection.Execute(
            "INSERT INTO report_sent (week, at_ms, mails, html, said, figures, up_to_ms) VALUES ($week, $at, $mails, $html, $said, $figures, $upTo)",
            ("$week", week), ("$at", at.ToUnixTimeMilliseconds()), ("$mails", mails), ("$html", html), ("$said", said?.Text),
            ("$figures", said is null ? null : JsonSerializer.Serialize(said.Figures, JsonRules.Options)),
            ("$upTo", said?.UpTo.ToUnixTimeMilliseconds()));
        foreach (var picture in pictures)
            connection.Execute("INSERT INTO report_picture (week, id, png) VALUES ($week, $id, $png)", ("$week", week), ("$id", picture.Id),
                ("$png", picture.Png));
        // A mail is tried for three days; what is older has gone or never will.
        long old = at.AddDays(-7 * WeeksKept).ToUnixTimeMilliseconds();
        connection.Execute("DELETE FROM report_picture WHERE week IN (SELECT week FROM report_sent WHERE at_ms < $old)", ("$old", old));
        connection.Execute("UPDATE report_sent SET html = NULL WHERE at_ms < $old", ("$old", old));
        return true;
    }

    /// <summary>What the report of a week said when it was sent; null where none was.</summary>
    public static AsSent? Said(SqliteConnection connection, string week) => connection.Query(
        "SELECT said, figures, up_to_ms, at_ms FROM report_sent WHERE week = $week AND said IS NOT NULL",
        row => new AsSent(row.GetString(0), JsonSerializer.Deserialize<IReadOnlyList<SaidFigure>>(row.GetString(1), JsonRules.Options)!,
            row.Time(2), row.Time(3)),
        ("$week", week)) is [var said] ? said : null;

    /// <summary>The HTML and pictures of a week's mails; null where they are kept no more.</summary>
    public static (string Html, IReadOnlyList<Picture> Pictures)? Parts(SqliteConnection connection, string week) =>
        connection.Scalar("SELECT html FROM report_sent WHERE week = $week", ("$week", week)) is string html
            ? (html, connection.Query("SELECT id, png FROM report_picture WHERE week = $week ORDER BY id", row =>
                new Picture(row.GetString(0), (byte[])row.GetValue(1)), ("$week", week)))
            : null;

    /// <summary>From when on reports are due; now, where nobody has asked before.</summary>
    public static DateTimeOffset DueSince(SqliteConnection connection, DateTimeOffset now)
    {
        if (Meta.Get(connection, Since) is { } kept && long.TryParse(kept, System.Globalization.CultureInfo.InvariantCulture, out long ms))
            return DateTimeOffset.FromUnixTimeMilliseconds(ms);
        Meta.Set(connection, Since, now.ToUnixTimeMilliseconds().ToString(System.Globalization.CultureInfo.InvariantCulture));
        return now;
    }
}
