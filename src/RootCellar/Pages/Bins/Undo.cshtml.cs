using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using RootCellar.Ledger;
using RootCellar.Monitoring;
using RootCellar.Places;

namespace RootCellar.Pages.Bins;

/// <summary>Takes an entry back. The lists send here; what the book asks about it is answered here.</summary>
internal sealed class UndoModel(LedgerDoor door, Pipeline pipeline, EntryDesk taking, EntryLines lines) : PageModel
{
    public EntryLine Line { get; private set; } = null!;

    public LogForm Form { get; private set; } = new();

    public string? Back { get; private set; }

    public string? Question { get; private set; }

    public string? Problem { get; private set; }

    public bool OnlyKeep { get; private set; }

    public IActionResult OnGet(long id, string? back)
    {
        (Form, Back) = (new LogForm { Key = LogForm.NewKey() }, back);
        return Load(id) ? Page() : NotFound();
    }

    public async Task<IActionResult> OnPostAsync(long id, LogForm form, string? back)
    {
        (Form, Back) = (form, back);
        if (!Load(id)) return NotFound();
        var taken = await taking.UndoAsync(id, form, User.Identity?.Name, HttpContext.RequestAborted);
        if (taken.Kept is { } kept) return LocalRedirect(BackLink.To(Url, back, door.Book, id, kept));
        (Question, Problem, OnlyKeep) = (taken.Question, taken.Problem, form.Answer == "checked");
        if (taken.Later) Response.StatusCode = StatusCodes.Status503ServiceUnavailable;
        return Page();
    }

    private bool Load(long id)
    {
        if (door.Book.Find(id) is not { } standing) return false;
        IReadOnlyList<Place> places = pipeline.Snapshot.AllPlaces;
        Line = lines.Of(door.Book, standing, places, canUndo: true);
        return true;
    }
}
