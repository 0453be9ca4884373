using RootCellar.Ledger;
using RootCellar.Science.Crops;
using RootCellar.Science.Keeping;

namespace RootCellar.Advice;

/// <summary>A row of the book with its window for digging and how far it is on a day.</summary>
internal sealed record RowPlan(RowView Row, DaysToMaturity? Days, DiggingWindow Window, RowStage Stage)
{
    public static RowPlan Of(RowView row, DateOnly today)
    {
        MaturityClass? word = row.Maturity switch
        {
            "early" => MaturityClass.Early,
            "mid" => MaturityClass.MidSeason,
            "late" => MaturityClass.Late,
            _ => null,
        };
        var potato = SetsSkin(row);
        var days = DaysToMaturity.Of(potato, row.Variety, word, row.MaturityDays);
        var window = DiggingWindow.Of(potato, row.PlantedOn, days, row.VinesDeadOn);
        return new RowPlan(row, days, window, window.On(today));
    }

    /// <summary>Whether it is a crop whose skin sets under dead vines.</summary>
    public static bool SetsSkin(RowView row) => HarvestWords.Asks(row.Known, HarvestSign.Skin);

    public bool Dug => Row.Lots.Count > 0;

    /// <summary>Nothing was dug from it yet, and it was not planted again.</summary>
    public bool InTheGround => !Dug && !Row.Ended;
}
