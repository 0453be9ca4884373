using System.Globalization;
using System.Text;
using CsvHelper;
using CsvHelper.Configuration;

namespace RootCellar.Storage;

/// <summary>The file cannot be taken; nothing of it was. The message says the line.</summary>
internal sealed class CsvProblemException(string message) : Exception(message);

/// <summary>Whom a CSV is written for.</summary>
internal enum CsvFor
{
    /// <summary>A person's spreadsheet: no cell of it is a formula. <c>import</c> takes it back to the same.</summary>
    Spreadsheet,

    /// <summary>Another program: every cell exactly as it is kept.</summary>
    Import,
}

/// <summary>How CSV is written here. <see cref="CsvRows"/> reads it.</summary>
internal static class CsvFile
{
    /// <summary>A column without cells, which says that the cells of a file were made inert and are to be read back.</summary>
    public const string Marker = "spreadsheet";

    /// <summary>
    /// The longest cell that is read, in letters (assumed): ten times the longest entry that was ever seen, and far from what a machine has
    /// memory for.
    /// </summary>
    public const int LongestCell = 1_000_000;

    /// <summary>Stands for bytes that are no UTF-8: no text has this character, which Unicode reserves for such uses.</summary>
    public const char NotUtf8 = '\uFFFF';

    /// <summary>A writer that has written the header.</summary>
    public static CsvWriter Write(TextWriter output, IReadOnlyList<string> columns, CsvFor use)
    {
        var csv = use == CsvFor.Import ? new CsvWriter(output, Format(), leaveOpen: true) : new InertCsvWriter(output, Format());
        foreach (var column in columns) csv.WriteField(column);
        csv.NextRecord();
        return csv;
    }

    /// <summary>A file as text, so that what is no UTF-8 is seen on its line. A byte order mark is passed over.</summary>
    public static StreamReader Open(Stream file) =>
        new(file, Encoding.GetEncoding("utf-8", EncoderFallback.ReplacementFallback, new DecoderReplacementFallback(NotUtf8.ToString())),
            detectEncodingFromByteOrderMarks: false);

    public static string Time(DateTimeOffset at) => at.ToString("yyyy-MM-dd'T'HH:mm:ss.fffzzz", CultureInfo.InvariantCulture);

    public static string? Time(DateTimeOffset? at) => at is { } time ? Time(time) : null;

    /// <summary>Every digit of it, so that it is read back as the same.</summary>
    public static string? Number(double? value) => value?.ToString("R", CultureInfo.InvariantCulture);

    internal static CsvConfiguration Format() => new(CultureInfo.InvariantCulture)
    {
        NewLine = "\n",
        // A carriage return without quotes around it would end the row.
        ShouldQuote = args => args.Field?.Contains('\r', StringComparison.Ordinal) == true || ConfigurationFunctions.ShouldQuote(args),
        TrimOptions = TrimOptions.None,
    };
}
