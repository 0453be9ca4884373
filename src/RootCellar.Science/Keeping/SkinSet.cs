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

    /// <summary>Days from which they are taken as set: 2 to 3 weeks after vine kill (Univ. Nebraska, Browning; trustees' curing guide: 2 weeks).</summary>
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

    /// <summary>What to say. Unknown days (NaN) ask for the thumb.</summary>
    public static string Words(double deadVineDays)
    {
        if (double.IsNaN(deadVineDays))
            return "When the vines died is not known: rub a few tubers hard with the thumb, and wait with the storage crop if the skin slips.";
        string days = Said.Number(Math.Max(0, deadVineDays));
        return After(deadVineDays) switch
        {
            SkinSetStage.BlemishRisk =>
                $"The vines have been dead {days} days: the skins are likely set, and past four weeks silver scurf and other skin blemishes gain, so dig soon.",
            SkinSetStage.Set =>
                $"The vines have been dead {days} days: the skins are likely set; rub a few tubers with the thumb, for years differ.",
            SkinSetStage.ThumbTest =>
                $"The vines have been dead {days} days: rub tubers hard with the thumb before digging for storage, and wait if the skin slips.",
            _ => $"The vines have been dead only {days} days: the skins will mostly rub off; dig now only what is eaten or sold fresh.",
        };
    }
}
