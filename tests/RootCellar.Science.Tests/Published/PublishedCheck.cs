namespace RootCellar.Science.Tests.Published;

/// <summary>One of our figures beside the figure somebody published.</summary>
/// <param name="Topic">Heading it stands under in docs/science/validation.md.</param>
/// <param name="What">The case, with its conditions and units; once in a topic.</param>
/// <param name="Source">Author, year, work, table or equation; "from memory" where it is.</param>
/// <param name="Unit">Unit of <paramref name="Published"/>, <paramref name="Ours"/> and <paramref name="Allowed"/>.</param>
/// <param name="Published">The figure as printed.</param>
/// <param name="Ours">What this program works out.</param>
/// <param name="Allowed">Largest |Ours - Published| that passes.</param>
/// <param name="Fitted">True where the published figure was used to set one of ours: it then proves little.</param>
/// <param name="Remark">What to know about it; "falls short" where we are not near enough.</param>
/// <param name="AtMost">True where the source says "less than": only what lies above it is a distance.</param>
/// <param name="Worked">True where we worked the figure out of what somebody published, or made a number of his words.</param>
/// <param name="KnownShort">Where we are not near enough: how far we know ourselves to be, so that it cannot grow unseen.</param>
internal sealed record PublishedCheck(string Topic, string What, string Source, string Unit, double Published, double Ours, double Allowed,
    bool Fitted = false, string? Remark = null, bool AtMost = false, bool Worked = false, double? KnownShort = null)
{
    /// <summary>Ours less the published figure.</summary>
    public double Distance => AtMost ? Math.Max(0, Ours - Published) : Ours - Published;
}
