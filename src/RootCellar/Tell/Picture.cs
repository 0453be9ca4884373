namespace RootCellar.Tell;

/// <summary>A picture of a mail: the name its HTML calls it by, and the PNG.</summary>
internal sealed record Picture(string Id, byte[] Png);
