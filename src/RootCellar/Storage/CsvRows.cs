using System.Globalization;
using CsvHelper;

namespace RootCellar.Storage;

/// <summary>
/// Reads CSV as <see cref="CsvFile"/> writes it, also after an editor has changed its line ends or put a byte order mark before it.
/// Whatever cannot be taken is refused with its line: what was wrong, and what would be right.
/// </summary>
internal sealed class CsvRows : IDisposable
{
    /// <summary>The longest text of a cell that nobody gave another limit, letters.</summary>
    private const int Longest = 200;

    /// <summary>So much of a wrong cell is said again, letters.</summary>
    private const int Shown = 60;

    private readonly CsvReader csv;
    private readonly string[] header;
    private readonly bool inert;
    private readonly bool otherLineEnds;
    private int line;

    /// <param name="input">The text, made by <see cref="CsvFile.Open"/> where it comes from a file.</param>
    /// <param name="columns">Those it must have.</param>
    /// <exception cref="CsvProblemException">It has not, or no row at all.</exception>
    public CsvRows(TextReader input, IReadOnlyList<string> columns)
    {
        var format = new CsvHelper.Configuration.CsvConfiguration(CultureInfo.InvariantCulture)
        {
            // Both are told in words of our own.
            MissingFieldFound = null,
            BadDataFound = null,
            MaxFieldSize = CsvFile.LongestCell,
        };
        csv = new CsvReader(input, format, leaveOpen: true);
        if (!Next() || !csv.ReadHeader())
            throw new CsvProblemException($"The file is empty. Its first line would be {string.Join(',', columns)}");
        header = csv.HeaderRecord!;
        // An editor that gave the lines other ends gave them to the lines of a note as well.
        otherLineEnds = csv.Parser.RawRecord.EndsWith("\r\n", StringComparison.Ordinal);
        inert = header.Contains(CsvFile.Marker, StringComparer.Ordinal);
        foreach (var column in columns.Where(c => !header.Contains(c, StringComparer.Ordinal)))
        {
            var apart = header is [var one] && one.Contains(';', StringComparison.Ordinal)
                ? " Its columns are kept apart by semicolons; right would be commas." : "";
            throw new CsvProblemException($"Line 1: the column {column} is missing.{apart} Right would be {string.Join(',', columns)}");
        }
    }

    public bool Has(string column) => header.Contains(column, StringComparer.Ordinal);

    /// <summary>Goes on to the next row; false at the end.</summary>
    public bool Read()
    {
        if (!Next()) return false;
        var given = csv.Parser.Count;
        if (given == header.Length) return true;
        throw No(given < header.Length
            ? $"there are {given} cells, and the first line has {header.Length}; is the end of the line cut off, or a quotation mark not closed"
            : $"there are {given} cells, and the first line has {header.Length}; a text with a comma in it stands in quotation marks");
    }

    /// <summary>A cell; null where it is empty or there is no such column.</summary>
    public string? Text(string column, int longest = Longest)
    {
        if (csv.GetField(column) is not { Length: > 0 } cell) return null;
        if (otherLineEnds) cell = cell.Replace("\r\n", "\n", StringComparison.Ordinal);
        var text = inert ? InertCsvWriter.AsKept(cell) : cell;
        if (text.Length > longest) throw No($"{column}: it has {text.Length} letters; at most {longest} can be");
        return text.Length == 0 ? null : text;
    }

    public DateTimeOffset Moment(string column) =>
        Text(column) is { } text && text.Length > 10 && text[4] == '-' && text[10] is 'T' or 't' or ' '
            && DateTimeOffset.TryParse(text, CultureInfo.InvariantCulture, DateTimeStyles.AssumeUniversal, out var at)
                && at.Year is >= 1970 and < 3000
            ? at
            : throw No($"{column}: '{Short(column)}' is not a time; right would be 2026-10-03T16:30:00.000-05:00");

    /// <summary>A whole number; null where the cell is empty.</summary>
    public long? Whole(string column) => Text(column) is not { } text
        ? null
        : long.TryParse(text, NumberStyles.AllowLeadingSign, CultureInfo.InvariantCulture, out var number)
            ? number : throw No($"{column}: '{Short(column)}' is not a whole number");

    /// <summary>One of a few words, as the program spells them.</summary>
    public T Word<T>(string column, T otherwise)
        where T : struct, Enum
    {
        if (Text(column) is not { } text) return otherwise;
        return Enum.TryParse<T>(text, out var word) && Enum.IsDefined(word) && char.IsAsciiLetter(text[0])
            ? word
            : throw No($"{column}: '{Short(column)}' is not one of {string.Join(", ", Enum.GetNames<T>())}");
    }

    /// <summary>The beginning of a cell, to say what was wrong.</summary>
    public string Short(string column) => csv.GetField(column) is { Length: > Shown } all ? all[..Shown] + "..." : csv.GetField(column)
        ?? "";

    /// <summary>What is wrong with the row that was read last, by the line it begins on.</summary>
    public CsvProblemException No(string what) => new($"Line {line}: {what}.");

    public void Dispose() => csv.Dispose();

    private bool Next()
    {
        line = csv.Parser.RawRow + 1;
        try
        {
            if (!csv.Read()) return false;
        }
        catch (MaxFieldSizeException)
        {
            throw No($"a cell has more than {CsvFile.LongestCell} letters; is a quotation mark not closed");
        }

        if (csv.Parser.Record?.Any(cell => cell.Contains(CsvFile.NotUtf8, StringComparison.Ordinal)) == true)
            throw No("it is not UTF-8; save the file as UTF-8, which spreadsheets call \"CSV UTF-8\"");
        return true;
    }
}
