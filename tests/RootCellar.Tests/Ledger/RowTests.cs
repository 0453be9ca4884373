using RootCellar.Ledger;
using RootCellar.Tests.Storage;

namespace RootCellar.Tests.Ledger;

public class RowTests
{
    private const string Planted =
        """{"event":"row-planted","at":"2025-05-03T18:00:00Z","row":"3","crop":"potato","variety":"Kennebec","plantedOn":"2025-05-02","maturity":"late","lengthFt":100}""";

    [Fact]
    public async Task A_row_goes_from_planting_over_dead_vines_to_the_lots_dug_from_it()
    {
        await using var books = new Bookkeeping();
        await books.KeepAsync(Planted);
        await books.KeepAsync("""{"event":"vines-dead","at":"2025-09-05T18:00:00Z","row":"3","on":"2025-09-04","how":"mown"}""");
        books.Book.Rows.Should().ContainSingle().Which.Should()
            .Match<RowView>(r => r.Lots.Count == 0 && r.KgPerMetre == null && r.How == "mown");
        await books.KeepAsync(
            """
            [{"event":"dug","at":"2025-09-20T08:00:00Z","lot":"A","crop":"potato","row":"3","weightKg":30},
             {"event":"dug","at":"2025-09-27T08:00:00Z","lot":"B","crop":"potato","row":"3"},
             {"event":"filled","at":"2025-09-27T09:00:00Z","lot":"B","bin":"B1","weightKg":20},
             {"event":"dug","at":"2025-09-28T08:00:00Z","lot":"C","crop":"potato","row":"4","weightKg":99}]
            """);
        var row = books.Book.Row("3")!;
        row.Lots.Should().Equal("A", "B");
        row.DugGrams.Should().Be(50_000);
        row.LengthM.Should().BeApproximately(30.48, 1e-9);
        row.KgPerMetre.Should().BeApproximately(50 / 30.48, 1e-9);
        row.VinesDeadOn.Should().Be(new DateOnly(2025, 9, 4));
        row.LastDugAt.Should().Be(new DateTimeOffset(2025, 9, 27, 8, 0, 0, TimeSpan.Zero));
        row.Entries.Should().Equal(1, 2, 3, 4);
        books.Book.Lots["A"].Should().Match<LotView>(
            l => l.Variety == "Kennebec" && l.PlantedOn == new DateOnly(2025, 5, 2), "a lot begins as a row");
        books.Book.Lots["C"].Should().Match<LotView>(
            l => l.Variety == null && l.PlantedOn == null, "of a row nobody planted nothing is known and nothing is asked");
        books.Book.Doubts.Should().BeEmpty();
        await books.RestartAsync();
        books.Book.Row("3").Should().BeEquivalentTo(row);
    }

    [Fact]
    public async Task A_row_is_planted_again_next_year_and_each_planting_keeps_its_own()
    {
        await using var books = new Bookkeeping();
        books.Time.Advance(TimeSpan.FromDays(400));
        await books.KeepAsync(Planted);
        await books.KeepAsync("""{"event":"dug","at":"2025-09-20T08:00:00Z","lot":"A","crop":"potato","row":"3","weightKg":30}""");
        await books.KeepAsync("""{"event":"row-planted","at":"2026-05-01T08:00:00Z","row":"3","crop":"carrot"}""");
        await books.KeepAsync("""{"event":"dug","at":"2026-09-20T08:00:00Z","lot":"D","crop":"carrot","row":"3","weightKg":7}""");
        books.Book.Rows.Select(r => (r.Crop, r.PlantedOn.Year, r.Ended, r.DugGrams)).Should()
            .Equal(("potato", 2025, true, 30_000), ("carrot", 2026, false, 7_000));
        // Last year's, written down late, goes to last year's planting.
        await books.KeepAsync("""{"event":"dug","at":"2025-09-25T08:00:00Z","lot":"E","crop":"potato","row":"3","weightKg":5}""");
        books.Book.Rows[0].Lots.Should().Equal("A", "E");
    }

    [Theory]
    [InlineData("""{"event":"row-planted","at":"2025-05-20T08:00:00Z","row":"3","crop":"potato"}""",
        "Row 3 was planted on 2025-05-02 (Kennebec) and nothing was dug from it yet")]
    [InlineData("""{"event":"row-planted","row":"5","crop":"potato","plantedOn":"2026-05-02"}""", "2026-05-02 is in the future")]
    [InlineData("""{"event":"row-planted","row":"7","crop":"potato","plantedOn":"2025-09-20"}""", "would be planted on 2025-09-20",
        "lot Z was dug from it on 2025-09-10, before it")]
    [InlineData("""{"event":"vines-dead","row":"9"}""", "No row 9 was planted up to 2025-10-04")]
    [InlineData("""{"event":"vines-dead","row":"3","on":"2025-04-30"}""", "No row 3 was planted up to 2025-04-30", "Is the date right?")]
    [InlineData("""{"event":"vines-dead","row":"3","on":"2025-10-30"}""", "2025-10-30 is in the future")]
    [InlineData("""{"event":"vines-dead","row":"2","how":"frost"}""", "The vines of row 2 are dead since 2025-09-01 by the book")]
    [InlineData("""{"event":"dug","row":"3","lot":"N","crop":"carrot"}""",
        "Row 3 was planted with potato on 2025-05-02 by the book, this says carrot")]
    [InlineData("""{"event":"dug","row":"3","lot":"N","crop":"potato","plantedOn":"2025-06-02"}""",
        "planted on 2025-05-02 by the book, this says 2025-06-02")]
    public async Task The_book_asks_about_rows_and_what_is_kept_to_be_checked_changes_nothing(string json, params string[] words)
    {
        await using var books = new Bookkeeping();
        await books.KeepAsync(Planted);
        await books.KeepAsync(
            """
            [{"event":"row-planted","at":"2025-05-02T08:00:00Z","row":"2","crop":"potato"},
             {"event":"vines-dead","at":"2025-09-01T08:00:00Z","row":"2"},
             {"event":"dug","at":"2025-09-10T08:00:00Z","lot":"Z","crop":"potato","row":"7"}]
            """);
        (await books.AskedAsync(json)).Should().ContainAll(words);
        var before = BookProperties.Says(books.Book);
        var kept = (await books.KeepAsync(json.Insert(1, "\"keep\":true,")))[0];
        BookProperties.Says(books.Book).Should().Be(before);
        books.Book.Doubts.Should().BeEmpty();
        await books.KeepAsync($$"""{"event":"correction","of":{{kept.Id}},"void":true}""");
        BookProperties.Says(books.Book).Should().Be(before);
    }

    [Fact]
    public async Task Whoever_looked_may_plant_again_what_came_to_nothing()
    {
        await using var books = new Bookkeeping();
        await books.KeepAsync(Planted);
        await books.KeepAsync(
            """{"event":"row-planted","at":"2025-06-10T08:00:00Z","row":"3","crop":"potato","variety":"Norland","checked":true}""");
        books.Book.Rows.Select(r => (r.Variety, r.Ended)).Should().Equal(("Kennebec", true), ("Norland", false));
        await books.KeepAsync("""{"event":"correction","of":2,"void":true}""");
        books.Book.Rows.Should().ContainSingle().Which.Ended.Should().BeFalse("undone, the first one stands again");
    }

    [Fact]
    public async Task A_correction_lays_the_one_length_or_maturity_over_the_other()
    {
        await using var books = new Bookkeeping();
        await books.KeepAsync(Planted);
        await books.KeepAsync("""{"event":"correction","of":1,"lengthM":20,"maturityDays":95,"plantedOn":"2025-04-30"}""");
        books.Book.Row("3").Should()
            .Match<RowView>(r => r.LengthM == 20 && r.MaturityDays == 95 && r.Maturity == null && r.PlantedOn == new DateOnly(2025, 4, 30));
        (await books.AskedAsync("""{"event":"correction","of":1,"plantedOn":"2026-05-10"}""")).Should().Contain("in the future");
        // A digging before the corrected planting no longer fits, and the book says so.
        await books.KeepAsync("""{"event":"dug","at":"2025-09-20T08:00:00Z","lot":"A","crop":"potato","row":"3","weightKg":30}""");
        (await books.AskedAsync("""{"event":"correction","of":1,"plantedOn":"2025-09-25","rightAt":"2025-09-25T08:00:00Z"}""")).Should()
            .Contain("before it. Which date is right?");
        books.Book.Row("3")!.Lots.Should().Equal("A");
    }

    [Theory]
    [InlineData("""{"event":"row-planted","row":"3"}""", "crop: it is missing from row-planted")]
    [InlineData("""{"event":"row-planted","crop":"potato"}""", "row: it is missing", "\"row\": \"3\"")]
    [InlineData("""{"event":"row-planted","row":"3","crop":"potato","maturity":"soon"}""",
        "maturity: 'soon' is not one of early, mid, late")]
    [InlineData("""{"event":"row-planted","row":"3","crop":"potato","maturity":"late","maturityDays":100}""",
        "maturity and maturityDays: one of the two")]
    [InlineData("""{"event":"row-planted","row":"3","crop":"potato","maturityDays":1000}""",
        "maturityDays: 1000 is not the days to maturity")]
    [InlineData("""{"event":"row-planted","row":"3","crop":"potato","lengthM":30,"lengthFt":100}""",
        "lengthM and lengthFt: one of the two")]
    [InlineData("""{"event":"row-planted","row":"3","crop":"potato","lengthM":0}""", "lengthM: 0 is not the length of the row in m")]
    [InlineData("""{"event":"row-planted","row":"3","crop":"potato","length":30}""", "length: row-planted has no such field")]
    [InlineData("""{"event":"vines-dead","row":"3","how":"froze"}""", "how: 'froze' is not one of died, mown, pulled, frost")]
    [InlineData("""{"event":"vines-dead","row":"3","on":"September"}""", "on: \"September\" is not a date")]
    public void What_is_wrong_with_a_row_is_said_with_the_field_and_what_would_be_right(string json, params string[] words)
    {
        EventReader.Read(Bookkeeping.Parse(json), Sample.At, out var wrong).Should().BeNull();
        wrong.Should().ContainAll(words);
    }
}
