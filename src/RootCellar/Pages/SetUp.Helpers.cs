using Microsoft.AspNetCore.Mvc;
using RootCellar.Entry;
using RootCellar.Household;

namespace RootCellar.Pages;

/// <summary>The helpers of the household, as the Set-up page adds, changes and removes them.</summary>
internal sealed partial class SetUpModel
{
    public IReadOnlyList<HelperView> AllHelpers { get; private set; } = [];

    public string? HelperProblem { get; private set; }

    public string? HelperName { get; private set; }

    /// <summary>Whose PIN was made just now, and the PIN: shown this once.</summary>
    public (string Name, string Pin)? NewPin { get; private set; }

    public async Task<IActionResult> OnPostHelperAsync(string? name, string? pin)
    {
        HelperName = name?.Trim();
        if (!Helpers.IsName(name)) HelperProblem = Strings.NameTooLong.With(Helpers.LongestName);
        else if (Chosen(pin) is { } chosen)
        {
            var added = false;
            HelperProblem = await WriteAsync(c => added = Helpers.Add(c, HelperName!, chosen, show.Now));
            if (HelperProblem is null && !added) HelperProblem = Strings.HelperTaken.With(HelperName);
            if (HelperProblem is null) (NewPin, HelperName) = ((HelperName!, chosen), null);
        }

        return Again();
    }

    public async Task<IActionResult> OnPostHelperPinAsync(long id, string? pin)
    {
        if (Chosen(pin) is { } chosen)
        {
            string? name = null;
            HelperProblem = await WriteAsync(c => name = Helpers.SetPin(c, id, chosen));
            if (HelperProblem is null && name is not null) NewPin = (name, chosen);
        }

        return Again();
    }

    public async Task<IActionResult> OnPostUnlockHelperAsync(long id)
    {
        HelperProblem = await WriteAsync(c => Helpers.Unlock(c, id));
        return HelperProblem is null ? Finish("unlocked", "helpers") : Again();
    }

    public async Task<IActionResult> OnPostRemoveHelperAsync(long id)
    {
        HelperProblem = await WriteAsync(c => Helpers.Remove(c, id));
        return HelperProblem is null ? Finish("removed", "helpers") : Again();
    }

    // What was typed, or one drawn where nothing was; null with a problem said.
    private string? Chosen(string? pin)
    {
        if (string.IsNullOrWhiteSpace(pin)) return Pin.Propose();
        var chosen = pin.Trim();
        if (!Pin.IsWellFormed(chosen)) HelperProblem = Strings.PinRule.With(Pin.Shortest, Pin.Longest);
        else if (Pin.IsEasy(chosen)) HelperProblem = Strings.PinEasy;
        return HelperProblem is null ? chosen : null;
    }
}
