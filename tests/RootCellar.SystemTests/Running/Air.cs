namespace RootCellar.SystemTests.Running;

/// <summary>Air for a potato curing room, whose band is 50 to 60 F (10 to 15.6 C) and 85 to 95 %, harmed over 65 F (18.3 C).</summary>
public static class Air
{
    public const string CuringRoom = "curing-room";
    public const string Right = """{"temperature_f":60,"humidity_pct":90}""";

    /// <summary>
    /// Above the limit by more than the deadband, and less than 5 C away from <see cref="Right"/>, which would look like a fault.
    /// </summary>
    public const string TooWarm = """{"temperature_f":68,"humidity_pct":90}""";

    public static readonly (string Key, string Value)[] NoDelays = [("Watch:OnDelaySeconds", "0"), ("Watch:OffDelaySeconds", "0")];
}
