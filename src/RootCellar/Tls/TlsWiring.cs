using System.Diagnostics.Metrics;
using Microsoft.Extensions.Diagnostics.HealthChecks;
using RootCellar.Diagnostics;

namespace RootCellar.Tls;

/// <summary>The wiring of this room, and its answers about itself.</summary>
internal static class TlsWiring
{
    public static void AddTls(this IServiceCollection services, TlsOptions tls)
    {
        services.AddSingleton(tls).AddSingleton<HouseCertificate>();
        if (!tls.IsSet) return;
        services.AddHostedService<CertificateLooks>().AddSingleton<IRoomMetrics, CertificateMetrics>();
        services.AddHealthChecks().AddCheck<CertificateCheck>("certificate");
    }
}

/// <summary>Looks every minute whether the certificate was renewed.</summary>
internal sealed class CertificateLooks(HouseCertificate certificate, FailedWork failed) : BackgroundService
{
    protected override Task ExecuteAsync(CancellationToken stoppingToken) => failed.LookEveryAsync(
        TimeSpan.FromMinutes(1), "tls", "looking after the certificate", _ =>
        {
            certificate.Look();
            return Task.CompletedTask;
        }, stoppingToken);
}

/// <summary>Degraded while somebody has to see to the certificate.</summary>
internal sealed class CertificateCheck(HouseCertificate certificate) : IHealthCheck
{
    public Task<HealthCheckResult> CheckHealthAsync(HealthCheckContext context, CancellationToken cancellationToken = default) =>
        Task.FromResult(certificate.Now is { CallsForSomeone: true } now
            ? HealthCheckResult.Degraded(CertificateWords.Why(now)) : HealthCheckResult.Healthy());
}

/// <summary>How long the certificate holds.</summary>
internal sealed class CertificateMetrics : IRoomMetrics
{
    public CertificateMetrics(IMeterFactory meters, HouseCertificate certificate)
    {
        var meter = meters.Create("RootCellar.Tls");
        meter.Gauge("rootcellar.certificate.left", "How long the certificate that is shown holds; negative where it ran out, not a number where there is none.",
            () => certificate.Now.Left?.TotalDays ?? double.NaN, "d");
        meter.Flag("rootcellar.certificate.ok", "1 while nobody has to see to the certificate.", () => !certificate.Now.CallsForSomeone);
    }
}
