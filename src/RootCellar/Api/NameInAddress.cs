namespace RootCellar.Api;

/// <summary>
/// A grower's name as one part of an address. A slash stays part of the name, and so do dots alone, which a browser would take for a way
/// up.
/// </summary>
internal static class NameInAddress
{
    /// <summary>The name, escaped, as the part of an address between two slashes.</summary>
    public static string Of(string name) => Uri.EscapeDataString(
        name is "." or ".." ? name.Replace(".", "%2E", StringComparison.Ordinal) : name);

    /// <summary>The name that was meant. The server leaves an escaped slash in a path as it is, so that it is no separator.</summary>
    /// <param name="given">The part of the address, unescaped by the server.</param>
    /// <param name="known">Whether there is something of that name.</param>
    public static string Real(string given, Func<string, bool> known)
    {
        if (known(given)) return given;
        var slashed = given.Replace("%2F", "/", StringComparison.OrdinalIgnoreCase);
        return given.Equals("%2E", StringComparison.OrdinalIgnoreCase) || given.Equals("%2E%2E", StringComparison.OrdinalIgnoreCase)
            ? given.Replace("%2E", ".", StringComparison.OrdinalIgnoreCase) : slashed;
    }
}
