using RootCellar.Ledger;
using RootCellar.Science.Crops;
using RootCellar.Tests.Storage;

namespace RootCellar.Tests.Ledger;

public class EventReaderTests
{
    [Theory]
    [InlineData("""{"event":"dug","lot":"R1","crop":"Potatoes","variety":"Kennebec","row":"3","plantedOn":"2025-05-02","dugOn":"2025-10-01","skin":"set","weightKg":120.5,"flags":["wet-soil","late blight"],"pulpC":11.5}""")]
    [InlineData("""{"event":"dug","lot":"R1","crop":"carrot"}""")]
    [InlineData("""{"event":"filled","bin":"B1","lot":"R1","weightKg":22.7,"grade":"seed","place":"curing"}""")]
    [InlineData("""{"event":"filled","bin":"B1","lot":"R1","measure":{"amount":2,"unit":"bushels"}}""")]
    [InlineData("""{"event":"moved","bin":"B1","place":"cellar","by":"Ann","note":"by the door"}""")]
    [InlineData("""{"event":"weighed","bin":"B1","weightKg":23.1,"tareKg":1.4,"resolutionKg":0.05}""")]
    [InlineData("""{"event":"weighed","bin":"B1","weightKg":0}""")]
    [InlineData("""{"event":"sorted","bin":"B1","into":[{"bin":"B2","grade":"seed","weightKg":8},{"bin":"B3","measure":{"amount":20,"unit":"lb"},"place":"cellar"}]}""")]
    [InlineData("""{"event":"culled","bin":"B1","weightKg":0.4,"reason":"rot"}""")]
    [InlineData("""{"event":"sold","bin":"B1","measure":{"amount":1,"unit":"peck"},"order":"O1","empties":true}""")]
    [InlineData("""{"event":"canned","bin":"B1","measure":{"amount":7,"unit":"quart"}}""")]
    [InlineData("""{"event":"eaten","bin":"B1","weightKg":1}""")]
    [InlineData("""{"event":"given","bin":"B1","weightKg":1}""")]
    [InlineData("""{"event":"planted","bin":"B1","weightKg":1}""")]
    [InlineData("""{"event":"promised","order":"O1","crop":"potato","grade":"table","weightKg":10,"due":"2025-12-20"}""")]
    [InlineData("""{"event":"sprouts-seen","bin":"B1","share":"few","length":4}""")]
    [InlineData("""{"event":"condition-seen","bin":"B1","what":"mould"}""")]
    [InlineData("""{"event":"row-planted","row":"3","crop":"potato","variety":"Kennebec","plantedOn":"2025-05-02","maturityDays":95,"lengthFt":100,"lot":"2025-R3"}""")]
    [InlineData("""{"event":"row-planted","row":"3","crop":"carrot"}""")]
    [InlineData("""{"event":"vines-dead","row":"3","on":"2025-09-04","how":"frost"}""")]
    [InlineData("""{"event":"correction","of":3,"weightKg":21}""")]
    [InlineData("""{"event":"correction","of":3,"void":true,"note":"twice"}""")]
    [InlineData("""{"event":" Eaten ","bin":"B1","weightKg":1,"at":null,"by":null,"note":null,"of":null,"keep":null,"order":null}""")]
    [InlineData("""{"event":"eaten","bin":"B1","empties":true}""")]
    public void Every_event_of_the_book_is_read(string json)
    {
        EventReader.Read(Bookkeeping.Parse(json), Sample.At, out var wrong).Should().NotBeNull(wrong);
        wrong.Should().BeNull();
    }

    [Theory]
    [InlineData("[]", "An event is an object")]
    [InlineData("""{"bin":"B1"}""", "event: it is missing")]
    [InlineData("""{"event":"fill"}""", "event: 'fill' is not one of dug, filled", "Did you mean filled?")]
    [InlineData("""{"event":"filled","bin":"B1","lot":"R1"}""", "weightKg is missing", "\"measure\": {\"amount\": 50")]
    [InlineData("""{"event":"filled","lot":"R1","weightKg":2}""", "bin: it is missing from filled", "\"bin\": \"B12\"")]
    [InlineData("""{"event":"filled","bin":" ","lot":"R1","weightKg":2}""", "bin: it is empty")]
    [InlineData("""{"event":"filled","bin":12,"lot":"R1","weightKg":2}""", "bin: a text such as \"B12\"")]
    [InlineData("""{"event":"filled","bin":"B1","lot":"R1","weigthKg":2}""", "weightKg is missing")]
    [InlineData("""{"event":"filled","bin":"B1","lot":"R1","weightKg":2,"grad":"a"}""", "grad: filled has no such field.",
        "Did you mean grade?")]
    [InlineData("""{"event":"filled","bin":"B1","lot":"R1","weightKg":-2}""", "weightKg: -2 is not a weight", "more than 0")]
    [InlineData("""{"event":"filled","bin":"B1","lot":"R1","weightKg":0.0001}""", "weightKg: 0.0001 is not a weight")]
    [InlineData("""{"event":"filled","bin":"B1","lot":"R1","weightKg":1e400}""", "weightKg: 1e400 is not a weight")]
    [InlineData("""{"event":"filled","bin":"B1","lot":"R1","weightKg":"20 kg"}""", "weightKg: \"20 kg\" is not a weight")]
    [InlineData("""{"event":"filled","bin":"B1","lot":"R1","weightKg":2,"measure":{"amount":1,"unit":"lb"}}""",
        "weightKg and measure: one of the two")]
    [InlineData("""{"event":"filled","bin":"B1","lot":"R1","measure":{"amount":1,"unit":"bussel"}}""",
        "measure.unit: 'bussel' is not one of", "Did you mean bushel?")]
    [InlineData("""{"event":"filled","bin":"B1","lot":"R1","measure":{"unit":"lb"}}""", "measure.amount is missing")]
    [InlineData("""{"event":"filled","bin":"B1","lot":"R1","measure":{"amount":1e6,"unit":"lb","kgPerUnit":1}}""",
        "measure: 1000000 lb would be 1000000 kg")]
    [InlineData("""{"event":"moved","bin":"B1"}""", "place: it is missing")]
    [InlineData("""{"event":"moved","bin":"B1","place":"cellar","at":"yesterday"}""", "at: \"yesterday\" is not a time",
        "2026-10-03T16:30:00-05:00")]
    [InlineData("""{"event":"moved","bin":"B1","bin":"B2","place":"cellar"}""", "bin: it is there twice")]
    [InlineData("""{"event":"moved","bin":"B1","place":"cellar","of":4}""", "of: moved has no such field")]
    [InlineData("""{"event":"moved","bin":"B1","place":"cellar","keep":"yes"}""", "keep: true or false")]
    [InlineData("""{"event":"weighed","bin":"B1","weightKg":1,"tareKg":2}""", "tareKg: the empty bin (2 kg) cannot be heavier")]
    [InlineData("""{"event":"weighed","bin":"B1","measure":{"amount":1,"unit":"bushel"}}""", "measure.unit: what is weighed")]
    [InlineData("""{"event":"sorted","bin":"B1","into":[]}""", "into: a list such as")]
    [InlineData("""{"event":"sorted","bin":"B1","into":[{"bin":"B2"}]}""", "into[0]: weightKg is missing")]
    [InlineData("""{"event":"sorted","bin":"B1","into":[{"bin":"B2","weightKg":1},{"bin":"B2","weightKg":1}]}""",
        "into[1].bin: 'B2' is there twice")]
    [InlineData("""{"event":"sorted","bin":"B1","into":[{"bin":"B2","weightKg":1,"graed":"x"}]}""", "into[0].graed", "Did you mean grade?")]
    [InlineData("""{"event":"culled","bin":"B1","weightKg":1}""", "reason: it is missing")]
    [InlineData("""{"event":"culled","bin":"B1","weightKg":1,"reason":"rott"}""", "reason: 'rott' is not one of rot, green",
        "Did you mean rot?")]
    [InlineData("""{"event":"promised","order":"O1","crop":"potato","weightKg":1,"due":"Christmas"}""", "due: \"Christmas\" is not a date",
        "2026-10-03")]
    [InlineData("""{"event":"dug","lot":"R1","crop":"potato","skin":"soft"}""", "skin: 'soft' is not one of set, tender, scuffed, cut")]
    [InlineData("""{"event":"dug","lot":"R1","crop":"potato","flags":["frost"]}""", "flags: 'frost' is not one of wet-soil")]
    [InlineData("""{"event":"dug","lot":"R1","crop":"potato","pulpC":120}""", "pulpC: 120 is not the temperature")]
    [InlineData("""{"event":"sprouts-seen","bin":"B1","share":"some"}""", "share: 'some' is not one of none, few, half, most")]
    [InlineData("""{"event":"condition-seen","bin":"B1","what":"fine"}""", "what: 'fine' is not one of dry, wet")]
    [InlineData("""{"event":"correction","weightKg":1}""", "of: it is missing from correction")]
    [InlineData("""{"event":"correction","of":3}""", "correction: it says nothing")]
    [InlineData("""{"event":"correction","of":3,"rightAt":"noon"}""", "rightAt: it is not a time")]
    [InlineData("""{"event":"moved","bin":"B1","place":"cellar","note":7}""", "note: a text of at most 2000 letters.")]
    [InlineData("""{"event":"moved","bin":"\ud800","place":"cellar"}""", "There is half a character in one of the texts")]
    [InlineData("""{"event":"moved","bin":"B\t1","place":"cellar"}""", "bin: a text of one line.")]
    [InlineData("""{"event":"moved","bin":"B1","place":"a2345678901234567890123456789012345678901234567890123456789012345"}""",
        "place: at most 64 letters.")]
    [InlineData("""{"event":"dug","lot":"R1","crop":"potato","flags":"rain"}""", "flags: a list such as [\"wet-soil\"].")]
    [InlineData("""{"event":"dug","lot":"R1","crop":"potato","dugOn":"soon"}""", "dugOn: \"soon\" is neither a date nor a time",
        "\"2026-10-03\" or \"2026-10-03T16:30:00-05:00\"")]
    [InlineData("""{"event":"dug","lot":"R1","crop":"potato","dugOn":7}""", "dugOn: 7 is neither a date nor a time")]
    [InlineData("""{"event":"dug","lot":"R1","crop":"potato","weightKg":500000.1}""", "more than 0 and at most 500000.", "For pounds")]
    [InlineData("""{"event":"filled","bin":"B1","lot":"R1","weightKg":50000.1}""", "more than 0 and at most 50000.")]
    [InlineData("""{"event":"filled","bin":"B1","lot":"R1","weightKg":2,"tareKg":2.001}""",
        "tareKg: the empty bin (2.001 kg) cannot be heavier than the full one (2 kg).")]
    [InlineData("""{"event":"filled","bin":"B1","lot":"R1","measure":{"amount":1,"unit":"bushel"},"tareKg":1}""",
        "tareKg: only what was weighed was weighed with its bin.")]
    [InlineData("""{"event":"filled","bin":"B1","lot":"R1","measure":5}""", "measure: 5 is not a measure; right would be \"measure\"")]
    [InlineData("""{"event":"filled","bin":"B1","lot":"R1","measure":{"amount":1,"unit":"lb","kg":2}}""",
        "measure.kg: measure has no such field.", "It has amount, unit, kgPerUnit, source, as.")]
    [InlineData("""{"event":"filled","bin":"B1","lot":"R1","measure":{"amount":1}}""", "measure.unit: it is missing from measure")]
    [InlineData("""{"event":"weighed","bin":"B1","weightKg":-1}""", "weightKg: -1 is not a weight", "0 or more and at most 50000")]
    [InlineData("""{"event":"weighed","bin":"B1","weightKg":1,"tareKg":-1}""", "tareKg: -1 is not the weight of the empty bin in kg")]
    [InlineData("""{"event":"sorted","bin":"B1","into":[5]}""", "into[0]: 5 is not {\"bin\": \"B13\"")]
    [InlineData("""{"event":"correction","of":"3","weightKg":1}""", "of: \"3\" is not the number of an entry.")]
    [InlineData("""{"event":"correction","of":0,"weightKg":1}""", "of: 0 is not the number of an entry.")]
    [InlineData("""{"event":"correction","of":3,"void":"yes"}""", "void: true or false.")]
    [InlineData("""{"event":"correction","of":3,"rightNote":7}""", "rightNote: a text of at most 2000 letters.")]
    [InlineData("""{"event":"correction","of":1.5,"weightKg":1}""", "of: 1.5 is not the number of an entry.")]
    [InlineData("""{"event":"correction","of":3,"lot":"\ud800"}""", "There is half a character in one of the texts")]
    [InlineData("""{"event":"dug","lot":"R1","crop":"potato","flags":[7]}""", "flags: '7' is not one of wet-soil")]
    [InlineData("""{"event":"dug","lot":"R1","crop":"potato","pulpC":"warm"}""", "pulpC: \"warm\" is not the temperature")]
    [InlineData("""{"event":"eaten","bin":"B1","empties":false}""", "eaten: weightKg is missing")]
    [InlineData("""{"event":"promised","order":"O1","crop":"potato","weightKg":1,"due":7}""", "due: 7 is not a date; right would be \"2026-10-03\".")]
    [InlineData("""{"event":"sorted","bin":"B1","into":{}}""", "into: a list such as")]
    [InlineData("""{"event":"moved","bin":"B1","place":"cellar","at":"10/03/2025"}""", "at: \"10/03/2025\" is not a time")]
    [InlineData("""{"event":"moved","bin":"B1","place":"cellar","at":7}""", "at: 7 is not a time")]
    [InlineData("""{"event":"moved","bin":"B1","place":"cellar","checked":true,"at":"1970-01-01T05:00:00+14:00"}""",
        "at: '1970-01-01T05:00:00+14:00' is of the year 1969, which cannot be")]
    [InlineData("""{"event":"moved","bin":"B1","place":"cellar","by":"a2345678901234567890123456789012345678901234567890123456789012345678901234567890b"}""",
        "by: at most 80 letters.")]
    [InlineData("""{"event":"eaten","bin":"B1","measure":{"amount":0,"unit":"lb"}}""", "measure.amount: 0 is not a number above 0.")]
    [InlineData("""{"event":"eaten","bin":"B1","measure":{"amount":1000001,"unit":"g"}}""", "measure.amount: 1000001 is not a number above 0.")]
    [InlineData("""{"event":"eaten","bin":"B1","measure":{"amount":1,"unit":"lb","kgPerUnit":0}}""", "measure.kgPerUnit: 0 is not the kg of one unit.")]
    [InlineData("""{"event":"eaten","bin":"B1","measure":{"amount":1,"unit":"lb","kgPerUnit":10001}}""",
        "measure.kgPerUnit: 10001 is not the kg of one unit.")]
    public void What_is_wrong_is_said_with_the_field_and_what_would_be_right(string json, params string[] words)
    {
        EventReader.Read(Bookkeeping.Parse(json), Sample.At, out var wrong).Should().BeNull();
        wrong.Should().ContainAll(words);
    }

    [Theory]
    [InlineData(2_000, null)]
    [InlineData(2_001, "measure.source: at most 2000 letters.")]
    public void Where_a_figure_is_from_may_be_said_at_length(int letters, string? says)
    {
        var measure = $$"""{"amount":1,"unit":"lb","kgPerUnit":1,"source":"{{new string('x', letters)}}"}""";
        EventReader.Read(Bookkeeping.Parse($$"""{"event":"eaten","bin":"B1","measure":{{measure}}}"""), Sample.At, out var wrong);
        wrong.Should().Be(says);
    }

    /// <summary>Of what lies in the record already: no year of a moment is read that stops whoever reckons with it.</summary>
    [Theory]
    [InlineData("1969-12-31T23:59:59Z", false)]
    [InlineData("1970-01-01T00:00:00Z", true)]
    [InlineData("2999-12-31T23:59:59Z", true)]
    [InlineData("3000-01-01T00:00:00Z", false)]
    public void A_moment_is_of_the_years_from_1970_to_2999(string moment, bool can) =>
        (FieldReader.DayOrMoment(moment).Moment is not null).Should().Be(can);

    [Fact]
    public async Task What_is_named_twice_in_a_list_is_there_once()
    {
        await using var books = new Bookkeeping();
        await books.KeepAsync("""{"event":"dug","lot":"R1","crop":"potato","flags":["Wet soil","wet-soil"]}""");
        books.Book.Find(1)!.Event.Should().BeOfType<RootCellar.Ledger.Events.Dug>().Which.Flags.Should().Equal("wet-soil");
    }

    [Fact]
    public async Task Measures_stand_as_entered_with_the_kg_of_one_unit_and_its_source()
    {
        await using var books = await Bookkeeping.WithTwoBinsAsync();
        var pound = 0.45359237;
        foreach (var (what, unit, expectedKg) in new[]
        {
            // A dry quart is 1/32 of a bushel of 60 lb; a liquid one takes 20 lb of potatoes to seven (AIB 539, 2015).
            ("eaten", "quart", 60 * pound / 32), ("canned", "quart", 20 * pound / 7), ("canned", "pint", 13 * pound / 9),
            ("sold", "peck", 60 * pound / 4), ("given", "lb", pound), ("eaten", "oz", pound / 16), ("eaten", "g", 0.001),
        })
        {
            var entry = (await books.KeepAsync($$$"""{"event":"{{{what}}}","bin":"B2","measure":{"amount":1,"unit":"{{{unit}}}"}}"""))[0];
            var measure = entry.Body.GetProperty("measure");
            measure.GetProperty("amount").GetDouble().Should().Be(1);
            measure.GetProperty("unit").GetString().Should().Be(unit);
            measure.GetProperty("kgPerUnit").GetDouble().Should().BeApproximately(expectedKg, 1e-9, $"{what} {unit}");
            measure.GetProperty("source").GetString().Should().NotBeNullOrWhiteSpace();
            if (what == "canned") measure.GetProperty("source").GetString().Should().Contain("liquid").And.Contain(CanningYield.Caution);
            books.Book.Outs[^1].Grams.Should().Be((long)Math.Round(expectedKg * 1000, MidpointRounding.AwayFromZero));
        }

        await books.KeepAsync(
            """[{"event":"dug","lot":"G1","crop":"garlic","at":"2025-10-02T08:00:00Z"},{"event":"filled","bin":"G","lot":"G1","weightKg":10}]""");
        (await books.TakeAsync("""{"event":"sold","bin":"G","measure":{"amount":1,"unit":"bushel"}}""")).Should()
            .BeOfType<LedgerAnswer.Wrong>()
            .Which.Detail.Should().Contain("no bushel weight is published for garlic").And.Contain("kgPerUnit");
        await books.KeepAsync("""{"event":"sold","bin":"G","measure":{"amount":1,"unit":"bushel","kgPerUnit":9}}""");
        books.Book.Bins["G"].Grams.Should().Be(1_000);
    }

    /// <summary>The last figure that is taken at either end, and one beyond it.</summary>
    [Theory]
    [InlineData("dug", "pulpC", -10, 50, 0.1)]
    [InlineData("filled", "pieceKg", 0.001, 50, 0.0001)]
    [InlineData("weighed", "resolutionKg", 0.0001, 100, 0.00001)]
    [InlineData("sprouts-seen", "length", 0, 2_000, 0.1)]
    [InlineData("row-planted", "maturityDays", 20, 365, 0.1)]
    [InlineData("row-planted", "lengthM", 0.1, 5_000, 0.01)]
    [InlineData("row-planted", "lengthFt", 0.3, 16_000, 0.01)]
    public void A_figure_is_taken_up_to_its_ends_and_no_further(string what, string field, double low, double high, double beyond)
    {
        foreach (var (value, taken) in new[] { (low, true), (high, true), (low - beyond, false), (high + beyond, false) })
        {
            var json = FormattableString.Invariant($$"""
                {"event":"{{what}}","bin":"B1","lot":"R1","crop":"potato","row":"3","weightKg":20,"share":"few","{{field}}":{{value}}}
                """);
            var fields = Bookkeeping.Parse(json).EnumerateObject().Where(p => what switch
            {
                "dug" => p.Name is "event" or "lot" or "crop" || p.Name == field,
                "filled" => p.Name is "event" or "bin" or "lot" or "weightKg" || p.Name == field,
                "weighed" => p.Name is "event" or "bin" or "weightKg" || p.Name == field,
                "sprouts-seen" => p.Name is "event" or "bin" or "share" || p.Name == field,
                _ => p.Name is "event" or "row" or "crop" || p.Name == field,
            }).ToDictionary(p => p.Name, p => p.Value, StringComparer.Ordinal);
            EventReader.Examine(System.Text.Json.JsonSerializer.SerializeToElement(fields), Sample.At, out var wrong);
            if (taken) wrong.Should().BeNull(json);
            else wrong!.Figures.GetRawText().Should().Contain(Refusal.OutOfRange).And.Contain($"\"field\":\"{field}\"");
        }
    }

    [Fact]
    public void A_note_is_cut_of_its_blanks_and_taken_up_to_two_thousand_letters()
    {
        Note("  wet\\r\\nand soft ").Should().Be("wet\nand soft");
        Note(" ").Should().BeNull();
        Note(new string('x', 2_000)).Should().HaveLength(2_000);
        var read = EventReader.Examine(Moved(new string('x', 2_001)), Sample.At, out var wrong);
        (read, wrong!.Figures.GetProperty("refusal").GetString(), wrong.Figures.GetProperty("longest").GetInt32()).Should()
            .Be((null, Refusal.TooLong, 2_000));

        static System.Text.Json.JsonElement Moved(string note) =>
            Bookkeeping.Parse($$"""{"event":"moved","bin":"B1","place":"cellar","note":"{{note}}"}""");

        static string? Note(string note) => EventReader.Read(Moved(note), Sample.At, out _)!.Note;
    }

    /// <summary>What a unit weighs; where no figure is published, why there is none.</summary>
    [Theory]
    [InlineData("sack", "moonroot", false, null, 22.679618500000003, "a sack of 50 lb, common practice")]
    [InlineData("bag", "potato", true, null, 22.679618500000003, "a sack of 50 lb, common practice")]
    [InlineData("lb", "moonroot", false, null, 0.45359237, "NIST Handbook 44, Appendix C: exact")]
    [InlineData("peck", "onion", false, null, 57 * 0.45359237 / 4, "bushel of 57 lb: Georgia Farm Bureau list; other States 50 to 57")]
    [InlineData("quart", "apple", true, null, 19 * 0.45359237 / 7, "fresh weight to a liquid quart (sliced)")]
    [InlineData("quart", "apple", true, "SAUCE", 21 * 0.45359237 / 7, "fresh weight to a liquid quart (sauce)")]
    [InlineData("pint", "apple", true, "sauce", 13.5 * 0.45359237 / 9, "fresh weight to a liquid pint (sauce)")]
    [InlineData("quart", "apple", false, "sauce", 48 * 0.45359237 / 32, "bushel of 48 lb")]
    [InlineData("bushel", "moonroot", false, null, 0, "'moonroot' is not in the crop table")]
    [InlineData("pint", "potato", false, null, 0, "a pint is for canned only; give quarts, or a weight")]
    [InlineData("bushel", "garlic", false, null, 0, "no bushel weight is published for garlic")]
    [InlineData("quart", "garlic", true, null, 0, "no canning quantity is published for garlic")]
    [InlineData("quart", "apple", true, "diced", 0, "'diced' is not how it is cut; known are sliced; sauce")]
    public void A_unit_weighs_what_is_published_or_it_is_said_why_not(
        string unit, string crop, bool canned, string? cut, double kg, string says)
    {
        var factor = Measures.Of(unit, crop, canned, cut, out var why);
        (factor?.KgPerUnit ?? 0).Should().BeApproximately(kg, 1e-9);
        (factor?.Source ?? why).Should().StartWith(says);
        (why is null).Should().Be(factor is not null);
    }

    [Fact]
    public void Units_are_read_in_one_and_in_many()
    {
        new[] { "Pound", "pounds", " ounces", "ounce", "bushels", "QUART", "lbs", "stone" }.Select(Measures.Unit).Should()
            .Equal("lb", "lb", "oz", "oz", "bushel", "quart", "lb", null);
        new[] { "kg", "g", "lb", "oz", "quart", "sack" }.Select(Measures.IsWeight).Should().Equal(true, true, true, true, false, false);
    }
}
