using RootCellar.Entry;
using RootCellar.Household;
using RootCellar.Readings;
using RootCellar.Storage;

namespace RootCellar.Api;

/// <summary>Everything under /api, and how the service itself is doing.</summary>
internal static class ApiRoutes
{
    public static void AddApi(this IServiceCollection services)
    {
        services.ConfigureHttpJsonOptions(o => JsonRules.Configure(o.SerializerOptions));
        services.AddOpenApi();
        services.AddProblemDetails();
        // A body or a value that cannot be read is told with its place, by the one who writes all problem bodies.
        services.Configure<RouteHandlerOptions>(o => o.ThrowOnBadRequest = true);
    }

    public static void MapApi(this WebApplication app)
    {
        app.MapOpenApi("/openapi/{documentName}.json");
        // Whoever is signed in may look; what else helpers may is marked call by call.
        var api = app.MapGroup("/api").WithMetadata(new HelpersSee());
        PlacesApi.Map(api.MapGroup("/places"));
        SensorsApi.Map(api.MapGroup("/sensors"));
        AlarmsApi.Map(api.MapGroup("/alarms"));
        ContactsApi.Map(api.MapGroup("/contacts"));
        LedgerApi.Map(api.MapGroup("/ledger"));
        AdviceApi.Map(api);
        BinsApi.Map(api);
        HistoryApi.Map(api);
        ReportApi.Map(api);
        CredentialsApi.Map(api, app.Services.GetRequiredService<MqttOptions>());
        RowsApi.Map(api.MapGroup("/rows"));
        app.MapHealth(app.Services.GetRequiredService<HttpOptions>());
    }

    /// <summary>A 400 that says what was wrong, where, and what would be right.</summary>
    public static IResult Wrong(string detail) => Results.Problem(detail, statusCode: StatusCodes.Status400BadRequest);

    public static IResult Missing(string detail) => Results.Problem(detail, statusCode: StatusCodes.Status404NotFound);
}
