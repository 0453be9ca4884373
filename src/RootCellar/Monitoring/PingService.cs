using System.Diagnostics.Metrics;
using Microsoft.Extensions.Diagnostics.HealthChecks;
using RootCellar.Diagnostics;
using RootCellar.Household;
using RootCellar.Tell;

namespace RootCellar.Monitoring;

/// <summary>How the calls to the address outside go. From any thread.</summary>
internal sealed class PingState(ChannelDesk desk, TimeProvider time)
{
    // One call that fails is a moment's (assumed).
    private const int MissedMayBe = 3;

    private sealed record View(string Url, DateTimeOffset Since, DateTimeOffset? AnsweredAt, string? Fault, string? HeldBack);

    private volatile View? view;

    /// <summary>When it answered last; null: not since the start, or since it was set up.</summary>
    public DateTimeOffset? AnsweredAt => Current?.AnsweredAt;

    /// <summary>Why the last call was not answered; null where it was.</summary>
    public string? Fault => Current?.Fault;

    /// <summary>What of the service is not alive, so that no call was made; null where all is.</summary>
    public string? HeldBack => Current?.HeldBack;

    /// <summary>Whether whoever is there to notice has noticed by now.</summary>
    public bool IsMissed => desk.Ping is { } ping && Current is { } now
        && time.GetUtcNow() - (now.AnsweredAt ?? now.Since) > MissedMayBe * TimeSpan.FromSeconds(ping.EverySeconds);

    // What was seen of another address says nothing of this one.
    private View? Current => view is { } v && v.Url == desk.Ping?.Url ? v : null;

    public void Note(string url, string? fault, string? heldBack)
    {
        var now = time.GetUtcNow();
        var before = Current;
        view = new View(url, before?.Since ?? now, fault is null && heldBack is null ? now : before?.AnsweredAt, fault, heldBack);
    }
}

/// <summary>
/// Calls an address of the household's choosing every few minutes, but only while messages come in, the record takes writes and readings are
/// judged: silence there means that something is wrong here. Nothing is sent but the call itself.
/// </summary>
internal sealed class PingService(ChannelDesk desk, PingState state, HealthCheckService health, TimeProvider time, ILogger<PingService> log)
    : BackgroundService
{
    private static readonly string[] Vital = ["start", "broker", "record", "watch"];
    private static readonly TimeSpan Look = TimeSpan.FromSeconds(5);
    private static readonly TimeSpan Patience = TimeSpan.FromSeconds(30);

    private readonly HttpClient http = new(new SocketsHttpHandler { AllowAutoRedirect = false, UseCookies = false }) { Timeout = Timeout.InfiniteTimeSpan };
    private (string Url, long At)? called;

    public override void Dispose()
    {
        http.Dispose();
        base.Dispose();
    }

    protected override async Task ExecuteAsync(CancellationToken stoppingToken)
    {
        using var timer = new PeriodicTimer(Look, time);
        try
        {
            while (await timer.WaitForNextTickAsync(stoppingToken)) await CallIfDueAsync(stoppingToken);
        }
        catch (OperationCanceledException)
        {
            // Stopping.
        }
    }

    private async Task CallIfDueAsync(CancellationToken stopping)
    {
        if (desk.Ping is not { } ping) return;
        if (called is { } last && last.Url == ping.Url && time.GetElapsedTime(last.At) < TimeSpan.FromSeconds(ping.EverySeconds)) return;
        called = (ping.Url, time.GetTimestamp());
        var report = await health.CheckHealthAsync(c => Vital.Contains(c.Name, StringComparer.Ordinal), stopping);
        var dead = report.Entries.Where(e => e.Value.Status == HealthStatus.Unhealthy).Select(e => e.Key).Order(StringComparer.Ordinal).ToList();
        if (dead.Count > 0)
        {
            state.Note(ping.Url, null, string.Join(", ", dead));
            log.LogWarning("The address outside was not called, since this is not well: {Dead}", string.Join(", ", dead));
            return;
        }

        state.Note(ping.Url, await FaultAsync(ping.Url, stopping), null);
    }

    // Network time is real time, also in the demo.
    private async Task<string?> FaultAsync(string url, CancellationToken stopping)
    {
        using var patience = CancellationTokenSource.CreateLinkedTokenSource(stopping);
        patience.CancelAfter(Patience);
        try
        {
            using var answer = await http.GetAsync(new Uri(url), HttpCompletionOption.ResponseHeadersRead, patience.Token);
            return answer.IsSuccessStatusCode ? null : $"HTTP {(int)answer.StatusCode}";
        }
        catch (OperationCanceledException) when (!stopping.IsCancellationRequested)
        {
            return Strings.PingNoAnswer.With(Patience.TotalSeconds);
        }
        catch (Exception e) when (e is HttpRequestException or IOException)
        {
            return e.Message;
        }
    }
}

/// <summary>Whether whoever is outside knows that the service is alive.</summary>
internal sealed class PingCheck(PingState state) : IHealthCheck
{
    public Task<HealthCheckResult> CheckHealthAsync(HealthCheckContext context, CancellationToken cancellationToken = default) =>
        Task.FromResult(state.IsMissed ? HealthCheckResult.Degraded(state.HeldBack ?? state.Fault) : HealthCheckResult.Healthy());
}

internal sealed class PingMetrics : IRoomMetrics
{
    public PingMetrics(IMeterFactory meters, PingState state) =>
        meters.Create("RootCellar.Watch").Flag("rootcellar.ping.missed", "The address outside has not been reached for long.", () => state.IsMissed);
}
