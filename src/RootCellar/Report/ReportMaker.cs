using System.Globalization;
using System.Net;
using System.Reflection;
using System.Security.Cryptography;
using System.Text;
using System.Text.RegularExpressions;
using Microsoft.Data.Sqlite;
using RootCellar.Charts;
using RootCellar.Household;
using RootCellar.Ledger;
using RootCellar.Lots;
using RootCellar.Tell;
using RootCellar.Watch;

namespace RootCellar.Report;

/// <summary>A report made: its words, and its charts by the name the HTML calls them.</summary>
/// <param name="Html">What stands in the body, without the page round it.</param>
internal sealed record MadeReport(WeekFigures Figures, string Subject, string Text, string Html, IReadOnlyList<ReportChart> Charts)
{
    public required WeekVerdict Verdict { get; init; }

    /// <summary>A whole document with its pictures inside, for a file or a mail.</summary>
    public string Document() =>
        $"""
        <!DOCTYPE html>
        <html lang="{Strings.Language}">
        <head>
        <meta charset="utf-8">
        <meta name="viewport" content="width=device-width, initial-scale=1">
        <meta name="color-scheme" content="light dark">
        <title>{WebUtility.HtmlEncode(Subject)}</title>
        <style>
        {ReportMaker.Style}
        </style>
        </head>
        <body>
        <main class="mail">
        {Html}
        </main>
        </body>
        </html>

        """;
}

/// <summary>
/// Makes the report of a week out of the record: figures, charts, words, in the language that is spoken where it is asked for. Changes nothing, so it also works beside the running service.
/// </summary>
internal sealed partial class ReportMaker(HouseholdOptions household, WatchOptions watch, HttpOptions http, ReportTemplates templates)
{
    private static readonly Lazy<string> ReadStyle = new(() =>
    {
        using var reader = new StreamReader(Assembly.GetExecutingAssembly().GetManifestResourceStream("Templates/report.css")!);
        return reader.ReadToEnd();
    });

    private const int LongestSubject = 160;

    public static string Style => ReadStyle.Value;

    public ReportWords Words { get; } = new(household);

    public ReportTemplates Templates => templates;

    /// <summary>How a picture is named in a mail, without the signs round it.</summary>
    public static string ContentId(ReportChart chart) =>
        $"{chart.Figure}.{Convert.ToHexStringLower(SHA256.HashData(Encoding.UTF8.GetBytes(chart.Place ?? chart.Lot ?? "")), 0, 8)}@rootcellar.invalid";

    /// <param name="connection">The record.</param>
    /// <param name="book">The book as it stands.</param>
    /// <param name="week">Which week.</param>
    /// <param name="upTo">How far the air is on disk.</param>
    /// <param name="courses">States already worked out from this record; null to begin with those it keeps.</param>
    public WeekFigures Figures(SqliteConnection connection, Book book, Week week, DateTimeOffset upTo, TrajectoryCache? courses = null)
    {
        courses ??= new TrajectoryCache();
        var figures = WeekFigures.Of(connection, book, week, upTo, watch, courses);
        if (ReportRows.Said(connection, week.Name) is not { } sent) return figures;
        // Held against what it said is the week up to the same moment: what happened after it is no correction.
        var told = WeekFigures.Until(week, sent.UpTo);
        if (told > figures.UpTo) return figures;
        var then = told == figures.UpTo ? figures : WeekFigures.Of(connection, book, week, told, watch, courses);
        return figures with { Sent = sent, Corrected = CorrectedFigure.Of(sent, then, book, Words) };
    }

    /// <param name="connection">The record.</param>
    /// <param name="book">The book as it stands.</param>
    /// <param name="week">Which week.</param>
    /// <param name="upTo">How far the air is on disk.</param>
    /// <param name="source">Where the picture of a chart is, for the HTML.</param>
    /// <param name="late">When it was due, of a report that comes late.</param>
    /// <param name="page">For the house's own pages, not for a mail or a file.</param>
    public MadeReport Make(
        SqliteConnection connection, Book book, Week week, DateTimeOffset upTo, Func<ReportChart, WeekFigures, string> source,
        DateTimeOffset? late = null, bool page = false)
    {
        var courses = new TrajectoryCache();
        var figures = Figures(connection, book, week, upTo, courses);
        var charts = ReportCharts.Of(connection, figures.Then, figures, Words, watch, courses);
        var values = new ReportValues(figures, Words, [.. charts.Select(c => Said(c, source(c, figures)))]);
        string link = Uri.TryCreate(http.PublicUrl, UriKind.Absolute, out var home) ? new Uri(home, "/report?week=" + week.Name)
            .ToString() : "";
        var all = values.All(link, late is { } due ? Strings.ReportLate.With(Words.Time(due, due)) : "", page);
        string subject = ReportWords.Line(templates.Render(ReportTemplates.Subject, all), LongestSubject);
        return new MadeReport(figures, subject, templates.Render(ReportTemplates.Text, all).ReplaceLineEndings("\n").TrimEnd() + "\n",
            Together(templates.Render(ReportTemplates.Html, all)), charts)
        {
            Verdict = values.Verdict,
        };
    }

    /// <summary>The report as a mail: words, HTML and pictures.</summary>
    public (MadeReport Report, IReadOnlyList<Picture> Pictures) Mail(SqliteConnection connection, Book book, Week week,
        DateTimeOffset upTo, DateTimeOffset? late = null)
    {
        var made = Make(connection, book, week, upTo, (c, _) => "cid:" + ContentId(c), late);
        return (made, [.. made.Charts.Select(c => new Picture(ContentId(c), ChartPng.Draw(c.Spec)))]);
    }

    /// <summary>The report as one file, its pictures inside.</summary>
    public MadeReport File(SqliteConnection connection, Book book, Week week, DateTimeOffset upTo) =>
        Make(connection, book, week, upTo, (c, _) => "data:image/png;base64," + Convert.ToBase64String(ChartPng.Draw(c.Spec)));

    private SaidChart Said(ReportChart chart, string source)
    {
        var (caption, says) = chart switch
        {
            { Place: not null } => (ReportCharts.AirCaption(chart.Spec), ChartText.Of(chart.Spec)),
            { Lot: not null } => (ReportCharts.WeightCaption(chart.Spec, Words), ReportCharts.WeightInWords(chart.Spec, Words)),
            _ => (Strings.ReportLotsCaption, LotLines.InWords(chart.Spec, Words)),
        };
        return new SaidChart(chart.Place, chart.Lot, chart.Spec.Title, caption, source, says, chart.Spec.Width, chart.Spec.Height);
    }

    /// <summary>A figure stays on one line with its unit, a day with its month, the two ends of an interval with each other.</summary>
    private static string Together(string html)
    {
        var months = CultureInfo.CurrentCulture.DateTimeFormat.AbbreviatedMonthNames;
        return Pairs().Replace(html, m => m.Groups["word"] is { Success: true } word && !months.Contains(word.Value) ? m.Value
            : m.Value.Replace(' ', '\u00A0'));
    }

    [GeneratedRegex(@"\([0-9.]+ \p{L}+ [0-9.]+\)|(&minus;|\+) (?=[0-9])|(?<=[0-9]) (%|(lb|kg|(°|&#176;)[FC])\b|(?<word>\p{L}+))",
        RegexOptions.ExplicitCapture, matchTimeoutMilliseconds: 5000)]
    private static partial Regex Pairs();
}
