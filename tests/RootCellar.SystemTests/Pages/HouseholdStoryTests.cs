using RootCellar.Places;

namespace RootCellar.SystemTests.Pages;

/// <summary>Twelve crops over two seasons, by households in C and kg on either half of the earth. All of it is invented.</summary>
public sealed class HouseholdStoryTests(ITestOutputHelper output)
{
    private static readonly Household German = new(
        "german", "de-DE", "Europe/Berlin", ",", "112",
        [
            new Place("keller", "Keller", Purpose.Storage, 40, ["potato"]),
            new Place("trockenboden", "Trockenboden", Purpose.Curing, 60, ["onion"]),
            new Place("kammer", "Kammer", Purpose.Storage, 20, ["winter-squash"]),
            new Place("miete", "Rübenmiete", Purpose.Outdoors, null, []),
        ],
        new Dictionary<string, (double, double)>
        {
            ["keller"] = (4.2, 93),
            ["trockenboden"] = (26, 68),
            ["kammer"] = (13.1, 62),
            ["miete"] = (3.4, 84),
        },
        [
            new Grown("potato", "Linda", 9, 20, "Dug", "keller", "keller"),
            new Grown("carrot", "Möhren", 10, 18, "Pulled", "keller", "keller"),
            new Grown("celeriac", "Sellerie", 10, 22, "Dug", "keller", "keller"),
            new Grown("beet", "Rote Bete", 10, 12, "Pulled", "miete", "miete"),
            new Grown("cabbage", "Weißkohl", 10, 28, "Cut", "keller", "keller"),
            new Grown("apple", "Boskoop", 10, 8, "Picked", "keller", "keller"),
            new Grown("pear", "Kongress", 9, 25, "Picked", "keller", "keller"),
            new Grown("onion", "Zwiebeln", 8, 24, "Lifted", "trockenboden", "kammer"),
            new Grown("garlic", "Knoblauch", 7, 20, "Lifted", "trockenboden", "kammer"),
            new Grown("winter-squash", "Hokkaido", 9, 28, "Cut", "kammer", "kammer"),
            new Grown("parsley-root", "Petersilie", 10, 30, "Dug", "keller", "keller"),
            new Grown("quince", "Quitten", 10, 16, "Picked", "keller", "keller"),
        ]);

    private static readonly Household NewZealand = new(
        "new-zealand", "en-NZ", "Pacific/Auckland", ".", "111",
        [
            new Place("cellar", "Cellar", Purpose.Storage, 40, ["potato"]),
            new Place("shed", "Drying shed", Purpose.Curing, 60, ["onion"]),
            new Place("pantry", "Pantry", Purpose.Storage, 20, ["pumpkin"]),
            new Place("yard", "Yard", Purpose.Outdoors, null, []),
        ],
        new Dictionary<string, (double, double)>
        {
            ["cellar"] = (4.6, 92),
            ["shed"] = (25, 70),
            ["pantry"] = (14, 78),
            ["yard"] = (15, 70),
        },
        [
            new Grown("potato", "Agria", 3, 14, "Dug", "cellar", "cellar"),
            new Grown("sweet-potato", "Owairaka", 4, 2, "Dug", "pantry", "pantry"),
            new Grown("pumpkin", "Crown", 4, 10, "Cut", "pantry", "pantry"),
            new Grown("onion", "Longkeeper", 2, 12, "Lifted", "shed", "pantry"),
            new Grown("garlic", "Printanor", 1, 9, "Lifted", "shed", "pantry"),
            new Grown("carrot", "Topweight", 5, 6, "Pulled", "cellar", "cellar"),
            new Grown("parsnip", "Hollow", 6, 1, "Dug", "cellar", "cellar"),
            new Grown("beet", "Derwent", 4, 28, "Pulled", "cellar", "cellar"),
            new Grown("apple", "Braeburn", 4, 18, "Picked", "cellar", "cellar"),
            new Grown("pear", "Cole", 4, 5, "Picked", "cellar", "cellar"),
            new Grown("walnut", "Rex", 4, 20, "Gathered", "pantry", "pantry"),
            new Grown("rutabaga", "Swede", 5, 20, "Pulled", "cellar", "cellar"),
        ]);

    [Fact]
    public Task A_German_household_tells_two_seasons() => new HouseholdStory(German, output).TellAsync();

    [Fact]
    public Task A_New_Zealand_household_tells_two_seasons() => new HouseholdStory(NewZealand, output).TellAsync();
}
