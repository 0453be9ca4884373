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
    /// <summary>What was dug before this form was shown.</summary>
    public string? JustDug { get; private set; }

    public string Heading => What == Dug.Event ? HarvestWords.Heading(Kind?.Harvest)
        : What == Filled.Event ? Strings.FillABin
        : What == Promised.Event ? Strings.PromiseAnOrder
        : LogKinds.Name(What);

    /// <summary>One tap on one of its choices writes it down.</summary>
    public bool IsChoice => What == Sprouts.Event || What == Appearance.Event;

    public IActionResult OnGet(string what, string? bin, string? lot, string? place, string? order, string? back, long? kept, string? row,
        string? when, string? crop)
    {
        if (LogKinds.Known(what) is not { } kind) return NotFound();
        Form = new LogForm { Key = LogForm.NewKey(), Bin = bin, Lot = lot, Place = place, Order = order, Back = back, When = when };
        Load(kind);
        if (kind == Dug.Event)
            Form = Form with { Lot = FreeLot(), Crop = Door.Book.Crops.NameOf(crop ?? "") ?? (Lots.Count > 0 ? Lots[0].Crop : "potato"), DugOn = Date(Words.Today) };
        if (kind == Dug.Event && row is not null) Form = Rows.RowForm.Dig(Door.Book, row, Words.Today, Form);
        if (kind == Filled.Event && Form.Lot is null && Lots.Count > 0) Form = Form with { Lot = Lots[0].Id };
        if (kind == Filled.Event && string.IsNullOrEmpty(Form.Place))
            Form = Form with
            {
                Place = (Places.FirstOrDefault(p => p.Purpose == Purpose.Curing)
                ?? (Places.Count > 0 ? Places[0] : null))?.Id
            };
        if (kind == Filled.Event) Form = Form with { Lies = Door.Book.AllBins.Where(b => b.Lies is not null).MaxBy(b => b.FilledAt)?.Lies };
        if (kind == Weighed.Event && LastTareKg() is { } tare) Form = Form with { Tare = Correcting.Plain(Words.WeightOf(tare), 3) };
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
        if (reader.Read(kind, Bin, Door.Now) is not { } entry)
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

    public static string Date(DateOnly day) => day.ToString("yyyy-MM-dd", System.Globalization.CultureInfo.InvariantCulture);

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

    /// <summary>
    /// The empty weight that was taken off this bin when it was last weighed, or off the last bin of the household; null where the scale was
    /// set to zero then.
    /// </summary>
    private double? LastTareKg()
    {
        var all = Door.Book.AllBins.SelectMany(b => Tares(b).Select(t => (b.Id, t.At, t.TareKg))).OrderBy(t => t.At).ToList();
        return all.Exists(t => t.Id == Bin?.Id) ? all.FindLast(t => t.Id == Bin?.Id).TareKg : all.LastOrDefault().TareKg;

        static IEnumerable<(DateTimeOffset At, double? TareKg)> Tares(BinView bin)
        {
            foreach (var w in bin.Weighings) yield return (w.At, w.TareKg);
            if (bin.TareKg is { } filled) yield return (bin.FilledAt, filled);
        }
    }

    /// <summary>The year and the first number that is free.</summary>
    private string FreeLot()
    {
        var number = 1;
        while (Door.Book.Lots.ContainsKey($"{Words.Today.Year}-{number}")) number++;
        return $"{Words.Today.Year}-{number}";
    }
}
