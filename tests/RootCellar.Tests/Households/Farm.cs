using System.Text;
using Microsoft.Extensions.Logging.Abstractions;
using RootCellar.Advice;
using RootCellar.Diagnostics;
using RootCellar.Monitoring;
using RootCellar.Places;
using RootCellar.Readings;
using RootCellar.Storage;
using RootCellar.Tell;
using RootCellar.Tests.Storage;
using RootCellar.Tests.Tell;

namespace RootCellar.Tests.Households;

/// <summary>The whole pipeline in process on fake time, with a real record on disk and one way out that keeps what it is given.</summary>
internal sealed class Farm(Settings? settings = null, HouseTime? time = null) : IAsyncDisposable
{
    private readonly Settings settings = settings ?? new Settings { Household = { TimeZone = "UTC" } };
    private readonly FailedWork failed = new(TimeProvider.System, NullLogger<FailedWork>.Instance);
    private Outbox? outbox;
    private Pipeline? pipeline;

    public TempFolder Folder { get; } = new();

    public HouseTime Time { get; } = time ?? new(Sample.At);

    public CapturingChannel Channel { get; } = new();

    public Store Store { get; private set; } = null!;

    public FailedWork Failed { get; private set; } = null!;

    public Pipeline Pipeline => pipeline!;

    /// <summary>What makes air of late readings; runs when it is asked to.</summary>
    public LateReadings Late =>
        new(Store, settings.Keep, Time, new LateCounts(TestMeters.Factory), failed, NullLogger<LateReadings>.Instance);

    /// <summary>The texts in the record, oldest first.</summary>
    public IReadOnlyList<string> Texts => [.. Store.Read(c => OutboxRows.Latest(c, 100)).OrderBy(t => t.CreatedAt).Select(t => t.Sms)];

    public static Settings AtOnce() => new() { Household = { TimeZone = "UTC" }, Watch = { OnDelaySeconds = 0, OffDelaySeconds = 0 } };

    /// <summary>A house with a potato cellar, started.</summary>
    public static async Task<Farm> WithCellarAsync(Settings? settings = null, HouseTime? time = null)
    {
        var farm = new Farm(settings, time);
        await farm.StartAsync();
        await farm.PlaceAsync("cellar");
        return farm;
    }

    public Task PlaceAsync(string id) => AskAsync(h =>
    {
        h.SavePlace(new Place(id, id, Purpose.Storage, null, ["potato"]));
        return true;
    });

    public async Task StartAsync()
    {
        Failed = new FailedWork(Time, NullLogger<FailedWork>.Instance);
        Store = Folder.Open(Time, failed: Failed);
        var teller = new Teller(settings.Tell, TextRenderer.Of(settings.Household, Folder.Path),
            new AlwaysTold([CapturingChannel.ChannelName]));
        outbox = new Outbox(new ChannelDesk(Channel), Store, Time, new TellMetrics(TestMeters.Factory), NullLogger<Outbox>.Instance,
            new TellPace { Time = Time }, Failed, teller);
        teller.Load(Store, () => null);
        var house = new LiveState(settings.Sensors, settings.Watch, new JudgementWords(settings.Household), Store, teller,
            new Announcements(), NullLogger<LiveState>.Instance);
        pipeline = new Pipeline(new MappingDesk(settings.Mqtt, new KeptFile<KeptMappings>(Store.Folder, "mappings.json")), new HeardTopics(Time), house, Store, new Recorder(Store, outbox, Failed, Time),
            new ReadingMetrics(TestMeters.Factory, house), Time, Failed);
        await outbox.StartAsync(CancellationToken.None);
        pipeline.Start();
    }

    public async Task StopAsync()
    {
        if (pipeline is not null) await pipeline.DisposeAsync();
        pipeline = null;
        if (outbox is not null) await outbox.StopAsync(CancellationToken.None);
        outbox?.Dispose();
        await Store.DisposeAsync();
        await Failed.DisposeAsync();
    }

    public async Task RestartAsync(TimeSpan away)
    {
        await StopAsync();
        Time.Advance(away);
        await StartAsync();
    }

    /// <summary>As the plug does: what is on disk at this moment is all the next start has.</summary>
    public async Task KillAsync(TimeSpan away)
    {
        using var left = new TempFolder();
        foreach (var file in Directory.GetFiles(Folder.Path)) File.Copy(file, Path.Combine(left.Path, Path.GetFileName(file)));
        await StopAsync();
        foreach (var file in Directory.GetFiles(Folder.Path)) File.Delete(file);
        foreach (var file in Directory.GetFiles(left.Path)) File.Copy(file, Path.Combine(Folder.Path, Path.GetFileName(file)));
        Time.Advance(away);
        await StartAsync();
    }

    public Task<T> AskAsync<T>(Func<LiveState, T> ask) =>
        Pipeline.AskAsync((house, _, _) => ask(house), TestContext.Current.CancellationToken);

    /// <summary>What pages see once all that was queued has been looked at.</summary>
    public async Task<T> SeeAsync<T>(Func<LiveSnapshot, T> look)
    {
        await AskAsync(_ => true);
        return look(Pipeline.Snapshot);
    }

    /// <summary>Publishes and waits for the receipt.</summary>
    public async Task SayAsync(string topic, string payload, bool dup = false, string? client = null) =>
        await await Pipeline.OfferAsync(
            new Arrived(topic, Encoding.UTF8.GetBytes(payload), WantsReceipt: true, dup, Replay: false, client));

    public async Task HintAsync(string topic, string payload, bool replay = false) =>
        await Pipeline.OfferAsync(new Arrived(topic, Encoding.UTF8.GetBytes(payload), WantsReceipt: false, Dup: false, replay));

    /// <summary>Time goes by, second by second as it does, with the cellar's air published every minute at its beginning.</summary>
    public async Task GoAsync(int minutes, double? temperature, Func<string>? more = null, string sensor = "cellar/door",
        string? before = null)
    {
        for (var minute = 0; minute < minutes; minute++)
        {
            if (before is not null) await SayAsync($"rootcellar/{sensor}", before);
            if (temperature is { } c)
                await SayAsync($"rootcellar/{sensor}", FormattableString.Invariant(
                    $$"""{"temperature_c":{{c}},"humidity_pct":92{{more?.Invoke()}}}"""));
            for (var second = 0; second < 60; second++) Time.Advance(TimeSpan.FromSeconds(1));
            await SettledAsync();
        }
    }

    /// <summary>All that was queued has been looked at, and what it decided is on disk.</summary>
    public async Task SettledAsync()
    {
        await AskAsync(_ => true);
        await Store.WriteAsync(_ => { });
    }

    public async ValueTask DisposeAsync()
    {
        if (pipeline is not null) await StopAsync();
        await failed.DisposeAsync();
        Folder.Dispose();
    }
}
