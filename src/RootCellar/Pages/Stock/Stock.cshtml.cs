using System.Globalization;
using System.Text.Json.Nodes;
using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using RootCellar.Household;
using RootCellar.Ledger;
using RootCellar.Ledger.Events;
using RootCellar.Lots;
using RootCellar.Monitoring;
using RootCellar.Pages.Bins;
using RootCellar.Places;

namespace RootCellar.Pages.Stock;

/// <summary>What there will be on a day, and what is promised.</summary>
internal sealed class StockModel(LedgerDoor door, LotKeeper lots, StockNow stock, Pipeline pipeline, Show show, EntryLines lines,
    EntryDesk taking) : PageModel
{
    private const int ShownMet = 50;

    public DateOnly On { get; private set; }

    public bool IsToday => On == show.Today;

    /// <summary>Days that are often asked for.</summary>
    public IReadOnlyList<(DateOnly Day, string Name)> Days { get; private set; } = [];

    public IReadOnlyList<StockCrop> Crops { get; private set; } = [];

    /// <summary>What is not followed is counted by the book.</summary>
    public int NotFollowed { get; private set; }

    public IReadOnlyList<PromiseCard> Open { get; private set; } = [];

    public IReadOnlyList<Promise> Met { get; private set; } = [];

    /// <summary>What has just been written down.</summary>
    public EntryLine? Kept { get; private set; }

    public string? Question { get; private set; }

    public string? Problem { get; private set; }

    public LogForm Asked { get; private set; } = new();

    public long AskedId { get; private set; }

    public bool OnlyKeep { get; private set; }

    public void OnGet(string? on, long? kept) => Load(on, kept);

    /// <summary>Calls a promise off: what has gone out under it stays sold, the rest is promised no more.</summary>
    public async Task<IActionResult> OnPostCallOffAsync(long id, LogForm form)
    {
        if (door.Book.Find(id)?.Event is not Promised) return NotFound();
        var gone = door.Book.Orders.FirstOrDefault(o => o.Entry == id)?.GoneGrams ?? 0;
        var fields = gone > 0 ? new JsonObject { ["weightKg"] = gone / 1000.0 } : new JsonObject { ["void"] = true };
        var taken = await taking.CorrectAsync([id], fields, form, User.Identity?.Name, HttpContext.RequestAborted);
        if (taken.Kept is { } kept) return LocalRedirect($"/stock?kept={kept}");
        (Question, Problem, Asked, AskedId, OnlyKeep) = (taken.Question, taken.Problem, form, id, form.Answer == "checked");
        if (taken.Later) Response.StatusCode = StatusCodes.Status503ServiceUnavailable;
        Load(null, null);
        return Page();
    }

    private void Load(string? on, long? kept)
    {
        var today = show.Today;
        On = today;
        if (!string.IsNullOrWhiteSpace(on))
        {
            if (!HouseholdCalendar.TryDay(on.Trim(), out var day)) Problem = Strings.DateWrong.With(on);
            else if (day < today || day > today.AddDays(Ahead.Days))
                Problem = Strings.DateOutside.With(show.Day(today), show.Day(today.AddDays(Ahead.Days)));
            else On = day;
        }

        var nextMonth = new DateOnly(today.Year, today.Month, 1).AddMonths(2).AddDays(-1);
        Days =
        [
            .. new[] { (today, Strings.Today), (today.AddDays(7), Strings.InAWeek), (today.AddDays(30), Strings.In30Days),
                (nextMonth, Strings.EndOf.With(nextMonth.ToString("MMMM", CultureInfo.CurrentCulture))),
                (today.AddDays(90), Strings.In90Days) },
        ];
        var (book, views) = (door.Book, lots.Views);
        IReadOnlyList<Place> places = pipeline.Snapshot.AllPlaces;
        Crops = StockTable.Of(stock.On(On), show);
        NotFollowed = book.AllBins.Count(b => b.EmptiedAt is null && b.Grams > 0 && !views.Bins.ContainsKey(b.Id));
        Open = [.. stock.Promises.Select(p => PromiseCard.Of(p, book, places, show))];
        Met = [.. book.Orders.Where(o => o.OpenGrams == 0).OrderByDescending(o => o.Due ?? show.DayOf(o.At)).ThenByDescending(o => o.Entry)
            .Take(ShownMet)];
        Kept = kept is { } id && book.Find(id) is { } standing ? lines.Of(book, standing, places, canUndo: true) : null;
    }
}
