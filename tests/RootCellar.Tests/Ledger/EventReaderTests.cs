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
    [InlineData("""{"event":"promised","order":"O1","crop":"potatoe tree","weightKg":1}""",
        "crop: 'potatoe tree' is not in the crop table")]
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
    public void What_is_wrong_is_said_with_the_field_and_what_would_be_right(string json, params string[] words)
    {
        EventReader.Read(Bookkeeping.Parse(json), Sample.At, out var wrong).Should().BeNull();
        wrong.Should().ContainAll(words);
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
}
