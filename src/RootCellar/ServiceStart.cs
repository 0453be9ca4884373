using RootCellar.Diagnostics;
using RootCellar.Entry;
using RootCellar.Household;
using RootCellar.Ledger;
using RootCellar.Report;
using RootCellar.Storage;
using RootCellar.Tell;
using RootCellar.Tls;

namespace RootCellar;

/// <summary>Starting, and what is said on the way.</summary>
internal static class ServiceStart
{
    /// <summary>Before the passphrase that a first start prints; the help says which word of it to look for.</summary>
    public const string PassphraseIs = "The household passphrase, shown this once:";

    public static async Task StartServiceAsync(this WebApplication app, Settings settings, CancellationToken cancellationToken)
    {
        HearUnobserved(app);
        var store = app.Services.GetRequiredService<Store>();
        foreach (var open in PrivateFiles.Mend(store.Folder))
            Console.WriteLine($"Others on this machine can read {open}, and this user may not change that. As root: chmod go= {open}");
        var passphrase = await EntryCopy.PrepareAsync(store, app.Services.GetRequiredService<TimeProvider>());
        try
        {
            await app.StartAsync(cancellationToken);
        }
        catch (Exception e)
        {
            await StopWhatStartedAsync(app);
            if (e is OwnCropProblemException) throw new StartException(e.Message, e);
            if (e is IOException { InnerException: Microsoft.AspNetCore.Connections.AddressInUseException })
                throw new StartException(Taken(settings, e.Message), e);
            throw;
        }

        var http = $"http://{Shown(settings.Http.Listen)}";
        app.Services.GetRequiredService<DataFolderLock>().Answers(http);
        var certificate = app.Services.GetRequiredService<HouseCertificate>();
        var (tls, shown) = (settings.Tls, certificate.Now.Until is not null);
        Console.WriteLine($"Pages and API: {http}{(shown && tls.Http is not null ? $" and https://{Shown(tls.HttpListen)}" : "")}");
        Console.WriteLine(settings.Mqtt.Broker.Host is { Length: > 0 } host
            ? $"MQTT: the broker {host}:{settings.Mqtt.Broker.Port}"
            : $"MQTT: built-in broker on {settings.Mqtt.Listen}{(shown && tls.Mqtt is not null ? $", with TLS on {tls.MqttListen}" : "")}");
        if (certificate.Now is { CallsForSomeone: true } standing) Console.WriteLine(CertificateWords.Why(standing));
        if (passphrase is not null && store.StartProblem is not null)
        {
            Console.WriteLine($"Your passphrase was in the record. Until that can be read again the pages take this one: {passphrase}");
        }
        else if (passphrase is not null)
        {
            Console.WriteLine($"{PassphraseIs} {passphrase}");
            Console.WriteLine("Open the pages and give the passphrase.");
        }

        foreach (var fault in app.Services.GetRequiredService<TextRenderer>().Problems.Concat(
            app.Services.GetRequiredService<ReportTemplates>().Problems))
            Console.WriteLine($"A text template of yours is not used: {fault}");
        foreach (var fault in app.Services.GetRequiredService<Languages>().Household.Problems) Console.WriteLine($"Said in English instead: {fault}");
        if (store.StartProblem is { } problem) Console.WriteLine(problem);
        Console.WriteLine("Ready.");
    }

    /// <summary>Says which of our ports another program has.</summary>
    private static string Taken(Settings settings, string said)
    {
        bool Is(string listen) => ListenAddress.Of(listen) is { } at && said.Contains($":{at.Port}:", StringComparison.Ordinal);
        if (Is(settings.Mqtt.Listen))
            return $"The built-in MQTT broker cannot listen on {settings.Mqtt.Listen}: another program listens there. Is it another broker? Set Mqtt:Broker:Host to use that one, or give another port with --mqtt.";
        if (settings.Tls.Mqtt is not null && Is(settings.Tls.MqttListen))
            return $"The built-in MQTT broker cannot listen on {settings.Tls.MqttListen} with TLS: another program listens there. Give another port in Tls:MqttListen, or nothing there for none.";
        return settings.Tls.Http is not null && Is(settings.Tls.HttpListen)
            ? $"The pages cannot be served over https on {settings.Tls.HttpListen}: another program listens there. Give another port in Tls:HttpListen, or nothing there for none."
            : $"The pages cannot be served on {settings.Http.Listen}: another program listens there. Give another port with --http.";
    }

    /// <summary>The last net: a task that was kept and never looked at says its failure when it is thrown away.</summary>
    private static void HearUnobserved(WebApplication app)
    {
        var failed = app.Services.GetRequiredService<FailedWork>();
        void Hear(object? sender, UnobservedTaskExceptionEventArgs e) => failed.Failed("other", "work that nobody looked at", e.Exception);
        TaskScheduler.UnobservedTaskException += Hear;
        app.Lifetime.ApplicationStopped.Register(() => TaskScheduler.UnobservedTaskException -= Hear);
    }

    /// <summary>
    /// After a start that failed. A host that is only disposed takes parts that had no turn yet for broken and prints a stack for each.
    /// </summary>
    private static async Task StopWhatStartedAsync(WebApplication app)
    {
        try
        {
            await app.StopAsync(CancellationToken.None);
        }
        catch (Exception)
        {
            // A part that never started cannot stop; why the start failed is what is told.
        }
    }

    // 0.0.0.0 is where to listen, not where to go.
    internal static string Shown(string listen) => listen.Replace("0.0.0.0", "localhost", StringComparison.Ordinal);
}
