using RootCellar.Lots;
using RootCellar.Tests.Households;
using static RootCellar.Tests.Lots.Cellar;

namespace RootCellar.Tests.Lots;

/// <summary>Whether the estimates go on is measured, and said where the house's health is.</summary>
public sealed class EstimatesHealthTests
{
    [Fact]
    public async Task Estimates_that_stand_are_said_with_since_when()
    {
        await using var cellar = await WithRoomsAsync();
        await SaysAsync(cellar, null);
        cellar.Time.Advance(TimeSpan.FromHours(1));
        await SaysAsync(cellar, null, "nothing is in a bin");
        await cellar.AirAsync(StoreRoom, Start, Start.AddDays(2), 5, 90);
        cellar.Book = Books.Of(Books.Lot("l", Start, [Books.Bin("a", Start, 20, (StoreRoom, Start)),
            Books.Bin("b", Start, 9, (StoreRoom, Start))]));
        await SaysAsync(cellar, null, "the first look is under way");
        await cellar.AtAsync(Start.AddDays(2));
        Measured(cellar).Should().Equal("rootcellar.estimates.age 0s", "rootcellar.estimates.failed.lots 0", "rootcellar.estimates.bins 2");
        cellar.Time.Advance(TimeSpan.FromMinutes(15));
        await SaysAsync(cellar, null);
        cellar.Time.Advance(TimeSpan.FromSeconds(1));
        await SaysAsync(cellar, "Estimates stand since 2025-09-22T00:00:00.0000000+00:00: the last look has not ended");
        Measured(cellar)[0].Should().Be("rootcellar.estimates.age 901s");
        await cellar.Keeper.AdvanceAsync(TestContext.Current.CancellationToken);
        await SaysAsync(cellar, null);
    }

    [Theory]
    [InlineData("moonroot", 0, "Crop", "The crop table does not know moonroot.")]
    [InlineData("potato", 2, "DugLater", "By the book it is dug on 2025-09-22, which is still to come.")]
    [InlineData("potato", -1099, "TooOld", "By the book it was dug on 2022-09-17; a lot is followed for 3 years. If the date is wrong, correct it.")]
    public async Task Why_a_lot_is_known_to_the_book_only_is_said_and_is_no_fault(string crop, int day, string why, string text)
    {
        await using var cellar = await WithRoomsAsync();
        cellar.Book = Books.Of(Books.Lot("l", Start.AddDays(day), [Books.Bin("a", Start, 20, (StoreRoom, Start))], crop));
        var unfollowed = (await cellar.AtAsync(Start.AddDays(1))).Unfollowed["l"];
        (unfollowed.Why.ToString(), unfollowed.Text).Should().Be((why, text));
        await SaysAsync(cellar, null);
    }

    [Fact]
    public void A_lot_is_followed_for_three_years_of_what_was_left_of_it()
    {
        var lot = Books.Lot("l", Start, [Books.Bin("a", Start, 20, (StoreRoom, Start)) with { EmptiedAt = Start.AddDays(90) },
            Books.Bin("b", Start, 20, (StoreRoom, Start)) with { EmptiedAt = Start.AddDays(1098) }]);
        Unfollowed.IsTooOld(lot, TimeStep.Of(Start.AddDays(5_000))).Should().BeFalse();
        Unfollowed.IsTooOld(lot with { Bins = [lot.Bins[0], lot.Bins[1] with { EmptiedAt = Start.AddDays(1098).AddMinutes(5) }] },
            TimeStep.Of(Start.AddDays(5_000))).Should().BeTrue();
        Unfollowed.IsTooOld(lot with { Bins = [lot.Bins[0], lot.Bins[1] with { EmptiedAt = null }] }, TimeStep.Of(Start.AddDays(5_000)))
            .Should().BeTrue();
        Unfollowed.IsTooOld(lot with { Bins = [] }, TimeStep.Of(Start.AddDays(1_098))).Should().BeFalse();
        Unfollowed.IsTooOld(lot with { Bins = [] }, TimeStep.Of(Start.AddDays(1_098).AddMinutes(5))).Should().BeTrue();
    }

    private static IReadOnlyList<string> Measured(Cellar cellar) =>
        TestMeters.Heard(meters => _ = new EstimatesMetrics(meters, cellar.Keeper));

    private static async Task SaysAsync(Cellar cellar, string? says, string why = "") =>
        (await new EstimatesCheck(cellar.Keeper).CheckHealthAsync(new(), TestContext.Current.CancellationToken)).Description.Should()
            .Be(says, why);
}
