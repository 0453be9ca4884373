using System.Diagnostics.Metrics;
using Microsoft.AspNetCore.Server.Kestrel.Core;
using RootCellar.Advice;
using RootCellar.Api;
using RootCellar.Diagnostics;
using RootCellar.Entry;
using RootCellar.Household;
using RootCellar.Ledger;
using RootCellar.Lots;
using RootCellar.Mirror;
using RootCellar.Monitoring;
using RootCellar.Pages;
using RootCellar.Places;
using RootCellar.Readings;
using RootCellar.Report;
using RootCellar.Storage;
using RootCellar.Tell;
using RootCellar.Tls;
using RootCellar.Watch;

namespace RootCellar;

/// <summary>The wiring of the whole service, one line a part. <c>run</c> and <c>demo</c> differ only in what they pass in.</summary>
internal static class ServiceHost
{
    /// <exception cref="DataFolderInUseException">Another process has the data folder.</exception>
    public static WebApplication Build(Settings settings, string folder, TimeProvider time, Action<IServiceCollection>? more = null,
        string command = DataFolderHolder.Run)
    {
        Directory.CreateDirectory(folder);
        settings.TakeSetUp(folder);
        // What is started from here on speaks the household's language; a request begins elsewhere and does so for itself.
        var languages = new Languages(settings.Household, folder);
        languages.Household.Speak();
        var held = DataFolderLock.Take(folder, command, TimeProvider.System.GetUtcNow());
        var builder = WebApplication.CreateSlimBuilder(new WebApplicationOptions { ContentRootPath = AppContext.BaseDirectory });
        builder.Configuration.Sources.Clear();
        // The slim builder leaves https out.
        builder.WebHost.UseKestrelHttpsConfiguration();
        builder.WebHost.ConfigureKestrel(k =>
        {
            k.Listen(ListenAddress.Of(settings.Http.Listen)!);
            // Where systemd holds port 80 open for us (rootcellar.socket), the pages are there as well.
            k.UseSystemd();
            void WithTls(ListenOptions l) => l.UseHttps(l.ApplicationServices.GetRequiredService<HouseCertificate>().Handshake);
            if (settings.Tls.Http is { } https) k.Listen(https, WithTls);
            // The broker's door is the web server's too: it bounds what it buffers of a connection.
            if (IsBuiltIn(settings.Mqtt))
            {
                k.Listen(ListenAddress.Of(settings.Mqtt.Listen)!, l => l.UseBroker());
                if (settings.Tls.Mqtt is { } mqtts) k.Listen(mqtts, l => l.UseBroker(WithTls));
            }

            k.AddServerHeader = false;
            k.Limits.MaxRequestBodySize = 20 * 1024 * 1024;
        });
        builder.Logging.ClearProviders();
        builder.Logging.AddSimpleConsole(o => o.SingleLine = true);
        // Everything on stderr: stdout belongs to what was asked for.
        builder.Services.Configure<Microsoft.Extensions.Logging.Console.ConsoleLoggerOptions>(
            o => o.LogToStandardErrorThreshold = LogLevel.Trace);
        builder.Logging.AddFilter("Microsoft", LogLevel.Warning).AddFilter("Polly", LogLevel.None)
            // Keys lie in the data folder, which is the service's own; there is nothing here to encrypt them with.
            .AddFilter("Microsoft.AspNetCore.DataProtection", LogLevel.Error);
        // Why a start failed is said in one line by the command; the host would print its whole stack before it.
        builder.Logging.AddFilter("Microsoft.Extensions.Hosting.Internal.Host", LogLevel.Critical);
        builder.Services.AddSystemd();

        var services = builder.Services;
        services.AddSettings(settings).AddSingleton(time).AddSingleton(languages);
        // Made by the container, so that it lets go of it at the end.
        services.AddSingleton(_ => held);
        services.AddSingleton<FailedWork>();
        services.AddHealthChecks().AddCheck<FailedWork>("work").AddCheck<StartCheck>("start");
        services.AddSingleton(
            p => Store.Open(folder, settings.Keep, time, p.GetRequiredService<ILogger<Store>>(), c => WarmStart.Try(c, time.GetUtcNow()),
            p.GetRequiredService<FailedWork>(), p.GetRequiredService<IMeterFactory>()));
        services.AddSingleton(p => new Backups(
            p.GetRequiredService<Store>(), settings.Backup, settings.Household.Calendar(), time, c => WarmStart.Try(c, time.GetUtcNow()),
            p.GetRequiredService<FailedWork>(), p.GetRequiredService<ILogger<Backups>>()));
        services.AddTell(settings, folder);
        services.AddSingleton<Announcements>().AddSingleton<Recorder>().AddSingleton<LiveState>().AddSingleton<ReadingMetrics>()
            .AddSingleton<Pipeline>().AddSingleton<IReadingSink>(p => p.GetRequiredService<Pipeline>());
        services.AddHostedService<AliveService>();
        services.AddHostedService<PipelineService>();
        if (time is HouseClock clock)
        {
            services.AddSingleton(clock).AddSingleton<TimeKeeper>().AddHostedService(p => p.GetRequiredService<TimeKeeper>());
            services.AddHealthChecks().AddCheck<TimeCheck>("time");
        }

        services.AddSingleton<RoomsLearned>().AddSingleton<RoomSums>();
        services.AddSingleton<LedgerDoor>().AddSingleton<PlaceRemoval>().AddSingleton<IRoomMetrics, LedgerMetrics>().AddSingleton<HouseholdDesk>();
        services.AddHealthChecks().AddCheck<LedgerCheck>("ledger");
        services.AddHostedService<LedgerService>();
        services.AddLots();
        services.AddReport(folder);
        services.AddMirror(settings.Mirror);
        services.AddTls(settings.Tls);
        services.AddReadings(settings);
        services.AddHostedService<Housekeeping>();
        services.AddSingleton<WatchCounts>().AddSingleton<LateCounts>();
        services.AddHostedService<LateReadings>();
        services.AddHostedService<Watchdog>();
        services.AddHostedService<DiskWatch>();
        services.AddEntry(folder);
        services.AddPages();
        services.AddApi();
        services.AddHealth();
        services.AddStorageHealth();
        more?.Invoke(services);

        var app = builder.Build();
        // What is asked for first is let go of last: after the record is closed.
        app.Services.GetRequiredService<DataFolderLock>();
        app.UseTrustedProxies();
        app.UseSecureCookies();
        app.Use((context, next) =>
        {
            languages.Of(LanguageModel.Chosen(context.Request)).Speak();
            return next(context);
        });
        app.UseRouting();
        app.UseErrorAnswers();
        app.UseEntry();
        app.UseLargeAnswers();
        app.UsePackedPages();
        app.MapPages();
        app.MapApi();
        return app;
    }

    /// <summary>Each room is given its own keys and no others.</summary>
    private static IServiceCollection AddSettings(this IServiceCollection services, Settings settings) => services
        .AddSingleton(settings.Household).AddSingleton(settings.Household.Calendar())
        .AddSingleton(settings.Http).AddSingleton(settings.Mqtt).AddSingleton(settings.Sensors).AddSingleton(settings.Watch)
            .AddSingleton(settings.Keep)
        .AddSingleton(settings.Tell).AddSingleton(settings.Mirror).AddSingleton(settings.Report).AddSingleton(settings.Limits);

    private static void AddTell(this IServiceCollection services, Settings settings, string folder)
    {
        services.AddSingleton(p => new ChannelMaker(
            new HttpClient(new SocketsHttpHandler { AllowAutoRedirect = false, UseCookies = false }) { Timeout = Timeout.InfiniteTimeSpan },
            week => p.GetRequiredService<Store>().Read(c => ReportRows.Parts(c, week))));
        services.AddSingleton(p => new ChannelDesk(
            settings.Tell, new KeptFile<ChannelSetUp>(folder, DataFolder.Channels), p.GetRequiredService<ChannelMaker>(), p.GetServices<IChannel>()));
        Func<Uri?> AddressOf(IServiceProvider p) => () => p.GetRequiredService<HouseAddress>().Now;
        services.AddSingleton(p => new AnswerLinks(AddressOf(p))).AddSingleton<ModemInbox>();
        services.AddSingleton<AnswerCounts>().AddSingleton<IRoomMetrics>(p => p.GetRequiredService<AnswerCounts>());
        services.AddHostedService<AnswerService>();
        services.AddSingleton<PingState>().AddSingleton<IRoomMetrics, PingMetrics>().AddHostedService<PingService>();
        services.AddHealthChecks().AddCheck<PingCheck>("ping");
        Func<string, string?> NameOf(IServiceProvider p) => key => p.GetRequiredService<Pipeline>().Snapshot.NameOf(key);
        services.AddSingleton(p => TextRenderer.Of(settings.Household, folder, AddressOf(p), NameOf(p)));
        // Pages have a renderer of their own: the teller's belongs to the pipeline's thread.
        services.AddSingleton(p => new AlarmWords(
            TextRenderer.Of(settings.Household, folder, AddressOf(p), NameOf(p)), p.GetRequiredService<JudgementWords>(),
            p.GetRequiredService<TimeProvider>()));
        services.AddSingleton(p => new JudgementWords(settings.Household, NameOf(p))).AddSingleton<Teller>().AddSingleton<ChannelTest>().AddSingleton<TellMetrics>().AddSingleton<Outbox>()
            .AddSingleton<IRoomMetrics, OutboxMetrics>();
        services.AddHealthChecks().AddCheck<ChannelsCheck>("channels");
        services.AddHostedService(p => p.GetRequiredService<Outbox>());
    }

    private static void AddReadings(this IServiceCollection services, Settings settings)
    {
        services.AddSingleton(
            p => new SensorDoor(
                settings.Mqtt.AllowAnonymous, (topic, payload) => p.GetRequiredService<Pipeline>().SensorsOf(topic, payload)));
        services.AddSingleton<HeardTopics>()
            .AddSingleton(p => new MappingDesk(settings.Mqtt, new KeptFile<KeptMappings>(p.GetRequiredService<Store>().Folder, DataFolder.Mappings)));
        services.AddSingleton<MappingDoor>().AddSingleton<ClientAccess>().AddSingleton<ICredentialUse>(p => p.GetRequiredService<ClientAccess>())
            .AddSingleton<Refusals>();
        if (!IsBuiltIn(settings.Mqtt))
        {
            services.AddSingleton<OutsideBroker>();
            services.AddHostedService(p => p.GetRequiredService<OutsideBroker>());
            services.AddHealthChecks().AddCheck<OutsideBrokerCheck>("broker");
        }
        else
        {
            services.AddSingleton<BrokerDoor>().AddSingleton<BuiltInBroker>().AddSingleton<IRoomMetrics, BrokerMetrics>();
            services.AddHealthChecks().AddCheck<BuiltInBrokerCheck>("broker");
            services.AddHostedService(p => p.GetRequiredService<BuiltInBroker>());
        }
    }

    private static bool IsBuiltIn(MqttOptions mqtt) => string.IsNullOrEmpty(mqtt.Broker.Host);
}
