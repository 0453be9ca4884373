using System.Globalization;
using RootCellar.Readings;
using RootCellar.Storage;

namespace RootCellar.Monitoring;

/// <summary>
/// Makes, renews and removes what MQTT clients show when they connect, in the record and at the door. Every secret is returned once.
/// </summary>
/// <exception cref="StoreProblemException">Of every change: it could not be written, and nothing changed.</exception>
internal sealed class ClientAccess(Store store, SensorDoor door, Pipeline pipeline, TimeProvider time) : ICredentialUse
{
    /// <summary>
    /// As the record has it; while that cannot be opened, as the copy beside it does: sensors must not be locked out by a damaged card.
    /// </summary>
    public static DoorFacts Facts(Store store)
    {
        if (store.StartProblem is null) return store.Read(ClientCredentialRows.Facts);
        var copy = SetUpCopy.Read(store.Folder);
        return copy?.Door ?? new DoorFacts(copy?.SensorPassword, null, false, []);
    }

    /// <summary>A password for one sensor; the one it had ends.</summary>
    public Task<string> ForSensorAsync(string key) => PutAsync(ClientKind.Sensor, key);

    /// <summary>A password for something that reads what the service publishes.</summary>
    public Task<string> ForReaderAsync(string name) => PutAsync(ClientKind.Reader, name);

    /// <summary>Null: there is none of that number.</summary>
    public async Task<string?> RenewAsync(long id) =>
        door.Facts.Credentials.FirstOrDefault(c => c.Id == id) is { } known ? await PutAsync(known.Kind, known.Name) : null;

    public async Task<bool> RemoveAsync(long id)
    {
        var removed = false;
        await WriteAsync(c => removed = ClientCredentialRows.Remove(c, id));
        return removed;
    }

    /// <summary>
    /// A sensor is forgotten by a person's word; its own password goes in the same transaction, and whoever came with it is cut off. False:
    /// there is none.
    /// </summary>
    public Task<bool> ForgetAsync(string key) => ForgettingAsync((house, wall, mono) => house.Forget(key, mono, wall));

    /// <summary>The same of every sensor that waits for a place and never had one.</summary>
    public Task<bool> ForgetWaitingAsync() => ForgettingAsync((house, wall, mono) => house.ForgetWaiting(mono, wall) >= 0);

    /// <summary>
    /// A new sensor password; the old one holds until <see cref="StopOldAsync"/>, so that no sensor is silent before it was told.
    /// </summary>
    public async Task RenewSharedAsync() => await WriteAsync(c =>
    {
        if (Meta.Get(c, Meta.SensorPassword) is { } old && Meta.Get(c, Meta.OldSensorPassword) is null)
            Meta.Set(c, Meta.OldSensorPassword, old);
        Meta.Set(c, Meta.SensorPassword, SensorSecret.New());
    });

    public async Task StopOldAsync() => await WriteAsync(c => Meta.Remove(c, Meta.OldSensorPassword));

    public async Task SetFinishedAsync(bool finished) => await WriteAsync(c =>
    {
        if (finished) Meta.Set(c, Meta.SetUpFinished, time.GetUtcNow().ToString("O", CultureInfo.InvariantCulture));
        else Meta.Remove(c, Meta.SetUpFinished);
    });

    /// <summary>A password opened; the first time, its sensor's topics become its own alone.</summary>
    public async Task UsedAsync(long id)
    {
        if (door.Facts.Credentials.FirstOrDefault(c => c.Id == id) is not { FirstUsed: null }) return;
        try
        {
            await WriteAsync(c => ClientCredentialRows.Used(c, id, time.GetUtcNow()));
        }
        catch (StoreProblemException)
        {
            // The record takes no writes now: the sensor is let in all the same, and the next time it comes this is tried again.
        }
    }

    private async Task<bool> ForgettingAsync(Func<LiveState, DateTimeOffset, TimeSpan, bool> forget)
    {
        var known = await pipeline.AskAsync(forget, CancellationToken.None);
        // Without its record the service leaves the door as it is: nothing was written, and there is nothing to read anew.
        if (known && store.StartProblem is null) door.Set(store.Read(ClientCredentialRows.Facts));
        return known;
    }

    private async Task<string> PutAsync(ClientKind kind, string name)
    {
        var secret = SensorSecret.New();
        await WriteAsync(c => ClientCredentialRows.Put(c, kind, name, SensorSecret.Hash(secret), time.GetUtcNow()));
        return secret;
    }

    private async Task WriteAsync(Action<Microsoft.Data.Sqlite.SqliteConnection> write)
    {
        await store.WriteAsync(write);
        door.Set(store.Read(ClientCredentialRows.Facts));
        // Whoever waits may go: what the record says is to be so everywhere.
        await pipeline.AskAsync(
            (house, _, _) =>
            {
                house.SetUpFinished = door.Facts.SetUpFinished;
                house.CopyAgain();
                return true;
            },
            CancellationToken.None);
    }
}
