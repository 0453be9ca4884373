using System.Diagnostics.Metrics;
using RootCellar.Diagnostics;

namespace RootCellar.Storage;

/// <summary>What is written and what is not, and how much room is left.</summary>
internal sealed class StorageMetrics : IRoomMetrics
{
    public StorageMetrics(IMeterFactory meters, Store store, DiskSpace disk)
    {
        var meter = meters.Create("RootCellar.Storage");
        meter.Count("rootcellar.written", "Items written to the record.", () => store.Written);
        meter.Count("rootcellar.dropped", "Readings given up because the record could not be written for too long.", () => store.Dropped);
        meter.Flag("rootcellar.record.ok", "1 while the record can be written.", () => store.AnyProblem is null);
        meter.Gauge("rootcellar.disk.free", "Free room on the disk under the record.", () => disk.FreeBytes ?? double.NaN, "By");
        meter.Gauge("rootcellar.disk.free.percent", "Free part of it.", () => disk.Left?.Percent ?? double.NaN, "%");
        meter.Count("rootcellar.card.errors", "Errors of the card, in reading and writing the record.", () => store.CardErrors.Seen?.Count ?? 0);
        meter.Gauge("rootcellar.resident", "Resident memory of the process.", () => Environment.WorkingSet, "By");
    }
}

/// <summary>The wiring of this room's answers about itself.</summary>
internal static class StorageWiring
{
    public static void AddStorageHealth(this IServiceCollection services)
    {
        services.AddSingleton<DiskSpace>().AddSingleton<IRoomMetrics, StorageMetrics>();
        services.AddHealthChecks().AddCheck<RecordCheck>("record").AddCheck<DiskSpaceCheck>("disk").AddCheck<BackupCheck>("backup").AddCheck<CardCheck>("card");
        services.AddSingleton<IRoomMetrics, BackupMetrics>().AddHostedService<BackupService>();
    }
}
