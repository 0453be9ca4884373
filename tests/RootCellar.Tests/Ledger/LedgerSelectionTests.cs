using RootCellar.Ledger;
using RootCellar.Tests.Storage;

namespace RootCellar.Tests.Ledger;

/// <summary>Entries by what they are about, and how they stand with their corrections.</summary>
public sealed class LedgerSelectionTests
{
    private static readonly DateTimeOffset Always = DateTimeOffset.MaxValue;

    [Fact]
    public async Task Entries_of_a_bin_and_a_lot_come_in_the_order_they_happened_with_their_corrections()
    {
        await using var books = await Bookkeeping.WithTwoBinsAsync();
        await books.KeepAsync(
            """
            [{"event":"eaten","bin":"B1","weightKg":2,"at":"2025-10-03T08:00:00Z"},
             {"event":"eaten","bin":"B1","weightKg":1,"at":"2025-10-02T08:00:00Z"},
             {"event":"eaten","bin":"B2","weightKg":1,"at":"2025-10-02T08:00:00Z"}]
            """);
        await books.KeepAsync("""{"event":"correction","of":4,"weightKg":3}""");
        await books.KeepAsync("""{"event":"correction","of":7,"weightKg":4}""");
        await books.KeepAsync("""{"event":"sold","bin":"B1","weightKg":15,"empties":true}""");
        await books.KeepAsync("""[{"event":"dug","lot":"C1","crop":"carrot"},{"event":"filled","bin":"B1","lot":"C1","weightKg":9}]""");
        Ids("B1", null).Should().Equal(2, 5, 4, 7, 8, 9, 11);
        Ids("B1", "R1").Should().Equal(2, 5, 4, 7, 8, 9);
        Ids("B1", "C1").Should().Equal(11);
        Ids(null, "C1").Should().Equal(10, 11);
        Ids(null, null).Should().Equal(1, 2, 3, 5, 6, 4, 7, 8, 9, 10, 11);
        Ids("B9", null).Should().BeEmpty();

        var (from, to) = (At("2025-10-01T09:00:00Z"), At("2025-10-03T08:00:00Z"));
        Ids(null, null, from, to).Should().Equal([2, 3, 5, 6], "from the first moment on and before the last");
        LedgerSelection.Of(books.Book, null, null, from, Always, books.Book.Find(5)).Select(s => s.Entry.Id).Should()
            .Equal(6, 4, 7, 8, 9, 10, 11);

        IEnumerable<long> Ids(string? bin, string? lot, DateTimeOffset first = default, DateTimeOffset? end = null) =>
            LedgerSelection.Of(books.Book, bin, lot, first, end ?? Always).Select(s => s.Entry.Id);

        static DateTimeOffset At(string text) => DateTimeOffset.Parse(text, System.Globalization.CultureInfo.InvariantCulture);
    }

    [Fact]
    public async Task What_an_entry_was_before_a_correction_and_its_note_are_as_they_were_put_right()
    {
        await using var books = await Bookkeeping.WithTwoBinsAsync();
        await books.KeepAsync("""{"event":"eaten","bin":"B1","weightKg":1,"note":"soup"}""");
        await books.KeepAsync("""{"event":"correction","of":4,"weightKg":2,"rightNote":" stew "}""");
        await books.KeepAsync("""{"event":"correction","of":4,"void":true}""");
        await books.KeepAsync("""{"event":"correction","of":6,"void":true}""");
        await books.KeepAsync("""{"event":"correction","of":4,"weightKg":3}""");
        Before(5).Should().Be(1);
        Before(8).Should().Be(2, "what was taken back, and is not, changed nothing");
        LedgerSelection.Root(books.Book, books.Book.Find(7)!).Entry.Id.Should().Be(4);
        Note().Should().Be("stew");
        await books.KeepAsync("""{"event":"correction","of":5,"void":true}""");
        Before(8).Should().Be(1);
        Note().Should().Be("soup");
        await books.KeepAsync("""{"event":"correction","of":4,"rightNote":null}""");
        Note().Should().BeNull();
        await books.KeepAsync("""{"event":"correction","of":4,"rightNote":"broth","checked":true}""");
        Note().Should().Be("broth");

        double Before(long correction) =>
            LedgerSelection.Before(books.Book, books.Book.Find(correction)!).GetProperty("weightKg").GetDouble();

        string? Note() => LedgerSelection.Note(books.Book, books.Book.Find(4)!);
    }

    [Fact]
    public async Task One_way_of_saying_how_much_or_how_long_takes_the_place_of_the_other()
    {
        await using var books = await Bookkeeping.WithTwoBinsAsync();
        await books.KeepAsync("""{"event":"row-planted","row":"3","crop":"potato","maturityDays":95,"lengthM":20}""");
        await books.KeepAsync("""{"event":"correction","of":4,"maturity":"late","lengthFt":100}""");
        books.Book.Row("3").Should().Match<RowView>(r => r.Maturity == "late" && r.MaturityDays == null);
        books.Book.Row("3")!.LengthM.Should().BeApproximately(30.48, 1e-9);
        await books.KeepAsync("""{"event":"eaten","bin":"B1","measure":{"amount":10,"unit":"lb"}}""");
        await books.KeepAsync("""{"event":"correction","of":6,"weightKg":2}""");
        books.Book.Bins["B1"].Grams.Should().Be(18_000);
        await books.KeepAsync("""{"event":"correction","of":6,"measure":{"amount":10,"unit":"lb"}}""");
        books.Book.Bins["B1"].Grams.Should().Be(20_000 - 4_536);
    }

    [Theory]
    [InlineData(null, null, null, null)]
    [InlineData("", null, null, null)]
    [InlineData("Why?", "", "Why?", "{}")]
    [InlineData("{nothing", "", "{nothing", "{}")]
    [InlineData("""{"code":5}""", "", """{"code":5}""", "{}")]
    [InlineData("""{"code":"future"}""", "future", """{"code":"future"}""", "{}")]
    [InlineData("""{"text":"When?"}""", "", "When?", "{}")]
    [InlineData("""{"code":"future","text":"When?","figures":{"at":1}}""", "future", "When?", """{"at":1}""")]
    [InlineData("""{"code":"future","text":"When?","figures":[1]}""", "future", "When?", "{}")]
    public void A_question_is_read_back_as_far_as_it_can_be(string? kept, string? code, string? text, string? figures) =>
        Question.Read(kept).Should().Be(code is null ? null : new Question(code, text!, figures!));

    [Fact]
    public async Task A_book_that_is_full_takes_no_more_and_says_how_much_it_takes()
    {
        await using var books = await Bookkeeping.WithTwoBinsAsync();
        using var door = new LedgerDoor(books.Store, books.Time, new RootCellar.Household.HouseholdOptions { TimeZone = "UTC" },
            new RootCellar.Household.LimitOptions(), Microsoft.Extensions.Logging.Abstractions.NullLogger<LedgerDoor>.Instance)
        { Room = 4 };
        door.Load();
        const string eaten = """{"event":"eaten","bin":"B1","weightKg":1}""";
        (await TakeAsync($"[{eaten},{eaten}]")).Should().BeNull();
        (await TakeAsync(eaten)).Should().BeOfType<LedgerAnswer.Kept>();
        (await TakeAsync(eaten)).Should().BeNull();
        door.Book.Entries.Should().HaveCount(4);

        async Task<LedgerAnswer?> TakeAsync(string json)
        {
            try
            {
                return await door.TakeAsync(Bookkeeping.Read(json, door.Now), null, "test");
            }
            catch (BookFullException e)
            {
                e.Message.Should().Contain("4");
                return null;
            }
        }
    }

    [Fact]
    public async Task A_key_that_was_used_for_something_else_is_refused_with_the_entry_it_made()
    {
        await using var books = await Bookkeeping.WithTwoBinsAsync();
        const string eaten = """{"event":"eaten","bin":"B1","weightKg":1}""";
        await books.KeepAsync($"[{eaten},{eaten}]", "k1");
        (await books.TakeAsync($"[{eaten},{eaten}]", "k1")).Should().BeOfType<LedgerAnswer.Repeated>().Which.Entries.Select(e => e.Id)
            .Should().Equal(4, 5);
        foreach (var other in (string[])[eaten, eaten.Replace(":1}", ":2}", StringComparison.Ordinal)])
        {
            (await books.TakeAsync(other, "k1")).Should().BeOfType<LedgerAnswer.KeyTaken>().Which.Detail.Should().Be(
                "The Idempotency-Key 'k1' was used for something else (entry 4, eaten). Nothing was kept; send this under a key of its own.");
        }

        (await books.TakeAsync(eaten, "k2")).Should().BeOfType<LedgerAnswer.Kept>();
    }

    [Fact]
    public async Task A_chain_of_corrections_has_an_end()
    {
        await using var books = await Bookkeeping.WithTwoBinsAsync();
        for (var of = 3; of < 103; of++) await books.KeepAsync($$"""{"event":"correction","of":{{of}},"weightKg":{{20 + (of % 5)}}}""");
        (await books.TakeAsync("""{"event":"correction","of":103,"weightKg":20}""")).Should().BeOfType<LedgerAnswer.Wrong>()
            .Which.Detail.Should().Be("of: entry 103 is a correction of a correction, 100 deep. Correct the first entry itself.");
    }

    [Fact]
    public async Task A_name_nobody_can_read_is_refused_unless_the_book_has_it()
    {
        await using var books = await Bookkeeping.WithTwoBinsAsync();
        await books.Store.WriteAsync(c =>
        {
            var at = Sample.At.AddDays(-1);
            foreach (var (id, what, body) in new[]
            {
                (4L, "dug", """{"lot":"../l","crop":"potato"}"""),
                    (5L, "filled", """{"bin":"../b","lot":"../l","weightKg":9,"place":"../p"}"""),
                (6L, "row-planted", """{"row":"../r","crop":"potato"}"""),
                (7L, "promised", """{"order":"../o","crop":"potato","weightKg":1}"""),
            })
            {
                LedgerRows.Add(c, new LedgerRow(new LedgerEntry(id, what, at.AddMinutes(id), at,
                    null, null, Bookkeeping.Parse(body), null, null),
                    null, null, null));
            }
        });
        await books.RestartAsync();
        await books.KeepAsync("""{"event":"sold","bin":"../b","weightKg":1,"order":"../o"}""");
        await books.KeepAsync("""{"event":"dug","lot":"N","crop":"potato","row":"../r"}""");
        await books.KeepAsync("""{"event":"moved","bin":"B1","place":"../p"}""");
        foreach (var (field, json) in new[]
        {
            ("bin", """{"event":"filled","bin":"../x","lot":"R1","weightKg":1}"""), ("lot", """{"event":"dug","lot":"../b","crop":"potato"}"""),
            ("row", """{"event":"row-planted","row":"../o","crop":"potato"}"""), ("place", """{"event":"moved","bin":"B1","place":"../r"}"""),
            ("order", """{"event":"promised","order":"../l","crop":"potato","weightKg":1}"""),
            ("grade", """{"event":"filled","bin":"B7","lot":"R1","weightKg":1,"grade":"../b"}"""),
        })
        {
            var refused = (await books.TakeAsync($"[{{\"event\":\"eaten\",\"bin\":\"B2\",\"weightKg\":1}},{json}]")).Should()
                .BeOfType<LedgerAnswer.Wrong>(json).Which;
            refused.Index.Should().Be(1);
            refused.Detail.Should().StartWith($"{field}: '../").And.Contain("cannot be a name: it reads like a path");
        }

        books.Door.KnownPlaces = () => ["../r", "curing", "cellar", "../p"];
        await books.KeepAsync("""{"event":"moved","bin":"B1","place":"../r"}""");
    }
}
