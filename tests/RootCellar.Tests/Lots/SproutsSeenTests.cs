using RootCellar.Ledger;
using RootCellar.Lots;
using static RootCellar.Tests.Lots.Cellar;

namespace RootCellar.Tests.Lots;

/// <summary>What a person saw of the sprouts is taken in, and the dates agree with it.</summary>
public sealed class SproutsSeenTests
{
    private static DateTimeOffset Day(double day) => Start.AddDays(day);

    private static async Task<Cellar> OpenAsync(double c)
    {
        var cellar = await WithRoomsAsync();
        await cellar.AirAsync(StoreRoom, Start, Day(120), c, 90);
        return cellar;
    }

    private static async Task<(LotEstimate Lot, BinEstimate Bin)> AtAsync(
        Cellar cellar, double day, params (double Day, string Share)[] looks)
    {
        var bin = Books.Bin("c-1", Start, 20, (StoreRoom, Start));
        foreach (var (when, share) in looks) bin = bin.SawSprouts(Day(when), share);
        cellar.Book = Books.Of(Books.Lot("k", Start, [bin], variety: "Kennebec"));
        var views = await cellar.AtAsync(Day(day));
        return (views.Lots["k"], views.Bins["c-1"]);
    }

    [Theory]
    [InlineData("few")]
    [InlineData("half")]
    [InlineData("most")]
    public async Task Sprouts_seen_months_before_they_were_due_are_believed(string share)
    {
        await using var cellar = await OpenAsync(18);
        var (_, due) = await AtAsync(cellar, 14);
        due.Peeping!.Early.Should().BeAfter(Day(25), "a Kennebec keeps long");
        var (lot, seen) = await AtAsync(cellar, 14.1, (13, share));
        seen.SproutsSeen.Should().BeTrue();
        seen.Seen.Should().Be(new SproutsLook("c-1", Day(13), share, null));
        lot.Seen.Should().Be(seen.Seen);
        lot.SproutsSeen.Should().BeTrue();
        seen.Peeping.Should().Be(new When(Day(13), Day(13), Day(13)));
        seen.Sprouted!.Likely.Should().BeBefore(Day(40)).And.BeBefore(due.Sprouted!.Likely!.Value.AddDays(-20));
        cellar.Replay().Agree.Should().BeTrue();
    }

    [Fact]
    public async Task One_look_is_a_likelihood_and_looks_that_speak_against_it_win()
    {
        await using var cellar = await OpenAsync(10);
        var (_, due) = await AtAsync(cellar, 40);
        var (_, few) = await AtAsync(cellar, 40.1, (30, "few"));
        var (_, wrong) = await AtAsync(cellar, 40.2, (30, "few"), (35, "none"), (40, "none"));
        few.Sprouted!.Likely.Should().BeBefore(due.Sprouted!.Likely!.Value.AddDays(-15));
        few.Sprouted.Late.Should().BeAfter(due.Sprouted.Early!.Value, "that the one look was at the wrong bin is not ruled out");
        wrong.Sprouted!.Likely.Should().BeCloseTo(due.Sprouted.Likely.Value, TimeSpan.FromDays(10));
    }

    [Fact]
    public async Task No_sprouts_where_they_were_due_move_the_dates_on()
    {
        await using var cellar = await OpenAsync(10);
        var (_, due) = await AtAsync(cellar, 100);
        due.RestUsed!.Value.Value.Should().BeGreaterThan(0.75);
        var (_, none) = await AtAsync(cellar, 118);
        var (_, seen) = await AtAsync(cellar, 118.1, (118, "none"));
        seen.SproutsSeen.Should().BeFalse();
        seen.Seen!.Share.Should().Be("none");
        seen.Sprouted!.Likely.Should().BeAfter(none.Sprouted!.Likely!.Value);
    }
}
