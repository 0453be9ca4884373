using RootCellar.Household;

namespace RootCellar.Readings;

/// <summary>What people may call a sensor; used by page and API alike.</summary>
internal static class SensorNaming
{
    /// <summary>Letters.</summary>
    public const int Longest = 80;

    /// <summary>A name as given: null where nothing was; says what is wrong and what would be right.</summary>
    public static Refused? Read(string? given, out string? name)
    {
        name = string.IsNullOrWhiteSpace(given) ? null : given.Trim();
        if (name is null) return null;
        if (name.Length > Longest) return new Refused(RefusedFor.Name, $"name: at most {Longest} letters.");
        return NameRules.Why(name) is { } why
            ? new Refused(RefusedFor.OddName, $"name: '{NameRules.Seen(name)}' cannot be a name: {why}. Right: words such as by the door.")
            : null;
    }
}
