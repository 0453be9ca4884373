using Microsoft.AspNetCore.Mvc.RazorPages;
using RootCellar.Advice;
using RootCellar.Charts;
using RootCellar.Household;
using RootCellar.Ledger;
using RootCellar.Lots;
using RootCellar.Monitoring;
using RootCellar.Pages.Bins;
using RootCellar.Science.Crops;
using RootCellar.Science.Keeping;

namespace RootCellar.Pages.Foreseen;

/// <summary>What is ahead of every lot and of the whole cellar, as it goes and if held at an air that is asked about.</summary>
internal sealed class AheadModel(
    AheadNow now, LedgerDoor door, LotKeeper keeper, Pipeline pipeline, AheadCharts charts, AheadWords words, WayWords ways, Show show)
    : PageModel
{
    /// <summary>So many lots have their charts on the page, the first to end first; the others are a line and a link each.</summary>
    private const int Shown = 12;

    private const int RowsNamed = 20;

    public HoldAsked Asked { get; private set; } = null!;

    /// <summary>That air in words; null where it cannot be read.</summary>
    public string? HeldAt { get; private set; }

    public AheadReading Ahead { get; private set; } = null!;

    /// <summary>The one lot that is shown; null for all.</summary>
    public string? Only { get; private set; }

    /// <summary>Whether the book has no lot of that name.</summary>
    public bool Unknown { get; private set; }

    /// <summary>Null where nothing is in bins, and where one lot is shown.</summary>
    public AheadAll? All { get; private set; }

    public IReadOnlyList<AheadCard> Cards { get; private set; } = [];

    public IReadOnlyList<AheadOther> Others { get; private set; } = [];

    /// <summary>Rows whose potatoes are still in the ground.</summary>
    public IReadOnlyList<string> NotDug { get; private set; } = [];

    /// <summary>Whether any of the lots shown cures, and whether any sprouts.</summary>
    public (bool Cures, bool Sprouts) Any { get; private set; }

    /// <summary>What goes with using up what sprouts; empty where nothing does.</summary>
    public string Caution { get; private set; } = "";

    public static string Address(string lot) => "/ahead?lot=" + Uri.EscapeDataString(lot);

    public void OnGet(string? hold, string? humidity, string? unit, string? lot)
    {
        Asked = HoldAsked.Of(hold, humidity, unit, show);
        HeldAt = Asked.Hold is { } air ? words.Held(air) : null;
        Ahead = now.Of(Asked.Hold);
        Only = string.IsNullOrEmpty(lot) ? null : lot;
        var book = door.Book;
        if (Only is not null && !book.Lots.ContainsKey(Only))
        {
            Unknown = true;
            Response.StatusCode = StatusCodes.Status404NotFound;
            return;
        }

        var cards = new AheadCards(Ahead, charts, words, ways, show);
        var places = pipeline.Snapshot.AllPlaces;
        var lots = Only is null ? Ahead.Lots : [.. Ahead.Lots.Where(l => l.Lot.Lot == Only)];
        // A crop that is the household's own may do either.
        var crops = lots.Select(l => book.Lots.GetValueOrDefault(l.Lot.Lot)?.Known).ToList();
        Any = (crops.Exists(c => c is null || Curing.RuleOf(c) != CuringRule.None),
            crops.Exists(c => c is null or { Sprouts: not SproutKind.None }));
        if (Only is null && Ahead.Cellar is not null) All = cards.All();
        Cards = [.. lots.Take(Shown).Select((l, i) => cards.Card(l, places, i + 1))];
        Others = [.. lots.Skip(Shown).Select(cards.Other)];
        NotDug =
        [
            .. book.Rows.Where(r => RowPlan.Of(r, show.Today).InTheGround).Select(r => r.Row).Distinct(StringComparer.Ordinal)
                .Order(NameOrder.Instance).Take(RowsNamed).Select(NameRules.Seen),
        ];
        Caution = Cautions.OfUsing(lots.SelectMany(l => l.Lot.Bins).Select(b => keeper.Views.Bins.GetValueOrDefault(b))
            .OfType<BinEstimate>(), show);
    }
}
