using System.Globalization;
using CsvHelper;
using Microsoft.Data.Sqlite;
using RootCellar.Household;
using RootCellar.Ledger;
using RootCellar.Lots;
using RootCellar.Places;
using RootCellar.Storage;

namespace RootCellar.Report;

/// <summary>
/// How every bin stood at each midnight, and at the last moment, as CSV: by the book and by estimate, as known from what had been weighed
/// by then. Worked out from readings and ledger; out only, for they are where it comes in.
/// </summary>
internal static class EstimateCsv
{
    private static readonly string[] Columns =
    [
        "at", "bin", "lot", "crop", "variety", "grade", "place", "book_kg", "estimate_low_kg", "estimate_kg", "estimate_high_kg",
        "lost_pct", "healing_stage", "healing_days",
        "rest_used_low", "rest_used", "rest_used_high", "dark_hours", "shrink_scale_kg", "shrink_estimate_kg",
    ];

    // A lot is let go before the next is begun.
    private const int MostKnown = 400_000;

    /// <param name="from">From this time on.</param>
    /// <param name="to">Until before this time; the air that is on disk ends it earlier.</param>
    /// <param name="failed">Told of each lot that could not be worked out; the others are exported all the same.</param>
    public static long Export(SqliteConnection connection, Book book, TextWriter output, DateTimeOffset from, DateTimeOffset to,
        CsvFor use = CsvFor.Import, Action<LotView, Exception>? failed = null)
    {
        using var moment = connection.BeginTransaction(deferred: true);
        using var csv = CsvFile.Write(output, Columns, use);
        if (connection.Scalar("SELECT max(at_ms) FROM air") is not long last) return 0;
        long now = Math.Min(TimeStep.Of(last) + 1, to == DateTimeOffset.MaxValue ? long.MaxValue : TimeStep.Of(to));
        // What happened later is no part of it.
        book = BookBuilder.Then(book, TimeStep.At(now));
        var purposes = PlaceRows.All(connection).ToDictionary(p => p.Id, p => p.Purpose, StringComparer.Ordinal);
        var courses = new TrajectoryCache();
        courses.Use(connection);
        var house = HouseSays.Of(book, purposes, courses, now);
        long count = 0;
        foreach (var lot in book.Lots.Values.OrderBy(l => l.Id, StringComparer.Ordinal)
            .Where(l => l.Bins.Count > 0 && TimeStep.Of(l.DugAt) < now))
        {
            List<(BinView Bin, LotSample Sample)> rows;
            try
            {
                rows = [.. Rows(lot, purposes, courses, from, now, book.Calendar, house)];
            }
            catch (Exception e) when (e is not OperationCanceledException)
            {
                courses.Abandon(lot.Id);
                failed?.Invoke(lot, e);
                continue;
            }

            foreach (var (bin, sample) in rows)
            {
                Write(csv, lot, bin, sample);
                count++;
            }
        }

        return count;
    }

    private static IEnumerable<(BinView Bin, LotSample Sample)> Rows(
        LotView lot, Dictionary<string, Purpose> purposes, TrajectoryCache courses, DateTimeOffset from, long now,
        HouseholdCalendar calendar, HouseSays house)
    {
        if (LotLearning.Of(lot, purposes, courses, now, house) is not { } learned) yield break;
        var known = new PastFigures(MostKnown);
        var moments = Midnights(from > lot.DugAt ? from : lot.DugAt, now, calendar);
        foreach (var bin in lot.Bins.OrderBy(b => b.FilledAt).ThenBy(b => b.Id, StringComparer.Ordinal))
        {
            foreach (var sample in known.Filling(bin, learned, moments, courses).OfType<LotSample>()) yield return (bin, sample);
        }
    }

    private static List<long> Midnights(DateTimeOffset from, long now, HouseholdCalendar calendar)
    {
        var moments = new List<long>();
        var day = calendar.DayOf(from);
        for (long cell; (cell = TimeStep.Of(calendar.StartOf(day))) < now; day = day.AddDays(1))
        {
            if (cell >= TimeStep.Of(from)) moments.Add(cell);
        }

        if (now >= TimeStep.Of(from)) moments.Add(now);
        return moments;
    }

    private static void Write(CsvWriter csv, LotView lot, BinView bin, LotSample s)
    {
        csv.WriteField(CsvFile.Time(s.At));
        csv.WriteField(bin.Id);
        csv.WriteField(lot.Id);
        csv.WriteField(lot.Crop);
        csv.WriteField(lot.Variety);
        csv.WriteField(bin.Grade);
        csv.WriteField(bin.Stays.LastOrDefault(p => p.From <= s.At)?.Place);
        foreach (double kg in (double[])[s.BookKg, s.Kg.Low, s.Kg.Value, s.Kg.High]) csv.WriteField(Figure(kg, "0.000"));
        csv.WriteField(Figure(s.Shrink.Percent, "0.00"));
        csv.WriteField(s.Stage.ToString().ToLowerInvariant());
        csv.WriteField(Figure(s.HealedDays, "0.00"));
        foreach (double? share in (double?[])[s.RestUsed?.Low, s.RestUsed?.Value, s.RestUsed?.High])
            csv.WriteField(share is { } of ? Figure(of, "0.000") : null);
        csv.WriteField(Figure(s.DarkHours, "0.0"));
        foreach (long grams in (long[])[s.Shrink.ByScaleGrams, s.Shrink.ByEstimateGrams]) csv.WriteField(Figure(grams / 1000.0, "0.000"));
        csv.NextRecord();
    }

    private static string Figure(double value, string format) => value.ToString(format, CultureInfo.InvariantCulture);
}
