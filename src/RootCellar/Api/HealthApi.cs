using System.Diagnostics.Metrics;
using Microsoft.AspNetCore.Diagnostics.HealthChecks;
using Microsoft.Extensions.Diagnostics.HealthChecks;
using OpenTelemetry.Metrics;
using RootCellar.Diagnostics;
using RootCellar.Entry;
using RootCellar.Household;
using RootCellar.Monitoring;
using RootCellar.Readings;
using RootCellar.Storage;

namespace RootCellar.Api;

/// <summary>
/// How the service is doing, for programs: every room answers for itself with a check and a meter of its own. Anyone may ask for the
/// states; the words, which name files and servers, stand on the pages.
/// </summary>
internal static class HealthApi
{
    /// <summary>So many tellings-apart (rooms, reasons, channels) of one figure have room: it is taken at once, 72 bytes each.</summary>
    private const int MostOfAFigure = 64;

    public static void AddHealth(this IServiceCollection services)
    {
        services.AddHealthChecks().AddCheck<WatchCheck>("watch");
        services.AddSingleton<IRoomMetrics, WatchMetrics>().AddSingleton<IRoomMetrics>(p => p.GetRequiredService<ReadingMetrics>());
        services.AddOpenTelemetry().WithMetrics(m => m
            .AddMeter("RootCellar.*")
            .AddPrometheusExporter(o =>
            {
                // One program, one line a figure: names of libraries and of this process are noise beside it.
                o.ScopeInfoEnabled = false;
                o.TargetInfoEnabled = false;
                // Who asks twice in a second wants to see what changed.
                o.ScrapeResponseCacheDurationMilliseconds = 0;
            }));
        // Meters are found by name in the whole process: those of another house in it are not this one's.
        services.ConfigureOpenTelemetryMeterProvider((house, m) =>
        {
            var own = house.GetRequiredService<IMeterFactory>();
            m.AddView(i => ReferenceEquals(i.Meter.Scope, own) ? new MetricStreamConfiguration { CardinalityLimit = MostOfAFigure } : MetricStreamConfiguration.Drop);
        });
    }

    public static void MapHealth(this WebApplication app, HttpOptions http)
    {
        // Made now, so that a figure is there from the start and not from the first time that something happened.
        foreach (var metrics in app.Services.GetServices<IRoomMetrics>()) GC.KeepAlive(metrics);
        app.MapGet("/health/live", () => Results.Text("live")).AllowAnonymous().WithMetadata(new AnyHost()).ExcludeFromDescription();
        app.MapHealthChecks("/health/ready", new HealthCheckOptions { ResponseWriter = WriteAsync }).AllowAnonymous()
            .WithMetadata(new AnyHost(), OnlyLooked);
        var scrape = app.MapPrometheusScrapingEndpoint("/metrics").WithMetadata(OnlyLooked);
        if (http.OpenMetrics) scrape.AllowAnonymous().WithMetadata(new AnyHost());
        else scrape.WithMetadata(new HouseholdOnly());
    }

    // Mapped by others, who would take any method.
    private static HttpMethodMetadata OnlyLooked => new([HttpMethods.Get, HttpMethods.Head]);

    private static Task WriteAsync(HttpContext context, HealthReport report) => context.Response.WriteAsJsonAsync(
        new
        {
            Status = Word(report.Status),
            Checks = report.Entries.ToDictionary(e => e.Key, e => Word(e.Value.Status), StringComparer.Ordinal),
        },
        JsonRules.Options,
        context.RequestAborted);

    private static string Word(HealthStatus status) => status switch
    {
        HealthStatus.Healthy => "healthy",
        HealthStatus.Degraded => "degraded",
        _ => "unhealthy",
    };
}
