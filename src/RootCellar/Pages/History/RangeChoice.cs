using System.Globalization;
using RootCellar.Charts;
using RootCellar.Household;

namespace RootCellar.Pages.History;

/// <summary>The choice of what time to show, on the page that shows it.</summary>
/// <param name="Bin">What else the address says.</param>
internal sealed record RangeChoice(string Address, HistorySpan Span, string? Bin, Show Show)
{
    public string From => Day(Span.From);

    // A day that ends at midnight is the day before.
    public string To => Day(Span.To.AddTicks(-1));

    public string Link(string range) => $"{Address}?range={range}{(Bin is null ? "" : "&bin=" + Uri.EscapeDataString(Bin))}";

    /// <summary>The part of a picture's address that says which time it shows.</summary>
    public string Query =>
        string.Create(CultureInfo.InvariantCulture,
            $"?from={Span.From.UtcDateTime:yyyy-MM-ddTHH:mm:ssZ}&to={Span.To.UtcDateTime:yyyy-MM-ddTHH:mm:ssZ}");

    public static string Name(string range) => range switch
    {
        "day" => Strings.RangeDay,
        "week" => Strings.RangeWeek,
        "month" => Strings.RangeMonth,
        _ => Strings.RangeSeason,
    };

    private string Day(DateTimeOffset at) => Show.Local(at).ToString("yyyy-MM-dd", CultureInfo.InvariantCulture);
}
