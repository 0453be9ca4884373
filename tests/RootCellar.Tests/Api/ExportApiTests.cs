using System.Globalization;
using System.Net;
using Microsoft.Data.Sqlite;
using RootCellar.Readings;
using RootCellar.Storage;
using RootCellar.Tests.Pages;
using RootCellar.Tests.Storage;
using RootCellar.Watch;

namespace RootCellar.Tests.Api;

/// <summary>Everything in the record as CSV, over the wire.</summary>
public sealed class ExportApiTests
{
    private const int Many = 200_000;

    [Fact]
    public async Task A_month_of_readings_and_years_of_summaries_come_row_by_row_and_whole()
    {
        await using var site = await Site.OpenAsync(fill: store => store.WriteAsync(Fill));

        var rows = (await site.ReadAsync("/api/export?what=readings")).Split('\n', StringSplitOptions.RemoveEmptyEntries);
        rows.Should().HaveCount(Many + 1);
        rows[0].Should().Be("sensor,quantity,at,value,arrived_at,time_source,quality,reason,number,sensor_name,spreadsheet");
        rows[1].Should().StartWith("cellar/a,temperature_c,2025-09-20T00:00:00.000");
        var from = new DateTimeOffset(2025, 9, 21, 0, 0, 0, TimeSpan.Zero);
        rows = (await site.ReadAsync(string.Create(CultureInfo.InvariantCulture, $"/api/export?what=readings&for=import&from={from:yyyy-MM-dd'T'HH:mm:ss}Z&to={from.AddMinutes(1):yyyy-MM-dd'T'HH:mm:ss}Z")))
            .Split('\n', StringSplitOptions.RemoveEmptyEntries);
        rows.Should().HaveCount(1 + 60);
        (await site.ReadAsync("/api/export?what=summaries&to=2024-01-01")).Split('\n', StringSplitOptions.RemoveEmptyEntries).Should().HaveCount(2);
        (await site.ReadAsync("/api/export?what=ledger")).Should().StartWith("id,");
        (await site.ReadAsync("/api/export?what=estimates")).Should().NotBeEmpty();
        (await site.ReadAsync("/api/export?what=air")).Should().StartWith("at,place,");
        var alarms = (await site.ReadAsync("/api/export?what=alarms")).Split('\n', StringSplitOptions.RemoveEmptyEntries);
        alarms.Should().HaveCount(2);
        alarms[1].Should().StartWith("cellar-too-warm-3,1,too-warm,cellar,").And.Contain("temperatureC").And.Contain("'=Ann", "no cell is a formula");
        (await site.WordsAsync("/set-up/backup")).Should().Contain("Any part of the record as CSV");
    }

    [Theory]
    [InlineData("what=weather", "what: 'weather' is not one of readings, air, summaries, alarms, ledger, estimates.")]
    [InlineData("", "what: ")]
    [InlineData("what=air&from=yesterday", "from: 'yesterday' is not a time")]
    [InlineData("what=air&from=2025-02-01&to=2025-01-01", "from must be before to")]
    [InlineData("what=air&for=fun", "for: 'fun' is not one of spreadsheet, import")]
    public async Task What_is_wrong_is_said_with_what_would_be_right(string query, string said)
    {
        await using var site = await Site.OpenAsync();
        var answer = await site.LookAsync("/api/export?" + query);
        (answer.Status, WebUtility.HtmlDecode(System.Text.RegularExpressions.Regex.Unescape(answer.Html))).Should()
            .Match<(HttpStatusCode Status, string Html)>(a => a.Status == HttpStatusCode.BadRequest && a.Html.Contains(said, StringComparison.Ordinal));
    }

    private static void Fill(SqliteConnection c)
    {
        var begin = new DateTimeOffset(2025, 9, 20, 0, 0, 0, TimeSpan.Zero).ToUnixTimeMilliseconds();
        SensorRows.Save(c, new SensorRow(1, "cellar/a", null, null, null, Sample.At, null));
        c.Execute(
            """
            WITH RECURSIVE n(i) AS (SELECT 0 UNION ALL SELECT i + 1 FROM n WHERE i < $many - 1)
            INSERT INTO reading (sensor, quantity, at_ms, seq, value, arrived_ms, time_source, quality, reason)
            SELECT 1, 1, $begin + i * 1000, i, 5.25, $begin + i * 1000, 0, 0, NULL FROM n
            """,
            ("$many", Many), ("$begin", begin));
        c.Execute("INSERT INTO rollup (sensor, quantity, at_ms, low, mean, high, count) VALUES (1, 1, 1600000000000, 4, 5, 6, 10)");
        AlarmRows.Save(c, new Alarm(
            "cellar-too-warm-3", 3, Rule.TooWarm, "cellar", null, AlarmPriority.High, AlarmState.Normal, false, Measure.Air, 12.5, 10, 13,
            Sample.At, Sample.At, ReturnedAt: Sample.At.AddHours(1), AcknowledgedBy: "=Ann"));
    }
}
