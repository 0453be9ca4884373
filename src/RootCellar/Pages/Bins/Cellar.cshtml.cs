using System.Globalization;
using System.Text.Json;
using Microsoft.AspNetCore.Mvc.RazorPages;
using RootCellar.Household;
using RootCellar.Ledger;
using RootCellar.Ledger.Events;
using RootCellar.Lots;
using RootCellar.Monitoring;
using RootCellar.Places;

namespace RootCellar.Pages.Bins;

/// <summary>
/// The page for the cellar: every bin and the forms of all that happens to one in one document, which needs no network once it is open. Its script opens
/// the forms; what is written goes out as any other form does.
/// </summary>
internal sealed class CellarModel(LedgerDoor door, LotKeeper lots, Pipeline pipeline, Show show, EntryDesk desk) : PageModel
{
    // As a field for day and hour has it.
    private const string Typed = "yyyy-MM-dd'T'HH:mm";

    private Func<string?, double?> tares = _ => null;

    public IReadOnlyList<BinLine> Bins { get; private set; } = [];

    public IReadOnlyList<Place> Places { get; private set; } = [];

    /// <summary>Of all that happens to a bin; the last is that it is filled.</summary>
    public IReadOnlyList<WriteModel> Forms { get; private set; } = [];

    /// <summary>
    /// For each crop what can happen to a bin of it, and which choices a form offers: one place for it, the crop table.
    /// </summary>
    public string Crops { get; private set; } = "{}";

    /// <summary>
    /// The hours that came or will come twice while an entry of this page may be of them, by the household's clock, whatever zone a phone is in: the times shown,
    /// and the two moments of the first of them in milliseconds since 1970 UTC.
    /// </summary>
    public string Twice { get; private set; } = "[]";

    public void OnGet()
    {
        var now = show.Now;
        Twice = JsonSerializer.Serialize(show.Calendar.PutBack(now.AddYears(-2), now.AddYears(1)).Select(t => new
        {
            from = t.From.ToString(Typed, CultureInfo.InvariantCulture),
            until = t.Until.ToString(Typed, CultureInfo.InvariantCulture),
            first = t.First.ToUnixTimeMilliseconds(),
            second = t.Second.ToUnixTimeMilliseconds(),
        }));
        var book = door.Book;
        tares = Tares.Of(book);
        Places = pipeline.Snapshot.AllPlaces;
        Bins = [.. BinLine.Filled(book, lots.Views)];
        Forms =
        [
            .. LogKinds.OfBin.Append(Filled.Event)
                .Select(kind => new WriteModel(door, pipeline, show, desk).Blank(kind)),
        ];
        Crops = JsonSerializer.Serialize(Bins.Select(b => b.Lot).DistinctBy(l => l.Crop, StringComparer.Ordinal).ToDictionary(
            l => l.Crop, l => new Dictionary<string, IEnumerable<string>>(StringComparer.Ordinal)
            {
                ["what"] = LogKinds.OfBinWith(l.Known).Select(k => k.Name),
                [TakenOut.Culled.Name] = HarvestWords.CullReasons(l.Known),
                [Appearance.Name] = HarvestWords.Looks(l.Known),
            }, StringComparer.Ordinal));
    }

    /// <summary>The empty weight the form for weighing begins with, in the household's unit.</summary>
    public string? Tare(BinView bin) => tares(bin.Id) is { } kg ? Correcting.Plain(show.WeightOf(kg), 3) : null;
}
