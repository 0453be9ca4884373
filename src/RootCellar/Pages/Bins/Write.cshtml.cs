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

    /// <summary>What can be promised: the crops in bins first.</summary>
    public IReadOnlyList<Crop> Wanted { get; private set; } = [];

    public static IReadOnlyList<Crop> Crops => SetUpModel.AllCrops;

    public IReadOnlyList<string> Units => LogKinds.Units(What, show);

    public async Task<IActionResult> OnGetAsync(string what, string? bin, string? lot, string? place, string? order, string? back, long? change, long? kept)
    {
        if (!LogKinds.IsKnown(what)) return NotFound();
        Form = new LogForm { Key = LogForm.NewKey(), Bin = bin, Lot = lot, Place = place, Order = order, Back = back };
        await LoadAsync(what);
        if (what == "dug") Form = Form with { Lot = FreeLot(), Crop = Lots.Count > 0 ? Lots[0].Crop : "potato", DugOn = Date(show.Today) };
        if (what == "filled" && Form.Lot is null && Lots.Count > 0) Form = Form with { Lot = Lots[0].Id };
        if (what == "filled" && string.IsNullOrEmpty(Form.Place)) Form = Form with { Place = (Places.FirstOrDefault(p => p.Purpose == Purpose.Curing) ?? (Places.Count > 0 ? Places[0] : null))?.Id };
        if (what == "promised")
        {
            if (change is { } id && !Changing(id)) return NotFound();
            Form = Form with { Crop = Form.Crop ?? (Wanted.Count > 0 ? Wanted[0].Id : null) };
        }

        JustDug = kept is { } made && door.Book.Find(made) is { Entry.Event: "dug", Void: false } ? lot : null;
        // A bin that holds nothing has nothing that could be sold; its own page says what can be done with it.
        return LogKinds.NeedsBin(what) && Bin is null ? Elsewhere(bin) : Page();
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

    private string Next(string what, long kept) => what switch
    {
        "dug" => $"/log/filled?lot={Uri.EscapeDataString(Form.Lot!.Trim())}&kept={kept}",
        "promised" => $"/stock?kept={kept}",
        _ when Form.Back == "stock" => $"/stock?kept={kept}",
        _ => $"{BinLine.Address(Form.Bin!.Trim())}?kept={kept}",
    };

    /// <summary>Fills the form with a promise as it stands.</summary>
    private bool Changing(long id)
    {
        if (door.Book.Orders.FirstOrDefault(o => o.Entry == id) is not { } promise || door.Book.Find(id) is not { } standing) return false;
        var (amount, unit) = ((double?)null, (string?)null);
        if (standing.Fields.TryGetProperty("measure", out var measure) && measure.ValueKind == System.Text.Json.JsonValueKind.Object)
            (amount, unit) = (measure.GetProperty("amount").GetDouble(), Measures.Unit(measure.GetProperty("unit").GetString() ?? ""));
        if (unit is null || !Units.Contains(unit)) (amount, unit) = (Math.Round(show.WeightOf(promise.Grams / 1000.0), 2), show.WeightUnit);
        Form = Form with
        {
            Change = id.ToString(System.Globalization.CultureInfo.InvariantCulture),
            Order = promise.Order,
            Crop = promise.Crop,
            Grade = promise.Grade,
            Due = promise.Due is { } due ? Date(due) : null,
            Amount = amount?.ToString("0.##", System.Globalization.CultureInfo.InvariantCulture),
            Unit = unit,
        };
        return true;
    }

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
        Wanted = [.. book.AllBins.Where(b => b.EmptiedAt is null).GroupBy(b => book.Lots[b.Lot].Crop, StringComparer.Ordinal).OrderByDescending(g => g.Count())
            .Select(g => CropTable.Default.Find(g.Key)).OfType<Crop>().UnionBy(Crops, c => c.Id, StringComparer.Ordinal)];
        Orders = [.. book.Orders.Where(o => o.OpenGrams > 0).Select(o => o.Order).Distinct(StringComparer.Ordinal).Order(StringComparer.Ordinal)];
    }
}
