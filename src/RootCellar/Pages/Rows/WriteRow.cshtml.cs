using Microsoft.AspNetCore.Mvc;
using RootCellar.Household;
using RootCellar.Ledger;
using RootCellar.Ledger.Events;
using RootCellar.Monitoring;
using RootCellar.Pages.Bins;

namespace RootCellar.Pages.Rows;

/// <summary>A row is planted, or its vines are dead.</summary>
internal sealed class WriteRowModel(LedgerDoor door, Pipeline pipeline, Show show, EntryDesk taking) : FormPage(door, pipeline, show)
{
    /// <summary>Rows whose vines may be dead.</summary>
    public IReadOnlyList<RowView> Rows { get; private set; } = [];

    public static IReadOnlyList<string> Hows { get; } = ["died", "mown", "frost", "pulled"];

    public IActionResult OnGet(string what, string? row, string? like)
    {
        Open(EventKinds.Find(what)!);
        Form = What == RowPlanted.Event ? RowForm.Plant(Door.Book, like, Words.Today) : new LogForm { Key = LogForm.NewKey(), Row = row };
        // Without a row in the ground no vines can die.
        return What == VinesDead.Event && row is null && Rows.Count == 0 ? Redirect("/rows") : Page();
    }

    public async Task<IActionResult> OnPostAsync(string what, LogForm form)
    {
        Form = form with { Key = string.IsNullOrWhiteSpace(form.Key) ? LogForm.NewKey() : form.Key };
        Open(EventKinds.Find(what)!);
        var reader = new FormReader(Form, Words);
        if (reader.Read(What, Door.Now) is not { } entry)
        {
            Problem = reader.Problem;
            return Page();
        }

        var taken = await taking.TakeAsync(entry, Form.Key, User.Identity?.Name, HttpContext.RequestAborted);
        if (taken.Kept is { } kept) return LocalRedirect($"{RowWords.Address(Form.Row!.Trim())}?kept={kept}");
        (Question, Problem, OnlyKeep) = (taken.Question, taken.Problem, Form.Answer == "checked");
        if (taken.Later) Response.StatusCode = StatusCodes.Status503ServiceUnavailable;
        if (taken.Problem == Strings.WrittenAlready) Form = Form with { Key = LogForm.NewKey() };
        return Page();
    }

    private void Open(EventKind what)
    {
        Load(what);
        Rows = [.. Door.Book.Rows.Where(r => !r.Ended && r.VinesDeadOn is null).OrderBy(r => r.Row, NameOrder.Instance)];
    }
}
