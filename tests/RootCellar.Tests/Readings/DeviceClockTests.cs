using RootCellar.Readings;

namespace RootCellar.Tests.Readings;

/// <summary>Where a known reading stands after our clock was set.</summary>
public sealed class DeviceClockTests
{
    [Theory]
    [InlineData(TimeSource.Arrival, 90, 90)]
    [InlineData(TimeSource.Arrival, -90, -90)]
    [InlineData(TimeSource.ArrivalForBadDeviceTime, 90, 90)]
    [InlineData(TimeSource.Device, 90, 0)] // its own clock did not step with ours
    [InlineData(TimeSource.Device, -90, -90)] // or it would count as ahead of us
    public void A_step_of_our_clock_moves_our_own_times(Enum source, int by, int moved)
    {
        var at = new DateTimeOffset(2025, 10, 4, 6, 0, 0, TimeSpan.Zero);
        DeviceClock.AfterStep(at, (TimeSource)source, TimeSpan.FromSeconds(by)).Should().Be(at.AddSeconds(moved));
    }
}
