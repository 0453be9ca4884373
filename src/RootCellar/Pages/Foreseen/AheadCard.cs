using RootCellar.Lots;

namespace RootCellar.Pages.Foreseen;

/// <summary>A figure as it goes and, where an air was asked about, if held.</summary>
internal sealed record AheadRow(string What, string Present, string? PresentWhy = null, string? Held = null, string? HeldWhy = null);

/// <summary>A lot on the page.</summary>
/// <param name="Now">What is there now.</param>
/// <param name="Lasts">Until when it lasts, in a word.</param>
/// <param name="Way">What its dates rest on.</param>
/// <param name="Cautions">Whether it is frost, and what the reckoning of the held air does not show.</param>
internal sealed record AheadCard(
    LotAhead Lot, string Now, string Lasts, string Way, IReadOnlyList<AheadRow> Rows, IReadOnlyList<(bool Cold, string Words)> Cautions, AheadChart Chart);

/// <summary>A crop in the sums: its weight now and on days to come.</summary>
internal sealed record AheadCrop(string Name, IReadOnlyList<string> Weights);

/// <summary>All of it together.</summary>
/// <param name="Says">In sentences.</param>
/// <param name="Days">The days of the sums by crop.</param>
internal sealed record AheadAll(
    IReadOnlyList<string> Says, IReadOnlyList<AheadChart> Charts, IReadOnlyList<string> Days, IReadOnlyList<AheadCrop> Crops);

/// <summary>A lot that is not shown by itself: its name and until when it lasts.</summary>
internal sealed record AheadOther(string Lot, string Crop, string Lasts);
