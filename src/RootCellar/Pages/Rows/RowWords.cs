using RootCellar.Advice;
using RootCellar.Api;
using RootCellar.Household;
using RootCellar.Ledger;
using RootCellar.Science.Keeping;

namespace RootCellar.Pages.Rows;

/// <summary>Rows in the words of the pages.</summary>
internal sealed class RowWords(Show show)
{
    public const string Pages = "/rows/";

    /// <summary>The row's page. A slash in a name stays part of the name.</summary>
    public static string Address(string row) => Pages + NameInAddress.Of(row);

    public static string Kind(RowView row) => row.Variety ?? CropWords.Name(row.Crop);

    /// <summary>How far it is, in two words.</summary>
    public static string State(RowPlan plan) => plan.Dug ? HarvestWords.Done(plan.Row.Known) : plan.Row.Ended ? Strings.RowEnded : plan.Stage switch
    {
        RowStage.Growing => Strings.RowGrowing,
        RowStage.Ripening => Strings.RowRipening,
        RowStage.Grown => Strings.RowGrown,
        RowStage.SkinsSetting => Strings.RowSetting,
        RowStage.ThumbTest => Strings.RowThumb,
        RowStage.Dig => Strings.RowDig,
        RowStage.DigSoon => Strings.RowDigSoon,
        _ => Strings.RowInGround,
    };

    public static (string Level, string Mark) Level(RowPlan plan) => !plan.InTheGround ? ("past", "–") : plan.Stage switch
    {
        RowStage.Dig => ("well", "✓"),
        RowStage.DigSoon => ("raised", "!"),
        RowStage.ThumbTest or RowStage.Grown => ("known", "?"),
        _ => ("past", "…"),
    };

    /// <summary>What that means: dates, and what to do.</summary>
    public string Means(RowPlan plan)
    {
        var (row, window, potato) = (plan.Row, plan.Window, RowPlan.SetsSkin(plan.Row));
        if (plan.Dug) return Strings.RowDugMeans.With(Day(row.LastDugAt is { } at ? show.DayOf(at) : null), string.Join(", ", row.Lots),
            HarvestWords.Done(row.Known).ToLowerInvariant());
        if (row.Ended) return Strings.RowEndedMeans;
        var cold = show.Temperature(RotRisk.AvoidBelowC);
        var (dead, ripe, opens) = (Day(row.VinesDeadOn), window.Ripe, window.Opens);
        return plan.Stage switch
        {
            RowStage.SkinsSetting => Strings.RowSettingMeans.With(dead, Day(window.ThumbFrom), Day(opens?.From), Day(opens?.To)),
            RowStage.ThumbTest => Strings.RowThumbMeans.With(dead, Day(opens?.From), Day(opens?.To)),
            RowStage.Dig => Strings.RowDigMeans.With(dead, Day(opens?.From), Day(opens?.To), Day(window.BlemishFrom?.AddDays(-1)), cold),
            RowStage.DigSoon => Strings.RowDigSoonMeans.With(dead, Day(window.BlemishFrom), cold),
            RowStage.NoWindow => potato ? Strings.RowNoDaysPotato : Strings.RowNoDays.With(CropWords.Name(row.Crop)),
            RowStage.Growing => potato
                ? Strings.RowGrowingPotato.With(Day(ripe?.From), Day(ripe?.To), Day(opens?.From), Day(opens?.To))
                : Strings.RowGrowingOther.With(Day(ripe?.From), Day(ripe?.To)),
            RowStage.Ripening => (potato ? Strings.RowRipeningPotato : Strings.RowRipeningOther).With(Day(ripe?.From), Day(ripe?.To)),
            _ => (potato ? Strings.RowGrownPotato : Strings.RowGrownOther).With(Day(ripe?.To)),
        };
    }

    /// <summary>What the air outside says of digging.</summary>
    public string Caution(DiggingWord caution, DiggingToday today)
    {
        var at = caution.TemperatureC is { } c ? show.Temperature(c) : "";
        var (stop, avoid) = (show.Temperature(RotRisk.StopAboveC), show.Temperature(RotRisk.AvoidBelowC));
        return caution.What switch
        {
            DiggingCaution.Unknown => Strings.DiggingUnknown.With(today.KnownHours),
            DiggingCaution.HardFrost => Strings.DiggingHardFrost.With(at),
            DiggingCaution.LightFrost => Strings.DiggingLightFrost.With(at),
            DiggingCaution.ColdSoil => Strings.DiggingColdSoil.With(avoid),
            DiggingCaution.ColdMorning => Strings.DiggingColdMorning.With(at),
            DiggingCaution.Warm => Strings.DiggingWarm.With(at, stop),
            DiggingCaution.Hot => Strings.DiggingHot.With(at, stop),
            DiggingCaution.Wet => Strings.DiggingWet.With(today.SaturatedHours),
            _ => RotRisk.AtDigging(caution.TemperatureC ?? double.NaN) switch
            {
                DiggingPulp.TooWarm => Strings.DiggingPulpTooWarm.With(at, stop),
                DiggingPulp.Warm => Strings.DiggingPulpWarm.With(at),
                DiggingPulp.Cool => Strings.DiggingPulpCool.With(at),
                DiggingPulp.TooCold => Strings.DiggingPulpTooCold.With(at, avoid),
                // Of a later version: better in English than not at all.
                _ => caution.Words,
            },
        };
    }

    private string Day(DateOnly? day) => day is { } d ? show.Day(d) : "";
}
