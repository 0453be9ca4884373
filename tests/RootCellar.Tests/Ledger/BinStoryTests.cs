using RootCellar.Ledger;
using RootCellar.Ledger.Events;

namespace RootCellar.Tests.Ledger;

/// <summary>What a bin, a lot and a row come to by the book, entry after entry.</summary>
public sealed class BinStoryTests
{
    [Fact]
    public async Task All_that_went_in_is_counted_and_what_is_said_last_of_a_bin_holds_for_all_of_it()
    {
        await using var books = await Bookkeeping.WithTwoBinsAsync();
        await books.KeepAsync("""{"event":"filled","bin":"B3","lot":"R1","weightKg":9,"lies":"sack","pieceKg":0.2,"tareKg":1}""");
        await books.KeepAsync("""{"event":"filled","bin":"B3","lot":"R1","weightKg":5,"checked":true}""");
        Bin("B3").Should().Match<BinView>(b => b.FilledGrams == 13_000 && b.Lies == "sack" && b.PieceKg == 0.2 && b.TareKg == 1);
        await books.KeepAsync(
            """{"event":"filled","bin":"B3","lot":"R1","weightKg":2,"lies":"heap","pieceKg":0.3,"tareKg":0.5,"checked":true}""");
        Bin("B3").Should().Match<BinView>(b => b.FilledGrams == 14_500 && b.Lies == "heap" && b.PieceKg == 0.3 && b.TareKg == 0.5);
        await books.KeepAsync("""{"event":"sold","bin":"B3","weightKg":4.5}""");
        await books.KeepAsync("""{"event":"weighed","bin":"B3","weightKg":10.1}""");
        Bin("B3").Should().Match<BinView>(b => b.FilledGrams == 14_500 && b.Grams == 10_100, "what the scale finds did not go in");
        await books.KeepAsync("""{"event":"sorted","bin":"B3","into":[{"bin":"B3","weightKg":6},{"bin":"B4","weightKg":4.1}]}""");
        (Bin("B3").FilledGrams, Bin("B3").Grams, Bin("B4").FilledGrams, Bin("B4").Lies, Bin("B4").PieceKg).Should()
            .Be((14_500, 6_000, 4_100, "heap", 0.3));

        BinView Bin(string name) => books.Book.Bins[name];
    }

    [Fact]
    public async Task A_measured_volume_may_weigh_a_seventh_more_until_it_was_weighed()
    {
        await using var books = await Bookkeeping.WithTwoBinsAsync();
        // 15 % of 20 kg and a tenth for the scale.
        await books.KeepAsync("""{"event":"filled","bin":"B3","lot":"R1","measure":{"amount":20,"unit":"bushel","kgPerUnit":1}}""");
        books.Book.Bins["B3"].ByMeasure.Should().BeTrue();
        (await books.AskedAsync("""{"event":"weighed","bin":"B3","weightKg":23.101}""")).Should()
            .Contain("; is that with the empty bin, whose tareKg is missing? Or is it another bin?");
        (await books.AskedAsync("""{"event":"weighed","bin":"B3","weightKg":25,"tareKg":1}""")).Should()
            .EndWith("it cannot be more than 20 kg? Or is it another bin?");
        await books.KeepAsync("""{"event":"weighed","bin":"B3","weightKg":24.1,"tareKg":1}""");
        books.Book.Bins["B3"].Weighings[0].Should().Match<Weighing>(w => w.GrossKg == 24.1 && w.TareKg == 1 && w.NetKg == 23.1);
        (await books.AskedAsync("""{"event":"weighed","bin":"B3","weightKg":23.61,"resolutionKg":0.1}""")).Should().Contain("23.61 kg");
        (await books.AskedAsync("""{"event":"weighed","bin":"B1","weightKg":20.101}""")).Should().Contain("20.101 kg");
        await books.KeepAsync("""{"event":"weighed","bin":"B1","weightKg":20.1}""");
        await books.KeepAsync("""{"event":"filled","bin":"B3","lot":"R1","weightKg":1,"checked":true}""");
        books.Book.Bins["B3"].ByMeasure.Should().BeTrue("some of it was measured");
    }

    [Fact]
    public async Task Sorting_has_its_slack_and_what_is_left_out_is_asked_for()
    {
        await using var books = await Bookkeeping.WithTwoBinsAsync();
        (await books.AskedAsync("""{"event":"sorted","bin":"B1","into":[{"bin":"B3","weightKg":20.101}]}""")).Should().Contain("20.101 kg");
        (await books.AskedAsync("""{"event":"sorted","bin":"B1","into":[{"bin":"B3","weightKg":15.999}]}""")).Should()
            .EndWith("""What stays in it is one of "into" too: {"bin":"B1","weightKg":...}.""");
        var asked = (LedgerAnswer.Asked)await books.TakeAsync("""{"event":"sorted","bin":"B1","into":[{"bin":"B3","weightKg":15}]}""");
        asked.Questions[0].Figures.GetRawText().Should().Be("""{"bin":"B1","holdsKg":20,"sortedKg":15}""");
        asked = (LedgerAnswer.Asked)await books.TakeAsync("""{"event":"sorted","bin":"B1","into":[{"bin":"B3","weightKg":25}]}""");
        asked.Questions[0].Figures.GetRawText().Should().Be("""{"bin":"B1","holdsKg":20,"goesKg":25}""");
        await books.KeepAsync("""{"event":"sorted","bin":"B1","into":[{"bin":"B3","weightKg":16}]}""");
        await books.KeepAsync("""{"event":"sorted","bin":"B2","into":[{"bin":"B4","weightKg":15.1},{"bin":"B2","weightKg":15.1}]}""");
        await books.KeepAsync("""{"event":"sold","bin":"B4","weightKg":15.1}""");
        books.Book.Bins["B4"].EmptiedAt.Should().NotBeNull("all of it may go without a question");
    }

    [Fact]
    public async Task Two_fillings_under_one_moment_are_two()
    {
        await using var books = await Bookkeeping.WithTwoBinsAsync();
        await books.KeepAsync(
            """
            [{"event":"filled","bin":"B3","lot":"R1","weightKg":5,"at":"2025-10-02T08:00:00Z"},
             {"event":"sold","bin":"B3","weightKg":5,"at":"2025-10-02T08:00:00Z"},
             {"event":"filled","bin":"B3","lot":"R1","weightKg":4,"at":"2025-10-02T08:00:00Z"}]
            """);
        var fillings = books.Book.AllBins.Where(b => b.Id == "B3").Select(b => b.FilledAt).ToList();
        (fillings[1] - fillings[0]).Should().Be(TimeSpan.FromMilliseconds(1));
    }

    [Fact]
    public async Task A_digging_is_of_its_hour_where_one_was_given_and_of_its_noon_where_it_was_not()
    {
        await using var books = new Bookkeeping();
        await books.KeepAsync(
            """
            [{"event":"dug","lot":"A","crop":"potato","dugOn":"2025-10-02T15:30:00Z"},
             {"event":"dug","lot":"B","crop":"potato","dugOn":"2025-10-02"},
             {"event":"dug","lot":"C","crop":"potato","dugOn":"2025-10-04","at":"2025-10-04T05:00:00Z"}]
            """);
        books.Book.Lots.Values.OrderBy(l => l.Id, StringComparer.Ordinal).Select(l => $"{l.DugOn:dd} {l.DugAt:dd HH:mm}").Should()
            .Equal("02 02 15:30", "02 02 12:00", "04 04 05:00");
        (await books.AskedAsync("""{"event":"filled","bin":"B1","lot":"A","weightKg":5,"at":"2025-10-02T15:29:00Z"}""")).Should()
            .StartWith("There is no lot A at 2025-10-02 15:29.");
        await books.KeepAsync("""{"event":"filled","bin":"B1","lot":"A","weightKg":5,"at":"2025-10-02T15:30:00Z"}""");
        await books.KeepAsync("""{"event":"filled","bin":"B2","lot":"B","weightKg":5,"at":"2025-10-02T12:00:00Z"}""");
    }

    [Theory]
    [InlineData("""{"event":"dug","lot":"L","crop":"potato","weightKg":100}""", 100_000L)]
    [InlineData("""{"event":"dug","lot":"L","crop":"potato"}""", null)]
    [InlineData("""{"event":"filled","bin":"B","lot":"L","weightKg":9,"tareKg":1.005}""", 7_995L)]
    [InlineData("""{"event":"weighed","bin":"B","weightKg":9,"tareKg":1.005}""", 7_995L)]
    [InlineData("""{"event":"weighed","bin":"B","weightKg":9}""", 9_000L)]
    [InlineData("""{"event":"sorted","bin":"B","into":[{"bin":"C","weightKg":2},{"bin":"D","weightKg":3}]}""", 5_000L)]
    [InlineData("""{"event":"sold","bin":"B","measure":{"amount":2,"unit":"peck"}}""", null)]
    [InlineData("""{"event":"sold","bin":"B","measure":{"amount":2,"unit":"peck","kgPerUnit":7}}""", 14_000L)]
    [InlineData("""{"event":"promised","order":"O","crop":"potato","weightKg":3}""", 3_000L)]
    [InlineData("""{"event":"moved","bin":"B","place":"cellar"}""", null)]
    public void An_event_is_about_the_weight_without_its_bin(string json, long? grams)
    {
        var read = EventReader.Read(Bookkeeping.Parse(json), Storage.Sample.At, out var wrong);
        wrong.Should().BeNull();
        EventKinds.Find(read!.Event)!.Read(read.Body)!.Grams().Should().Be(grams);
    }

    [Fact]
    public async Task A_line_of_an_order_is_doubted_only_where_all_of_it_is_there_already()
    {
        await using var books = await Bookkeeping.WithTwoBinsAsync();
        await books.KeepAsync(
            """
            [{"event":"promised","order":"O1","crop":"potato","grade":"table","weightKg":5},
             {"event":"promised","order":"O2","crop":"potato","grade":"table","weightKg":5},
             {"event":"promised","order":"O1","crop":"carrot","grade":"table","weightKg":5},
             {"event":"promised","order":"O1","crop":"potato","weightKg":5}]
            """);
        (await books.AskedAsync("""{"event":"promised","order":"O1","crop":"potato","grade":"table","weightKg":5}""")).Should()
            .Be("Order O1 has potato (table) in it already. Is this more of it?");
        (await books.AskedAsync("""{"event":"promised","order":"O1","crop":"potato","weightKg":5}""")).Should()
            .Be("Order O1 has potato in it already. Is this more of it?");
        await books.KeepAsync("""{"event":"sold","bin":"B2","weightKg":2,"order":"O1"}""");
        await books.KeepAsync("""{"event":"sold","bin":"B1","weightKg":1,"order":"O1"}""");
        books.Book.Orders.Where(o => o.Order == "O1").Select(o => (o.Crop, o.Grade, o.OpenGrams)).Should()
            .Equal(("potato", "table", 4_000), ("carrot", "table", 5_000), ("potato", null, 3_000));
        var asked = (LedgerAnswer.Asked)await books.TakeAsync("""{"event":"sold","bin":"B1","weightKg":1,"order":"O3"}""");
        asked.Questions[0].Figures.GetRawText().Should().Be("""{"order":"O3","crop":null,"near":"O1"}""");
    }
}
