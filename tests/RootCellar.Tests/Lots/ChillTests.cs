using RootCellar.Advice;
using RootCellar.Ledger;
using RootCellar.Lots;
using RootCellar.Places;
using static RootCellar.Tests.Lots.Cellar;

namespace RootCellar.Tests.Lots;

/// <summary>Crops that cold harms long before it freezes them: squash and sweet potatoes in a root cellar.</summary>
public sealed class ChillTests
{
    private const string Pantry = "pantry";

    private static DateTimeOffset Day(double day) => Start.AddDays(day);

    [Fact]
    public async Task In_cold_that_harms_it_a_bin_is_a_job_with_the_hours_left_and_past_them_with_what_is_lost()
    {
        await using var cellar = await ColdAsync();
        cellar.Book = Books.Of(
            Books.Lot("s", Start, [Books.Bin("squash", Start, 20, (StoreRoom, Start))], "winter-squash"),
            Books.Lot("w", Start, [Books.Bin("sweet", Start, 20, (StoreRoom, Start))], "sweet-potato"),
            Books.Lot("p", Start, [Books.Bin("potato", Start, 20, (StoreRoom, Start))]));
        var first = await cellar.AtAsync(Start.AddHours(4));
        // 12 C and 6 degree-days by the table: at 3.8 C some 18 hours, of which four are gone.
        var sweet = first.Bins["sweet"].Advice;
        (sweet.Code, sweet.Urgency, sweet.Figures.To, sweet.Figures.ToName).Should().Be(("chilling", Urgency.Now, Pantry, "Pantry"));
        sweet.Figures.Hours.Should().BeInRange(12, 15);
        // 10 C and 150 degree-days: three weeks.
        var squash = first.Bins["squash"].Advice;
        (squash.Code, squash.Urgency).Should().Be(("chilling", Urgency.Soon));
        squash.Figures.Hours.Should().BeInRange(20 * 24, 26 * 24);
        first.Bins["potato"].Advice.Code.Should().NotBe("chilling");
        var job = Jobs.Of(new JobFacts(first.At!.Value, cellar.Book, first, [], [], [], [])).Where(j => j.Kind == JobKind.Warm).ToList();
        job.Should().ContainSingle("both go to the pantry").Which.Bins.Should().Equal("squash", "sweet");
        (job[0].To, job[0].Urgent).Should().Be((Pantry, true));

        var later = (await cellar.AtAsync(Day(2))).Bins["sweet"];
        (later.Advice.Code, later.Advice.Figures.Hours).Should().Be(("chilling", 0.0));
        later.Advice.Text.Should().Contain("as much as harms it");

        // Brought where it is warm, what was done stays done.
        cellar.Book = Books.Of(Books.Lot("w", Start, [Books.Bin("sweet", Start, 20, (StoreRoom, Start), (Pantry, Day(2)))], "sweet-potato"));
        (await cellar.AtAsync(Day(5))).Bins["sweet"].Advice.Code.Should().Be("chilled");
        cellar.Replay().Agree.Should().BeTrue();
    }

    [Fact]
    public async Task From_the_curing_room_each_crop_goes_where_it_is_not_harmed()
    {
        await using var cellar = await ColdAsync();
        await cellar.AirAsync(CuringRoom, Start, Day(40), 26, 88);
        cellar.Book = Books.Of(
            Books.Lot("s", Start, [Books.Bin("squash", Start, 20, (CuringRoom, Start))], "winter-squash"),
            Books.Lot("p", Start, [Books.Bin("potato", Start, 20, (CuringRoom, Start))]));
        var views = await cellar.AtAsync(Day(30));
        views.Bins["squash"].Way.Place.Should().Be(Pantry);
        views.Bins["potato"].Way.Place.Should().Be(StoreRoom);
        var moves = Jobs.Of(new JobFacts(views.At!.Value, cellar.Book, views, [], [], [], [])).Where(j => j.Kind == JobKind.Move);
        moves.Select(j => (j.Bins[0], j.To)).Should().BeEquivalentTo([("potato", StoreRoom), ("squash", Pantry)]);

        await using var one = await ColdAsync(withPantry: false);
        await one.AirAsync(CuringRoom, Start, Day(40), 26, 88);
        one.Book = Books.Of(Books.Lot("s", Start, [Books.Bin("squash", Start, 20, (CuringRoom, Start))], "winter-squash"));
        var nowhere = (await one.AtAsync(Day(30))).Bins["squash"].Advice;
        (nowhere.Says, nowhere.Code).Should().Be((AdviceSays.NowhereToMove, "none"));
    }

    [Fact]
    public async Task The_door_asks_before_a_crop_is_brought_into_cold_that_harms_it()
    {
        await using var cellar = await ColdAsync();
        const string Filled = """
            [{"event":"dug","at":"2025-09-20T00:00:00Z","lot":"s","crop":"winter-squash"},
             {"event":"dug","at":"2025-09-20T00:00:00Z","lot":"p","crop":"potato"},
             {"event":"filled","at":"2025-09-20T01:00:00Z","bin":"S1","lot":"s","weightKg":20,"place":"pantry"},
             {"event":"filled","at":"2025-09-20T01:00:00Z","bin":"P1","lot":"p","weightKg":20,"place":"pantry"}
            """;
        cellar.Book = Books.Stored(Filled + "]");
        var views = await cellar.AtAsync(Day(1));
        Question? Ask(string bin, string place, string at = "2025-09-21T00:00:00Z")
        {
            var after = Books.Stored(Filled + $$""",{"event":"moved","at":"{{at}}","bin":"{{bin}}","place":"{{place}}"}]""");
            return views.Ask(Recorded.Of(after.Entries[^1].Entry), after);
        }

        var asked = Ask("S1", StoreRoom)!;
        asked.Code.Should().Be(QuestionCode.WouldHarm);
        asked.Text.Should().Contain("below 10 C").And.Contain("3.6 C").And.Contain("pantry (13 C) suits it");
        Ask("P1", StoreRoom).Should().BeNull();
        Ask("S1", Pantry).Should().BeNull();
        Ask("S1", StoreRoom, "2025-09-20T02:00:00Z").Should().NotBeNull("not a day ago");
    }

    private static async Task<Cellar> ColdAsync(bool withPantry = true)
    {
        var cellar = await WithRoomsAsync();
        if (withPantry)
        {
            await cellar.Record.WriteAsync(c => PlaceRows.Save(c, new Place(Pantry, "Pantry", Purpose.Storage, null, [])));
            await cellar.AirAsync(Pantry, Start, Day(40), 13, 60);
        }

        await cellar.AirAsync(StoreRoom, Start, Day(40), 3.6, 92);
        return cellar;
    }
}
