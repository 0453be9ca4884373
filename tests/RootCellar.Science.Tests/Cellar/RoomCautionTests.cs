using RootCellar.Science.Cellar;

namespace RootCellar.Science.Tests.Cellar;

public sealed class RoomCautionTests
{
    [Theory]
    [InlineData(0, RoomCautionLevel.UnderLimits)]
    [InlineData(4999, RoomCautionLevel.UnderLimits)]
    [InlineData(5000, RoomCautionLevel.WorkingDayLimit)]
    [InlineData(29_999, RoomCautionLevel.WorkingDayLimit)]
    [InlineData(30_000, RoomCautionLevel.ShortTermLimit)]
    [InlineData(39_999, RoomCautionLevel.ShortTermLimit)]
    [InlineData(40_000, RoomCautionLevel.ImmediatelyDangerous)]
    [InlineData(1_000_000, RoomCautionLevel.ImmediatelyDangerous)]
    public void A_reading_at_a_published_limit_has_reached_it(double ppm, RoomCautionLevel level) => RoomCaution.Of(ppm).Should().Be(level);

    [Theory]
    [InlineData(-1)]
    [InlineData(1_000_001)]
    [InlineData(double.NaN)]
    public void What_no_air_can_hold_is_refused(double ppm)
    {
        var act = () => RoomCaution.Of(ppm);
        act.Should().Throw<ArgumentOutOfRangeException>().WithParameterName(nameof(ppm));
    }
}
