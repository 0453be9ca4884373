using RootCellar.Household;
using HouseLanguage = RootCellar.Household.Language;
using HouseLanguages = RootCellar.Household.Languages;

namespace RootCellar.Tests.Households;

/// <summary>Hours and days as people write them: Americans their own way, everybody else by 24 hours with the day first.</summary>
public sealed class WrittenTimeTests
{
    private static readonly DateTime Evening = new(2026, 10, 4, 19, 5, 0, DateTimeKind.Unspecified);

    [Theory]
    [InlineData("en", "F", "7:05 pm", "7 pm", "Sun 7:05 pm", "Oct 4", "Oct 4, 2026", "Sun, Oct 4, 7:05 pm", "Sun, Oct 4, 2026, 7:05 pm")]
    [InlineData("en", "C", "19:05", "19:00", "Sun 19:05", "4 Oct", "4 Oct 2026", "Sun 4 Oct 19:05", "Sun 4 Oct 2026 19:05")]
    [InlineData("es", "F", "7:05 pm", "7 pm", "dom 7:05 pm", "4 oct", "4 oct 2026", "dom 4 oct 7:05 pm", "dom 4 oct 2026 7:05 pm")]
    [InlineData("es", "C", "19:05", "19:00", "dom 19:05", "4 oct", "4 oct 2026", "dom 4 oct 19:05", "dom 4 oct 2026 19:05")]
    public void As_people_there_write_it(
        string language, string scale, string hour, string whole, string ofWeek, string day, string withYear, string moment, string longest) =>
        In(language, scale, () =>
        {
            WrittenTime.Hour(Evening).Should().Be(hour);
            WrittenTime.Hour(new TimeOnly(19, 5)).Should().Be(hour);
            WrittenTime.WholeHour(Evening.AddMinutes(-5)).Should().Be(whole);
            WrittenTime.HourOfWeek(Evening).Should().Be(ofWeek);
            WrittenTime.Day(Evening, year: false).Should().Be(day);
            WrittenTime.Day(DateOnly.FromDateTime(Evening), year: true).Should().Be(withYear);
            WrittenTime.Moment(Evening, year: false).Should().Be(moment);
            WrittenTime.Moment(Evening, year: true).Should().Be(longest);
            return true;
        });

    [Theory]
    [InlineData("F", "2026-11-23", "November 23 to 29, 2026")]
    [InlineData("F", "2026-11-30", "November 30 to December 6, 2026")]
    [InlineData("F", "2026-12-28", "December 28, 2026 to January 3, 2027")]
    [InlineData("C", "2026-11-23", "23 to 29 November 2026")]
    [InlineData("C", "2026-11-30", "30 November to 6 December 2026")]
    [InlineData("C", "2026-12-28", "28 December 2026 to 3 January 2027")]
    public void A_week_says_no_month_and_no_year_twice(string scale, string monday, string said)
    {
        HouseholdCalendar.TryDay(monday, out var first).Should().BeTrue();
        In("en", scale, () => WrittenTime.Days(first, first.AddDays(6))).Should().Be(said);
    }

    [Theory]
    [InlineData(0, "12:00 am")]
    [InlineData(12, "12:00 pm")]
    public void Midnight_and_noon_are_twelve(int hour, string said) =>
        In("en", "F", () => WrittenTime.Hour(new TimeOnly(hour, 0))).Should().Be(said);

    [Fact]
    public void Who_changes_to_Celsius_reads_the_other_clock_at_once()
    {
        var household = new HouseholdOptions();
        var languages = new HouseLanguages(household, folder: null);
        languages.Household.Say(() => WrittenTime.Hour(Evening)).Should().Be("7:05 pm");
        household.Temperature = "C";
        languages.Change();
        languages.Household.Say(() => WrittenTime.Hour(Evening)).Should().Be("19:05");
    }

    private static T In<T>(string language, string scale, Func<T> said) =>
        HouseLanguage.Of(language, new HouseholdOptions { Temperature = scale }, folder: null).Say(said);
}
