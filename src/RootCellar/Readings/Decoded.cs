namespace RootCellar.Readings;

/// <summary>What a message said.</summary>
internal abstract record Decoded
{
    private Decoded()
    {
    }

    /// <summary>Values of one sensor. <see cref="PlaceNamed"/> is the place its topic names, which the house may not know.</summary>
    internal sealed record Measurements(string Sensor, string? PlaceNamed, IReadOnlyList<Measured> Values) : Decoded;

    /// <summary>The sensor's own word, or its last will.</summary>
    internal sealed record Status(string Sensor, bool Online) : Decoded;

    /// <summary>It cannot be read; the problem is a sentence a grower's helper can act on.</summary>
    internal sealed record Unreadable(string? Sensor, string Problem) : Decoded;

    /// <summary>Nothing of ours: another's topic, the service's own announcements, a JSON with no quantity in it.</summary>
    internal sealed record NotOurs : Decoded
    {
        public static readonly NotOurs Instance = new();
    }
}
