using RootCellar.Readings;

namespace RootCellar.Tests.Readings;

public class DoorAndRepeatTests
{
    private readonly DuplicateGuard guard = new();

    [Fact]
    public void A_message_with_dup_is_a_repeat_only_when_it_came_before()
    {
        Repeat("12.8", dup: false).Should().BeFalse();
        Repeat("12.8", dup: false).Should().BeFalse("without DUP it is the same temperature, measured again");
        Repeat("12.8", dup: true).Should().BeTrue();
        Repeat("12.9", dup: true).Should().BeFalse("the first copy never came");
        Repeat("12.9", dup: true).Should().BeTrue();
        Repeat("12.9", dup: true, topic: "x").Should().BeFalse();
        Repeat("12.9", dup: true, minute: 11).Should().BeFalse("ten minutes are over");
    }

    [Fact]
    public void A_whole_window_sent_again_is_known()
    {
        for (var i = 0; i < 20; i++) Repeat($"{i}", dup: false).Should().BeFalse();
        for (var i = 0; i < 20; i++) Repeat($"{i}", dup: true).Should().BeTrue();
    }

    [Theory]
    [InlineData(12.8, 9, true)]
    [InlineData(12.9, 9, false)]
    [InlineData(12.8, 11, false)]
    public void After_a_restart_the_record_knows_what_was_kept(double value, int minutesLater, bool kept)
    {
        var at = new DateTimeOffset(2025, 10, 4, 6, 0, 0, TimeSpan.Zero);
        guard.IsKept("a/b", [new Measured(Quantity.Temperature, value, null)], at).Should().BeFalse();
        guard.TakeUp(new StoredReading(1, new Reading("a/b", Quantity.Temperature, 12.8, at, at, TimeSource.Arrival, Quality.Good, null)),
            at);
        guard.IsKept("a/b", [new Measured(Quantity.Temperature, value, null)], at.AddMinutes(minutesLater)).Should().Be(kept);
        guard.IsKept("a/c", [new Measured(Quantity.Temperature, 12.8, null)], at).Should().BeFalse("it is another sensor");
        guard.IsKept("a/b", [new Measured(Quantity.Temperature, 12.8, null), new Measured(Quantity.Humidity, 91, null)], at).Should()
            .BeFalse("the humidity is new");
    }

    private bool Repeat(string payload, bool dup, string topic = "rootcellar/a/b/temperature_c", int minute = 0) =>
        guard.IsRepeat(topic, DuplicateGuard.FingerprintOf(System.Text.Encoding.UTF8.GetBytes(payload)), dup, TimeSpan.FromMinutes(minute));
}
