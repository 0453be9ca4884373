using RootCellar.Lots;

namespace RootCellar.Tests.Lots;

/// <summary>Time out of band, counted by hand: pieces of five minutes from the hundredth on.</summary>
public sealed class OutOfBandTests
{
    private static readonly (DateTimeOffset, DateTimeOffset, double, double)[] ThreeToFive = [Limits(0, 1_000, 3, 5)];

    [Fact]
    public void Each_side_is_counted_with_the_furthest_it_went_and_when()
    {
        // 6 from before the first piece on, 7, 4, 2, then 1.5 for the last half hour.
        var out_ = new OutOfBand(100, 112, Rows((98, 6), (104, 7), (105, 4), (106, 2), (107, 1.5)), ThreeToFive);
        out_.Above.Should().Be(new OutSide(5, 7, 5, 104));
        out_.Below.Should().Be(new OutSide(6, 1.5, 3, 107));
        out_.Hours.Should().BeApproximately(11 / 12.0, 1e-9);
        (out_.Least, out_.Most, out_.Count).Should().Be((1.5, 7, 12));
        out_.Mean.Should().BeApproximately(((4 * 6) + 7 + 4 + 2 + (5 * 1.5)) / 12, 1e-9);
    }

    [Fact]
    public void At_the_limit_is_within_and_the_first_furthest_stays()
    {
        var out_ = new OutOfBand(100, 106, Rows((100, 3), (101, 5), (102, 5.5), (103, 5.5), (104, 2.5), (105, 2.5)), ThreeToFive);
        (out_.Above, out_.Below).Should().Be((new OutSide(2, 5.5, 5, 102), new OutSide(2, 2.5, 3, 104)));
    }

    [Fact]
    public void A_row_speaks_for_half_an_hour_and_what_is_longer_is_not_known()
    {
        var out_ = new OutOfBand(100, 120, Rows((100, 9)), ThreeToFive);
        (out_.Count, out_.Above.Count).Should().Be((6, 6));
        out_.Unknown(new OutOfBand(100, 120, Rows((103, 50)), ThreeToFive)).Should().Be(17, "both were known for three pieces");
        var nothing = new OutOfBand(100, 102, Rows((94, 9)), ThreeToFive);
        (nothing.Count, nothing.Hours, nothing.Mean, nothing.Above, nothing.Below).Should().Be((0, 0, double.NaN, default, default));
        new OutOfBand(100, 99, Rows((99, 9)), ThreeToFive).Count.Should().Be(0);
    }

    [Fact]
    public void Each_moment_is_held_to_the_limits_of_its_time_and_between_two_to_none()
    {
        var rows = Rows([.. Enumerable.Range(100, 12).Select(i => ((long)i, 6.0))]);
        var out_ = new OutOfBand(100, 112, rows, [Limits(90, 102, 3, 5), Limits(104, 106, 7, 8), Limits(106, 108, 1, 4.5)]);
        out_.Above.Should().Be(new OutSide(4, 6, 4.5, 106), "the further limit is the one that is told");
        out_.Below.Should().Be(new OutSide(2, 6, 7, 104));
        out_.Count.Should().Be(12);
    }

    private static Dictionary<long, double> Rows(params IReadOnlyList<(long Cell, double Value)> rows) =>
        rows.ToDictionary(r => r.Cell, r => r.Value);

    private static (DateTimeOffset, DateTimeOffset, double, double) Limits(long from, long to, double low, double high) =>
        (TimeStep.At(from), TimeStep.At(to), low, high);
}
