using RootCellar.Household;
using RootCellar.Report;

namespace RootCellar.Api;

/// <summary>The figures of the weekly report.</summary>
internal static class ReportApi
{
    public static void Map(RouteGroupBuilder group) => group.MapGet("report", Of)
        .WithName("readReport").WithSummary("The figures of the weekly report.")
        .Produces<ReportShape>().ProducesProblem(StatusCodes.Status404NotFound).WithMetadata(new LargeAnswer());

    private static IResult Of(string? week, ReportDesk desk, ReportMaker maker)
    {
        var asked = string.IsNullOrEmpty(week) ? desk.LastWhole : Week.Named(week, desk.Zone);
        if (asked is null) return ApiRoutes.Wrong($"week: '{week}' is not a week of ISO 8601. Right: {desk.LastWhole.Name}.");
        return desk.Of(asked) is { } made ? Results.Ok(ReportShape.Of(made.Figures, maker.Words)) : ApiRoutes.Missing(
            $"The week {asked.Name} has not begun.");
    }
}
