using System.Text.Json;
using Microsoft.AspNetCore.Mvc;
using RootCellar.Household;
using RootCellar.Ledger;
using RootCellar.Ledger.Events;
using RootCellar.Monitoring;

namespace RootCellar.Pages.Bins;

/// <summary>An entry's own form, filled in as it was entered: the person changes the figure that is wrong.</summary>
internal sealed class CorrectModel(LedgerDoor door, Pipeline pipeline, Show show, EntryDesk taking, EntryLines lines)
    : FormPage(door, pipeline, show)
{
    /// <summary>The entry as it stands.</summary>
    public EntryLine Line { get; private set; } = null!;

    /// <summary>The last entry there was when the form was opened: it is compared with what stood then.</summary>
    public long Seen { get; private set; }

    public string? Back { get; private set; }

    /// <summary>The page it is on.</summary>
    public string Its { get; private set; } = "/log";

    /// <summary>Rows that were planted.</summary>
    public IEnumerable<string> RowNames => Door.Book.Rows.Select(r => r.Row).Distinct(StringComparer.Ordinal).Order(NameOrder.Instance);

    /// <summary>Why it has no form; null where it has one.</summary>
    public string? Not { get; private set; }

    public IActionResult OnGet(long id, string? back)
    {
        if (Door.Book.Find(id) is not { } standing) return NotFound();
        // A correction that counts is corrected where it shows: in the entry it is of.
        if (standing is { Entry.Of: not null, Void: false, Question: null })
            return Redirect($"/log/correct/{LedgerSelection.Root(Door.Book, standing).Entry.Id}{(back is null ? "" : "?back=" + Uri.EscapeDataString(back))}");
        (Seen, Back) = (Door.Book.Entries[^1].Entry.Id, back);
        var what = LedgerSelection.Root(Door.Book, standing).Entry.Kind;
        Form = Correcting.Form(what, Correcting.AsOf(Door.Book, standing, Seen), Words) with { Key = LogForm.NewKey() };
        Load(standing, what);
        return Page();
    }

    public async Task<IActionResult> OnPostAsync(long id, LogForm form, long seen, string? back)
    {
        if (Door.Book.Find(id) is not { } standing) return NotFound();
        (Seen, Back) = (seen, back);
        Form = form with { Key = string.IsNullOrWhiteSpace(form.Key) ? LogForm.NewKey() : form.Key };
        var what = LedgerSelection.Root(Door.Book, standing).Entry.Kind;
        Load(standing, what);
        if (Not is not null || Read(standing, what) is not { } entry) return Page();
        var taken = await taking.TakeAsync(entry, Form.Key, User.Identity?.Name, HttpContext.RequestAborted);
        if (taken.Kept is { } kept) return LocalRedirect(BackLink.To(Url, back, Door.Book, id, kept));
        (Question, Problem, OnlyKeep) = (taken.Question, taken.Problem, Form.Answer == "checked");
        if (taken.Later) Response.StatusCode = StatusCodes.Status503ServiceUnavailable;
        if (taken.Problem == Strings.WrittenAlready) Form = Form with { Key = LogForm.NewKey() };
        return Page();
    }

    private NewEntry? Read(Standing standing, EventKind what)
    {
        var seen = Correcting.AsOf(Door.Book, standing, Seen);
        var reader = new FormReader(Form, Words);
        var after = reader.Fields(what, Bin);
        var before = new FormReader(Correcting.Form(what, seen, Words), Words).Fields(what, Bin);
        Problem = reader.Problem;
        if (after is null) return null;
        if (Correcting.Changes(standing.Entry.Id, seen, before ?? [], after) is not { } changes)
        {
            Problem = Strings.NothingChanged;
            return null;
        }

        var entry = reader.Read(changes, Door.Now);
        Problem = reader.Problem;
        return entry;
    }

    private void Load(Standing standing, EventKind what)
    {
        Load(what);
        Line = lines.Of(Door.Book, standing, Places, canUndo: true);
        Its = BackLink.Of(LedgerSelection.Root(Door.Book, standing));
        Not = standing.Void || LedgerSelection.Root(Door.Book, standing).Void ? Strings.CannotCorrectVoid : LogKinds.HasForm(what)
            ? null : Strings.CannotCorrect;
    }
}

/// <summary>Where one goes on after an entry was put right or taken back.</summary>
internal static class BackLink
{
    public static string To(Microsoft.AspNetCore.Mvc.IUrlHelper url, string? back, Book book, long id, long kept)
    {
        var root = book.Find(id) is { } entry ? LedgerSelection.Root(book, entry) : null;
        // A row that got another name is on the page of that name.
        var named = root is not null && back?.StartsWith(Rows.RowWords.Pages, StringComparison.Ordinal) == true
            && EntryLines.RowOf(root) is not null;
        var page = url.IsLocalUrl(back) && !named ? back! : root is null ? "/log" : Of(root);
        return $"{page}{(page.Contains('?', StringComparison.Ordinal) ? '&' : '?')}kept={kept}";
    }

    /// <summary>The page an entry is on.</summary>
    public static string Of(Standing root) =>
        EntryLines.BinOf(root) is { } bin ? BinLine.Address(bin) : EntryLines.RowOf(root) is { } row ? Rows.RowWords.Address(row) : "/log";
}
