using System.Globalization;
using CsvHelper;
using CsvHelper.Configuration;
using RootCellar.Science.Keeping;

namespace RootCellar.Commands;

/// <summary>What `outlook` is given: holds, a file of air, a length of rest. Every complaint says where, and what would be right.</summary>
internal static class OutlookInput
{
    private const double ColdestC = -20;
    private const double WarmestC = 50;
    private const double LongestDays = 3 * 365;
    private const string HoldExample = "--hold \"12.8C 95% 14d\"";

    /// <summary>"12.8C 95% 14d" or "12.8C..7.2C 95% 20d", one or more, each as one argument or as three.</summary>
    public static IReadOnlyList<AirSpan> Holds(IEnumerable<string> written)
    {
        string[] words = [.. written.SelectMany(text =>
            text.Split(' ', StringSplitOptions.RemoveEmptyEntries | StringSplitOptions.TrimEntries))];
        if (words.Length == 0 || words.Length % 3 != 0)
            throw new UsageException(
                $"--hold \"{string.Join(' ', words)}\": each hold is a temperature, a humidity and a length of time, such as {HoldExample}.");
        var spans = new List<AirSpan>();
        foreach (string[] hold in words.Chunk(3))
        {
            (double from, double to) = Ends(hold[0], Measure.Temperature, ColdestC, WarmestC, "from -20C to 50C");
            (double damp, double dry) = Ends(hold[1], Measure.Humidity, 1, 100, "from 1% to 100%");
            double days = Read(hold[2], Measure.Days, 1.0 / 24, LongestDays, "from 1h to 1095d");
            spans.Add(new AirSpan(days * 24, new LotAir(from, damp), new LotAir(to, dry)));
        }

        return Checked(spans);
    }

    /// <summary>
    /// `hours,temperature_c,humidity_pct[,pulp_c][,light_lx]`: the hour since digging and the air then; between rows it goes straight over.
    /// </summary>
    public static IReadOnlyList<AirSpan> File(string path)
    {
        if (string.IsNullOrWhiteSpace(path))
            throw new UsageException("--air needs the name of a file, such as --air cellar.csv.");
        List<(double Hours, LotAir Air)> rows;
        try
        {
            using var text = new StreamReader(path);
            rows = Rows(path, text);
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException)
        {
            throw new UsageException($"--air {path} cannot be read: {e.Message}");
        }
        catch (CsvHelperException e)
        {
            throw new UsageException($"--air {path} is not a table of comma-separated values: {e.Message.Split('\n')[0].Trim()}");
        }

        if (rows.Count < 2)
            throw new UsageException(
                $"--air {path} has {rows.Count} row{(rows.Count == 1 ? "" : "s")} of air; it needs two or more, the last one saying when the air ends.");
        if (rows[0].Hours > 24)
            throw new UsageException(
                string.Create(CultureInfo.InvariantCulture,
                    $"--air {path} begins at hour {rows[0].Hours}; hours are counted from digging, so that the first row is at 0 or soon after."));
        if (rows[0].Hours > 0)
            rows.Insert(0, (0, rows[0].Air));
        Fill(rows, air => air.PulpC, (air, pulpC) => air with { PulpC = pulpC });
        Fill(rows, air => air.LightLux, (air, lux) => air with { LightLux = lux });
        return Checked([.. rows.Zip(rows.Skip(1), (from, to) => new AirSpan(to.Hours - from.Hours, from.Air, to.Air))]);
    }

    /// <summary>"165d@7.2C": days until sprouted if held at that temperature.</summary>
    public static RestPrior Rest(string written)
    {
        string[] parts = written.Split('@', StringSplitOptions.TrimEntries);
        if (parts.Length != 2)
            throw new UsageException(
                $"--dormancy \"{written}\" cannot be read; write the days until it sprouts at a temperature, such as 165d@7.2C.");
        double days = Read(parts[0], Measure.Days, 10, 500, "from 10d to 500d", "--dormancy ");
        double heldAtC = Read(parts[1], Measure.Temperature, 2.5, 30, "from 2.5C (36.5F; sprouts hardly grow below) to 30C", "--dormancy ");
        if (days < 2 * Dormancy.SproutedMm / Dormancy.SproutMmPerDay(heldAtC))
            throw new UsageException(
                $"--dormancy \"{written}\": at that temperature the sprouts alone take most of that time to reach 5 mm; give more days or a warmer temperature.");
        return new RestPrior(days, heldAtC);
    }

    private static List<(double Hours, LotAir Air)> Rows(string path, StreamReader text)
    {
        using var csv = new CsvReader(text, new CsvConfiguration(CultureInfo.InvariantCulture)
        {
            TrimOptions = TrimOptions.Trim,
            PrepareHeaderForMatch = header => header.Header.ToLowerInvariant(),
            AllowComments = true,
            // A short row is complained of where its cell is read.
            MissingFieldFound = null,
            BadDataFound = bad => throw new UsageException(
                $"--air {path} line {bad.Context.Parser?.RawRow}: a quotation mark stands where none belongs."),
        });
        if (!csv.Read() || !csv.ReadHeader())
            throw new UsageException(
                $"--air {path} is empty; its first line must be hours,temperature_c,humidity_pct with pulp_c and light_lx if known.");
        string[] header = [.. csv.HeaderRecord!.Select(name => name.ToLowerInvariant())];
        string[] known = ["hours", "temperature_c", "humidity_pct", "pulp_c", "light_lx"];
        foreach (string needed in known.Take(3).Where(name => !header.Contains(name, StringComparer.Ordinal)))
            throw new UsageException(
                $"--air {path} has no column {needed}; its first line must be hours,temperature_c,humidity_pct with pulp_c and light_lx if known.");
        if (header.FirstOrDefault(name => header.Count(n => n == name) > 1) is { } twice)
            throw new UsageException($"--air {path} has two columns called {twice}; one must go.");
        foreach (string other in header.Where(name => !known.Contains(name, StringComparer.Ordinal)))
            throw new UsageException($"--air {path} has a column \"{other}\" that is not known; known are {string.Join(", ", known)}.");

        var rows = new List<(double, LotAir)>();
        while (csv.Read())
        {
            double Cell(string name, double low, double high, bool needed)
            {
                string cell = header.Contains(name, StringComparer.Ordinal) ? csv.GetField(name) ?? "" : "";
                if (cell.Length == 0 && !needed)
                    return double.NaN;
                if (!double.TryParse(cell, NumberStyles.Float, CultureInfo.InvariantCulture, out double value)
                    || !(value >= low && value <= high))
                    throw new UsageException(
                        string.Create(CultureInfo.InvariantCulture,
                            $"--air {path} line {csv.Parser.RawRow}, {name}: \"{cell}\" must be a number from {low} to {high}."));
                return value;
            }

            double hours = Cell("hours", 0, LongestDays * 24, needed: true);
            if (rows.Count > 0 && !(hours > rows[^1].Item1))
                throw new UsageException(
                    string.Create(CultureInfo.InvariantCulture,
                        $"--air {path} line {csv.Parser.RawRow}, hours: {hours} does not come after {rows[^1].Item1}; hours are counted from digging and rise from row to row."));
            rows.Add((hours, new LotAir(
                Cell("temperature_c", ColdestC, WarmestC, needed: true),
                Cell("humidity_pct", 1, 100, needed: true),
                Cell("pulp_c", ColdestC, WarmestC, needed: false),
                Cell("light_lx", 0, 200_000, needed: false))));
        }

        return rows;
    }

    /// <summary>
    /// A column known in some rows only goes straight from one to the next, and is held before the first and after the last.
    /// </summary>
    private static void Fill(List<(double Hours, LotAir Air)> rows, Func<LotAir, double> column, Func<LotAir, double, LotAir> with)
    {
        int[] known = [.. Enumerable.Range(0, rows.Count).Where(i => !double.IsNaN(column(rows[i].Air)))];
        if (known.Length == 0)
            return;
        for (int i = 0, next = 0; i < rows.Count; i++)
        {
            while (next < known.Length - 1 && known[next] < i)
                next++;
            int to = known[next];
            int from = next > 0 && to > i ? known[next - 1] : to;
            double share = to > from ? (rows[i].Hours - rows[from].Hours) / (rows[to].Hours - rows[from].Hours) : 0;
            double low = column(rows[from].Air);
            rows[i] = (rows[i].Hours, with(rows[i].Air, low + (column(rows[to].Air) - low) * share));
        }
    }

    private static IReadOnlyList<AirSpan> Checked(IReadOnlyList<AirSpan> spans)
    {
        double days = spans.Sum(span => span.Hours) / 24;
        return days <= LongestDays + 1e-6
            ? spans
            : throw new UsageException(
                string.Create(CultureInfo.InvariantCulture,
                    $"the air lasts {days:0.##} days; an outlook goes up to {LongestDays:0} days."));
    }

    private static (double From, double To) Ends(string written, Measure.Kind kind, double low, double high, string range)
    {
        string[] ends = written.Split("..", StringSplitOptions.TrimEntries);
        if (ends.Length > 2)
            throw new UsageException($"--hold \"{written}\" cannot be read; a change is written from..to, such as 12.8C..7.2C.");
        return (Read(ends[0], kind, low, high, range), Read(ends[^1], kind, low, high, range));
    }

    private static double Read(string written, Measure.Kind kind, double low, double high, string range, string option = "--hold ")
    {
        if (!Measure.TryRead(written, kind, out double value, out string problem))
            throw new UsageException($"{option}{problem}. For instance: {(option == "--hold " ? HoldExample : "--dormancy 165d@7.2C")}");
        return value >= low && value <= high
            ? value
            : throw new UsageException($"{option}{written} is outside what can be worked; it must be {range}.");
    }
}
