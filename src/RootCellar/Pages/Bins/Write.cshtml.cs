using Microsoft.AspNetCore.Mvc;
using RootCellar.Household;
using RootCellar.Ledger;
using RootCellar.Ledger.Events;
using RootCellar.Monitoring;
using RootCellar.Places;
using RootCellar.Science.Crops;

namespace RootCellar.Pages.Bins;

/// <summary>The last of the three taps: how much, or which. Digging and filling begin here too.</summary>
internal sealed class WriteModel(LedgerDoor door, Pipeline pipeline, Show show, EntryDesk taking) : FormPage(door, pipeline, show)
{
    /// <summary>Stands in a blank form for the name of its bin; no bin can be called so by accident.</summary>
    public const string AnyBin = "{bin}";

    /// <summary>What was dug before this form was shown.</summary>
    public string? JustDug { get; private set; }

    public string Heading => What == Dug.Event ? HarvestWords.Heading(Kind?.Harvest)
        : What == Filled.Event ? Strings.FillABin
        : What == Promised.Event ? Strings.PromiseAnOrder
        : LogKinds.Name(What);

    public IActionResult OnGet(string what, string? bin, string? lot, string? place, string? order, string? back, long? kept, string? row,
        string? when, string? crop)
    {
        if (LogKinds.Known(what) is not { } kind) return NotFound();
        Form = new LogForm { Key = LogForm.NewKey(), Bin = bin, Lot = lot, Place = place, Order = order, Back = back, When = when };
        Load(kind);
        if (kind == Dug.Event)
            Form = Form with { Lot = FreeLot(), Crop = Door.Book.Crops.NameOf(crop ?? "") ?? (Lots.Count > 0 ? Lots[0].Crop : "potato"), DugOn = Date(Words.Today) };
        if (kind == Dug.Event && row is not null) Form = Rows.RowForm.Dig(Door.Book, row, Words.Today, Form);
        if (kind == Filled.Event) BeginFilling();
        if (kind == Weighed.Event && Tares.Of(Door.Book)(Bin?.Id) is { } tare) Form = Form with { Tare = Correcting.Plain(Words.WeightOf(tare), 3) };
        if (kind == Promised.Event) Form = Form with { Crop = Wanted.Count > 0 ? Wanted[0].Id : null };
        JustDug = kept is { } id && Door.Book.Find(id) is { Event: Dug, Void: false } ? lot : null;
        // A bin that holds nothing has nothing that could be sold; its own page says what can be done with it.
        return LogKinds.NeedsBin(kind) && Bin is null ? Elsewhere(bin) : Page();
    }

    public async Task<IActionResult> OnPostAsync(string what, LogForm form)
    {
        if (LogKinds.Known(what) is not { } kind) return NotFound();
        Form = form with { Key = string.IsNullOrWhiteSpace(form.Key) ? LogForm.NewKey() : form.Key };
        Load(kind);
        var reader = new FormReader(Form, Words);
        if (reader.Read(kind, Door.Now) is not { } entry)
        {
            Problem = reader.Problem;
            return Page();
        }

        var taken = await taking.TakeAsync(entry, Form.Key, User.Identity?.Name, HttpContext.RequestAborted);
        if (taken.Kept is { } kept) return LocalRedirect(Next(kept));
        (Question, Problem, OnlyKeep) = (taken.Question, taken.Problem, Form.Answer == "checked");
        if (taken.Later) Response.StatusCode = StatusCodes.Status503ServiceUnavailable;
        // Sent again after a change, what was written under this key stays; the change is another entry.
        if (taken.Problem == Strings.WrittenAlready) Form = Form with { Key = LogForm.NewKey() };
        return Page();
    }

    /// <summary>
    /// Its form for whatever bin, for a page that is used without a network: the name of the bin stands as <see cref="AnyBin"/>.
    /// </summary>
    public WriteModel Blank(EventKind kind)
    {
        Form = new LogForm { Bin = AnyBin };
        Load(kind);
        if (kind == Filled.Event) BeginFilling();
        return this;
    }

    public static string Date(DateOnly day) => day.ToString("yyyy-MM-dd", System.Globalization.CultureInfo.InvariantCulture);

    private void BeginFilling() => Form = Form with
    {
        Lot = Form.Lot ?? (Lots.Count > 0 ? Lots[0].Id : null),
        Place = !string.IsNullOrEmpty(Form.Place) ? Form.Place
            : (Places.FirstOrDefault(p => p.Purpose == Purpose.Curing) ?? (Places.Count > 0 ? Places[0] : null))?.Id,
        Lies = Door.Book.AllBins.Where(b => b.Lies is not null).MaxBy(b => b.FilledAt)?.Lies,
    };

    private RedirectResult Elsewhere(string? bin) => Redirect(string.IsNullOrWhiteSpace(bin) ? "/log" : BinLine.Address(bin.Trim()));

    private string Next(long kept) => What.Name switch
    {
        // Dug some days ago, it was binned that day too: one may say otherwise.
        Dug.Name when HouseholdCalendar.TryDay(Form.DugOn, out var day) && day < Words.Today =>
            $"/log/filled?lot={Uri.EscapeDataString(Form.Lot!.Trim())}&when={Date(day)}T12:00&kept={kept}",
        Dug.Name => $"/log/filled?lot={Uri.EscapeDataString(Form.Lot!.Trim())}&kept={kept}",
        Promised.Name => $"/stock?kept={kept}",
        _ when Form.Back == "stock" => $"/stock?kept={kept}",
        _ => $"{BinLine.Address(Form.Bin!.Trim())}?kept={kept}",
    };

    /// <summary>The year and the first number that is free.</summary>
    private string FreeLot()
    {
        var number = 1;
        while (Door.Book.Lots.ContainsKey($"{Words.Today.Year}-{number}")) number++;
        return $"{Words.Today.Year}-{number}";
    }
}
