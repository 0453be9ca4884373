using RootCellar.Science.Keeping;
using RootCellar.Science.Tests.Keeping;

namespace RootCellar.Science.Tests.Published;

/// <summary>Loss norms month by month from September on, in percent of what was there at the month's beginning.</summary>
/// <param name="Source">Who set them.</param>
/// <param name="What">Produce and store.</param>
/// <param name="Crop">The crop taken for it.</param>
/// <param name="Packing">How it is taken to stand.</param>
/// <param name="MonthC">Temperature of each month, C: assumed, for the norms give none.</param>
/// <param name="Humidity">Humidity, percent: assumed.</param>
/// <param name="Percent">The norms.</param>
/// <param name="FirstMonth">The first month of <paramref name="Percent"/> that is held against ours, 0 for September: the earlier ones are
/// elsewhere.</param>
/// <param name="Fitted">Whether a figure of ours was set with them in view.</param>
internal sealed record StoreNorm(
    string Source, string What, string Crop, Packing Packing, double[] MonthC, double Humidity, double[] Percent, int FirstMonth = 0,
    bool Fitted = false)
{
    private static readonly int[] MonthDays = [30, 31, 30, 31, 31, 28, 31, 30, 31, 30];

    private static readonly string[] Names =
        ["September", "October", "November", "December", "January", "February", "March", "April", "May", "June"];

    private const string Order252 = "Russian loss norms, Order 252 of 2013, climatic group 1 (allowances: typical to high)";

    private const string Ukraine = "Ukrainian loss norms of fruit, cold zone (read from flattened columns)";

    public static IReadOnlyList<StoreNorm> All { get; } =
    [
        new(Order252, "potatoes, refrigerated", "potato", Packing.Crate, [12, 6, 3, 3, 3, 3, 3, 3, 3], 90,
            [1.0, 0.6, 0.6, 0.5, 0.5, 0.5, 0.5, 0.8, 0.8], FirstMonth: 7),
        new(Order252, "potatoes, clamps", "potato", Packing.DeepBin, [12, 8, 5, 3, 2, 2, 4, 7, 11], 93,
            [1.4, 1.0, 0.7, 0.4, 0.4, 0.4, 0.7, 0.9, 1.5], FirstMonth: 7),
        new(Order252, "beets, refrigerated", "beet", Packing.DeepBin, [12, 6, 1, 1, 1, 1, 1, 1, 1, 1], 90,
            [1.5, 0.8, 0.8, 0.7, 0.6, 0.6, 0.6, 0.8, 0.9, 0.9], Fitted: true),
        new(Order252, "beets, not refrigerated", "beet", Packing.DeepBin, [12, 8, 5, 3, 2, 2, 4, 7, 10, 13], 90,
            [1.7, 0.9, 0.8, 0.7, 0.6, 0.6, 0.6, 0.8, 1.1, 1.9], Fitted: true),
        new(Order252, "beets, clamps", "beet", Packing.DeepBin, [12, 8, 5, 3, 2, 2, 4, 7, 11], 93,
            [1.5, 1.0, 0.7, 0.6, 0.3, 0.3, 0.6, 0.9, 2.0], Fitted: true),
        new(Order252, "carrots, refrigerated", "carrot", Packing.DeepBin, [12, 6, 1, 1, 1, 1, 1, 1, 1, 1], 90,
            [2.2, 1.3, 1.2, 0.8, 0.7, 0.7, 0.7, 1.0, 1.0, 1.0], Fitted: true),
        new(Ukraine, "autumn apples, refrigerated", "apple", Packing.Crate, [8, 2, 2, 2, 2, 2], 90,
            [1.2, 0.8, 0.6, 0.5, 0.5, 0.4], Fitted: true),
        new(Ukraine, "autumn apples, not refrigerated", "apple", Packing.Crate, [14, 9, 5, 3, 2], 85,
            [2.0, 1.2, 1.2, 1.0, 1.0], Fitted: true),
        new(Ukraine, "winter apples, refrigerated", "apple", Packing.Crate, [8, 2, 2, 2, 2, 2, 2, 2, 2, 2], 90,
            [1.0, 0.4, 0.3, 0.3, 0.25, 0.25, 0.3, 0.3, 0.3, 0.5]),
        new(Ukraine, "winter apples, not refrigerated", "apple", Packing.Crate, [14, 9, 5, 3, 2, 2], 85, [1.8, 0.8, 0.6, 0.5, 0.5, 0.5]),
        new(Ukraine, "pears, refrigerated", "pear", Packing.Crate, [8, 2, 2, 2, 2, 2, 2, 2, 2], 90, [1.0, 0.8, 0.6, 0.6, 0.5, 0.4, 0.4, 0.4, 0.5]),
        new(Ukraine, "pears, not refrigerated", "pear", Packing.Crate, [14, 9, 5, 3, 2, 2], 85, [2.0, 1.5, 1.4, 0.7, 0.6, 0.6]),
    ];

    public IReadOnlyList<AirSpan> Air => [.. MonthC.Select((c, i) => AirSpan.Hold(c, Humidity, MonthDays[i]))];

    public IReadOnlyList<Seen> Windows => [.. Percent.Select((percent, i) => new Seen(Day(i), Day(i + 1), percent))];

    public CropTrial Trial => new(Crop, Source, What, Packing, Air, Windows, Fitted, Assumed);

    public string Assumed =>
        $"{string.Join(", ", MonthC)} C month by month at {Humidity} %, {(Packing == Packing.DeepBin ? "deep bin" : "crate")}";

    public static string Month(int index) => Names[index];

    private static int Day(int month) => MonthDays.Take(month).Sum();
}
