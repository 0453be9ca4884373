using System.Net;
using Microsoft.AspNetCore.Mvc.RazorPages;
using RootCellar.Household;
using RootCellar.Ledger;
using RootCellar.Lots;

namespace RootCellar.Pages.Bins;

/// <summary>One label; null stands for a place on the sheet that is used up already.</summary>
internal sealed record BinLabel(BinLine Line, QrPicture Picture);

/// <summary>Labels for bins, on a sheet of stickers or on plain paper to cut.</summary>
internal sealed class LabelsModel(LedgerDoor door, HttpOptions http, Show show) : PageModel
{
    /// <summary>3 by 10 labels of 2 5/8 by 1 inch on a letter sheet, the common address label.</summary>
    public const int OnLetter = 30;

    /// <summary>3 by 8 labels of 70 by 37 mm on an A4 sheet, without a margin between them (common practice).</summary>
    public const int OnA4 = 24;

    private const int OnPaper = 8;
    private const int Most = 600;

    public IReadOnlyList<BinLine> All { get; private set; } = [];

    public HashSet<string> Chosen { get; private set; } = new(StringComparer.Ordinal);

    /// <summary>stickers (on letter), a4 or paper.</summary>
    public string Sheet { get; private set; } = "stickers";

    public int First { get; private set; } = 1;

    public IReadOnlyList<BinLabel?[]> Sheets { get; private set; } = [];

    /// <summary>Where the codes lead.</summary>
    public string Address { get; private set; } = "";

    /// <summary>The codes would lead every phone to itself.</summary>
    public bool LeadsNowhere { get; private set; }

    /// <summary>Several bins chosen by one tap: all, those just filled, a lot's.</summary>
    public IReadOnlyList<(string Says, string Address, bool Here)> Taps { get; private set; } = [];

    /// <param name="of">all, or the days it was filled in: 1 is today.</param>
    public void OnGet(string[] bin, string? of, string? lot, string? sheet, int? first)
    {
        Address = (http.PublicUrl is { Length: > 0 } given ? given : $"{Request.Scheme}://{Request.Host}").TrimEnd('/');
        LeadsNowhere = Uri.TryCreate(Address, UriKind.Absolute, out var address)
            && (address.IsLoopback || (IPAddress.TryParse(address.Host, out var ip) && ip.Equals(IPAddress.Any)));
        All = [.. BinLine.Filled(door.Book, LotViews.Nothing)];
        Tap(of, lot);
        Chosen.UnionWith(bin);
        // Who weighs in kilograms has A4 in the printer.
        Sheet = sheet is "paper" or "a4" or "stickers" ? sheet : show.Pounds ? "stickers" : "a4";
        var onSheet = Sheet switch { "paper" => OnPaper, "a4" => OnA4, _ => OnLetter };
        First = Math.Clamp(first ?? 1, 1, onSheet);
        if (sheet is null) return;
        IEnumerable<BinLabel?> labels = All.Where(b => Chosen.Contains(b.Bin.Id)).Take(Most)
            .Select(b => new BinLabel(b, QrPicture.Of(Address + BinLine.Address(b.Bin.Id))));
        if (Sheet != "paper") labels = Enumerable.Repeat<BinLabel?>(null, First - 1).Concat(labels);
        Sheets = Chosen.Count == 0 ? [] : [.. labels.Chunk(onSheet).Where(s => Array.Exists(s, l => l is not null))];
    }

    private void Tap(string? of, string? lot)
    {
        List<(string, string, bool)> taps = [];
        Offer(Strings.LabelsAll, "of=all", of == "all", All);
        Offer(Strings.LabelsToday, "of=1", of == "1", FilledWithin(1));
        Offer(Strings.LabelsWeek, "of=7", of == "7", FilledWithin(7));
        foreach (var bins in All.GroupBy(b => b.Lot.Id, StringComparer.Ordinal).OrderBy(g => g.Key, NameOrder.Instance))
            Offer(Strings.LotIs.With(bins.Key) + " ({0})", "lot=" + Uri.EscapeDataString(bins.Key), lot == bins.Key, [.. bins]);
        Taps = taps;

        void Offer(string says, string query, bool here, IReadOnlyList<BinLine> bins)
        {
            if (bins.Count == 0) return;
            taps.Add((says.With(bins.Count), "/labels?" + query, here));
            if (here) Chosen.UnionWith(bins.Select(b => b.Bin.Id));
        }

        IReadOnlyList<BinLine> FilledWithin(int days) => [.. All.Where(b => show.DayOf(b.Bin.FilledAt) > show.Today.AddDays(-days))];
    }
}
