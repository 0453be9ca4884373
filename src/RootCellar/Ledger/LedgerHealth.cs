using System.Diagnostics.Metrics;
using Microsoft.Extensions.Diagnostics.HealthChecks;
using RootCellar.Diagnostics;

namespace RootCellar.Ledger;

/// <summary>How large the book is, and what of it cannot be read.</summary>
internal sealed class LedgerMetrics : IRoomMetrics
{
    public LedgerMetrics(IMeterFactory meters, LedgerDoor ledger)
    {
        var meter = meters.Create("RootCellar.Ledger");
        meter.Gauge("rootcellar.ledger.entries", "Entries of the book.", () => ledger.Book.Entries.Count);
        meter.Gauge("rootcellar.ledger.room.entries", "Entries there is memory for.", () => ledger.Room);
        meter.Gauge("rootcellar.ledger.damaged.rows", "Rows of the record that no entry can be made of.", () => ledger.Damaged.Count);
        meter.Flag("rootcellar.ledger.ok", "1 while the book is open.", () => ledger.Trouble is null);
    }
}

/// <summary>Whether the book is open and whole; the watch goes on without it.</summary>
internal sealed class LedgerCheck(LedgerDoor ledger) : IHealthCheck
{
    public Task<HealthCheckResult> CheckHealthAsync(HealthCheckContext context, CancellationToken cancellationToken = default) =>
        Task.FromResult(
        ledger.Trouble is { } trouble ? HealthCheckResult.Degraded(trouble.Text)
        : ledger.Damaged.Count > 0 ? HealthCheckResult.Degraded($"{ledger.Damaged.Count} rows of the ledger cannot be read.")
        : HealthCheckResult.Healthy());
}
