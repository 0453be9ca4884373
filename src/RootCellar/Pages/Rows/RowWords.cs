using RootCellar.Digging;
using RootCellar.Ledger;
using RootCellar.Pages.Bins;
using RootCellar.Science.Keeping;

namespace RootCellar.Pages.Rows;

/// <summary>Rows in the words of the pages.</summary>
internal sealed class RowWords(Show show)
{
    public const string Pages = "/rows/";

    /// <summary>The row's page. A slash in a name stays part of the name.</summary>
    public static string Address(string row) => Pages + Uri.EscapeDataString(row);

    public static string Kind(RowView row) => row.Variety ?? EntryWords.CropName(row.Crop);

    public static string Word(string word) => word switch
    {
        "early" => Strings.WordEarly,
        "mid" => Strings.WordMid,
        "late" => Strings.WordLate,
        "died" => Strings.WordDied,
        "mown" => Strings.WordMown,
        "pulled" => Strings.WordPulled,
        _ => LogKinds.Choice(word),
    };

    /// <summary>How far it is, in two words.</summary>
    public static string State(RowPlan plan) => plan.Dug ? Strings.RowDug : plan.Row.Ended ? Strings.RowEnded : plan.Stage switch
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
        var (row, window, potato) = (plan.Row, plan.Window, plan.Row.Crop == "potato");
        if (plan.Dug) return Strings.RowDugMeans.With(Day(row.LastDugAt is { } at ? DateOnly.FromDateTime(show.Local(at).DateTime) : null), string.Join(", ", row.Lots));
        if (row.Ended) return Strings.RowEndedMeans;
        var cold = show.Temperature(RotRisk.AvoidBelowC);
        var (dead, ripe, opens) = (Day(row.VinesDeadOn), window.Ripe, window.Opens);
        return plan.Stage switch
        {
            RowStage.SkinsSetting => Strings.RowSettingMeans.With(dead, Day(window.ThumbFrom), Day(opens?.From), Day(opens?.To)),
            RowStage.ThumbTest => Strings.RowThumbMeans.With(dead, Day(opens?.From), Day(opens?.To)),
            RowStage.Dig => Strings.RowDigMeans.With(dead, Day(opens?.From), Day(opens?.To), Day(window.BlemishFrom?.AddDays(-1)), cold),
            RowStage.DigSoon => Strings.RowDigSoonMeans.With(dead, Day(window.BlemishFrom), cold),
            RowStage.NoWindow => potato ? Strings.RowNoDaysPotato : Strings.RowNoDays.With(EntryWords.CropName(row.Crop)),
            RowStage.Growing => potato
                ? Strings.RowGrowingPotato.With(Day(ripe?.From), Day(ripe?.To), Day(opens?.From), Day(opens?.To))
                : Strings.RowGrowingOther.With(Day(ripe?.From), Day(ripe?.To)),
            RowStage.Ripening => (potato ? Strings.RowRipeningPotato : Strings.RowRipeningOther).With(Day(ripe?.From), Day(ripe?.To)),
            _ => (potato ? Strings.RowGrownPotato : Strings.RowGrownOther).With(Day(ripe?.To)),
        };
    }

    private string Day(DateOnly? day) => day is { } d ? show.Day(d) : "";
}
