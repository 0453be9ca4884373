using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using RootCellar.Ledger;
using RootCellar.Places;
using RootCellar.Science.Crops;

namespace RootCellar.Pages.Bins;

/// <summary>The last of the three taps: how much, or which. Digging and filling begin here too.</summary>
internal sealed class WriteModel(LedgerDoor door, Pipeline pipeline, Show show, Taking taking) : PageModel
{
    /// <summary>How many bins one can be sorted into on the page.</summary>
    public const int IntoLines = 4;

    public string What { get; private set; } = "";

    public LogForm Form { get; private set; } = new();

    public BinView? Bin { get; private set; }

    public LotView? Lot { get; private set; }

    /// <summary>Where bins stand: outdoors is no place for them.</summary>
    public IReadOnlyList<Place> Places { get; private set; } = [];

    public IReadOnlyList<LotView> Lots { get; private set; } = [];

    public IReadOnlyList<string> Grades { get; private set; } = [];

    public IReadOnlyList<string> Orders { get; private set; } = [];

    public string? Question { get; private set; }

    public string? Problem { get; private set; }

    /// <summary>The book cannot count it even when it is insisted on: it can wait to be checked.</summary>
    public bool OnlyKeep { get; private set; }

    /// <summary>What was dug before this form was shown.</summary>
    public string? JustDug { get; private set; }

    public static IReadOnlyList<Crop> Crops => SetUpModel.AllCrops;

    public IReadOnlyList<string> Units => LogKinds.Units(What, show);

    public async Task<IActionResult> OnGetAsync(string what, string? bin, string? lot, string? place, long? kept, string? row)
    {
        if (!LogKinds.IsKnown(what)) return NotFound();
        Form = new LogForm { Key = LogForm.NewKey(), Bin = bin, Lot = lot, Place = place };
        await LoadAsync(what);
        if (what == "dug") Form = Form with { Lot = FreeLot(), Crop = Lots.Count > 0 ? Lots[0].Crop : "potato", DugOn = Date(show.Today) };
        if (what == "dug" && row is not null) Form = Rows.RowForm.Dig(door.Book, row, show.Today, Form);
        if (what == "filled" && Form.Lot is null && Lots.Count > 0) Form = Form with { Lot = Lots[0].Id };
        if (what == "filled" && string.IsNullOrEmpty(Form.Place)) Form = Form with { Place = (Places.FirstOrDefault(p => p.Purpose == Purpose.Curing) ?? (Places.Count > 0 ? Places[0] : null))?.Id };
        JustDug = kept is { } id && door.Book.Find(id) is { Entry.Event: "dug", Void: false } ? lot : null;
        // A bin that holds nothing has nothing that could be sold; its own page says what can be done with it.
        return what is not ("dug" or "filled") && Bin is null ? Elsewhere(bin) : Page();
    }

    public async Task<IActionResult> OnPostAsync(string what, LogForm form)
    {
        if (!LogKinds.IsKnown(what)) return NotFound();
        Form = form with { Key = string.IsNullOrWhiteSpace(form.Key) ? LogForm.NewKey() : form.Key };
        await LoadAsync(what);
        var reader = new FormReader(Form, show);
        if (reader.Read(what, Bin, door.Now) is not { } entry)
        {
            Problem = reader.Problem;
            return Page();
        }

        var taken = await taking.TakeAsync(entry, Form.Key, User.Identity?.Name);
        if (taken.Kept is { } kept) return LocalRedirect(Next(what, kept));
        (Question, Problem, OnlyKeep) = (taken.Question, taken.Problem, Form.Answer == "checked");
        // Sent again after a change, what was written under this key stays; the change is another entry.
        if (taken.Problem == Strings.WrittenAlready) Form = Form with { Key = LogForm.NewKey() };
        return Page();
    }

    public static string Date(DateOnly day) => day.ToString("yyyy-MM-dd", System.Globalization.CultureInfo.InvariantCulture);

    private RedirectResult Elsewhere(string? bin) => Redirect(string.IsNullOrWhiteSpace(bin) ? "/log" : BinLine.Address(bin.Trim()));

    private string Next(string what, long kept) => what == "dug"
        ? $"/log/filled?lot={Uri.EscapeDataString(Form.Lot!.Trim())}&kept={kept}"
        : $"{BinLine.Address(Form.Bin!.Trim())}?kept={kept}";

    /// <summary>The year and the first number that is free.</summary>
    private string FreeLot()
    {
        var number = 1;
        while (door.Book.Lots.ContainsKey($"{show.Today.Year}-{number}")) number++;
        return $"{show.Today.Year}-{number}";
    }

    private async Task LoadAsync(string what)
    {
        What = what;
        var book = door.Book;
        IReadOnlyList<Place> places = [.. await pipeline.AskAsync((h, _, _) => h.AllPlaces)];
        Places = [.. places.Where(p => p.Purpose != Purpose.Outdoors).OrderBy(p => p.Purpose).ThenBy(p => p.Name, StringComparer.CurrentCulture)];
        Bin = Form.Bin is { } bin ? book.Bins.GetValueOrDefault(bin.Trim()) : null;
        Lot = Bin is null ? null : book.Lots[Bin.Lot];
        Lots = [.. book.Lots.Values.OrderByDescending(l => l.Entries[^1])];
        Grades = [.. book.AllBins.Select(b => b.Grade).OfType<string>().Distinct(StringComparer.Ordinal).Order(StringComparer.Ordinal)];
        Orders = [.. book.Orders.Where(o => o.OpenGrams > 0).Select(o => o.Order).Distinct(StringComparer.Ordinal).Order(StringComparer.Ordinal)];
    }
}
