using RootCellar.Ledger;
using RootCellar.Ledger.Events;

namespace RootCellar.Demo;

/// <summary>Something written into the homestead's book at its hour.</summary>
/// <param name="At">When it happens, and is written down if time flows by then.</param>
/// <param name="By">Who writes it.</param>
/// <param name="What">
/// Where a weigh-in is <see cref="HomesteadBook.OnTheScale"/> the scale shows it; a bin that is sorted says the share each bin gets, as kg
/// of one.
/// </param>
/// <param name="Note">In their own words.</param>
/// <param name="Name">For a deed that is corrected later.</param>
/// <param name="Of">The <paramref name="Name"/> of the deed this puts right: what it should have been.</param>
/// <param name="Keep">They could not place it themselves: it is kept to be checked.</param>
internal sealed record Deed(
    DateTimeOffset At, string By, LedgerEvent What, string? Note = null, string? Name = null, string? Of = null, bool Keep = false);

/// <summary>
/// The season of Larkmoss Farm as its people write it down, in order of time: what is dug, binned, weighed, moved, sold and promised. All
/// of it is invented. The days are those of <see cref="Story"/>; history ends on day 0 at 11:00 and the rest happens as time runs on.
/// </summary>
/// <remarks>
/// What happened before the demo's first hour is copied from the notebook when it begins: it stands in the book with its own day, and
/// its hours before the first reading are dark, as they would be for anyone who begins with bins already full.
/// </remarks>
internal static class HomesteadBook
{
    private const string Ida = "Ida";
    private const string Tomas = "Tomas";
    private const string Wren = "Wren";

    /// <summary>
    /// How much faster than the middle of what is published each lot truly loses water: what the scale can teach. Assumed.
    /// </summary>
    public static IReadOnlyDictionary<string, double> WaterMultipliers { get; } = new Dictionary<string, double>(StringComparer.Ordinal)
    {
        ["2026-1"] = 1.2,
        ["2026-2"] = 1.35,
        ["2026-3"] = 0.8,
        ["2026-4"] = 1.1,
    };

    /// <summary>Everything, in order of time. One line is one event; add where it belongs.</summary>
    public static IReadOnlyList<Deed> Deeds { get; } =
    [
        // The rows as they were planted. The last stands in the ground still, its vines mown.
        On(-141, 10, Tomas, new RowPlanted("lower bed 2", "potato", "Norland", new DateOnly(2026, 4, 29), "early", LengthFt: 110)),
        On(-128, 10, Tomas, new RowPlanted("upper field 1", "potato", "Kennebec", new DateOnly(2026, 5, 12), "mid", LengthFt: 220)),
        On(-128, 11, Tomas, new RowPlanted("upper field 2", "potato", "Yukon Gold", new DateOnly(2026, 5, 12), "mid", LengthFt: 190)),
        On(-125, 9, Tomas, new RowPlanted("upper field 3", "potato", "Russet Burbank", new DateOnly(2026, 5, 15), "late", LengthFt: 160)),
        On(-125, 11, Tomas, new RowPlanted("upper field 4", "potato", "Katahdin", new DateOnly(2026, 5, 15), "late", LengthFt: 160)),

        // Early Norland, dug tender for new potatoes: all but one crate is gone.
        On(-45, 9, Tomas,
            new Dug("2026-1", "potato", "Norland", Row: "lower bed 2", PlantedOn: new DateOnly(2026, 4, 29),
                Skin: "tender", Amount: Kg(62))),
        On(-45, 11, Tomas, new Filled("N1", "2026-1", Kg(21.4), "table", Homestead.Cellar)),
        On(-45, 11.1, Tomas, new Filled("N2", "2026-1", Kg(20.6), "table", Homestead.Cellar)),
        On(-45, 11.2, Tomas, new Filled("N3", "2026-1", Kg(19.8), "table", Homestead.Cellar)),
        On(-40, 7, Wren, new TakenOut(TakenOut.Sold, "N1", Kg(19.5), Empties: true), "Saturday market"),
        On(-34, 9, Wren, new VinesDead("upper field 2", How: "died")),
        On(-33, 18, Wren, new VinesDead("upper field 1", How: "died")),
        On(-26, 7, Wren, new TakenOut(TakenOut.Sold, "N2", Kg(16.5)), "Saturday market"),
        On(-24, 10, Tomas, new VinesDead("upper field 3", How: "mown")),
        On(-19, 18, Ida, new TakenOut(TakenOut.Eaten, "N2", Kg(2.9), Empties: true)),
        On(-14, 18, Ida, new TakenOut(TakenOut.Eaten, "N3", Kg(6.5))),

        // Kennebec, the main crop: the first into the curing room.
        On(-12, 14, Tomas,
            new Dug("2026-2", "potato", "Kennebec", Row: "upper field 1", PlantedOn: new DateOnly(2026, 5, 12),
                Skin: "set", Amount: Kg(148))),
        On(-12, 15.5, Tomas, new Filled("K1", "2026-2", Kg(24.6), "table", Homestead.CuringRoom)),
        On(-12, 15.6, Tomas, new Filled("K2", "2026-2", Kg(24.9), "table", Homestead.CuringRoom)),
        On(-12, 15.7, Tomas, new Filled("K3", "2026-2", Kg(23.8), "table", Homestead.CuringRoom)),
        On(-12, 15.8, Tomas, new Filled("K4", "2026-2", Kg(25.2), "table", Homestead.CuringRoom)),
        On(-12, 15.9, Tomas, new Filled("K5", "2026-2", Kg(24.1), "table", Homestead.CuringRoom)),
        On(-12, 16, Tomas, new Filled("K6", "2026-2", Kg(23.5), "field run", Homestead.CuringRoom)),

        // Yukon Gold, the next day in the cool of the morning.
        On(-11, 8, Wren,
            new Dug("2026-3", "potato", "Yukon Gold", Row: "upper field 2", PlantedOn: new DateOnly(2026, 5, 12),
                Skin: "set", Amount: Kg(112))),
        On(-11, 9.5, Wren, new Filled("Y1", "2026-3", Kg(22.3), "table", Homestead.CuringRoom)),
        On(-11, 9.6, Wren, new Filled("Y2", "2026-3", Kg(22.8), "table", Homestead.CuringRoom)),
        On(-11, 9.7, Wren, new Filled("Y3", "2026-3", Kg(21.9), "table", Homestead.CuringRoom)),
        On(-11, 9.8, Wren, new Filled("Y4", "2026-3", Kg(22.5), "table", Homestead.CuringRoom)),
        On(-11, 9.9, Wren, new Filled("Y5", "2026-3", Kg(21.6), "seed", Homestead.CuringRoom)),

        // Squash goes into the pantry, where nothing measures.
        On(-8, 16, Ida, new Dug("2026-S", "butternut", "Waltham", Amount: Kg(36))),
        On(-8, 17, Ida, new Filled("S1", "2026-S", Kg(18.2), null, Homestead.Pantry)),
        On(-8, 17.1, Ida, new Filled("S2", "2026-S", Kg(17.4), null, Homestead.Pantry)),

        On(-7, 17, Wren, new Weighed("K1", OnTheScale, ResolutionKg: 0.05)),
        On(-7, 17.1, Wren, new Weighed("K2", OnTheScale, ResolutionKg: 0.05)),
        On(-7, 19, Ida, new Promised("school-kitchen", "potato", "table", Kg(60), new DateOnly(2026, 9, 25))),
        On(-6, 12, Ida, new Promised("harvest-supper", "butternut", null, Kg(40), new DateOnly(2026, 9, 26))),
        On(-6, 13, Tomas, new VinesDead("upper field 4", How: "mown")),

        // A 1 for a 2: seen the same evening, put right.
        On(-6, 17, Tomas, new Weighed("K4", Kg(14.9), ResolutionKg: 0.05), Name: "a digit wrong", Keep: true),
        On(-6, 20, Tomas, new Weighed("K4", Kg(24.9), ResolutionKg: 0.05), "a 1 for a 2", Of: "a digit wrong"),

        // Apples for the cider pressing stand in the cellar for two weeks, no longer: what they breathe out makes potatoes sprout.
        On(-5, 15, Wren, new Dug("2026-A", "apple-tender", Amount: Kg(38)), "picked, not dug: the tree by the gate"),
        On(-5, 16, Wren, new Filled("A1", "2026-A", Kg(19.1), null, Homestead.Cellar)),
        On(-5, 16.1, Wren,
            new Filled("A2", "2026-A", Kg(18.6), null, Homestead.Cellar), "out again for the pressing: apples make potatoes sprout"),
        On(-5, 18.6, Ida, new TakenOut(TakenOut.Eaten, "N3", Kg(3.2)), "and the lamp"),

        // Russet Burbank, between two rains.
        On(-3, 14, Tomas,
            new Dug("2026-4", "potato", "Russet Burbank", Row: "upper field 3", PlantedOn: new DateOnly(2026, 5, 15),
                Skin: "scuffed", Amount: Kg(100), Flags: ["wet-soil"], PulpC: 12.5)),
        On(-3, 16, Tomas, new Filled("R1", "2026-4", Kg(25.3), "field run", Homestead.CuringRoom)),
        On(-3, 16.1, Tomas, new Filled("R2", "2026-4", Kg(24.7), "field run", Homestead.CuringRoom)),
        On(-3, 16.2, Tomas, new Filled("R3", "2026-4", Kg(25.1), "field run", Homestead.CuringRoom)),
        On(-3, 16.3, Wren, new Filled("R4", "2026-4", Kg(24.2), "field run", Homestead.CuringRoom)),

        On(-2, 8, Ida, new Sprouts("N3", "few", 2)),
        On(-2, 17, Wren, new Weighed("Y1", OnTheScale, ResolutionKg: 0.05)),
        On(-2, 17.1, Wren, new Weighed("Y4", OnTheScale, ResolutionKg: 0.05)),
        On(-2, 17.3, Wren, new Sprouts("Y1", "none")),

        // Kennebec is fit to move: weighed on the way, the last crate sorted.
        On(-1, 8, Tomas, new Weighed("K1", OnTheScale, ResolutionKg: 0.05)),
        On(-1, 8.1, Tomas, new Weighed("K3", OnTheScale, ResolutionKg: 0.05)),
        On(-1, 8.2, Tomas, new Weighed("K5", OnTheScale, ResolutionKg: 0.05)),
        On(-1, 8.4, Tomas, new Moved("K1", Homestead.Cellar)),
        On(-1, 8.5, Tomas, new Moved("K2", Homestead.Cellar)),
        On(-1, 8.6, Tomas, new Moved("K3", Homestead.Cellar)),
        On(-1, 8.7, Tomas, new Moved("K4", Homestead.Cellar)),
        On(-1, 8.8, Tomas, new Moved("K5", Homestead.Cellar)),
        On(-1, 9.5, Wren,
            new Sorted("K6", [new SortedInto("K6", "table", null, Kg(0.62)), new SortedInto("K7", "seed", null, Kg(0.36))]),
            "soil and two cut ones out"),
        On(-1, 9.7, Wren, new Moved("K6", Homestead.Cellar)),
        On(-1, 9.8, Wren, new Moved("K7", Homestead.Cellar)),
        On(-1, 10, Wren, new Sprouts("K7", "none")),
        On(-1, 16, Ida, new Appearance("R3", "soft"), "one at the bottom"),
        On(-1, 16.2, Ida, new TakenOut(TakenOut.Culled, "R3", Kg(0.6), Reason: "rot"), "and what touched it"),

        // A weight that cannot be: which crate it was, nobody knows yet.
        On(0, 7.5, Wren, new Weighed("K7", Kg(22.6), ResolutionKg: 0.05), "was this K7?", Keep: true),
        On(0, 8, Ida, new TakenOut(TakenOut.Sold, "K1", Kg(20), Order: "school-kitchen"), "first part, by the morning bus"),
        On(0, 9, Wren, new TakenOut(TakenOut.Sold, "A1", Kg(4.5)), "farm gate"),
        On(0, 10, Wren, new Weighed("Y3", OnTheScale, ResolutionKg: 0.05)),
        On(0, 10.2, Tomas, new Weighed("K2", OnTheScale, ResolutionKg: 0.05)),

        // From here on time runs. The hot afternoon keeps the Yukon Gold where it is; after the front it goes down.
        On(0, 12.5, Wren, new TakenOut(TakenOut.Sold, "A1", Kg(2.3)), "farm gate"),
        On(0, 14, Ida, new Appearance("R3", "dry")),
        On(0, 15.25, Wren, new Weighed("Y2", OnTheScale, ResolutionKg: 0.05)),
        On(0, 18, Ida, new TakenOut(TakenOut.Eaten, "N3", Kg(2.1))),
        On(0, 20, Tomas, new Moved("Y1", Homestead.Cellar)),
        On(0, 20.1, Tomas, new Moved("Y2", Homestead.Cellar)),
        On(0, 20.2, Tomas, new Moved("Y3", Homestead.Cellar)),
        On(1, 7.5, Wren, new Moved("Y4", Homestead.Cellar)),
        On(1, 7.6, Wren, new Moved("Y5", Homestead.Cellar)),
        On(1, 8, Ida, new TakenOut(TakenOut.Sold, "K2", Kg(12)), "the bakery"),
        On(1, 17, Tomas, new Weighed("R1", OnTheScale, ResolutionKg: 0.05)),
        On(1, 18, Ida, new TakenOut(TakenOut.Eaten, "N3", Kg(1.8))),
        On(2, 10, Ida, new TakenOut(TakenOut.Sold, "S1", Kg(3.5)), "Saturday market"),
        On(2, 10.1, Wren, new TakenOut(TakenOut.Sold, "K3", Kg(15)), "Saturday market"),
        On(3, 16, Wren, new Weighed("K4", OnTheScale, ResolutionKg: 0.05)),
        On(4, 17, Tomas, new Weighed("R2", OnTheScale, ResolutionKg: 0.05)),
        On(5, 9, Wren, new TakenOut(TakenOut.Sold, "A1", Kg(11.5), Empties: true), "the pressing"),
        On(5, 9.1, Wren, new TakenOut(TakenOut.Sold, "A2", Kg(18), Empties: true), "the pressing"),
        On(7, 8, Ida, new TakenOut(TakenOut.Sold, "K4", Kg(22), Order: "school-kitchen")),
        On(7, 8.1, Ida, new TakenOut(TakenOut.Sold, "K5", Kg(18), Order: "school-kitchen")),
        On(9, 8, Tomas, new Weighed("R1", OnTheScale, ResolutionKg: 0.05)),
        On(9, 8.2, Tomas, new Moved("R1", Homestead.Cellar)),
        On(9, 8.3, Tomas, new Moved("R2", Homestead.Cellar)),
        On(9, 8.4, Tomas, new Moved("R3", Homestead.Cellar)),
        On(9, 8.5, Tomas, new Moved("R4", Homestead.Cellar)),
    ];

    /// <summary>A weight that is read off the scale.</summary>
    public static Amount OnTheScale => default;

    private static Amount Kg(double kg) => Amount.OfKg(kg);

    private static Deed On(
        int day, double localHour, string by, LedgerEvent what, string? note = null, string? Name = null, string? Of = null,
        bool Keep = false) =>
        new(Story.At(day, localHour), by, what, note, Name, Of, Keep);
}
