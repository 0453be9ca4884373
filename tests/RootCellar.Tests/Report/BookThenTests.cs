using RootCellar.Ledger;

namespace RootCellar.Tests.Report;

public sealed class BookThenTests
{
    [Theory]
    [InlineData("2025-10-04", 0)]
    [InlineData("2025-10-12", 1)]
    [InlineData("2025-11-30", 1)]
    public void A_digging_written_down_weeks_later_is_in_the_book_from_its_own_day(string end, int lots)
    {
        var book = Weeks.Book("""
            [{"event":"row-planted","row":"1","crop":"potato","plantedOn":"2025-05-01","at":"2025-11-20T09:00:00Z"},
             {"event":"dug","lot":"L","crop":"potato","row":"1","dugOn":"2025-10-10","weightKg":30,"at":"2025-11-20T09:00:00Z"},
             {"event":"filled","bin":"B1","lot":"L","weightKg":20,"at":"2025-10-10T16:00:00Z"}]
            """);
        var then = BookBuilder.Then(book, DateTimeOffset.Parse(end + "T00:00:00Z", System.Globalization.CultureInfo.InvariantCulture));
        then.Lots.Should().HaveCount(lots);
        then.Bins.Should().HaveCount(lots);
        then.Doubts.Should().BeEmpty();
    }
}
