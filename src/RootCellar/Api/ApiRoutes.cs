namespace RootCellar.Api;

/// <summary>Everything under /api, and how the service itself is doing.</summary>
internal static class ApiRoutes
{
    public static void AddApi(this IServiceCollection services)
    {
        services.ConfigureHttpJsonOptions(o => Json.Configure(o.SerializerOptions));
        services.AddOpenApi();
        services.AddProblemDetails();
    }

    public static void MapApi(this WebApplication app, Settings settings)
    {
        app.MapOpenApi("/openapi/{documentName}.json");
        PlacesApi.Map(app.MapGroup("/api/places"));
        SensorsApi.Map(app.MapGroup("/api/sensors"));
        AlarmsApi.Map(app.MapGroup("/api/alarms"));
        ContactsApi.Map(app.MapGroup("/api/contacts"));
        LedgerApi.Map(app.MapGroup("/api/ledger"));
        BinsApi.Map(app.MapGroup("/api"));
        HistoryApi.Map(app.MapGroup("/api"));
        ReportApi.Map(app.MapGroup("/api"));
        RowsApi.Map(app.MapGroup("/api/rows"));
        app.MapHealth(settings);
    }

    /// <summary>A 400 that says what was wrong, where, and what would be right.</summary>
    public static IResult Wrong(string detail) => Results.Problem(detail, statusCode: StatusCodes.Status400BadRequest);

    public static IResult Missing(string detail) => Results.Problem(detail, statusCode: StatusCodes.Status404NotFound);
}
