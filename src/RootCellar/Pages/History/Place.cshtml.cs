using Microsoft.AspNetCore.Mvc.RazorPages;
using RootCellar.Charts;
using RootCellar.Household;
using RootCellar.Ledger;
using RootCellar.Monitoring;

namespace RootCellar.Pages.History;

/// <summary>One place: its air now in short, and over any time in charts.</summary>
internal sealed class PlaceModel(Pipeline pipeline, PlaceCards cards, PlaceTiles tiles, PlaceCharts charts, LedgerDoor door, ToDo toDo,
    RoomDoesWords rooms, Show show) : PageModel
{
    private const int LongestSeason = 300;
    private const int ShortestSeason = 90;

    public string Name { get; private set; } = "";

    /// <summary>Null where there is no such place.</summary>
    public PlaceCard? Card { get; private set; }

    /// <summary>Its air in its furrows; null where there is no such place.</summary>
    public PlaceTile? Tile { get; private set; }

    /// <summary>Null where nothing was measured in the time asked for.</summary>
    public ChartsView? Charts { get; private set; }

    /// <summary>Null outdoors and where nothing is held to anything.</summary>
    public RoomDoes? Room { get; private set; }

    public RangeChoice Choice { get; private set; } = null!;

    public static string Address(string place) => "/places/" + Uri.EscapeDataString(place);

    public void OnGet(string place, string? range, string? from, string? to, string? load, string? loadAt)
    {
        Name = place.Replace("%2F", "/", StringComparison.OrdinalIgnoreCase);
        if (pipeline.Snapshot.Place(Name) is not { } view)
        {
            Response.StatusCode = StatusCodes.Status404NotFound;
            return;
        }

        var now = show.Now;
        Card = cards.Of(view, toDo.Of(pipeline.Snapshot));
        Tile = tiles.Of(view, Card);
        Choice = new RangeChoice(Address(Name), HistorySpan.Of(range, from, to, Season(now), now, show), null, show);
        Room = rooms.Of(view, load, loadAt);
        var span = Choice.Span;
        var drawn = charts.Of(view, span.From, span.To, span.Step);
        if (drawn.Count == 0) return;
        Charts = ChartsView.Of("air", drawn, key => $"/charts{Address(Name)}/{key}.svg{Choice.Query}");
    }

    /// <summary>Since the first digging of what the book still holds; without a book, the last three months.</summary>
    private DateTimeOffset Season(DateTimeOffset now)
    {
        var dug = door.Book.Lots.Values.Select(l => l.DugAt).Where(d => d > now.AddDays(-LongestSeason))
            .DefaultIfEmpty(now.AddDays(-ShortestSeason)).Min();
        return dug;
    }
}
