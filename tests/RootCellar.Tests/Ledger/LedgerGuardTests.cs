using RootCellar.Ledger;
using RootCellar.Ledger.Events;
using RootCellar.Storage;
using RootCellar.Tests.Storage;

namespace RootCellar.Tests.Ledger;

/// <summary>What the book does not take, and what it goes on by where it takes something.</summary>
public sealed class LedgerGuardTests
{
    [Fact]
    public async Task A_chain_of_corrections_is_a_hundred_deep_at_the_door()
    {
        await using var books = await Bookkeeping.WithTwoBinsAsync();
        for (var of = 3; of < 103; of++) await books.KeepAsync($$"""{"event":"correction","of":{{of}},"rightNote":"n"}""");
        (await books.TakeAsync("""{"event":"correction","of":103,"rightNote":"n"}""")).Should().BeOfType<LedgerAnswer.Wrong>()
            .Which.Detail.Should().StartWith("of: entry 103 is a correction of a correction, 100 deep. Correct the first entry itself.");
        books.Book.Bins["B2"].Grams.Should().Be(30_000);
    }

    [Fact]
    public async Task A_deeper_one_that_another_program_wrote_is_set_aside_and_all_else_stands()
    {
        await using var books = await Bookkeeping.WithTwoBinsAsync();
        var first = books.Book.Find(3)!.Entry;
        await books.Store.WriteAsync(c =>
        {
            for (var id = 4; id <= 206; id++)
                LedgerRows.Add(c, new LedgerRow(
                    first with { Id = id, Event = Correction.Name, Of = id - 1, Body = Bookkeeping.Parse("""{"rightNote":"n"}""") }, null, null, null));
        });
        await books.RestartAsync();
        books.Book.Entries.Should().HaveCount(203, "3 and 200 corrections");
        books.Door.Damaged.Select(d => (d.Number, d.Why)).Should().Equal(
            ("204", "it is a correction of a correction, 201 deep"), ("205", "it corrects entry 204, which is not there or cannot be read"),
            ("206", "it corrects entry 205, which is not there or cannot be read"));
        books.Book.Bins["B2"].Grams.Should().Be(30_000);
    }

    [Fact]
    public async Task A_book_for_which_there_is_no_room_is_not_written_into()
    {
        await using var books = await Bookkeeping.WithTwoBinsAsync();
        using var full = Door(books, room: 2);
        full.Load();
        full.Trouble!.Text.Should().StartWith("The book has 3 entries, and there is memory for 2.");
        var sent = Bookkeeping.Read("""{"event":"eaten","bin":"B1","weightKg":1}""", full.Now);
        await full.Awaiting(d => d.TakeAsync(sent, null, "test")).Should().ThrowAsync<StoreProblemException>().WithMessage(full.Trouble.Text);
        using var fits = Door(books, room: 3);
        fits.Load();
        (fits.Trouble, fits.Book.Entries.Count).Should().Be((null, 3));
        await fits.Awaiting(d => d.TakeAsync(sent, null, "test")).Should().ThrowAsync<BookFullException>("there is no room for a fourth");
        books.Store.Text("SELECT count(*) FROM ledger").Should().Be("3");
    }

    [Fact]
    public async Task While_something_leans_on_the_book_nothing_is_written_into_it()
    {
        await using var books = await Bookkeeping.WithTwoBinsAsync();
        var (done, ran) = (new TaskCompletionSource<int>(), new List<string>());
        books.Door.KnownPlaces = () =>
        {
            ran.Add("taken");
            return ["curing"];
        };
        var held = books.Door.HoldAsync(_ => done.Task, TestContext.Current.CancellationToken);
        var taking = books.TakeAsync("""{"event":"eaten","bin":"B1","weightKg":1}""");
        var second = books.Door.HoldAsync(_ =>
        {
            ran.Add("held");
            return Task.FromResult(2);
        }, TestContext.Current.CancellationToken);
        ran.Should().BeEmpty("the first is not done");
        done.SetResult(1);
        (await held, await second).Should().Be((1, 2));
        (await taking).Should().BeOfType<LedgerAnswer.Kept>();
        ran.Should().BeEquivalentTo("taken", "held");
    }

    [Fact]
    public async Task Read_again_under_another_clock_it_is_the_same_book_once_and_all_of_it_is_new_to_who_follows_it()
    {
        await using var books = await Bookkeeping.WithTwoBinsAsync();
        var lost = books.Book.Find(3)!.Entry with { Id = 4, Event = Correction.Name, Of = 9, Body = Bookkeeping.Parse("""{"weightKg":1}""") };
        await books.Store.WriteAsync(c => LedgerRows.Add(c, new LedgerRow(lost, null, null, null)));
        await books.RestartAsync();
        var changes = new List<DateTimeOffset>();
        books.Door.BookChanged += (_, change) => changes.Add(change.FromWhen);
        await books.Door.ReadAgainAsync();
        (books.Book.Entries.Count, books.Door.Damaged.Count, books.Book.Bins["B1"].Grams).Should().Be((3, 1, 20_000));
        // The earliest is of 1 October, 8:00; by another clock what was dug on a day may have been a day before.
        changes.Should().Contain(new DateTimeOffset(2025, 9, 30, 8, 0, 0, TimeSpan.Zero));

        using var full = Door(books, room: 2);
        full.Load();
        await full.ReadAgainAsync();
        full.Book.Entries.Should().BeEmpty("there is no room for it at another hour either");
    }

    [Fact]
    public async Task A_record_that_cannot_be_read_under_a_key_is_no_fault_of_who_sent_it()
    {
        await using var books = await Bookkeeping.WithTwoBinsAsync();
        await books.Store.WriteAsync(c => c.Execute("DROP TABLE ledger"));
        await books.Awaiting(b => b.TakeAsync("""{"event":"eaten","bin":"B1","weightKg":1}""", "k1")).Should()
            .ThrowAsync<StoreProblemException>().WithMessage("The ledger cannot be read or written now: *");
        books.Book.Entries.Should().HaveCount(3);
    }

    [Fact]
    public async Task The_book_of_a_moment_gone_by_has_what_had_happened_before_it_as_it_was_put_right_since()
    {
        await using var books = await Bookkeeping.WithTwoBinsAsync();
        await books.KeepAsync("""{"event":"correction","of":2,"weightKg":21}""");
        await books.KeepAsync("""{"event":"dug","lot":"R2","crop":"potato","dugOn":"2025-09-30"}""");
        var nine = new DateTimeOffset(2025, 10, 1, 9, 0, 0, TimeSpan.Zero);
        Then(nine).Bins.Should().BeEmpty("it was filled at nine, not before");
        Then(nine.AddMilliseconds(1)).Bins["B1"].Grams.Should().Be(21_000);
        Then(nine).Lots.Keys.Should().BeEquivalentTo("R1", "R2");
        Then(nine.AddDays(30)).Should().BeSameAs(books.Book);

        Book Then(DateTimeOffset end) => BookBuilder.Then(books.Book, end);
    }

    [Fact]
    public async Task Of_one_moment_what_was_written_first_happened_first()
    {
        await using var books = await Bookkeeping.WithTwoBinsAsync();
        var moves = string.Join(',', Enumerable.Range(1, 60).Select(i => $$"""{"event":"moved","bin":"B1","place":"p{{i}}","at":"2025-10-03T08:00:00Z"}"""));
        await books.KeepAsync($"[{moves}]");
        books.Book.Bins["B1"].Stays.Select(s => s.Place).Should().Equal(["curing", .. Enumerable.Range(1, 60).Select(i => $"p{i}")]);
        await books.KeepAsync("""{"event":"filled","bin":"B1","lot":"R1","weightKg":1,"checked":true}""");
        (await books.AskedAsync("""{"event":"eaten","bin":"B1","weightKg":1,"at":"2025-10-01T08:30:00Z"}""")).Should()
            .StartWith("Bin B1 was filled on 2025-10-01 09:00; at 2025-10-01 08:30 there was nothing in it.", "the first filling is meant");
    }

    private static LedgerDoor Door(Bookkeeping books, long room) => new(books.Store, books.Time,
        new RootCellar.Household.HouseholdOptions { TimeZone = "UTC" }, new RootCellar.Household.LimitOptions(),
        Microsoft.Extensions.Logging.Abstractions.NullLogger<LedgerDoor>.Instance)
    { Room = room };

    [Fact]
    public async Task A_key_that_another_program_used_meanwhile_is_known()
    {
        await using var books = await Bookkeeping.WithTwoBinsAsync();
        const string json = """{"event":"eaten","bin":"B1","weightKg":1}""";
        var sent = Bookkeeping.Read(json, books.Door.Now)[0];
        var entry = books.Book.Find(3)!.Entry with { Id = 4, Event = sent.Event, Body = sent.Body };
        await books.Store.WriteAsync(c => LedgerRows.Add(c, new LedgerRow(entry, "k1", 0, sent.Fingerprint)));

        (await books.TakeAsync(json, "k1")).Should().BeOfType<LedgerAnswer.Repeated>().Which.Entries.Single().Id.Should().Be(4);
        books.Book.Bins["B1"].Grams.Should().Be(19_000, "what it wrote is in the book now");
        (await books.TakeAsync("""{"event":"eaten","bin":"B1","weightKg":2}""", "k1")).Should().BeOfType<LedgerAnswer.KeyTaken>().Which.ToString().Should()
            .Contain("The Idempotency-Key 'k1' was used for something else (entry 4, eaten). Nothing was kept; send this under a key of its own.");
        books.Book.Entries.Should().HaveCount(4);
    }

    [Fact]
    public async Task What_another_program_corrects_meanwhile_must_be_there()
    {
        await using var books = await Bookkeeping.WithTwoBinsAsync();
        var first = books.Book.Find(3)!.Entry;
        await WriteAsync(first with { Id = 10 }, "k1");
        await books.TakeAsync("""{"event":"eaten","bin":"B1","weightKg":1}""", "k1");
        var right = first with { Event = Correction.Name, Body = Bookkeeping.Parse("""{"weightKg":31}""") };
        await WriteAsync(right with { Id = 11, Of = 7 }, "k2");
        await WriteAsync(right with { Id = 12, Of = 3 }, "k3");
        await books.TakeAsync("""{"event":"eaten","bin":"B1","weightKg":1}""", "k3");

        books.Door.Damaged.Select(d => (d.Number, d.Why)).Should().Equal(("11", "it corrects entry 7, which is not there or cannot be read"));
        books.Book.Find(3)!.CorrectedBy.Should().Equal(12);
        books.Book.Entries.Select(e => e.Entry.Id).Should().Equal(1, 2, 3, 10, 12);

        Task WriteAsync(LedgerEntry entry, string key) => books.Store.WriteAsync(c => LedgerRows.Add(c, new LedgerRow(entry, key, 0, "print")));
    }

    [Fact]
    public async Task That_a_figure_was_looked_at_holds_for_that_figure_and_no_other()
    {
        await using var books = await Bookkeeping.WithTwoBinsAsync();
        await books.KeepAsync("""{"event":"eaten","bin":"B1","weightKg":25,"checked":true}""");
        books.Book.Doubts.Should().BeEmpty();
        await books.KeepAsync("""{"event":"correction","of":4,"rightNote":"soup"}""");
        books.Book.Doubts.Should().BeEmpty("its figure is the one that was looked at");
        (await books.TakeAsync("""{"event":"correction","of":4,"weightKg":26}""")).Should().BeOfType<LedgerAnswer.Asked>();
        await books.KeepAsync("""{"event":"correction","of":4,"void":false,"weightKg":19}""");
        books.Book.Bins["B1"].Grams.Should().Be(1_000);
    }

    [Theory]
    [InlineData("""{"event":"correction","of":1,"void":false}""", "correction: it says nothing; right would be the fields that were wrong")]
    [InlineData("""{"event":"correction","of":1}""", "correction: it says nothing")]
    [InlineData("""{"event":7}""", "event: '7' is not one of dug, filled")]
    [InlineData("""{"event":"culled","bin":"B1","weightKg":1,"reason":7}""", "reason: '7' is not one of rot")]
    [InlineData("""{"event":"moved","place":"cellar"}""", "bin: it is missing from moved; right would be \"bin\": \"B12\".")]
    [InlineData("""{"event":"moved","bin":"B1"}""", "place: it is missing from moved; right would be \"place\": \"cellar\".")]
    [InlineData("""{"event":"dug","crop":"potato"}""", "lot: it is missing from dug; right would be \"lot\": \"2026-R3\".")]
    [InlineData("""{"event":"dug","lot":"L"}""", "crop: it is missing from dug; right would be \"crop\": \"potato\".")]
    [InlineData("""{"event":"promised","crop":"potato","weightKg":1}""", "order: it is missing from promised; right would be \"order\": \"market-2026-11-07\".")]
    [InlineData("""{"event":"vines-dead","on":"2025-09-01"}""", "row: it is missing from vines-dead; right would be \"row\": \"3\".")]
    [InlineData("""{"event":"eaten","bin":"B1","measure":{"amount":0.00001,"unit":"kg","kgPerUnit":1}}""",
        "measure: 1E-05 kg would be 0 kg; more than 0 and at most 50000 can be.")]
    [InlineData("""{"event":"dug","lot":"L","crop":"potato","pulpC":51}""", "pulpC: 51 is not the temperature inside the produce in C, -10 to 50.")]
    [InlineData("""{"event":"dug","lot":"L","crop":"potato","pulpC":-10.1}""", "pulpC: -10.1 is not the temperature")]
    [InlineData("""{"event":"filled","bin":"B","lot":"L","weightKg":9,"pieceKg":50.1}""", "pieceKg: 50.1 is not what one piece weighs in kg, such as 0.15.")]
    [InlineData("""{"event":"filled","bin":"B","lot":"L","weightKg":9,"pieceKg":0}""", "pieceKg: 0 is not what one piece weighs")]
    [InlineData("""{"event":"filled","bin":"B","lot":"L","weightKg":9,"tareKg":-1}""", "tareKg: -1 is not the weight of the empty bin in kg.")]
    [InlineData("""{"event":"filled","bin":"B","lot":"L","weightKg":9,"tareKg":10}""",
        "tareKg: the empty bin (10 kg) cannot be heavier than the full one (9 kg).")]
    [InlineData("""{"event":"filled","bin":"B","lot":"L","measure":{"amount":1,"unit":"bushel"},"tareKg":1}""", "tareKg: only what was weighed was weighed with its bin.")]
    [InlineData("""{"event":"weighed","bin":"B","weightKg":9,"tareKg":5001}""", "tareKg: 5001 is not the weight of the empty bin in kg.")]
    [InlineData("""{"event":"weighed","bin":"B","weightKg":9,"resolutionKg":0}""", "resolutionKg: 0 is not the step of the scale in kg, such as 0.05.")]
    [InlineData("""{"event":"sprouts-seen","bin":"B","share":"few","length":2001}""", "length: 2001 is not the length of the sprouts in mm.")]
    [InlineData("""{"event":"row-planted","row":"1","crop":"potato","maturityDays":19}""",
        "maturityDays: 19 is not the days to maturity that packet or seed list give, 20 to 365.")]
    [InlineData("""{"event":"row-planted","row":"1","crop":"potato","maturityDays":90,"maturity":"mid"}""", "maturity and maturityDays: one of the two.")]
    [InlineData("""{"event":"row-planted","row":"1","crop":"potato","lengthM":0}""", "lengthM: 0 is not the length of the row in m, such as 30.")]
    [InlineData("""{"event":"row-planted","row":"1","crop":"potato","lengthFt":16001}""", "lengthFt: 16001 is not the length of the row in feet, such as 100.")]
    [InlineData("""{"event":"row-planted","row":"1","crop":"potato","lengthFt":1,"lengthM":1}""", "lengthM and lengthFt: one of the two.")]
    public void What_is_wrong_with_a_field_is_said_with_what_would_be_right(string json, string says)
    {
        EventReader.Read(Bookkeeping.Parse(json), Sample.At, out var wrong).Should().BeNull();
        wrong.Should().StartWith(says);
    }

    [Fact]
    public async Task What_was_said_of_a_bin_holds_when_it_is_topped_up_without_a_word()
    {
        await using var books = new Bookkeeping();
        await books.KeepAsync(
            """
            [{"event":"row-planted","at":"2025-05-03T08:00:00Z","row":"3","crop":"potato","variety":"Kennebec","checked":true},
             {"event":"dug","at":"2025-10-01T08:00:00Z","lot":"R3","crop":"potato","row":"3","checked":true},
             {"event":"dug","at":"2025-10-01T08:00:00Z","lot":"R4","crop":"potato","row":"3","variety":"Elba","plantedOn":"2025-05-01","checked":true},
             {"event":"filled","at":"2025-10-01T09:00:00Z","bin":"B1","lot":"R3","weightKg":20,"pieceKg":0.2,"tareKg":2,"lies":"crate","checked":true},
             {"event":"filled","at":"2025-10-01T10:00:00Z","bin":"B1","lot":"R3","weightKg":9,"checked":true}]
            """);
        var bin = books.Book.Bins["B1"];
        (bin.PieceKg, bin.TareKg, bin.Lies).Should().Be((0.2, 2.0, "crate"));
        await books.KeepAsync("""{"event":"filled","bin":"B1","lot":"R3","weightKg":9,"pieceKg":0.3,"tareKg":3,"lies":"bin","checked":true}""");
        bin = books.Book.Bins["B1"];
        (bin.PieceKg, bin.TareKg, bin.Lies).Should().Be((0.3, 3.0, "bin"));
        // A lot says itself what it is; else its row does.
        books.Book.Lots.Values.Select(l => (l.Id, l.Variety, l.PlantedOn)).Order().Should().Equal(
            ("R3", "Kennebec", new DateOnly(2025, 5, 3)), ("R4", "Elba", new DateOnly(2025, 5, 1)));
    }

    [Theory]
    [InlineData("1969-12-31", false)]
    [InlineData("1970-01-01", true)]
    [InlineData("2100-12-31", true)]
    [InlineData("2101-01-01", false)]
    public void Years_are_1970_to_2100(string day, bool can)
    {
        var at = DateTimeOffset.Parse(day + "T12:00:00Z", System.Globalization.CultureInfo.InvariantCulture);
        (GivenDates.Impossible("at", at) is null).Should().Be(can);
        var refused = GivenDates.Impossible(Bookkeeping.Parse($$"""{"plantedOn":"{{day}}"}"""));
        if (can) refused.Should().BeNull();
        else refused!.Text.Should().StartWith($"plantedOn: '{day}' is of the year {day[..4]}, which cannot be; right would be one of 1970 to 2100");
    }

    [Fact]
    public void A_question_without_figures_has_none()
    {
        Question.Of("c", "t", null).FiguresJson.Should().Be("{}");
        Question.Of("c", "t", new { kg = 1.5 }).FiguresJson.Should().Be("""{"kg":1.5}""");
    }
}
