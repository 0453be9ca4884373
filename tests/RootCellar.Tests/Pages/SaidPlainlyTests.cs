using RootCellar.Household;
using RootCellar.Ledger;
using RootCellar.Ledger.Events;
using RootCellar.Report;
using RootCellar.Tests.Storage;

namespace RootCellar.Tests.Pages;

/// <summary>Days of another year, and one of a measure.</summary>
public class SaidPlainlyTests
{
    private static readonly HouseholdOptions Household = new() { TimeZone = "UTC", Weight = "lb" };

    [Fact]
    public void A_day_or_an_hour_of_another_year_is_said_with_its_year()
    {
        var show = new Show(Household, new HouseTime(new DateTimeOffset(2026, 1, 3, 12, 0, 0, TimeSpan.Zero)));
        show.Time(new DateTimeOffset(2025, 12, 30, 8, 0, 0, TimeSpan.Zero)).Should().Be("Tue 30 Dec 2025 08:00");
        show.Time(new DateTimeOffset(2026, 1, 2, 8, 0, 0, TimeSpan.Zero)).Should().Be("Fri 2 Jan 08:00");
        var words = new ReportWords(Household);
        words.Day(new DateOnly(2026, 1, 10), new DateTimeOffset(2025, 12, 28, 0, 0, 0, TimeSpan.Zero)).Should().Be("10 Jan 2026");
        words.Day(new DateOnly(2025, 12, 30), new DateTimeOffset(2025, 12, 28, 0, 0, 0, TimeSpan.Zero)).Should().Be("30 Dec");
    }

    [Theory]
    [InlineData(1, "peck", "1 peck")]
    [InlineData(2, "peck", "2 pecks")]
    [InlineData(1, "bushel", "1 bushel")]
    [InlineData(1, "sack", "1 sack of 50 lb")]
    [InlineData(1, "quart", "1 dry quart")]
    public async Task One_of_a_measure_is_one(double amount, string unit, string said)
    {
        await using var site = await Site.OpenAsync();
        await site.FillAsync("B1", "200");
        await site.LogAsync("eaten", "B1", ("amount", amount.ToString(System.Globalization.CultureInfo.InvariantCulture)), ("unit", unit));
        (await site.WordsAsync("/bins/B1")).Should().MatchRegex($"{said}(?![a-z])");
        site.Book.Entries[^1].Event.Should().BeOfType<TakenOut>();
    }
}
