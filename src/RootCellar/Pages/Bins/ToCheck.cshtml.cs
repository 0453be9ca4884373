using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using RootCellar.Household;
using RootCellar.Ledger;
using RootCellar.Monitoring;
using RootCellar.Places;

namespace RootCellar.Pages.Bins;

/// <summary>Entries the book waits with, or counts and doubts: each is corrected, taken back or said to be right.</summary>
internal sealed class ToCheckModel(LedgerDoor door, Pipeline pipeline, EntryDesk taking, EntryLines lines) : PageModel
{
    private const int Shown = 50;

    /// <summary>With each whether it may be said to be right: what the book cannot count at all may not.</summary>
    public IReadOnlyList<(EntryLine Line, bool Right)> Lines { get; private set; } = [];

    public int More { get; private set; }

    /// <summary>Rows of the record that no entry can be made of.</summary>
    public IReadOnlyList<DamagedRow> Damaged { get; private set; } = [];

    public int MoreDamaged { get; private set; }

    public EntryLine? Kept { get; private set; }

    public string? Problem { get; private set; }

    public void OnGet(long? kept) => Load(kept);

    public async Task<IActionResult> OnPostAsync(long id, LogForm form)
    {
        if (door.Book.Find(id) is null) return NotFound();
        var taken = await taking.CheckedAsync(id, form, User.Identity?.Name, HttpContext.RequestAborted);
        if (taken.Kept is { } kept) return LocalRedirect($"/log/to-check?kept={kept}");
        Problem = taken.Problem ?? Strings.CannotBeRight.With(taken.Question);
        if (taken.Later) Response.StatusCode = StatusCodes.Status503ServiceUnavailable;
        Load(null);
        return Page();
    }

    private void Load(long? kept)
    {
        var book = door.Book;
        IReadOnlyList<Place> places = pipeline.Snapshot.AllPlaces;
        var all = lines.ToCheck(book).ToList();
        Lines = [.. all.Take(Shown)
            .Select(s => (lines.Of(book, s, places, canUndo: true),
                s.Counts || (s.Entry.Question is not null && s.Question == s.Entry.Question)))];
        More = all.Count - Lines.Count;
        Damaged = [.. door.Damaged.Take(Shown)];
        MoreDamaged = door.Damaged.Count - Damaged.Count;
        Kept = kept is { } id && book.Find(id) is { } standing ? lines.Of(book, standing, places, canUndo: false) : null;
    }
}
