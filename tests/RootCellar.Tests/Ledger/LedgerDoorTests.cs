using Microsoft.Data.Sqlite;
using RootCellar.Ledger;
using RootCellar.Storage;
using RootCellar.Tests.Storage;

namespace RootCellar.Tests.Ledger;

public class LedgerDoorTests
{
    [Theory]
    [InlineData("""{"event":"eaten","bin":"B9","weightKg":1}""", "There is no bin B9.", "Did you mean B1?")]
    [InlineData("""{"event":"filled","bin":"B3","lot":"R2","weightKg":5}""", "There is no lot R2", "Did you mean R1?")]
    [InlineData("""{"event":"eaten","bin":"B1","weightKg":20.001}""", "B1 holds 20 kg by the book, and 20.001 kg would be eaten")]
    [InlineData("""{"event":"culled","bin":"B1","weightKg":25,"reason":"rot"}""", "25 kg would be culled-rot")]
    [InlineData("""{"event":"moved","bin":"B1","place":"curing"}""", "is in curing already by the book, since 2025-10-01")]
    [InlineData("""{"event":"weighed","bin":"B1","weightKg":20.06,"resolutionKg":0.05}""", "would weigh 20.06 kg",
        "cannot be more than 20 kg", "tareKg")]
    [InlineData("""{"event":"weighed","bin":"B1","weightKg":22,"tareKg":1.5}""", "would weigh 20.5 kg")]
    [InlineData("""{"event":"filled","bin":"B1","lot":"R1","weightKg":5}""", "B1 was filled on 2025-10-01 and holds 20 kg",
        "5 kg more on top?")]
    [InlineData("""{"event":"filled","bin":"B3","lot":"R1","weightKg":60}""", "100 kg were dug and 50 kg are in bins")]
    [InlineData("""{"event":"filled","bin":"B3","lot":"R1","weightKg":5,"at":"2025-09-28T08:00:00Z"}""",
        "There is no lot R1 at 2025-09-28")]
    [InlineData("""{"event":"eaten","bin":"B1","weightKg":1,"at":"2025-10-01T08:30:00Z"}""", "was filled on 2025-10-01 09:00",
        "there was nothing in it")]
    [InlineData("""{"event":"eaten","bin":"B1","weightKg":1,"at":"2025-10-04T06:30:00Z"}""", "is in the future")]
    [InlineData("""{"event":"dug","lot":"R1","crop":"potato"}""", "R1 was dug on 2025-10-01 already")]
    [InlineData("""{"event":"dug","lot":"R2","crop":"potato","plantedOn":"2025-10-03","dugOn":"2025-10-02"}""",
        "planted on 2025-10-03 and dug on 2025-10-02")]
    [InlineData("""{"event":"sorted","bin":"B1","into":[{"bin":"B3","weightKg":21}]}""",
        "B1 holds 20 kg by the book, and 21 kg would come out")]
    [InlineData("""{"event":"sorted","bin":"B1","into":[{"bin":"B3","weightKg":12}]}""", "only 12 kg are sorted. Where is the rest?")]
    [InlineData("""{"event":"sold","bin":"B1","weightKg":1,"order":"O7"}""", "There is no order O7")]
    [InlineData("""{"event":"promised","order":"O1","crop":"potato","weightKg":1,"due":"2025-10-01"}""", "before it was promised")]
    [InlineData("""{"event":"correction","of":2,"bin":"B2"}""", "B2 was filled on 2025-10-01 and holds 20 kg")]
    [InlineData("""{"event":"correction","of":1,"void":true}""", "With this, entry 2 no longer makes sense: There is no lot R1")]
    [InlineData("""{"event":"correction","of":2,"weightKg":200}""", "100 kg were dug")]
    public async Task The_book_asks_and_what_is_kept_to_be_checked_counts_for_nothing(string json, params string[] words)
    {
        await using var books = await Bookkeeping.WithTwoBinsAsync();
        (await books.AskedAsync(json)).Should().ContainAll(words);

        var before = Sums(books.Book);
        var kept = (await books.KeepAsync(json.Insert(1, "\"keep\":true,")))[0];
        kept.Question!.Text.Should().ContainAll(words);
        Sums(books.Book).Should().Equal(before);
        books.Book.Doubts.Should().BeEmpty();
        var standing = books.Book.Find(kept.Id)!;
        standing.Counts.Should().BeFalse();
        standing.Question.Should().Be(kept.Question);
        await books.RestartAsync();
        books.Book.Find(kept.Id)!.Entry.Question.Should().Be(kept.Question);
        Sums(books.Book).Should().Equal(before);

        // Taking it back leaves nothing to be checked.
        await books.KeepAsync($$"""{"event":"correction","of":{{kept.Id}},"void":true}""");
        books.Book.Find(kept.Id).Should().Match<Standing>(s => s.Void && s.Question == null);
        Sums(books.Book).Should().Equal(before);
    }

    [Fact]
    public async Task A_correction_of_hour_note_and_measure_at_once_is_measured_as_an_entry_is()
    {
        await using var books = await Bookkeeping.WithTwoBinsAsync();
        var eaten = (await books.KeepAsync("""{"event":"eaten","bin":"B1","weightKg":1}"""))[0];
        await books.KeepAsync(
            $$"""{"event":"correction","of":{{eaten.Id}},"measure":{"amount":2,"unit":"lb"},"rightAt":"2025-10-02T08:00:00Z","rightNote":"two"}""");
        books.Book.Outs.Single().Should().Match<WayOut>(
            o => o.Grams == 907 && o.At == new DateTimeOffset(2025, 10, 2, 8, 0, 0, TimeSpan.Zero));
    }

    [Fact]
    public async Task A_correction_clears_what_was_to_be_checked()
    {
        await using var books = await Bookkeeping.WithTwoBinsAsync();
        var kept = (await books.KeepAsync("""{"event":"eaten","bin":"B1","weightKg":200,"keep":true}"""))[0];
        (await books.AskedAsync($$"""{"event":"correction","of":{{kept.Id}},"weightKg":100}""")).Should().Contain("holds 20 kg");
        await books.KeepAsync($$"""{"event":"correction","of":{{kept.Id}},"weightKg":2}""");
        books.Book.Find(kept.Id).Should().Match<Standing>(s => s.Counts && s.Question == null);
        books.Book.Find(kept.Id)!.Entry.Question.Should().Be(kept.Question, "the first entry stays as it was written");
        books.Book.Bins["B1"].Grams.Should().Be(18_000);
    }

    [Fact]
    public async Task Checked_says_that_it_is_so_and_the_balance_still_closes()
    {
        await using var books = await Bookkeeping.WithTwoBinsAsync();
        await books.KeepAsync("""{"event":"sold","bin":"B1","weightKg":20.5,"checked":true}""");
        books.Book.Bins["B1"].Should().Match<BinView>(b => b.Grams == 0 && b.EmptiedAt == Sample.At);
        books.Book.Lots["R1"].Balance.Should().Match<Balance>(b => b.ShrinkGrams == -500 && b.Outs == 20_500 && b.Gap == 0);
        (await books.AskedAsync("""{"event":"eaten","bin":"B9","weightKg":1,"checked":true}""")).Should()
            .Contain("no bin B9", "what cannot be counted cannot be insisted on");
    }

    [Fact]
    public async Task A_correction_leaves_the_first_entry_and_changes_the_book_from_where_it_was()
    {
        await using var books = await Bookkeeping.WithTwoBinsAsync();
        var changes = new List<DateTimeOffset>();
        books.Door.BookChanged += (_, change) => changes.Add(change.FromWhen);
        var weighed = (await books.KeepAsync("""{"event":"weighed","at":"2025-10-03T08:00:00Z","bin":"B1","weightKg":18}"""))[0];
        books.Book.Lots["R1"].Balance.ShrinkGrams.Should().Be(2_000);
        var correction = (await books.KeepAsync(
            $$"""{"event":"correction","of":{{weighed.Id}},"weightKg":19,"rightAt":"2025-10-02T08:00:00Z"}"""))[0];
        books.Book.Bins["B1"].Weighings.Should().ContainSingle().Which.Should()
            .Match<Weighing>(w => w.NetKg == 19 && w.At == new DateTimeOffset(2025, 10, 2, 8, 0, 0, TimeSpan.Zero));
        books.Book.Find(weighed.Id)!.Entry.Body.GetProperty("weightKg").GetDouble().Should().Be(18);
        var second = (await books.KeepAsync($$"""{"event":"correction","of":{{correction.Id}},"weightKg":19.5}"""))[0];
        books.Book.Bins["B1"].Grams.Should().Be(19_500);
        await books.KeepAsync($$"""{"event":"correction","of":{{correction.Id}},"void":true}""");
        books.Book.Bins["B1"].Grams.Should().Be(18_000, "a correction that is taken back changes nothing");
        await books.KeepAsync($$"""{"event":"correction","of":{{weighed.Id}},"void":true}""");
        books.Book.Bins["B1"].Should().Match<BinView>(b => b.Grams == 20_000 && b.Weighings.Count == 0);
        books.Book.Find(second.Id)!.Entry.Of.Should().Be(correction.Id);
        changes.Select(c => c.Day).Should().Equal(3, 2, 2, 2, 3);
        await books.RestartAsync();
        books.Book.Bins["B1"].Grams.Should().Be(20_000);
    }

    [Fact]
    public async Task A_correction_that_makes_no_sense_is_refused()
    {
        await using var books = await Bookkeeping.WithTwoBinsAsync();
        (await books.TakeAsync("""{"event":"correction","of":2,"wieghtKg":19}""")).Should()
            .BeOfType<LedgerAnswer.Wrong>().Which.Detail.Should().Contain("wieghtKg").And.Contain("Did you mean weightKg?");
        (await books.TakeAsync("""{"event":"correction","of":99,"weightKg":19}""")).Should()
            .BeOfType<LedgerAnswer.Wrong>().Which.Detail.Should().Contain("no entry 99");
        (await books.TakeAsync("""{"event":"correction","of":2,"lot":null}""")).Should()
            .BeOfType<LedgerAnswer.Wrong>().Which.Detail.Should().Contain("lot: it is missing");
        books.Store.Text("SELECT count(*) FROM ledger").Should().Be("3");
    }

    [Fact]
    public async Task Sorting_opens_bins_and_what_is_missing_is_shrink()
    {
        await using var books = await Bookkeeping.WithTwoBinsAsync();
        await books.KeepAsync(
            """{"event":"sorted","bin":"B2","into":[{"bin":"B3","grade":"seed","weightKg":12},{"bin":"B2","grade":"table","weightKg":10},{"bin":"B4","weightKg":7.5,"place":"cellar"}]}""");
        var book = books.Book;
        book.Bins["B2"].Should().Match<BinView>(b => b.Grams == 10_000 && b.Grade == "table" && b.EmptiedAt == null);
        book.Bins["B3"].Should().Match<BinView>(b => b.Grams == 12_000 && b.Grade == "seed" && b.Place == "curing" && b.Lot == "R1");
        book.Bins["B4"].Should().Match<BinView>(b => b.Grams == 7_500 && b.Place == "cellar");
        book.Lots["R1"].Balance.Should().Match<Balance>(b => b.ShrinkGrams == 500 && b.LooseGrams == 50_000 && b.Gap == 0);
    }

    [Fact]
    public async Task A_crate_that_was_emptied_is_filled_again_as_another_bin()
    {
        await using var books = await Bookkeeping.WithTwoBinsAsync();
        await books.KeepAsync("""{"event":"sold","bin":"B1","weightKg":19,"empties":true,"at":"2025-10-02T08:00:00Z"}""");
        books.Book.Lots["R1"].Balance.ShrinkGrams.Should().Be(1_000);
        await books.KeepAsync(
            """[{"event":"dug","lot":"C1","crop":"carrot","at":"2025-10-03T08:00:00Z"},{"event":"filled","bin":"B1","lot":"C1","weightKg":15,"place":"cellar"}]""");
        books.Book.Bins["B1"].Should().Match<BinView>(b => b.Lot == "C1" && b.Grams == 15_000);
        books.Book.AllBins.Select(b => (b.Id, b.Lot, b.Grams)).Should().Equal(("B1", "R1", 0), ("B2", "R1", 30_000), ("B1", "C1", 15_000));
        books.Book.CropsByPlace().Select(p => $"{p.Key}: {string.Join(' ', p.Value)}").Should()
            .BeEquivalentTo("curing: potato", "cellar: carrot");
    }

    [Fact]
    public async Task Promises_are_kept_by_what_goes_out_under_their_order()
    {
        await using var books = await Bookkeeping.WithTwoBinsAsync();
        await books.KeepAsync(
            """[{"event":"promised","order":"O1","crop":"potato","grade":"table","weightKg":12,"due":"2025-12-20"},{"event":"promised","order":"O2","crop":"potato","measure":{"amount":50,"unit":"lb"},"due":"2026-02-01"}]""");
        await books.KeepAsync("""{"event":"sold","bin":"B1","weightKg":5,"order":"O1"}""");
        books.Book.Orders.Select(o => (o.Order, o.Grade, o.Due, o.OpenGrams)).Should()
            .Equal(("O1", "table", new DateOnly(2025, 12, 20), 7_000), ("O2", null, new DateOnly(2026, 2, 1), 22_680));
    }

    [Fact]
    public async Task The_same_key_again_changes_nothing_and_another_body_is_refused()
    {
        await using var books = await Bookkeeping.WithTwoBinsAsync();
        var first = await books.KeepAsync("""[{"event":"eaten","bin":"B1","weightKg":1},{"event":"eaten","bin":"B2","weightKg":1}]""",
            "k1");
        var again = await Task.WhenAll(Enumerable.Range(0, 30)
            .Select(_ => books.TakeAsync("""[{"weightKg":1,"event":"eaten","bin":"B1"},{"event":"eaten","bin":"B2","weightKg":1}]""",
                "k1")));
        again.Should().AllSatisfy(a => a.Should().BeOfType<LedgerAnswer.Repeated>().Which.Entries.Select(e => e.Id).Should()
            .Equal(first.Select(e => e.Id)));
        (await books.TakeAsync("""[{"event":"eaten","bin":"B1","weightKg":1,"checked":true},{"keep":true,"event":"eaten","bin":"B2","weightKg":1}]""", "k1"))
            .Should().BeOfType<LedgerAnswer.Repeated>("what was insisted on is still the same");
        (await books.TakeAsync("""{"event":"eaten","bin":"B1","weightKg":1}""", "k1")).Should().BeOfType<LedgerAnswer.KeyTaken>();
        (await books.TakeAsync("""[{"event":"eaten","bin":"B1","weightKg":1},{"event":"eaten","bin":"B2","weightKg":2}]""", "k1")).Should()
            .BeOfType<LedgerAnswer.KeyTaken>().Which.Detail.Should().Contain("'k1' was used for something else (entry 4");
        books.Store.Text("SELECT count(*) FROM ledger").Should().Be("5");
        await books.RestartAsync();
        (await books.TakeAsync("""[{"event":"eaten","bin":"B1","weightKg":1},{"event":"eaten","bin":"B2","weightKg":1}]""", "k1")).Should()
            .BeOfType<LedgerAnswer.Repeated>();

        // A race of many under keys of their own, each sent three times over.
        await Task.WhenAll(Enumerable.Range(0, 60).Select(
            i => Task.Run(() => books.TakeAsync("""{"event":"eaten","bin":"B2","weightKg":0.1}""", $"race-{i / 3}"))));
        books.Book.Bins["B2"].Grams.Should().Be(30_000 - 1_000 - 20 * 100);
    }

    [Fact]
    public async Task Rows_of_the_ledger_cannot_be_changed_or_taken_away()
    {
        await using var books = await Bookkeeping.WithTwoBinsAsync();
        foreach (var sql in new[] { "UPDATE ledger SET note = 'x'", "DELETE FROM ledger WHERE id = 1",
            "INSERT OR REPLACE INTO ledger SELECT * FROM ledger WHERE id = 1" })
        {
            (await FluentActions.Awaiting(() => books.Store.WriteAsync(c => c.Execute(sql))).Should()
                .ThrowAsync<SqliteException>()).Which.Message.Should().Contain("append-only");
        }

        books.Store.Text("SELECT count(*) FROM ledger").Should().Be("3");
    }

    [Fact]
    public async Task What_cannot_be_written_is_refused_and_the_book_stays()
    {
        await using var books = await Bookkeeping.WithTwoBinsAsync();
        await books.Store.FillAsync();
        var big = new string('x', 1_999);
        await FluentActions.Awaiting(async () =>
        {
            for (var i = 0; i < 200; i++) await books.TakeAsync($$"""{"event":"eaten","bin":"B1","weightKg":0.001,"note":"{{big}}"}""");
        }).Should().ThrowAsync<StoreProblemException>();
        books.Book.Bins["B1"].Grams.Should().Be(20_000 - (books.Book.Entries.Count - 3));
        books.Store.Text("SELECT count(*) FROM ledger").Should().Be($"{books.Book.Entries.Count}");
    }

    [Fact]
    public async Task A_place_nobody_set_up_is_asked_about()
    {
        await using var books = await Bookkeeping.WithTwoBinsAsync();
        books.Door.KnownPlaces = () => ["curing", "cellar"];
        (await books.AskedAsync("""{"event":"moved","bin":"B1","place":"celar"}""")).Should()
            .Contain("no place celar").And.Contain("Did you mean cellar?");
        await books.KeepAsync("""{"event":"moved","bin":"B1","place":"cellar"}""");
    }

    /// <summary>Of several that come in one call the one to whom it is put; an entry of before that no longer makes sense is named.</summary>
    [Theory]
    [InlineData("""{"event":"moved","bin":"B2","place":"cellar"},{"event":"eaten","bin":"B1","weightKg":6}""", 1, "Bin B1 holds 5 kg")]
    [InlineData("""{"event":"eaten","bin":"B1","weightKg":6},{"event":"correction","of":7,"rightNote":"soup"}""", 0, "Bin B1 holds 5 kg")]
    [InlineData("""{"event":"correction","of":2,"weightKg":200},{"event":"eaten","bin":"B2","weightKg":1}""", 0,
        "Of lot R1 100 kg were dug")]
    [InlineData("""{"event":"eaten","bin":"B1","weightKg":6,"at":"2025-10-02T08:00:00Z"},{"event":"dug","lot":"X","crop":"potato"}""", 0,
        "With this, entry 6 no longer makes sense: Bin B1 holds 14 kg")]
    [InlineData("""{"event":"correction","of":4,"void":true},{"event":"moved","bin":"B2","place":"cellar"}""", 0,
        "With this, entry 5 no longer makes sense: No row 3 was planted")]
    [InlineData("""{"event":"moved","bin":"B2","place":"cellar"},{"event":"correction","of":2,"void":true}""", 1,
        "With this, entry 6 no longer makes sense: There is no bin B1")]
    [InlineData("""{"event":"moved","bin":"B2","place":"cellar"},{"event":"correction","of":2,"wieghtKg":9}""", 1, "wieghtKg: filled has no such field")]
    [InlineData("""{"event":"correction","of":2,"wieghtKg":9},{"event":"moved","bin":"B2","place":"cellar"}""", 0, "wieghtKg: filled has no such field")]
    public async Task A_doubt_is_put_to_the_entry_it_comes_of(string given, int index, string says)
    {
        await using var books = await WithRowAsync();
        var (at, text) = await books.TakeAsync($"[{given}]") switch
        {
            LedgerAnswer.Asked asked => (asked.Questions[0].Index, asked.Questions[0].Question),
            LedgerAnswer.Wrong wrong => (wrong.Index, wrong.Detail),
            var other => throw new InvalidOperationException(other.ToString()),
        };
        at.Should().Be(index, text);
        text.Should().StartWith(says);
        books.Book.Entries.Should().HaveCount(6);
    }

    /// <summary>Until none of those that are kept all the same is in the way: each is asked about once, and none for ever.</summary>
    [Theory]
    [InlineData("""{"event":"correction","of":6,"weightKg":30,"keep":true},{"event":"correction","of":6,"weightKg":40,"keep":true}""")]
    [InlineData("""{"event":"eaten","bin":"B1","weightKg":6,"at":"2025-10-02T08:00:00Z","keep":true},{"event":"eaten","bin":"B1","weightKg":7,"at":"2025-10-02T09:00:00Z","keep":true}""")]
    [InlineData("""{"event":"correction","of":2,"void":true,"keep":true},{"event":"moved","bin":"B2","place":"cellar","keep":true}""")]
    public async Task Several_doubtful_ones_that_are_to_be_kept_all_wait_to_be_checked(string given)
    {
        await using var books = await WithRowAsync();
        var before = Sums(books.Book);
        var kept = await Task.Run(() => books.KeepAsync($"[{given}]")).WaitAsync(TimeSpan.FromSeconds(20), TestContext.Current.CancellationToken);
        kept.Should().HaveCount(2).And.OnlyContain(e => e.Question != null);
        books.Book.Doubts.Should().BeEmpty();
        Sums(books.Book).Should().Equal(before);
    }

    /// <summary>The two bins, a row that was planted (4) and whose vines are dead (5), and 15 kg of the 20 in B1 eaten (6).</summary>
    private static async Task<Bookkeeping> WithRowAsync()
    {
        var books = await Bookkeeping.WithTwoBinsAsync();
        await books.KeepAsync(
            """
            [{"event":"row-planted","row":"3","crop":"potato","plantedOn":"2025-05-02","at":"2025-05-02T08:00:00Z"},
             {"event":"vines-dead","row":"3","on":"2025-09-02","at":"2025-09-02T08:00:00Z"},
             {"event":"eaten","bin":"B1","weightKg":15,"at":"2025-10-03T08:00:00Z"}]
            """);
        return books;
    }

    private static IEnumerable<string> Sums(Book book) =>
        book.AllBins.Select(b => $"{b.Id} {b.Lot} {b.Grams} {b.Place} {b.EmptiedAt}")
            .Concat(book.Lots.Values.OrderBy(l => l.Id, StringComparer.Ordinal)
                .Select(l => $"{l.Id} {l.Balance.DugGrams} {l.Balance.OnHandGrams} {l.Balance.ShrinkGrams} {l.Balance.Outs}"))
            .Concat(book.Orders.Select(o => $"{o.Order} {o.OpenGrams}"));
}
