using System.Text.RegularExpressions;
using CsvHelper;
using CsvHelper.Configuration;

namespace RootCellar.Storage;

/// <summary>
/// Writes cells that no spreadsheet takes for a formula: an apostrophe goes before what could begin one, as a person would type it. What is
/// a negative number stays one. TimeStep that a spreadsheet would cut in two, being set to another separator than the comma, are inert in
/// both halves. <see cref="AsKept"/> undoes it exactly.
/// </summary>
internal sealed partial class InertCsvWriter(TextWriter output, CsvConfiguration format) : CsvWriter(output, Inert(format), leaveOpen: true)
{
    // What begins a formula, also in the wide letters of East Asian keyboards; and the apostrophe itself, so that it can be told from ours.
    private static readonly char[] Beginnings = ['=', '+', '-', '@', '\t', '\r', '\n', '\'', '\uFF1D', '\uFF0B', '\uFF0D', '\uFF20'];

    /// <summary>A cell as it was before it was made inert.</summary>
    public static string AsKept(string cell) => Inserted().Replace(cell, "");

    public override void NextRecord()
    {
        WriteField(Row == 1 ? CsvFile.Marker : "");
        base.NextRecord();
    }

    protected override string? SanitizeForInjection(string? field) =>
        field is null || NegativeNumber().IsMatch(field) ? field : Within().Replace(base.SanitizeForInjection(field) ?? "", "'");

    private static CsvConfiguration Inert(CsvConfiguration format)
    {
        format.InjectionOptions = InjectionOptions.Escape;
        format.InjectionCharacters = Beginnings;
        format.InjectionEscapeCharacter = '\'';
        return format;
    }

    [GeneratedRegex(@"^-\d+(\.\d+)?([eE][-+]?\d+)?$", RegexOptions.CultureInvariant | RegexOptions.ExplicitCapture, 1000)]
    private static partial Regex NegativeNumber();

    [GeneratedRegex("(?<=[;\\t\\r\\n])(?=[=+\\-@'\"\\t\\r\\n\uFF1D\uFF0B\uFF0D\uFF20])", RegexOptions.CultureInvariant, 1000)]
    private static partial Regex Within();

    [GeneratedRegex("(?<=^|[;\\t\\r\\n])'", RegexOptions.CultureInvariant, 1000)]
    private static partial Regex Inserted();
}
