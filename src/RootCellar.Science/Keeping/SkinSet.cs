namespace RootCellar.Science.Keeping;

/// <summary>How far the skins have set under dead vines.</summary>
public enum SkinSetStage
{
    /// <summary>They rub off.</summary>
    NotSet,

    /// <summary>They may have set: the thumb tells.</summary>
    ThumbTest,

    /// <summary>Set, by the calendar.</summary>
    Set,

    /// <summary>Set, and blemishes now gain on it.</summary>
    BlemishRisk,
}

/// <summary>
/// Skin set of potatoes by the days since the vines died. Years differ, and soil that is hot, too dry or too wet slows it
/// (Lulai, USDA-ARS; extension): rubbing with the thumb overrides the calendar.
/// </summary>
public static class SkinSet
{
    /// <summary>Days before which skins are taken as not set (assumed).</summary>
    public const double ThumbTestDays = 10;

    /// <summary>
    /// Days from which they are taken as set: 2 to 3 weeks after vine kill (Univ. Nebraska, Browning; trustees' curing guide: 2 weeks).
    /// </summary>
    public const double SetDays = 14;

    /// <summary>Days from which silver scurf gains (INRA ephytia: more than 4 weeks between haulm destruction and harvest).</summary>
    public const double BlemishDays = 28;

    /// <summary>The stage after so many days of dead vines.</summary>
    /// <param name="deadVineDays">Days since the vines died, were cut or frosted.</param>
    public static SkinSetStage After(double deadVineDays) => deadVineDays switch
    {
        > BlemishDays => SkinSetStage.BlemishRisk,
        >= SetDays => SkinSetStage.Set,
        >= ThumbTestDays => SkinSetStage.ThumbTest,
        _ => SkinSetStage.NotSet,
    };
}
