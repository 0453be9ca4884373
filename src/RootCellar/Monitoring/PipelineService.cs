using RootCellar.Readings;
using RootCellar.Storage;
using RootCellar.Tell;

namespace RootCellar.Monitoring;

/// <summary>Starts the pipeline before any broker lets a message in, and ends it after the last.</summary>
internal sealed class PipelineService(Pipeline pipeline, Store store, Teller teller, SensorDoor door) : IHostedService
{
    public Task StartAsync(CancellationToken cancellationToken)
    {
        teller.Load(store, () => SetUpCopy.Read(store.Folder)?.Contacts);
        door.Set(ClientAccess.Facts(store));
        pipeline.Start();
        return Task.CompletedTask;
    }

    public async Task StopAsync(CancellationToken cancellationToken) => await pipeline.DisposeAsync();
}
