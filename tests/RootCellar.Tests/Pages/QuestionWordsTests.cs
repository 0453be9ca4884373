using System.Reflection;
using RootCellar.Household;
using RootCellar.Ledger;
using RootCellar.Lots;
using RootCellar.Pages.Bins;
using RootCellar.Places;
using RootCellar.Science.Keeping;
using RootCellar.Tests.Ledger;

namespace RootCellar.Tests.Pages;

public class QuestionWordsTests
{
    /// <summary>
    /// An event of each kind the book asks about, after what makes it doubtful, and words of the page that must be there.
    /// </summary>
    private static readonly (string Code, string? Before, string Asked, string Words)[] Cases =
    [
        ("already-there", null, """{"event":"moved","bin":"B1","place":"curing"}""", "is in Curing room already by the book, since Oct 1"),
        ("before-digging", """{"event":"dug","at":"2025-10-01T08:00:00Z","lot":"R2","crop":"carrot","dugOn":"2025-10-02"}""",
            """{"event":"filled","at":"2025-10-01T12:00:00Z","bin":"B7","lot":"R2","weightKg":5}""",
            "Bin B7 would be filled on Oct 1, before its lot R2 came in"),
        ("looks-alike", null, """{"event":"filled","bin":"b 1","lot":"R1","weightKg":5}""", "There is a bin B1 already, which reads like b 1"),
        ("looks-alike", null, """{"event":"filled","bin":"В1","lot":"R1","weightKg":5}""", "There is a bin B1 already"),
        ("looks-alike", """{"event":"filled","bin":"MÖ 1","lot":"R1","weightKg":5}""", """{"event":"filled","bin":"mo\u0308 1","lot":"R1","weightKg":5}""", "There is a bin MÖ 1 already"),
        ("due-before", null, """{"event":"promised","order":"O1","crop":"potato","weightKg":5,"due":"2025-09-01"}""",
            "Order O1 would be due on Sep 1"),
        ("dug-twice", null, """{"event":"dug","lot":"R1","crop":"potato"}""", "Lot R1 came in on Oct 1 already"),
        ("emptied", """{"event":"sold","at":"2025-10-02T08:00:00Z","bin":"B1","weightKg":20}""",
            """{"event":"weighed","bin":"B1","weightKg":0}""", "Bin B1 is empty by the book since Thu, Oct 2"),
        ("far-off", null, """{"event":"promised","order":"O1","crop":"potato","weightKg":5,"due":"2029-09-01"}""",
            "is more than 2 years away. Is the year right?"),
        ("long-ago", null, """{"event":"dug","lot":"R7","crop":"potato","dugOn":"1975-10-03"}""",
            "is more than 2 years back. Is the year right?"),
        ("filled-twice", null, """{"event":"filled","bin":"B1","lot":"R1","weightKg":10}""",
            "holds 44.09 lb by the book. Is this 22.05 lb more on top?"),
        ("future", null, """{"event":"moved","at":"2026-01-01T08:00:00Z","bin":"B1","place":"cellar"}""", "is in the future"),
        ("more-than-dug", null, """{"event":"filled","bin":"B3","lot":"R1","weightKg":80}""",
            "Of lot R1 220.46 lb came in and 110.23 lb are in bins; 176.37 lb more"),
        ("more-than-there", null, """{"event":"sold","bin":"B1","weightKg":50}""",
            "Bin B1 holds 44.09 lb by the book, and 110.23 lb would go out of it"),
        ("more-than-there", null, """{"event":"sorted","bin":"B1","into":[{"bin":"B1","weightKg":50}]}""",
            "Bin B1 holds 44.09 lb by the book, and 110.23 lb would go out of it"),
        ("not-all-sorted", null, """{"event":"sorted","bin":"B1","into":[{"bin":"B1","weightKg":5}]}""", "only 11.02 lb are sorted"),
        ("not-in-order", null, """{"event":"sold","bin":"B1","weightKg":1,"order":"nowhere"}""", "There is no order nowhere"),
        ("not-in-order", """{"event":"promised","order":"O1","crop":"carrot","weightKg":5}""",
            """{"event":"sold","bin":"B1","weightKg":1,"order":"O1"}""", "Order O1 has no Potato in it"),
        ("other-crop", null, """{"event":"dug","lot":"R1","crop":"carrot"}""", "Lot R1 is Potato by the book, this says Carrot"),
        ("other-lot", """{"event":"dug","lot":"R2","crop":"carrot"}""", """{"event":"filled","bin":"B1","lot":"R2","weightKg":5}""",
            "Bin B1 still holds 44.09 lb of lot R1"),
        ("other-lot", """[{"event":"dug","lot":"R2","crop":"carrot"},{"event":"filled","bin":"C1","lot":"R2","weightKg":20}]""",
            """{"event":"sorted","bin":"C1","into":[{"bin":"B1","weightKg":20}]}""", "bin C1 is of lot R2"),
        ("planted-after", null, """{"event":"dug","lot":"R3","crop":"potato","plantedOn":"2025-12-01"}""", "Lot R3 was planted on Dec 1"),
        ("promised-twice", """{"event":"promised","order":"O1","crop":"potato","grade":"table","weightKg":5}""",
            """{"event":"promised","order":"O1","crop":"potato","grade":"table","weightKg":6}""",
            "Order O1 has Potato (table) in it already"),
        ("row-planted-twice", """{"event":"row-planted","row":"3","crop":"potato","plantedOn":"2025-05-02"}""",
            """{"event":"row-planted","row":"3","crop":"carrot"}""", "Row 3 was planted on May 2 (Potato) and nothing was dug"),
        ("dug-before-planting", """{"event":"dug","at":"2025-10-01T08:00:00Z","lot":"Z","crop":"carrot","row":"7"}""",
            """{"event":"row-planted","row":"7","crop":"carrot","plantedOn":"2025-10-03"}""",
            "Row 7 would be planted on Oct 3, and lot Z came from it on Oct 1"),
        ("unknown-row", null, """{"event":"vines-dead","row":"9","on":"2025-09-04"}""", "No row 9 was planted up to Sep 4"),
        ("vines-dead-twice", """[{"event":"row-planted","row":"3","crop":"potato","plantedOn":"2025-05-02"},{"event":"vines-dead","row":"3","on":"2025-09-04"}]""", """{"event":"vines-dead","row":"3"}""", "The vines of row 3 are dead since Sep 4"),
        ("other-crop-in-row", """{"event":"row-planted","row":"3","crop":"potato","plantedOn":"2025-05-02"}""",
            """{"event":"dug","lot":"Z","crop":"beet","row":"3"}""", "Row 3 was planted with Potato on May 2 by the book, this says Beet"),
        ("other-planting", """{"event":"row-planted","row":"3","crop":"potato","plantedOn":"2025-05-02"}""",
            """{"event":"dug","lot":"Z","crop":"potato","row":"3","plantedOn":"2025-06-02"}""",
            "planted on May 2 by the book, this says Jun 2"),
        ("too-heavy", null, """{"event":"weighed","bin":"B1","weightKg":25}""",
            "would weigh 55.12 lb, and by the book it cannot be more than 44.09 lb. Is the empty bin's weight in it"),
        ("too-heavy", null, """{"event":"weighed","bin":"B1","weightKg":26,"tareKg":1}""", "more than 44.09 lb. Is it another bin?"),
        ("unknown-bin", null, """{"event":"moved","bin":"B11","place":"cellar"}""",
            "There is no bin B11. A bin begins by being filled. Did you mean B1?"),
        ("unknown-bin", null, """{"event":"moved","at":"2025-10-01T08:30:00Z","bin":"B1","place":"cellar"}""", "there was nothing in it"),
        ("unknown-lot", null, """{"event":"filled","bin":"B5","lot":"R9","weightKg":5}""", "There is no lot R9 at"),
        ("unknown-place", null, """{"event":"moved","bin":"B1","place":"celler"}""",
            "There is no place celler. Which is meant? Did you mean Cellar?"),
        ("unmeasured", """[{"event":"sold","bin":"B9","measure":{"amount":1,"unit":"peck"},"keep":true},{"event":"filled","at":"2025-10-02T08:00:00Z","bin":"B9","lot":"R1","weightKg":20}]""", """{"event":"correction","of":4,"checked":true}""", "Give a weight instead"),
    ];

    public static TheoryData<int> Every => [.. Enumerable.Range(0, Cases.Length)];

    private static IEnumerable<string> Codes => typeof(QuestionCode).GetFields(BindingFlags.Public | BindingFlags.Static)
        .Select(f => (string)f.GetRawConstantValue()!).Where(c => c != QuestionCode.Unreadable);

    [Theory]
    [MemberData(nameof(Every))]
    public async Task What_the_book_asks_has_a_code_and_words_in_the_households_units(int number)
    {
        var (code, before, json, words) = Cases[number];
        await using var books = await Bookkeeping.WithTwoBinsAsync();
        books.Door.KnownPlaces = () => ["curing", "cellar"];
        if (before is not null) await books.KeepAsync(before);
        var asked = (await books.TakeAsync(json)).Should().BeOfType<LedgerAnswer.Asked>(json).Which.Questions[0];
        asked.Code.Should().Be(code);

        // As it is asked, and as it is read back when it was kept to be checked.
        foreach (var question in new[] { asked.Asked, Question.Read(asked.Asked.Kept())! })
        {
            var text = Pounds().Of(
                question, [new Place("curing", "Curing room", Purpose.Curing, null, []),
                    new Place("cellar", "Cellar", Purpose.Storage, null, [])]);
            text.Replace('\u00A0', ' ').Should().Contain(words);
            text.Should().NotContainAny("kg", "{", "POST ", "tareKg");
        }

        Question.Read(asked.Asked.Kept()).Should().Be(asked.Asked);
    }

    [Fact]
    public void Every_code_has_a_case_here_and_a_line_in_the_document_of_the_api()
    {
        Cases.Select(c => c.Code).Append(QuestionCode.UnexpectedWeight).Append(QuestionCode.WouldHarm).Distinct().Order().Should().Equal(Codes.Order());
        var folder = new DirectoryInfo(AppContext.BaseDirectory);
        while (!File.Exists(Path.Combine(folder!.FullName, "RootCellar.sln"))) folder = folder.Parent;
        var document = File.ReadAllText(Path.Combine(folder.FullName, "docs", "api.md"));
        Codes.Where(c => !document.Contains($"| `{c}` |", StringComparison.Ordinal)).Should().BeEmpty();
    }

    [Theory]
    [InlineData(ScaleQuestionKind.ToppedUp, "Was it topped up, or is it another bin?")]
    [InlineData(ScaleQuestionKind.TakenOut, "Was some taken out, is it another bin, or is it drying or going bad faster")]
    [InlineData(ScaleQuestionKind.PoundsAsKilograms, "read in pounds and entered as kilograms? That would be 44.09 lb.")]
    [InlineData(ScaleQuestionKind.KilogramsAsPounds, "read in kilograms and entered as pounds? That would be 44.09 lb.")]
    [InlineData(ScaleQuestionKind.TareForgotten, "Is the empty bin's weight still in it?")]
    [InlineData(ScaleQuestionKind.TareTakenTwice, "the bin's weight taken off once more?")]
    [InlineData(ScaleQuestionKind.DecimalPoint, "Did the decimal point slip? 44.09 lb would fit.")]
    public void A_weigh_in_nobody_expected_is_asked_about_by_what_it_may_be(ScaleQuestionKind kind, string expected)
    {
        var asked = WeighInQuestion.AskedOf(new ScaleQuestion(kind, "B1", 25, 19, 21, 20));
        asked.Code.Should().Be(QuestionCode.UnexpectedWeight);
        var words = Pounds().Of(asked, []).Replace('\u00A0', ' ');
        words.Should().StartWith("Bin B1 at 55.12 lb: 41.89 lb to 46.3 lb was expected.").And.Contain(expected);
        Pounds().Of(Question.Read(asked.Kept())!, []).Replace('\u00A0', ' ').Should().Be(words);
    }

    [Fact]
    public async Task What_an_entry_does_to_another_is_asked_with_the_number_of_that()
    {
        await using var books = await Bookkeeping.WithTwoBinsAsync();
        await books.KeepAsync("""{"event":"sold","bin":"B1","weightKg":19}""");
        var asked = (await books.TakeAsync("""{"event":"correction","of":2,"weightKg":10}""")).Should()
            .BeOfType<LedgerAnswer.Asked>().Which.Questions[0];
        asked.Figures.GetProperty("entry").GetInt64().Should().Be(4);
        asked.Question.Should().StartWith("With this, entry 4 no longer makes sense: Bin B1 holds 10 kg");
        Pounds().Of(asked.Asked, []).Replace('\u00A0', ' ').Should()
            .StartWith("That clashes with entry 4: Bin B1 holds 22.05 lb");
    }

    [Fact]
    public async Task A_kept_question_is_the_same_after_a_restart_and_a_plain_text_is_read_as_one()
    {
        await using var books = await Bookkeeping.WithTwoBinsAsync();
        var kept = (await books.KeepAsync("""{"event":"weighed","bin":"B1","weightKg":25,"keep":true}"""))[0];
        kept.Question!.Code.Should().Be("too-heavy");
        await books.RestartAsync();
        books.Book.Find(kept.Id)!.Question.Should().Be(kept.Question);
        Question.Read("Is the date right?").Should().Be(new Question("", "Is the date right?"));
        Question.Read("{nothing").Should().Be(new Question("", "{nothing"));
    }

    private static QuestionWords Pounds()
    {
        var household = new HouseholdOptions { TimeZone = "America/New_York", Weight = "lb" };
        RootCellar.Household.Language.Of("en", household, folder: null).Speak();
        return new QuestionWords(new Show(household, new RootCellar.Tests.Storage.HouseTime(RootCellar.Tests.Storage.Sample.At)));
    }
}
