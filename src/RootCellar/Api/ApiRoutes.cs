using System.Text.Json;
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
        services.AddApiDocument();
        services.AddLargeAnswers();
        services.AddProblemDetails();
        // A body or a value that cannot be read is told with its place, by the one who writes all problem bodies.
        services.Configure<RouteHandlerOptions>(o => o.ThrowOnBadRequest = true);
    }

    public static void MapApi(this WebApplication app)
    {
        app.MapOpenApi("/openapi/v1.json").WithMetadata(new LargeAnswer());
        // Whoever is signed in may look; what else helpers may is marked call by call.
        var api = app.MapGroup("/api").WithMetadata(new HelpersSee());
        ApiDocument.AddProblems(api);
        PlacesApi.Map(api.MapGroup("/places"));
        SensorsApi.Map(api.MapGroup("/sensors"));
        AlarmsApi.Map(api.MapGroup("/alarms"));
        ContactsApi.Map(api.MapGroup("/contacts"));
        ChannelsApi.Map(api.MapGroup("/channels"));
        LedgerApi.Map(api.MapGroup("/ledger"));
        MappingsApi.Map(api);
        WatchApi.Map(api);
        AdviceApi.Map(api);
        BinsApi.Map(api);
        HistoryApi.Map(api);
        AheadApi.Map(api);
        ReportApi.Map(api);
        CredentialsApi.Map(api, app.Services.GetRequiredService<MqttOptions>());
        RowsApi.Map(api.MapGroup("/rows"));
        ExportApi.Map(api);
        BackupApi.Map(api.MapGroup("/backup"));
        HouseholdApi.Map(api);
        CalendarApi.Map(api);
        CalendarApi.MapFile(app);
        app.MapHealth(app.Services.GetRequiredService<HttpOptions>());
    }

    /// <summary>A 400 that says what was wrong, where, and what would be right.</summary>
    public static IResult Wrong(string detail) => Results.Problem(detail, statusCode: StatusCodes.Status400BadRequest);

    /// <summary>A 503 for what the disk beside the record refused.</summary>
    public static IResult NotKept(string? detail) => Results.Problem(
        $"It was not kept, and all is as it was: {detail}", statusCode: StatusCodes.Status503ServiceUnavailable);

    /// <summary>A time that was asked for, as the calendar reads it.</summary>
    /// <param name="name">What it is called in the address.</param>
    /// <param name="text">As given.</param>
    /// <param name="otherwise">Where nothing is given.</param>
    /// <returns>The answer where it is none.</returns>
    public static IResult? Time(HouseholdCalendar calendar, string name, string? text, DateTimeOffset otherwise, out DateTimeOffset at) =>
        calendar.TryTime(text, otherwise, out at) ? null : Wrong($"{name}: '{text}' is not a time. Right: 2026-10-01T00:00:00Z.");

    /// <summary>The body of a call that tells what is null from what is left out, or one from many.</summary>
    public static async Task<JsonElement> BodyAsync(HttpContext context)
    {
        try
        {
            using var document = await JsonDocument.ParseAsync(context.Request.Body, cancellationToken: context.RequestAborted);
            return document.RootElement.Clone();
        }
        catch (JsonException e)
        {
            throw new BadHttpRequestException("This is not JSON.", e);
        }
    }

    public static IResult Missing(string detail) => Results.Problem(detail, statusCode: StatusCodes.Status404NotFound);
}
