using Microsoft.AspNetCore.Mvc;
using RootCellar.Household;
using RootCellar.Readings;
using RootCellar.Storage;

namespace RootCellar.Pages;

/// <summary>How sensors and readers connect to the built-in broker, as the Set-up page decides it.</summary>
internal sealed partial class SetUpModel
{
    private const int LongestReaderName = 60;

    /// <summary>How sensors connect; null where the household has a broker of its own.</summary>
    public DoorFacts? Door { get; private set; }

    /// <summary>The sensor password is one of the short ones of before, which can be guessed.</summary>
    public bool IsShort => Door?.Password is { } password && !SensorSecret.IsLong(password);

    public bool AllowsAnonymous => mqtt.AllowAnonymous;

    public string? ClientProblem { get; private set; }

    public string? ReaderName { get; private set; }

    /// <summary>Whose password was made just now, and the password: shown this once.</summary>
    public (string Name, string Secret)? NewClient { get; private set; }

    public Task<IActionResult> OnPostFinishAsync() => ChangeAsync(() => access.SetFinishedAsync(finished: true), "finish");

    public Task<IActionResult> OnPostReopenAsync() => ChangeAsync(() => access.SetFinishedAsync(finished: false), "reopen");

    public Task<IActionResult> OnPostSensorPasswordAsync() => ChangeAsync(access.RenewSharedAsync, "sensor-password");

    public Task<IActionResult> OnPostOldPasswordAsync() => ChangeAsync(access.StopOldAsync, "old-password");

    public Task<IActionResult> OnPostRemoveClientAsync(long id) => ChangeAsync(() => access.RemoveAsync(id), "removed", "broker");

    public async Task<IActionResult> OnPostReaderAsync(string? name)
    {
        ReaderName = name?.Trim();
        if (string.IsNullOrEmpty(ReaderName) || ReaderName.Length > LongestReaderName)
            ClientProblem = Strings.NameTooLong.With(LongestReaderName);
        else if (door.Facts.Credentials.Any(c => c.Kind == ClientKind.Reader && c.Name == ReaderName))
            ClientProblem = Strings.ReaderTaken.With(ReaderName);
        else await ShowOnceAsync(ReaderName, async () => await access.ForReaderAsync(ReaderName).WaitAsync(HttpContext.RequestAborted));
        if (ClientProblem is null) ReaderName = null;
        return Again();
    }

    public async Task<IActionResult> OnPostRenewClientAsync(long id)
    {
        if (door.Facts.Credentials.FirstOrDefault(c => c.Id == id) is { } known)
            await ShowOnceAsync(known.Name, () => access.RenewAsync(id));
        return Again();
    }

    private async Task ShowOnceAsync(string name, Func<Task<string?>> make)
    {
        try
        {
            if (await make().WaitAsync(HttpContext.RequestAborted) is { } secret) NewClient = (name, secret);
        }
        catch (StoreProblemException e)
        {
            ClientProblem = Strings.NotSaved.With(e.Message);
        }
    }

    private async Task<IActionResult> ChangeAsync(Func<Task> change, string done, string fragment = "connect")
    {
        try
        {
            await change().WaitAsync(HttpContext.RequestAborted);
            return Finish(done, fragment);
        }
        catch (StoreProblemException e)
        {
            ClientProblem = Strings.NotSaved.With(e.Message);
            return Again();
        }
    }

    private void LoadClients() => Door = OwnBroker ? door.Facts : null;
}
