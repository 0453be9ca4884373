using System.Globalization;
using CsvHelper;
using CsvHelper.Configuration;

namespace RootCellar.Storage;

/// <summary>The file cannot be taken; nothing of it was. The message says the line.</summary>
internal sealed class CsvProblemException(string message) : Exception(message);

/// <summary>How CSV is written and read here, so that what goes out comes back the same.</summary>
internal static class CsvFile
{
    public static CsvConfiguration Format() => new(CultureInfo.InvariantCulture)
    {
        NewLine = "\n",
        // A note that is text in quotes stays as it is; spreadsheets are not guarded against, for the file is to come back unchanged.
        InjectionOptions = InjectionOptions.None,
        // Both are told in words of our own.
        MissingFieldFound = null,
        BadDataFound = null,
        TrimOptions = TrimOptions.None,
    };

    public static void ReadHeader(CsvReader csv, IReadOnlyList<string> columns)
    {
        if (!csv.Read() || !csv.ReadHeader()) throw new CsvProblemException($"The file is empty. Its first line would be {string.Join(',', columns)}");
        foreach (var column in columns.Where(c => !csv.HeaderRecord!.Contains(c, StringComparer.Ordinal)))
            throw new CsvProblemException($"Line 1: the column {column} is missing. Right would be {string.Join(',', columns)}");
    }

    public static CsvProblemException No(CsvReader csv, string what) => new($"Line {csv.Parser.RawRow}: {what}.");

    public static string Time(DateTimeOffset at) => at.ToString("yyyy-MM-dd'T'HH:mm:ss.fffzzz", CultureInfo.InvariantCulture);

    public static string? Text(CsvReader csv, string column) => csv.GetField(column) is { Length: > 0 } text ? text : null;

    public static DateTimeOffset Moment(CsvReader csv, string column) => Text(csv, column) is { } text && DateTimeOffset.TryParse(text, CultureInfo.InvariantCulture, DateTimeStyles.AssumeUniversal, out var at)
        ? at
        : throw No(csv, $"{column}: '{csv.GetField(column)}' is not a time; right would be 2026-10-03T16:30:00.000-05:00");
}
