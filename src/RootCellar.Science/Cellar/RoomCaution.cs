using RootCellar.Science.Air;

namespace RootCellar.Science.Cellar;

/// <summary>
/// Which published limit a carbon dioxide reading has reached. There is no level here that means the room may be entered.
/// </summary>
public enum RoomCautionLevel
{
    /// <summary>Under every limit named here, by this sensor; that is all it says.</summary>
    UnderLimits,

    /// <summary>5,000 ppm or more: at or over the usual limit for a working day.</summary>
    WorkingDayLimit,

    /// <summary>30,000 ppm or more: at or over the usual limit for a quarter of an hour.</summary>
    ShortTermLimit,

    /// <summary>40,000 ppm or more: immediately dangerous to life or health.</summary>
    ImmediatelyDangerous,
}

/// <summary>
/// Limits of carbon dioxide in a closed room. Not a safety instrument: a cellar's sensor drifts, and is in one place of the
/// room. Carbon dioxide passes its working-day limit while oxygen still looks normal (20.4 %), so an oxygen meter alone does not tell.
/// </summary>
public static class RoomCaution
{
    /// <summary>Eight-hour mean, ppm: OSHA PEL (29 CFR 1910.1000 Table Z-1) and NIOSH REL.</summary>
    public const double WorkingDayPpm = 5_000;

    /// <summary>
    /// Fifteen minutes, ppm: NIOSH short-term limit. Older sheets say 10,000 and 30,000; the 10,000 is no longer in force.
    /// </summary>
    public const double ShortTermPpm = 30_000;

    /// <summary>Immediately dangerous to life or health, ppm (NIOSH).</summary>
    public const double ImmediatelyDangerousPpm = 40_000;

    /// <summary>The limit a reading has reached.</summary>
    /// <exception cref="ArgumentOutOfRangeException">Below 0 or above 1,000,000 ppm.</exception>
    public static RoomCautionLevel Of(double ppm)
    {
        Require.Within(ppm, 0, 1e6, nameof(ppm));
        return ppm >= ImmediatelyDangerousPpm ? RoomCautionLevel.ImmediatelyDangerous
            : ppm >= ShortTermPpm ? RoomCautionLevel.ShortTermLimit
            : ppm >= WorkingDayPpm ? RoomCautionLevel.WorkingDayLimit
            : RoomCautionLevel.UnderLimits;
    }
}
