using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using RootCellar.Ledger;
using RootCellar.Pages.Bins;
using RootCellar.Science.Crops;

namespace RootCellar.Pages.Rows;

/// <summary>A row is planted, or its vines are dead.</summary>
internal sealed class WriteRowModel(LedgerDoor door, Show show, Taking taking) : PageModel
{
    public string What { get; private set; } = "";

    public RowForm Form { get; private set; } = new();

    /// <summary>Rows whose vines may be dead.</summary>
    public IReadOnlyList<RowView> Rows { get; private set; } = [];

    public string? Question { get; private set; }

    public string? Problem { get; private set; }

    /// <summary>The book cannot count it even when it is insisted on: it can wait to be checked.</summary>
    public bool OnlyKeep { get; private set; }

    public static IReadOnlyList<Crop> Crops => SetUpModel.AllCrops;

    public static IReadOnlyList<string> Hows { get; } = ["died", "mown", "frost", "pulled"];

    public static IReadOnlyList<string> Maturities { get; } = ["early", "mid", "late"];

    public IActionResult OnGet(string what, string? row, string? like)
    {
        Load(what);
        Form = what == "row-planted" ? RowForm.Plant(door.Book, like, show.Today) : new RowForm { Key = LogForm.NewKey(), Row = row };
        // Without a row in the ground no vines can die.
        return what == "vines-dead" && row is null && Rows.Count == 0 ? Redirect("/rows") : Page();
    }

    public async Task<IActionResult> OnPostAsync(string what, RowForm form)
    {
        Load(what);
        Form = form with { Key = string.IsNullOrWhiteSpace(form.Key) ? LogForm.NewKey() : form.Key };
        if (Form.Read(what, show, door.Now, out var problem) is not { } entry)
        {
            Problem = problem;
            return Page();
        }

        var taken = await taking.TakeAsync(entry, Form.Key, User.Identity?.Name);
        if (taken.Kept is { } kept) return LocalRedirect($"{RowWords.Address(Form.Row!.Trim())}?kept={kept}");
        (Question, Problem, OnlyKeep) = (taken.Question, taken.Problem, Form.Answer == "checked");
        if (taken.Later) Response.StatusCode = StatusCodes.Status503ServiceUnavailable;
        if (taken.Problem == Strings.WrittenAlready) Form = Form with { Key = LogForm.NewKey() };
        return Page();
    }

    private void Load(string what)
    {
        What = what;
        Rows = [.. door.Book.Rows.Where(r => !r.Ended && r.VinesDeadOn is null).OrderBy(r => r.Row, Counting.Instance)];
    }
}
