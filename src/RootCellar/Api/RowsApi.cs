using RootCellar.Advice;
using RootCellar.Ledger;
using RootCellar.Monitoring;
using RootCellar.Science.Crops;
using RootCellar.Science.Keeping;

namespace RootCellar.Api;

/// <summary>Rows by the book, when to dig them, and what the air outside says of digging today.</summary>
internal static class RowsApi
{
    public static void Map(RouteGroupBuilder group) => group.MapGet("", All)
        .WithName("listRows").WithSummary("Every planting of every row, when to dig it, and what the air outside says of digging today.");

    private static RowsShape All(LedgerDoor door, Outside outside)
    {
        var (now, air) = (door.Now, outside.Now());
        var today = door.Today;
        return new RowsShape(now, air.Today is { } t ? OutsideShape.Of(air.Place!.Id, t) : null,
            door.Book.Rows.Select(r => RowShape.Of(RowPlan.Of(r, today))));
    }
}

/// <summary>Every planting, oldest first. <c>outside</c> is null where no place is outdoors.</summary>
internal sealed record RowsShape(DateTimeOffset At, OutsideShape? Outside, IEnumerable<RowShape> Rows);

/// <summary>The last two days' air outside. <c>bestFrom</c> and <c>bestTo</c> are hours of the household's day.</summary>
internal sealed record OutsideShape(string Place, int KnownHours, int SaturatedHours, double? LowC, double? HighC, int? BestFrom,
    int? BestTo, IReadOnlyList<DiggingWord> Cautions)
{
    public static OutsideShape Of(string place, DiggingToday t) =>
        new(place, t.KnownHours, t.SaturatedHours, Known(t.LowC), Known(t.HighC), t.BestFrom, t.BestTo,
            [.. t.Cautions.Select(c => c with { TemperatureC = c.TemperatureC is { } at ? Math.Round(at, 1) : null })]);

    private static double? Known(double c) => double.IsNaN(c) ? null : Math.Round(c, 1);
}

/// <summary>When to dig, by the calendar and by the vines; what is not known is null.</summary>
internal sealed record RowWindowShape(DayRange? Ripe, DayRange? Opens, DateOnly? ThumbFrom, DateOnly? BlemishFrom);

/// <summary>A planting. <c>stage</c> is null once something was dug from it or it was planted again.</summary>
internal sealed record RowShape(
    string Row,
    string Crop,
    string? Variety,
    DateOnly PlantedOn,
    string? Maturity,
    int? MaturityDays,
    DaysToMaturity? DaysToMaturity,
    double? LengthM,
    string? Lot,
    DateOnly? VinesDeadOn,
    string? How,
    RowStage? Stage,
    RowWindowShape Window,
    IReadOnlyList<string> Lots,
    DateTimeOffset? LastDugAt,
    double DugKg,
    double? KgPerM,
    bool PlantedAgain,
    IReadOnlyList<long> Entries)
{
    public static RowShape Of(RowPlan plan)
    {
        var (row, window) = (plan.Row, plan.Window);
        return new RowShape(
            row.Row, row.Crop, row.Variety, row.PlantedOn, row.Maturity, row.MaturityDays, plan.Days, row.LengthM, row.Lot, row.VinesDeadOn,
            row.How,
            plan.InTheGround ? plan.Stage : null, new RowWindowShape(window.Ripe, window.Opens, window.ThumbFrom, window.BlemishFrom),
            row.Lots, row.LastDugAt, row.DugGrams / 1000.0, row.KgPerMetre is { } each ? Math.Round(each, 3) : null, row.Ended,
            row.Entries);
    }
}
