using System.Diagnostics.Metrics;
using Microsoft.Extensions.Diagnostics.HealthChecks;
using RootCellar.Diagnostics;

namespace RootCellar.Tell;

/// <summary>Texts tried, told, failed and given up, by channel and reason, and how long they took.</summary>
internal sealed class TellMetrics
{
    private readonly Counter<long> tried;
    private readonly Counter<long> failed;
    private readonly Counter<long> givenUp;
    private readonly Histogram<double> latency;

    public TellMetrics(IMeterFactory meters)
    {
        var meter = meters.Create("RootCellar.Tell");
        tried = meter.CreateCounter<long>("rootcellar.texts.tried", null, "Attempts to hand a text to a channel.");
        failed = meter.CreateCounter<long>("rootcellar.texts.failed", null, "Attempts that failed, by reason; the text is tried again.");
        givenUp = meter.CreateCounter<long>("rootcellar.texts.given.up", null, "Texts that were never told.");
        latency = meter.CreateHistogram(
            "rootcellar.texts.latency",
            "s",
            "From deciding on a text to the channel's word that it has it.",
            advice: new InstrumentAdvice<double> { HistogramBucketBoundaries = [0.1, 0.5, 1, 5, 15, 60, 300, 1_800, 7_200, 86_400] });
    }

    public void Tried(string channel) => tried.Add(1, Of(channel));

    public void Failed(string channel, Exception why) => failed.Add(1, Of(channel), new("reason", Reason(why)));

    public void GivenUp(string channel) => givenUp.Add(1, Of(channel));

    public void Told(string channel, TimeSpan after) => latency.Record(after.TotalSeconds, Of(channel));

    private static KeyValuePair<string, object?> Of(string channel) => new("channel", channel);

    /// <summary>One of a few words: a label must not grow with what a server says.</summary>
    private static string Reason(Exception why) => why switch
    {
        RefusedException or MailKit.CommandException or MailKit.Security.AuthenticationException => "refused",
        TimeoutException or Polly.Timeout.TimeoutRejectedException => "no answer",
        Polly.CircuitBreaker.BrokenCircuitException => "waiting",
        HttpRequestException or IOException or System.Net.Sockets.SocketException => "not reached",
        _ => "other",
    };
}

/// <summary>The outbox as it is now.</summary>
internal sealed class OutboxMetrics : IRoomMetrics
{
    public OutboxMetrics(IMeterFactory meters, Outbox outbox)
    {
        var meter = meters.Create("RootCellar.Tell");
        meter.Gauge("rootcellar.channels.in.trouble", "Channels that do not get through now.", () => outbox.Troubles.Count);
        meter.Gauge("rootcellar.texts.waiting", "Texts decided on and not yet told or given up.", () => outbox.Underway);
        meter.Gauge("rootcellar.texts.oldest", "How long the oldest text that is not told yet has waited.",
            () => outbox.OldestWait.TotalSeconds, "s");
    }
}

/// <summary>Whether texts leave the house.</summary>
internal sealed class ChannelsCheck(Outbox outbox, ChannelDesk desk) : IHealthCheck
{
    public Task<HealthCheckResult> CheckHealthAsync(HealthCheckContext context, CancellationToken cancellationToken = default) =>
        Task.FromResult(
        desk.Problem is { } problem ? HealthCheckResult.Degraded(problem)
        : outbox.Troubles is { Count: > 0 } troubles
            ? HealthCheckResult.Degraded(string.Join("; ", troubles.Select(t => $"{t.Key}: {t.Value}")))
            : HealthCheckResult.Healthy());
}
