using Microsoft.AspNetCore.Mvc.RazorPages;
using RootCellar.Advice;
using RootCellar.Household;
using RootCellar.Ledger;
using RootCellar.Monitoring;
using RootCellar.Pages.Bins;

namespace RootCellar.Pages.Rows;

/// <summary>Every row: what is in the ground, the most urgent first, and what was dug, with its yield.</summary>
internal sealed class RowsModel(LedgerDoor door, Outside outside, Show show) : PageModel
{
    private const int Shown = 40;

    public IReadOnlyList<RowPlan> Growing { get; private set; } = [];

    public IReadOnlyList<RowPlan> Dug { get; private set; } = [];

    /// <summary>The most that one of them gave per metre; null where none has a length.</summary>
    public double? BestYield => Dug.Max(p => p.Row.KgPerMetre);

    /// <summary>Which part of those that were dug is shown.</summary>
    public OlderPart Part { get; private set; } = null!;

    /// <summary>The row written down last: the next is often of its kind.</summary>
    public string? Last { get; private set; }

    /// <summary>Null while nothing is in the ground.</summary>
    public OutsideNow? Outside { get; private set; }

    public void OnGet(int? older)
    {
        var plans = door.Book.Rows.Select(r => RowPlan.Of(r, show.Today)).ToList();
        Growing = [.. plans
            .Where(p => p.InTheGround)
            .OrderByDescending(p => p.Stage)
            .ThenBy(p => p.Window.Opens?.From ?? DateOnly.MaxValue)
            .ThenBy(p => p.Row.Row, NameOrder.Instance)];
        var dug = plans.Where(p => p.Dug).OrderByDescending(p => p.Row.LastDugAt).ToList();
        (Dug, Part) = OlderPart.Of(dug, older, Shown, "/rows", "dug-rows", Strings.OlderRows);
        Last = plans.MaxBy(p => p.Row.Entry)?.Row.Row;
        if (Growing.Count > 0) Outside = outside.Now();
    }
}
