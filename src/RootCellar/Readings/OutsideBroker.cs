using System.Buffers;
using MQTTnet;
using MQTTnet.Formatter;
using MQTTnet.Packets;
using MQTTnet.Protocol;
using Polly;
using Polly.Retry;
using RootCellar.Diagnostics;
using RootCellar.Household;
using RootCellar.Storage;

namespace RootCellar.Readings;

/// <summary>
/// Any other broker. The session outlives the connection (clean start off, fixed client id), subscriptions are QoS 1,
/// and a message is acknowledged only once it is in the record; so what came while the service was away is delivered late, not lost.
/// </summary>
internal sealed class OutsideBroker : BackgroundService
{
    private static readonly TimeSpan AnswerWithin = TimeSpan.FromSeconds(20);

    private const uint OurTopics = 1;
    private const uint AllTopics = 2;

    private readonly OutsideBrokerOptions options;
    private volatile string[] filters;
    private readonly IReadingSink sink;
    private readonly Announcements announcements;
    private readonly FailedWork failed;
    private readonly ILogger<OutsideBroker> log;
    private readonly IMqttClient client = new MqttClientFactory().CreateMqttClient();
    private readonly ResiliencePipeline reconnect;
    private MqttProtocolVersion version = MqttProtocolVersion.V500;
    private volatile bool refused;

    public OutsideBroker(MqttOptions mqtt, MappingDesk mappings, IReadingSink sink, Announcements announcements, FailedWork failed, ILogger<OutsideBroker> log)
    {
        options = mqtt.Broker;
        filters = Asked(mappings);
        // A topic that was set up on the page just now is asked for at once.
        mappings.Changed += (_, _) =>
        {
            filters = Asked(mappings);
            failed.Watch(SubscribeAsync(CancellationToken.None), "broker", "asking for topics that were set up");
        };
        this.sink = sink;
        this.announcements = announcements;
        this.failed = failed;
        this.log = log;
        client.ApplicationMessageReceivedAsync += TakeAsync;
        reconnect = new ResiliencePipelineBuilder()
            .AddRetry(new RetryStrategyOptions
            {
                MaxRetryAttempts = int.MaxValue,
                BackoffType = DelayBackoffType.Exponential,
                UseJitter = true,
                Delay = TimeSpan.FromSeconds(1),
                MaxDelay = TimeSpan.FromMinutes(1),
                OnRetry = a =>
                {
                    Trouble = Strings.BrokerSilent.With($"{options.Host}:{options.Port}", a.Outcome.Exception!.Message);
                    log.LogWarning("{Trouble}; next try in {Delay:0} s", Trouble, a.RetryDelay.TotalSeconds);
                    return ValueTask.CompletedTask;
                },
            })
            .Build();
    }

    /// <summary>Why nothing comes in now, or null while connected.</summary>
    public string? Trouble { get; private set; } = Strings.BrokerNotYet;

    public override void Dispose()
    {
        client.Dispose();
        base.Dispose();
    }

    protected override async Task ExecuteAsync(CancellationToken stoppingToken)
    {
        var announcing = AnnounceAsync(stoppingToken);
        try
        {
            while (!stoppingToken.IsCancellationRequested)
            {
                await reconnect.ExecuteAsync(async ct => await TryConnectAsync(ct), stoppingToken);
                await DisconnectedAsync(stoppingToken);
            }
        }
        catch (OperationCanceledException) when (stoppingToken.IsCancellationRequested)
        {
            if (client.IsConnected)
            {
                await PublishAsync(new Announcement(Announcements.Status, "offline"u8.ToArray()));
                await client.DisconnectAsync(new MqttClientDisconnectOptions(), CancellationToken.None);
            }
        }

        failed.Watch(announcing, "broker", "publishing what is known now");
        await announcing.ConfigureAwait(ConfigureAwaitOptions.SuppressThrowing);
    }

    private async Task TryConnectAsync(CancellationToken stopping)
    {
        // The library's own time limit does not hold where the token can be cancelled; a broker may take the connection and say nothing.
        using var limit = CancellationTokenSource.CreateLinkedTokenSource(stopping);
        limit.CancelAfter(AnswerWithin);
        try
        {
            await ConnectAsync(limit.Token);
        }
        catch (Exception e) when (!stopping.IsCancellationRequested)
        {
            // Half a connection (not subscribed) would refuse the next try.
            await client.TryDisconnectAsync();
            // Never a cancellation: that would pass for our own stop.
            throw new InvalidOperationException(limit.IsCancellationRequested ? $"no answer within {AnswerWithin.TotalSeconds:0} s"
                : e.Message, e);
        }
    }

    private async Task ConnectAsync(CancellationToken cancellationToken)
    {
        var builder = new MqttClientOptionsBuilder()
            .WithTcpServer(options.Host!, options.Port)
            .WithProtocolVersion(version)
            .WithClientId(options.ClientId)
            .WithTimeout(TimeSpan.FromSeconds(20))
            .WithKeepAlivePeriod(TimeSpan.FromSeconds(30))
            .WithWillTopic(Announcements.Status)
            .WithWillPayload("offline")
            .WithWillRetain(true)
            .WithWillQualityOfServiceLevel(MqttQualityOfServiceLevel.AtLeastOnce)
            .WithTlsOptions(o => o.UseTls(options.Tls));
        builder = version == MqttProtocolVersion.V500
            ? builder.WithCleanStart(false).WithSessionExpiryInterval((uint)options.SessionExpirySeconds)
            : builder.WithCleanSession(false);
        if (!string.IsNullOrEmpty(options.User)) builder = builder.WithCredentials(options.User, Password());

        var result = await client.ConnectAsync(builder.Build(), cancellationToken);
        if (result.ResultCode != MqttClientConnectResultCode.Success)
        {
            if (result.ResultCode == MqttClientConnectResultCode.UnsupportedProtocolVersion) version = MqttProtocolVersion.V311;
            throw new InvalidOperationException($"it answered {result.ResultCode}");
        }

        await SubscribeAsync(cancellationToken);
        Trouble = null;
        refused = false;
        log.LogInformation("Listening to the MQTT broker {Host}:{Port}", options.Host, options.Port);
        await PublishAsync(new Announcement(Announcements.Status, "online"u8.ToArray()));
        foreach (var announcement in announcements.Latest) await PublishAsync(announcement);
        await ListenAsync(cancellationToken);
    }

    private static string[] Asked(MappingDesk mappings) => [.. mappings.InForce.SelectMany(m => new[] { m.Topic, m.StatusTopic }).OfType<string>().Prepend("rootcellar/#")
        .Distinct(StringComparer.Ordinal)];

    private async Task SubscribeAsync(CancellationToken cancellationToken)
    {
        if (!client.IsConnected) return;
        var subscribe = new MqttClientSubscribeOptions();
        if (version == MqttProtocolVersion.V500) subscribe.SubscriptionIdentifier = OurTopics;
        foreach (var filter in filters)
        {
            subscribe.TopicFilters.Add(
                new MqttTopicFilter
                {
                    Topic = filter,
                    QualityOfServiceLevel = MqttQualityOfServiceLevel.AtLeastOnce,
                    NoLocal = version == MqttProtocolVersion.V500
                });
        }

        var answer = await client.SubscribeAsync(subscribe, cancellationToken);
        if (answer.Items.FirstOrDefault(i => i.ResultCode > MqttClientSubscribeResultCode.GrantedQoS2) is { } no)
        {
            throw new InvalidOperationException(
                $"it refused the subscription to {no.TopicFilter.Topic} ({no.ResultCode}); check what this user may read there");
        }
    }

    /// <summary>
    /// All else that goes by, to be offered on the Sensors page. Brokers may send a message once for each filter that matches it; only where
    /// they say for which (MQTT 5) can it be told apart from the same message for our own filters. A broker that refuses it is asked no more.
    /// </summary>
    private async Task ListenAsync(CancellationToken cancellationToken)
    {
        if (version != MqttProtocolVersion.V500) return;
        await client.SubscribeAsync(
            new MqttClientSubscribeOptions
            {
                SubscriptionIdentifier = AllTopics,
                TopicFilters = [new MqttTopicFilter { Topic = "#", NoLocal = true, RetainHandling = MqttRetainHandling.DoNotSendOnSubscribe }],
            },
            cancellationToken);
    }

    private async Task DisconnectedAsync(CancellationToken cancellationToken)
    {
        var gone = new TaskCompletionSource(TaskCreationOptions.RunContinuationsAsynchronously);
        Task Gone(MqttClientDisconnectedEventArgs e)
        {
            gone.TrySetResult();
            return Task.CompletedTask;
        }

        client.DisconnectedAsync += Gone;
        try
        {
            if (client.IsConnected) await gone.Task.WaitAsync(cancellationToken);
        }
        finally
        {
            client.DisconnectedAsync -= Gone;
        }

        Trouble = Strings.BrokerClosed.With($"{options.Host}:{options.Port}");
        log.LogWarning("{Trouble}", Trouble);
    }

    private async Task TakeAsync(MqttApplicationMessageReceivedEventArgs e)
    {
        e.AutoAcknowledge = false;
        var message = e.ApplicationMessage;
        // Sent for the filter of all topics only: if it is for one of ours as well, it comes for that too.
        if (message.SubscriptionIdentifiers is [AllTopics]
            && Array.Exists(filters, f => MqttTopicFilterComparer.Compare(message.Topic, f) == MqttTopicFilterCompareResult.IsMatch))
            return;
        var payload = message.Payload.IsSingleSegment ? message.Payload.First : message.Payload.ToArray();
        // Awaiting the queue here, not the disk, keeps the order and lets the broker send on.
        var kept = await sink.OfferAsync(
            new Arrived(message.Topic, payload, message.QualityOfServiceLevel != MqttQualityOfServiceLevel.AtMostOnce, message.Dup,
                message.Retain));
        failed.Watch(AcknowledgeAsync(e, kept), "broker", "acknowledging a message");
    }

    private async Task AcknowledgeAsync(MqttApplicationMessageReceivedEventArgs e, Task kept)
    {
        try
        {
            if (!await IsKeptAsync(kept) && version == MqttProtocolVersion.V500)
                e.ReasonCode = MqttApplicationMessageReceivedReasonCode.ImplementationSpecificError;
            await e.AcknowledgeAsync(CancellationToken.None);
        }
        catch (StoreProblemException)
        {
            // Not kept, so not acknowledged. A new connection makes the broker send it again; one is enough for all that were refused.
            if (refused) return;
            refused = true;
            await Task.Delay(TimeSpan.FromSeconds(10), TimeProvider.System);
            if (client.IsConnected) await client.DisconnectAsync(new MqttClientDisconnectOptions(), CancellationToken.None);
        }
        catch (Exception error)
        {
            // The connection went while acknowledging: the broker sends it again and the duplicate changes nothing.
            log.LogDebug(error, "An acknowledgement did not leave");
        }
    }

    /// <summary>
    /// False for what is not kept and need not be sent again: of a new sensor that was turned away, or because the record cannot be opened.
    /// A broker hands out some twenty messages without an answer and then no more, and the watch would be blind until somebody mends the
    /// record. The sensor itself had its receipt from that broker.
    /// </summary>
    private static async Task<bool> IsKeptAsync(Task kept)
    {
        try
        {
            await kept;
            return true;
        }
        catch (Exception e) when (e is SensorTurnedAwayException or StoreProblemException { UntilRestart: true })
        {
            return false;
        }
    }

    private async Task AnnounceAsync(CancellationToken cancellationToken)
    {
        await foreach (var announcement in announcements.ReadAllAsync(cancellationToken))
        {
            if (client.IsConnected) await PublishAsync(announcement);
        }
    }

    private async Task PublishAsync(Announcement announcement)
    {
        try
        {
            await client.PublishAsync(new MqttApplicationMessage
            {
                Topic = announcement.Topic,
                PayloadSegment = announcement.Payload,
                Retain = true,
                QualityOfServiceLevel = MqttQualityOfServiceLevel.AtLeastOnce,
            });
        }
        catch (Exception e)
        {
            // The state is said again after the reconnect.
            log.LogDebug(e, "An announcement did not leave");
        }
    }

    private string Password() => options.PasswordFile is null ? "" : File.ReadAllText(options.PasswordFile).Trim('\r', '\n');
}
