namespace RootCellar.Demo;

/// <summary>Something written into the homestead's book at its hour.</summary>
/// <param name="At">When it happens, and is written down if time flows by then.</param>
/// <param name="By">Who writes it.</param>
/// <param name="Event">
/// The event in the words of the API. Where a weigh-in has no <c>weightKg</c> it is what the scale shows; a bin that is sorted says the
/// <c>share</c> each bin gets. A correction's <c>of</c> is the <paramref name="Name"/> of the deed it puts right.
/// </param>
/// <param name="Name">For a deed that is corrected later.</param>
internal sealed record Deed(DateTimeOffset At, string By, string Event, string? Name = null);

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

    /// <summary>How much faster than the middle of what is published each lot truly loses water: what the scale can teach. Assumed.</summary>
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
        On(-141, 10, Tomas, """{"event":"row-planted","row":"lower bed 2","crop":"potato","variety":"Norland","plantedOn":"2026-04-29","maturity":"early","lengthFt":110}"""),
        On(-128, 10, Tomas, """{"event":"row-planted","row":"upper field 1","crop":"potato","variety":"Kennebec","plantedOn":"2026-05-12","maturity":"mid","lengthFt":220}"""),
        On(-128, 11, Tomas, """{"event":"row-planted","row":"upper field 2","crop":"potato","variety":"Yukon Gold","plantedOn":"2026-05-12","maturity":"mid","lengthFt":190}"""),
        On(-125, 9, Tomas, """{"event":"row-planted","row":"upper field 3","crop":"potato","variety":"Russet Burbank","plantedOn":"2026-05-15","maturity":"late","lengthFt":160}"""),
        On(-125, 11, Tomas, """{"event":"row-planted","row":"upper field 4","crop":"potato","variety":"Katahdin","plantedOn":"2026-05-15","maturity":"late","lengthFt":160}"""),

        // Early Norland, dug tender for new potatoes: all but one crate is gone.
        On(-45, 9, Tomas, """{"event":"dug","lot":"2026-1","crop":"potato","variety":"Norland","row":"lower bed 2","plantedOn":"2026-04-29","skin":"tender","weightKg":62}"""),
        On(-45, 11, Tomas, """{"event":"filled","bin":"N1","lot":"2026-1","weightKg":21.4,"grade":"table","place":"cellar"}"""),
        On(-45, 11.1, Tomas, """{"event":"filled","bin":"N2","lot":"2026-1","weightKg":20.6,"grade":"table","place":"cellar"}"""),
        On(-45, 11.2, Tomas, """{"event":"filled","bin":"N3","lot":"2026-1","weightKg":19.8,"grade":"table","place":"cellar"}"""),
        On(-40, 7, Wren, """{"event":"sold","bin":"N1","weightKg":19.5,"empties":true,"note":"Saturday market"}"""),
        On(-34, 9, Wren, """{"event":"vines-dead","row":"upper field 2","how":"died"}"""),
        On(-33, 18, Wren, """{"event":"vines-dead","row":"upper field 1","how":"died"}"""),
        On(-26, 7, Wren, """{"event":"sold","bin":"N2","weightKg":16.5,"note":"Saturday market"}"""),
        On(-24, 10, Tomas, """{"event":"vines-dead","row":"upper field 3","how":"mown"}"""),
        On(-19, 18, Ida, """{"event":"eaten","bin":"N2","weightKg":2.9,"empties":true}"""),
        On(-14, 18, Ida, """{"event":"eaten","bin":"N3","weightKg":6.5}"""),

        // Kennebec, the main crop: the first into the curing room.
        On(-12, 14, Tomas, """{"event":"dug","lot":"2026-2","crop":"potato","variety":"Kennebec","row":"upper field 1","plantedOn":"2026-05-12","skin":"set","weightKg":148}"""),
        On(-12, 15.5, Tomas, """{"event":"filled","bin":"K1","lot":"2026-2","weightKg":24.6,"grade":"table","place":"curing-room"}"""),
        On(-12, 15.6, Tomas, """{"event":"filled","bin":"K2","lot":"2026-2","weightKg":24.9,"grade":"table","place":"curing-room"}"""),
        On(-12, 15.7, Tomas, """{"event":"filled","bin":"K3","lot":"2026-2","weightKg":23.8,"grade":"table","place":"curing-room"}"""),
        On(-12, 15.8, Tomas, """{"event":"filled","bin":"K4","lot":"2026-2","weightKg":25.2,"grade":"table","place":"curing-room"}"""),
        On(-12, 15.9, Tomas, """{"event":"filled","bin":"K5","lot":"2026-2","weightKg":24.1,"grade":"table","place":"curing-room"}"""),
        On(-12, 16, Tomas, """{"event":"filled","bin":"K6","lot":"2026-2","weightKg":23.5,"grade":"field run","place":"curing-room"}"""),

        // Yukon Gold, the next day in the cool of the morning.
        On(-11, 8, Wren, """{"event":"dug","lot":"2026-3","crop":"potato","variety":"Yukon Gold","row":"upper field 2","plantedOn":"2026-05-12","skin":"set","weightKg":112}"""),
        On(-11, 9.5, Wren, """{"event":"filled","bin":"Y1","lot":"2026-3","weightKg":22.3,"grade":"table","place":"curing-room"}"""),
        On(-11, 9.6, Wren, """{"event":"filled","bin":"Y2","lot":"2026-3","weightKg":22.8,"grade":"table","place":"curing-room"}"""),
        On(-11, 9.7, Wren, """{"event":"filled","bin":"Y3","lot":"2026-3","weightKg":21.9,"grade":"table","place":"curing-room"}"""),
        On(-11, 9.8, Wren, """{"event":"filled","bin":"Y4","lot":"2026-3","weightKg":22.5,"grade":"table","place":"curing-room"}"""),
        On(-11, 9.9, Wren, """{"event":"filled","bin":"Y5","lot":"2026-3","weightKg":21.6,"grade":"seed","place":"curing-room"}"""),

        // Squash goes into the pantry, where nothing measures.
        On(-8, 16, Ida, """{"event":"dug","lot":"2026-S","crop":"butternut","variety":"Waltham","weightKg":36}"""),
        On(-8, 17, Ida, """{"event":"filled","bin":"S1","lot":"2026-S","weightKg":18.2,"place":"pantry"}"""),
        On(-8, 17.1, Ida, """{"event":"filled","bin":"S2","lot":"2026-S","weightKg":17.4,"place":"pantry"}"""),

        On(-7, 17, Wren, """{"event":"weighed","bin":"K1","resolutionKg":0.05}"""),
        On(-7, 17.1, Wren, """{"event":"weighed","bin":"K2","resolutionKg":0.05}"""),
        On(-7, 19, Ida, """{"event":"promised","order":"school-kitchen","crop":"potato","grade":"table","weightKg":60,"due":"2026-09-25"}"""),
        On(-6, 12, Ida, """{"event":"promised","order":"harvest-supper","crop":"butternut","weightKg":40,"due":"2026-09-26"}"""),
        On(-6, 13, Tomas, """{"event":"vines-dead","row":"upper field 4","how":"mown"}"""),

        // A 1 for a 2: seen the same evening, put right.
        On(-6, 17, Tomas, """{"event":"weighed","bin":"K4","weightKg":14.9,"resolutionKg":0.05}""", Name: "a digit wrong"),
        On(-6, 20, Tomas, """{"event":"correction","of":"a digit wrong","weightKg":24.9,"note":"a 1 for a 2"}"""),

        // Apples for the cider pressing stand in the cellar for two weeks, no longer: what they breathe out makes potatoes sprout.
        On(-5, 15, Wren, """{"event":"dug","lot":"2026-A","crop":"apple-tender","weightKg":38,"note":"picked, not dug: the tree by the gate"}"""),
        On(-5, 16, Wren, """{"event":"filled","bin":"A1","lot":"2026-A","weightKg":19.1,"place":"cellar"}"""),
        On(-5, 16.1, Wren, """{"event":"filled","bin":"A2","lot":"2026-A","weightKg":18.6,"place":"cellar","note":"out again for the pressing: apples make potatoes sprout"}"""),
        On(-5, 18.6, Ida, """{"event":"eaten","bin":"N3","weightKg":3.2,"note":"and the lamp"}"""),

        // Russet Burbank, between two rains.
        On(-3, 14, Tomas, """{"event":"dug","lot":"2026-4","crop":"potato","variety":"Russet Burbank","row":"upper field 3","plantedOn":"2026-05-15","skin":"scuffed","weightKg":100,"flags":["wet-soil"],"pulpC":12.5}"""),
        On(-3, 16, Tomas, """{"event":"filled","bin":"R1","lot":"2026-4","weightKg":25.3,"grade":"field run","place":"curing-room"}"""),
        On(-3, 16.1, Tomas, """{"event":"filled","bin":"R2","lot":"2026-4","weightKg":24.7,"grade":"field run","place":"curing-room"}"""),
        On(-3, 16.2, Tomas, """{"event":"filled","bin":"R3","lot":"2026-4","weightKg":25.1,"grade":"field run","place":"curing-room"}"""),
        On(-3, 16.3, Wren, """{"event":"filled","bin":"R4","lot":"2026-4","weightKg":24.2,"grade":"field run","place":"curing-room"}"""),

        On(-2, 8, Ida, """{"event":"sprouts-seen","bin":"N3","share":"few","length":2}"""),
        On(-2, 17, Wren, """{"event":"weighed","bin":"Y1","resolutionKg":0.05}"""),
        On(-2, 17.1, Wren, """{"event":"weighed","bin":"Y4","resolutionKg":0.05}"""),
        On(-2, 17.3, Wren, """{"event":"sprouts-seen","bin":"Y1","share":"none"}"""),

        // Kennebec is fit to move: weighed on the way, the last crate sorted.
        On(-1, 8, Tomas, """{"event":"weighed","bin":"K1","resolutionKg":0.05}"""),
        On(-1, 8.1, Tomas, """{"event":"weighed","bin":"K3","resolutionKg":0.05}"""),
        On(-1, 8.2, Tomas, """{"event":"weighed","bin":"K5","resolutionKg":0.05}"""),
        On(-1, 8.4, Tomas, """{"event":"moved","bin":"K1","place":"cellar"}"""),
        On(-1, 8.5, Tomas, """{"event":"moved","bin":"K2","place":"cellar"}"""),
        On(-1, 8.6, Tomas, """{"event":"moved","bin":"K3","place":"cellar"}"""),
        On(-1, 8.7, Tomas, """{"event":"moved","bin":"K4","place":"cellar"}"""),
        On(-1, 8.8, Tomas, """{"event":"moved","bin":"K5","place":"cellar"}"""),
        On(-1, 9.5, Wren, """{"event":"sorted","bin":"K6","into":[{"bin":"K6","grade":"table","share":0.62},{"bin":"K7","grade":"seed","share":0.36}],"note":"soil and two cut ones out"}"""),
        On(-1, 9.7, Wren, """{"event":"moved","bin":"K6","place":"cellar"}"""),
        On(-1, 9.8, Wren, """{"event":"moved","bin":"K7","place":"cellar"}"""),
        On(-1, 10, Wren, """{"event":"sprouts-seen","bin":"K7","share":"none"}"""),
        On(-1, 16, Ida, """{"event":"condition-seen","bin":"R3","what":"soft","note":"one at the bottom"}"""),
        On(-1, 16.2, Ida, """{"event":"culled","bin":"R3","weightKg":0.6,"reason":"rot","note":"and what touched it"}"""),

        // A weight that cannot be: which crate it was, nobody knows yet.
        On(0, 7.5, Wren, """{"event":"weighed","bin":"K7","weightKg":22.6,"resolutionKg":0.05,"keep":true,"note":"was this K7?"}"""),
        On(0, 8, Ida, """{"event":"sold","bin":"K1","weightKg":20,"order":"school-kitchen","note":"first part, by the morning bus"}"""),
        On(0, 9, Wren, """{"event":"sold","bin":"A1","weightKg":4.5,"note":"farm gate"}"""),
        On(0, 10, Wren, """{"event":"weighed","bin":"Y3","resolutionKg":0.05}"""),
        On(0, 10.2, Tomas, """{"event":"weighed","bin":"K2","resolutionKg":0.05}"""),

        // From here on time runs. The hot afternoon keeps the Yukon Gold where it is; after the front it goes down.
        On(0, 12.5, Wren, """{"event":"sold","bin":"A1","weightKg":2.3,"note":"farm gate"}"""),
        On(0, 14, Ida, """{"event":"condition-seen","bin":"R3","what":"dry"}"""),
        On(0, 15.25, Wren, """{"event":"weighed","bin":"Y2","resolutionKg":0.05}"""),
        On(0, 18, Ida, """{"event":"eaten","bin":"N3","weightKg":2.1}"""),
        On(0, 20, Tomas, """{"event":"moved","bin":"Y1","place":"cellar"}"""),
        On(0, 20.1, Tomas, """{"event":"moved","bin":"Y2","place":"cellar"}"""),
        On(0, 20.2, Tomas, """{"event":"moved","bin":"Y3","place":"cellar"}"""),
        On(1, 7.5, Wren, """{"event":"moved","bin":"Y4","place":"cellar"}"""),
        On(1, 7.6, Wren, """{"event":"moved","bin":"Y5","place":"cellar"}"""),
        On(1, 8, Ida, """{"event":"sold","bin":"K2","weightKg":12,"note":"the bakery"}"""),
        On(1, 17, Tomas, """{"event":"weighed","bin":"R1","resolutionKg":0.05}"""),
        On(1, 18, Ida, """{"event":"eaten","bin":"N3","weightKg":1.8}"""),
        On(2, 10, Ida, """{"event":"sold","bin":"S1","weightKg":3.5,"note":"Saturday market"}"""),
        On(2, 10.1, Wren, """{"event":"sold","bin":"K3","weightKg":15,"note":"Saturday market"}"""),
        On(3, 16, Wren, """{"event":"weighed","bin":"K4","resolutionKg":0.05}"""),
        On(4, 17, Tomas, """{"event":"weighed","bin":"R2","resolutionKg":0.05}"""),
        On(5, 9, Wren, """{"event":"sold","bin":"A1","weightKg":11.5,"empties":true,"note":"the pressing"}"""),
        On(5, 9.1, Wren, """{"event":"sold","bin":"A2","weightKg":18,"empties":true,"note":"the pressing"}"""),
        On(7, 8, Ida, """{"event":"sold","bin":"K4","weightKg":22,"order":"school-kitchen"}"""),
        On(7, 8.1, Ida, """{"event":"sold","bin":"K5","weightKg":18,"order":"school-kitchen"}"""),
        On(9, 8, Tomas, """{"event":"weighed","bin":"R1","resolutionKg":0.05}"""),
        On(9, 8.2, Tomas, """{"event":"moved","bin":"R1","place":"cellar"}"""),
        On(9, 8.3, Tomas, """{"event":"moved","bin":"R2","place":"cellar"}"""),
        On(9, 8.4, Tomas, """{"event":"moved","bin":"R3","place":"cellar"}"""),
        On(9, 8.5, Tomas, """{"event":"moved","bin":"R4","place":"cellar"}"""),
    ];

    private static Deed On(int day, double localHour, string by, string what, string? Name = null) => new(Story.At(day, localHour), by, what, Name);
}
