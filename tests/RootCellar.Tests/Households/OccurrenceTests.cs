using RootCellar.Report;
using RootCellar.Storage;
using RootCellar.Watch;

namespace RootCellar.Tests.Households;

/// <summary>An alarm that comes back before anybody saw it: each raising stays in the record as it was.</summary>
public sealed class OccurrenceTests
{
    [Fact]
    public async Task A_three_day_alarm_stays_in_its_week_when_it_is_raised_again_in_the_next()
    {
        await using var farm = await Farm.WithCellarAsync(Farm.AtOnce());
        await SayAsync(farm, 5);
        // Ten degrees in no time are no air's doing, and would not be believed.
        farm.Time.Advance(TimeSpan.FromMinutes(6));
        var began = farm.Time.GetUtcNow();
        await SayAsync(farm, 15);
        farm.Time.Advance(TimeSpan.FromHours(1));
        await SayAsync(farm, 18);
        // Off for the days between: what counts is when it was raised and when it was over.
        await farm.RestartAsync(TimeSpan.FromDays(3));
        await SayAsync(farm, 5);
        var over = farm.Time.GetUtcNow();
        await farm.RestartAsync(TimeSpan.FromDays(7));
        await SayAsync(farm, 14);

        var first = farm.Store.Read(c => AlarmRows.Between(c, began.AddDays(-1), over.AddDays(1))).Single(a => a.Rule == Rule.TooWarm);
        first.Worst.Should().Be(18);
        first.Lasted(farm.Time.GetUtcNow()).Should().BeCloseTo(over - began, TimeSpan.FromMinutes(2));
        var week = AlarmWeek.Of([first], over.AddDays(1));
        week.Returned!.Slowest.Should().Be(first.Lasted(over));
        AlarmShape.Of(first).LastedSeconds.Should().BeApproximately((over - began).TotalSeconds, 120);
        var now = farm.Store.Read(AlarmRows.Open).Single(a => a.Rule == Rule.TooWarm);
        (now.Id, now.Count, now.Active).Should().Be((first.Id, 2, true));
        farm.Store.Read(c => AlarmRows.Past(c, 10)).Should().Contain(a => a.Id == first.Id && a.Count == 1);
    }

    private static async Task SayAsync(Farm farm, double celsius)
    {
        await farm.SayAsync("rootcellar/cellar/door", FormattableString.Invariant($$"""{"temperature_c":{{celsius}},"humidity_pct":92}"""));
        await farm.SettledAsync();
    }
}
