using System.Collections.Frozen;
using System.Text.Json.Nodes;
using RootCellar.Ledger;

namespace RootCellar.Tests.Lots;

/// <summary>Books written by hand: what the ledger would come to.</summary>
internal static class Books
{
    public static readonly Balance NoBalance = new(0, 0, 0, 0, FrozenDictionary<string, long>.Empty);

    public static Book Of(params IReadOnlyList<LotView> lots) => Of([], lots);

    public static Book Of(IReadOnlyList<Promise> orders, params IReadOnlyList<LotView> lots)
    {
        var bins = lots.SelectMany(l => l.Bins).ToList();
        return Book.Empty with
        {
            Lots = lots.ToFrozenDictionary(l => l.Id, StringComparer.Ordinal),
            Bins = bins.ToFrozenDictionary(b => b.Id, StringComparer.Ordinal),
            AllBins = bins,
            Orders = orders,
        };
    }

    /// <summary>The book of entries as they lie in the record, though no door would let them in now.</summary>
    public static Book Stored(string events)
    {
        long id = 0;
        return BookBuilder.Build([.. Ledger.Bookkeeping.Parse(events).EnumerateArray().Select(e =>
        {
            var body = JsonObject.Create(e)!;
            body.Remove("event");
            body.Remove("at");
            var at = e.GetProperty("at").GetDateTimeOffset();
            return Recorded.Of(new LedgerEntry(++id, e.GetProperty("event").GetString()!, at, at, "test", null, EventReader.Element(body),
                null, null));
        })], RootCellar.Household.HouseholdCalendar.Utc);
    }

    public static LotView Lot(string id, DateTimeOffset dug, IReadOnlyList<BinView> bins, string crop = "potato", string? variety = null,
        string skin = "set") =>
        new(id, crop, variety, null, null, DateOnly.FromDateTime(dug.UtcDateTime), dug, skin, [], null, null,
            [.. bins.Select(b => b with { Lot = id })], NoBalance, []);

    public static BinView Bin(string id, DateTimeOffset filled, double kg, params IReadOnlyList<(string Place, DateTimeOffset From)> stays)
    {
        long grams = (long)Math.Round(kg * 1000);
        return new BinView(
            id, "", "table", stays[^1].Place, filled, grams, grams, null, ByMeasure: false,
            [.. stays.Select(s => new Stay(s.Place, s.From))], [], [], [],
            [new MassStep(1, filled, "filled", grams)], []);
    }

    public static BinView Weighed(this BinView bin, DateTimeOffset at, double kg, double resolution = 0.01, bool check = false,
        double? tare = null) => bin with
        {
            Grams = (long)Math.Round(kg * 1000),
            Weighings = [.. bin.Weighings, new Weighing(100 + bin.Weighings.Count, at, kg, resolution, kg + tare, tare, bin.BookKg, check)],
        };

    public static BinView Out(this BinView bin, DateTimeOffset at, double kg, string reason) => bin with
    {
        Grams = bin.Grams - (long)Math.Round(kg * 1000),
        Steps = [.. bin.Steps, new MassStep(50 + bin.Steps.Count, at, reason, -(long)Math.Round(kg * 1000))],
    };

    public static BinView Saw(this BinView bin, DateTimeOffset at, string what) =>
        bin with { Conditions = [.. bin.Conditions, new ConditionSeen(200, at, what)] };

    public static BinView SawSprouts(this BinView bin, DateTimeOffset at, string share) =>
        bin with { SproutsSeen = [.. bin.SproutsSeen, new SproutsSeen(300, at, share, null)] };
}
