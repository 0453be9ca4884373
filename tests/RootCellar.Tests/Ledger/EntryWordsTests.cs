using RootCellar.Household;
using RootCellar.Ledger;
using RootCellar.Ledger.Events;
using RootCellar.Places;
using RootCellar.Science.Crops;
using RootCellar.Science.Keeping;
using RootCellar.Tests.Storage;

namespace RootCellar.Tests.Ledger;

/// <summary>An entry in the words of the pages.</summary>
public sealed class EntryWordsTests
{
    private static readonly Place[] Places = [new("cellar", "Root cellar", Purpose.Storage, null, [])];

    [Theory]
    [InlineData("""{"event":"dug","lot":"L1","crop":"potato","variety":"Kennebec","weightKg":100,"skin":"set"}""",
        "Dug: lot L1, Potato, Kennebec, 100.0 kg, set: a thumb does not rub it off")]
    [InlineData("""{"event":"dug","lot":"L1","crop":"potato","skin":"tender"}""", "Dug: lot L1, Potato, tender: it rubs off")]
    [InlineData("""{"event":"dug","lot":"L1","crop":"squash"}""", "Cut: lot L1, Winter squash")]
    [InlineData("""{"event":"filled","bin":"B1","lot":"L1","weightKg":22.7,"grade":"table","place":"cellar","lies":"sack","pieceKg":0.15,"tareKg":1.2}""",
        "Filled: 22.7 kg, empty bin 1.2 kg, lot L1, grade table, to Root cellar, in a sack, 150 g each")]
    [InlineData("""{"event":"filled","bin":"B1","lot":"L1","measure":{"amount":2,"unit":"bushel","kgPerUnit":27.2}}""",
        "Filled: 2 bushels, lot L1")]
    [InlineData("""{"event":"filled","bin":"B1","lot":"L1","measure":{"amount":2,"unit":"kg","kgPerUnit":1}}""", "Filled: 2.0 kg, lot L1")]
    [InlineData("""{"event":"moved","bin":"B1","place":"cellar"}""", "Moved: to Root cellar")]
    [InlineData("""{"event":"moved","bin":"B1","place":"shed"}""", "Moved: to shed")]
    [InlineData("""{"event":"weighed","bin":"B1","weightKg":24,"tareKg":1.5}""", "Weighed: 24.0 kg, empty bin 1.5 kg")]
    [InlineData("""{"event":"sorted","bin":"B1","into":[{"bin":"B1","grade":"table","weightKg":12},{"bin":"B2","measure":{"amount":10,"unit":"lb","kgPerUnit":0.4}}]}""",
        "Sorted: into B1 12.0 kg table, into B2 10 pounds")]
    [InlineData("""{"event":"culled","bin":"B1","weightKg":0.6,"reason":"rot"}""", "Culled: 0.6 kg, rot")]
    [InlineData("""{"event":"sold","bin":"B1","weightKg":20,"order":"school","empties":true}""", "Sold: 20.0 kg, order school, nothing left")]
    [InlineData("""{"event":"canned","bin":"B1","measure":{"amount":7,"unit":"quart","kgPerUnit":1.1}}""", "Canned: 7 quart jars")]
    [InlineData("""{"event":"canned","bin":"B1","measure":{"amount":9,"unit":"pint","kgPerUnit":1.1}}""", "Canned: 9 pint jars")]
    [InlineData("""{"event":"eaten","bin":"B1","measure":{"amount":0.5,"unit":"peck","kgPerUnit":7}}""", "Eaten: 0.5 pecks")]
    [InlineData("""{"event":"eaten","bin":"B1","measure":{"amount":3,"unit":"quart","kgPerUnit":0.8}}""", "Eaten: 3 dry quarts")]
    [InlineData("""{"event":"given","bin":"B1","measure":{"amount":3,"unit":"pint","kgPerUnit":0.4}}""", "Given away: 3 dry pints")]
    [InlineData("""{"event":"planted","bin":"B1","measure":{"amount":1,"unit":"bag","kgPerUnit":22}}""", "Planted: 1 sack of 50 lb")]
    [InlineData("""{"event":"planted","bin":"B1","measure":{"amount":8,"unit":"oz","kgPerUnit":0.03}}""", "Planted: 8 oz")]
    [InlineData("""{"event":"promised","order":"school","crop":"potato","grade":"table","weightKg":60,"due":"2025-11-07"}""",
        "Promised: 60.0 kg, Potato, due 7 Nov, grade table, order school")]
    [InlineData("""{"event":"sprouts-seen","bin":"B1","share":"few","length":2}""", "Sprouts seen: a few, longest 2 mm")]
    [InlineData("""{"event":"condition-seen","bin":"B1","what":"soft"}""", "How it looks: soft")]
    [InlineData("""{"event":"row-planted","row":"3","crop":"potato","variety":"Kennebec","plantedOn":"2025-05-12","maturity":"mid","lengthM":30}""",
        "Planted in a row: row 3, Potato, Kennebec, mid-season, 30 m, 12 May")]
    [InlineData("""{"event":"row-planted","row":"3","crop":"potato","maturityDays":95}""", "Planted in a row: row 3, Potato, 95 days")]
    [InlineData("""{"event":"vines-dead","row":"3","on":"2025-09-10","how":"died"}""", "Vines dead: row 3, died back, 10 Sep")]
    public void An_entry_says_what_happened(string json, string says) => Said(json, "kg").Should().Be(says);

    [Theory]
    [InlineData("""{"event":"sprouts-seen","bin":"B1","share":"few","length":25.4}""", "Sprouts seen: a few, longest 1 in")]
    [InlineData("""{"event":"sprouts-seen","bin":"B1","share":"few","length":1}""", "Sprouts seen: a few, longest 0.04 in")]
    [InlineData("""{"event":"weighed","bin":"B1","weightKg":24}""", "Weighed: 52.91 lb")]
    [InlineData("""{"event":"eaten","bin":"B1","measure":{"amount":10.5,"unit":"lb","kgPerUnit":0.45359237}}""", "Eaten: 10.5 lb")]
    [InlineData("""{"event":"sprouts-seen","bin":"B1","share":"most","length":12.7}""", "Sprouts seen: most, longest 0.5 in")]
    public void A_household_that_counts_in_pounds_reads_pounds_and_inches(string json, string says) => Said(json, "lb").Should().Be(says);

    [Fact]
    public async Task A_correction_says_what_it_changed()
    {
        await using var books = await Bookkeeping.WithTwoBinsAsync();
        await books.KeepAsync("""{"event":"eaten","bin":"B1","weightKg":1}""");
        Words().Of(books.Book, books.Book.Find(4)!, Places).Replace('\u00A0', ' ').Should().Be("Eaten: 1.0 kg");
        await CorrectAsync("\"weightKg\":2", "Put right: Eaten: 1.0 kg → Eaten: 2.0 kg");
        await CorrectAsync("\"weightKg\":3", "Put right: Eaten: 2.0 kg → Eaten: 3.0 kg");
        await CorrectAsync("\"rightNote\":\"for soup\"", "Put right: Eaten: 3.0 kg");
        await CorrectAsync("\"void\":true", "Taken back: Eaten: 3.0 kg");
        var last = books.Book.Entries[^1].Entry.Id;
        await books.KeepAsync($$"""{"event":"correction","of":{{last}},"void":true}""");
        Words().Of(books.Book, books.Book.Entries[^1], Places).Replace('\u00A0', ' ').Should().Be("Taken back: Taken back: Eaten: 3.0 kg");

        async Task CorrectAsync(string what, string says)
        {
            var kept = await books.KeepAsync($$"""{"event":"correction","of":4,{{what}}}""");
            Words().Of(books.Book, books.Book.Find(kept[0].Id)!, Places).Replace('\u00A0', ' ').Should().Be(says);
        }
    }

    [Fact]
    public void Fields_that_make_no_sense_are_shown_as_they_are() =>
        Words().Say(Book.Empty, Moved.Event, Bookkeeping.Parse("""{"bin":"B1"}"""), Places).Should().Be("""Moved: {"bin":"B1"}""");

    /// <summary>Each choice a form offers has words; only what needs none is its own.</summary>
    [Fact]
    public void Every_choice_has_its_words()
    {
        var plain = new[]
        {
            "rot", "green", "sprouted", "damage", "frost", "pests", "other", "none", "most", "dry", "wet", "soft", "shrivelled", "mould",
            "scuffed", "cut", "early", "late", "mown", "pulled", "half-moon",
        };
        foreach (var word in plain) LogKinds.Choice(word).Should().Be(word);
        string[] words = ["few", "half", "set", "tender", "wet-soil", "rain", "late-blight", "rot-seen", "mid", "died"];
        words.Select(LogKinds.Choice).Should().Equal("a few", "about half", "set: a thumb does not rub it off", "tender: it rubs off",
            "wet soil for over a day", "rain at harvest", "late blight where it grew", "rot", "mid-season", "died back");
        Filled.Ways.Append("jar").Select(LogKinds.Lies).Should().Equal("one layer, on trays or a bench", "in an open crate", "in a sack",
            "in a deep bin", "in a heap", "in sand or sawdust", "jar");
        new[] { "lb", "kg", "bushel", "peck", "quart", "pint", "sack", "bag", "oz" }.Select(u => LogKinds.Unit(u)).Should().Equal(
            "Pounds", "Kilograms", "Bushels", "Pecks", "Dry quarts", "Dry pints", "Sacks of 50 lb", "Sacks of 50 lb", "oz");
    }

    [Fact]
    public void What_is_asked_fits_what_happened()
    {
        LogKinds.OfBin.Where(k => k != Moved.Event && k != Sprouts.Event && k != Appearance.Event && k != Sorted.Event).Append(Dug.Event)
            .Append(Filled.Event).Append(Promised.Event).Select(LogKinds.Ask).Should().Equal("What does it weigh?",
                "How much was culled?", "How much was sold?", "How much was eaten?", "How much was canned?", "How much was given away?",
                "How much was planted?", "How much is it?", "How much went in?", "How much is promised?");
        EventKinds.All.Where(k => LogKinds.Known(k.Name) is null).Should().Equal(RowPlanted.Event, VinesDead.Event, CropDescribed.Event, Correction.Event);
        EventKinds.All.Where(LogKinds.NeedsBin).Should().BeEquivalentTo(LogKinds.OfBin);
        EventKinds.All.Where(LogKinds.MayBeOrdered).Should().Equal(TakenOut.Sold, TakenOut.Canned, TakenOut.Eaten, TakenOut.Given,
            TakenOut.Planted);
        var show = Shown("lb");
        (string.Join(' ', LogKinds.Units(Weighed.Event, show)), string.Join(' ', LogKinds.Units(Sorted.Event, show)),
            string.Join(' ', LogKinds.Units(TakenOut.Canned, show)), string.Join(' ', LogKinds.Units(TakenOut.Sold, show)))
            .Should().Be(("lb", "lb", "lb quart pint", "lb bushel peck quart sack"));
        var metric = new Show(new HouseholdOptions { Weight = "kg", CrateKg = 12.5 }, TimeProvider.System);
        (string.Join(' ', LogKinds.Units(Weighed.Event, metric)), string.Join(' ', LogKinds.Units(TakenOut.Canned, metric)),
            string.Join(' ', LogKinds.Units(TakenOut.Sold, metric))).Should()
            .Be(("kg", "kg g quart pint", "kg g sack zentner crate"));
        (LogKinds.Own("crate", metric)!.KgPerUnit, LogKinds.Own("sack", metric)!.KgPerUnit, LogKinds.Own("sack", show)).Should()
            .Be((12.5, 25, null));
        new[] { "g", "crate", "zentner" }.Select(u => LogKinds.Unit(u)).Should().Equal("Grams", "Crates", "Zentner (50 kg)");
        new[] { "culled-rot", "sold", "shrink" }.Select(LogKinds.Way).Should().Equal("Culled: rot", "Sold", "shrink");
        LogKinds.Name(Correction.Event).Should().Be("correction");
        new[] { "squash", "potato", "apple", "onion", "beets", "walnut", "moonroot" }
            .Select(crop => HarvestWords.Done(CropTable.Default.Find(crop)))
            .Should().Equal("Cut", "Dug", "Picked", "Lifted", "Pulled", "Gathered", "Harvested");
    }

    [Fact]
    public void Every_reason_unit_and_way_of_harvest_has_its_words()
    {
        string[] words = ["scald", "bitter-pit", "breakdown", "wasps", "neck-rot", "split", "woody", "chilled", "weevils", "rancid"];
        words.Select(LogKinds.Choice).Should().Equal(
            "scald", "bitter pit", "browned inside", "wasps", "neck rot", "split", "woody", "chilled", "weevils", "rancid");
        EventKinds.All.Select(LogKinds.Name).Should().BeEquivalentTo("Harvested", "Filled", "Weighed", "Moved", "Culled", "Sold", "Eaten", "Canned",
            "Given away", "Planted", "Sprouts seen", "How it looks", "Sorted", "Promised", "Planted in a row", "Vines dead", "Crop described", "correction");
        string[] units = ["crate", "bushel", "peck", "quart", "pint", "sack", "bag", "zentner", "lb"];
        units.Select(u => LogKinds.Unit(u, one: true)).Should().Equal("Crate", "Bushel", "Peck", "Dry quart", "Dry pint", "Sack of 50 lb", "Sack of 50 lb",
            "Zentner (50 kg)", "Pounds");
        new[] { "quart", "pint" }.SelectMany(u => new[] { LogKinds.Unit(u, TakenOut.Canned), LogKinds.Unit(u, TakenOut.Canned, one: true) })
            .Should().Equal("Quart jars", "Quart jar", "Pint jars", "Pint jar");
        (LogKinds.Unit("sack", kg: 25), LogKinds.Unit("sack", one: true, kg: 25), LogKinds.Unit("sack", kg: 22.7)).Should()
            .Be(("Sacks of 25 kg", "Sack of 25 kg", "Sacks of 50 lb"));

        Harvest?[] ways = [Harvest.Dug, Harvest.Lifted, Harvest.Pulled, Harvest.Cut, Harvest.Picked, Harvest.Gathered, null];
        ways.Select(HarvestWords.Do).Should().Equal("Dig", "Lift", "Pull", "Cut", "Pick", "Gather", "Harvest");
        ways.Select(HarvestWords.Heading).Should().Equal(
            "Dig a row", "Lift a crop", "Pull a crop", "Cut a crop", "Pick a crop", "Gather a crop", "Harvest a crop");
        ways.Select(HarvestWords.On).Should().Equal(
            "Dug on", "Lifted on", "Pulled on", "Cut on", "Picked on", "Gathered on", "Harvested on");
        HarvestWords.HowMuch(Harvest.Picked).Should().Be("How much was picked? (optional)");
        HarvestWords.DoneOn(null, "3 Oct").Should().Be("harvested 3 Oct");
    }

    [Fact]
    public void Each_crop_is_asked_what_fits_it()
    {
        static Crop Of(string crop) => CropTable.Default.Find(crop)!;

        HarvestWords.Asks(null).Should().Equal("rain", "rot-seen");
        (HarvestWords.Asks(null, HarvestSign.Rain), HarvestWords.Asks(null, HarvestSign.LateBlight)).Should().Be((true, false));
        (HarvestWords.Asks(Of("potato"), HarvestSign.LateBlight), HarvestWords.Asks(Of("apple"), HarvestSign.LateBlight)).Should().Be((true, false));
        HarvestWords.CullReasons(null).Should().Equal(TakenOut.Reasons);
        HarvestWords.CullReasons(Of("apple")).Should().Contain("scald").And.NotContain("green");
        HarvestWords.Looks(null).Should().Equal("dry", "wet", "soft", "shrivelled", "green", "mould");
        HarvestWords.Looks(Of("potato")).Should().Contain("green");
        HarvestWords.Looks(Of("apple")).Should().Equal("dry", "wet", "soft", "shrivelled", "mould");
        new[] { CuringRule.Drying, CuringRule.Rind, CuringRule.Potato }.Select(HarvestWords.Closes).Should().Equal("Necks", "Rind", "Skins");
        new[] { CuringRule.Drying, CuringRule.Rind, CuringRule.Potato }.Select(r => HarvestWords.Stage(HealingStage.Sealed, r)).Should()
            .Equal("closing", "hardening", "first layer closed");
        new[] { CuringRule.Drying, CuringRule.Rind }.Select(r => HarvestWords.Stage(HealingStage.Open, r)).Should().Equal("open", "soft");
        new[] { "apple", "cabbage", "potato", "dahlia" }.Select(c => HarvestWords.CannedHint(Of(c))).Should().Equal(
            "Jars are counted as the fresh weight they take. Can fruit by a tested process of its own kind only.",
            "Jars are counted as the fresh weight they take. No tested process is known here for it plain: pickle it by a tested recipe only.",
            "Jars are counted as the fresh weight they take. Can it by a tested pressure process only; as pickles, by a tested recipe.",
            "Jars are counted as the fresh weight they take. Can by a tested process only.");

        LogKinds.OfBinWith(null).Should().Equal(LogKinds.OfBin);
        LogKinds.OfBinWith(Of("potato")).Should().Equal(LogKinds.OfBin);
        LogKinds.OfBin.Except(LogKinds.OfBinWith(Of("apple"))).Should().Equal(Sprouts.Event);
        LogKinds.OfBin.Except(LogKinds.OfBinWith(Of("dahlia"))).Should().BeEquivalentTo([TakenOut.Eaten, TakenOut.Canned]);
    }

    [Fact]
    public void How_far_skins_are_is_not_called_fit_to_move_where_it_was_moved()
    {
        Enum.GetValues<HealingStage>().Select(s => HarvestWords.Stage(s, CuringRule.Potato))
            .Should().Equal("open", "first layer closed", "fit to move", "fully cured");
        HarvestWords.Stage(HealingStage.Adequate, CuringRule.Potato, inCuring: true).Should().Be("fit to move");
        HarvestWords.Stage(HealingStage.Adequate, CuringRule.Potato, inCuring: false).Should().Be("healed enough");
        HarvestWords.Stage(HealingStage.Healed, CuringRule.Potato, inCuring: false).Should().Be("fully cured");
        HarvestWords.ClosesIs(CuringRule.Drying, HarvestWords.Stage(HealingStage.Sealed, CuringRule.Drying)).Should().Be("necks closing");
        HarvestWords.ClosesIs(CuringRule.Rind, HarvestWords.Stage(HealingStage.Open, CuringRule.Rind)).Should().Be("rind soft");
        EntryWords.PlaceName(null, Places).Should().Be("no place given");
    }

    private static string Said(string json, string weight)
    {
        var read = EventReader.Read(Bookkeeping.Parse(json), Sample.At, out var wrong);
        wrong.Should().BeNull();
        return Words(weight).Say(Book.Empty, EventKinds.Find(read!.Event)!, read.Body, Places).Replace('\u00A0', ' ');
    }

    private static EntryWords Words(string weight = "kg") => new(Shown(weight));

    private static Show Shown(string weight) => new(new HouseholdOptions { Weight = weight, TimeZone = "UTC" }, new HouseTime(Sample.At));
}
