using RootCellar.Science.Crops;

namespace RootCellar.Science.Keeping;

/// <summary>From one day to another, both among them.</summary>
public readonly record struct DayRange(DateOnly From, DateOnly To);

/// <summary>How far a row is.</summary>
public enum RowStage
{
    /// <summary>Nothing tells when it is ripe, and the vines are not known to be dead.</summary>
    NoWindow,

    /// <summary>Not full grown by any list.</summary>
    Growing,

    /// <summary>Full grown by some lists, not by others.</summary>
    Ripening,

    /// <summary>Full grown by every list. Potatoes for the cellar still want dead vines.</summary>
    Grown,

    /// <summary>The vines are dead; the skins rub off.</summary>
    SkinsSetting,

    /// <summary>The skins may have set: the thumb tells.</summary>
    ThumbTest,

    /// <summary>The skins are likely set.</summary>
    Dig,

    /// <summary>Skin blemishes gain.</summary>
    DigSoon,
}

/// <summary>
/// When to dig a row. By the calendar a crop is full grown some days after planting (<see cref="DaysToMaturity"/>). Potatoes
/// for the cellar wait until the vines have been dead for two to three weeks (<see cref="SkinSet"/>) and come out before
/// four, and before the soil is so cold that they bruise: no date is known for that, the thermometer tells it
/// (<see cref="DiggingAir"/>). Dug before, they are new potatoes: thin-skinned, and they do not keep.
/// </summary>
/// <param name="Ripe">When it is full grown by the calendar; null where no days are known.</param>
/// <param name="Opens">
/// Between these days the window for digging opens. Dead vines: 14 to 21 days after. Living ones of potatoes: the same after
/// <paramref name="Ripe"/>, if they are mown or die then. Of other crops: <paramref name="Ripe"/>. Null where neither is known.
/// </param>
/// <param name="ThumbFrom">From when rubbing with the thumb is worth it; null while the vines live.</param>
/// <param name="BlemishFrom">From when blemishes of the skin gain; null while the vines live.</param>
public sealed record DiggingWindow(DayRange? Ripe, DayRange? Opens, DateOnly? ThumbFrom, DateOnly? BlemishFrom)
{
    /// <summary>
    /// Days of dead vines by which skins are set at the latest: 2 to 3 weeks after vine kill (Postharvest Biology text; Univ. Nebraska,
    /// Browning: about two).
    /// </summary>
    public const int SetByDays = 21;

    private const int SetFromDays = (int)SkinSet.SetDays;

    /// <summary>The window of a row.</summary>
    /// <param name="potato">Whether it is a potato: only potatoes set skins.</param>
    /// <param name="plantedOn">The day it was planted.</param>
    /// <param name="days">Days to maturity; null where none are known.</param>
    /// <param name="vinesDeadOn">The day the vines died, were mown, pulled or frosted; null while they live.</param>
    public static DiggingWindow Of(bool potato, DateOnly plantedOn, DaysToMaturity? days, DateOnly? vinesDeadOn)
    {
        DayRange? ripe = days is null ? null : new(plantedOn.AddDays(days.Low), plantedOn.AddDays(days.High));
        if (!potato)
            return new(ripe, ripe, null, null);
        if (vinesDeadOn is not { } dead)
            return new(ripe, ripe is { } r ? new(r.From.AddDays(SetFromDays), r.To.AddDays(SetByDays)) : null, null, null);
        return new(
            ripe,
            new(dead.AddDays(SetFromDays), dead.AddDays(SetByDays)),
            dead.AddDays((int)SkinSet.ThumbTestDays),
            // After more than four weeks.
            dead.AddDays((int)SkinSet.BlemishDays + 1));
    }

    /// <summary>How far it is on a day.</summary>
    public RowStage On(DateOnly day)
    {
        if (ThumbFrom is { } thumb)
        {
            return SkinSet.After(day.DayNumber - thumb.DayNumber + SkinSet.ThumbTestDays) switch
            {
                SkinSetStage.BlemishRisk => RowStage.DigSoon,
                SkinSetStage.Set => RowStage.Dig,
                SkinSetStage.ThumbTest => RowStage.ThumbTest,
                _ => RowStage.SkinsSetting,
            };
        }

        if (Ripe is not { } ripe)
            return RowStage.NoWindow;
        return day < ripe.From ? RowStage.Growing : day <= ripe.To ? RowStage.Ripening : RowStage.Grown;
    }
}
