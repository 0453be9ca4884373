using RootCellar.Readings;

namespace RootCellar.Tests.Readings;

public class DuplicateGuardTests
{
    private static readonly byte[] Five = "5"u8.ToArray();

    // MQTT 5.0 section 3.3.1.1: DUP says only that it may have been sent before.
    [Theory]
    [InlineData("a message seen, sent again", "a", "5", true, 30, true)]
    [InlineData("the same value measured anew", "a", "5", false, 30, false)]
    [InlineData("a first copy that never came", "b", "5", true, 30, false)]
    [InlineData("another value", "a", "6", true, 30, false)]
    [InlineData("at the edge of ten minutes", "a", "5", true, 600, true)]
    [InlineData("too long ago to be told", "a", "5", true, 601, false)]
    public void A_repeat_is_marked_so_and_the_same_as_the_last(string why, string topic, string payload, bool dup, int seconds, bool repeat)
    {
        var guard = new DuplicateGuard();
        guard.IsRepeat("a", DuplicateGuard.FingerprintOf(Five), false, TimeSpan.Zero).Should().BeFalse();

        guard.IsRepeat(topic, DuplicateGuard.FingerprintOf(System.Text.Encoding.UTF8.GetBytes(payload)), dup,
            TimeSpan.FromSeconds(seconds)).Should().Be(repeat, why);
    }

    // A client with a window of unacknowledged messages sends all of them again, not only the last.
    [Fact]
    public void A_whole_window_sent_again_is_known()
    {
        var guard = new DuplicateGuard();
        for (var i = 0; i < 20; i++)
            guard.IsRepeat("a", DuplicateGuard.FingerprintOf(System.Text.Encoding.UTF8.GetBytes($"{i}")), false, TimeSpan.FromSeconds(i));

        for (var i = 0; i < 20; i++)
            guard.IsRepeat("a", DuplicateGuard.FingerprintOf(System.Text.Encoding.UTF8.GetBytes($"{i}")), true,
                TimeSpan.FromSeconds(30 + i)).Should().BeTrue();
    }

    [Fact]
    public void A_flood_of_topics_does_not_keep_later_ones_unguarded()
    {
        var guard = new DuplicateGuard();
        for (var i = 0; i < 20_000; i++) guard.IsRepeat($"flood/{i}", DuplicateGuard.FingerprintOf(Five), false, TimeSpan.Zero);
        guard.IsRepeat("a", DuplicateGuard.FingerprintOf(Five), false, TimeSpan.FromSeconds(1));

        guard.IsRepeat("a", DuplicateGuard.FingerprintOf(Five), true, TimeSpan.FromSeconds(2)).Should().BeTrue();
    }

    [Fact]
    public void No_more_than_4000_topics_and_32_payloads_of_each_are_remembered()
    {
        var guard = new DuplicateGuard();
        for (var i = 1; i <= 33; i++) guard.IsRepeat("a", i, false, TimeSpan.Zero);
        guard.IsRepeat("a", 1, true, TimeSpan.Zero).Should().BeFalse("32 came after it");
        guard.IsRepeat("a", 33, true, TimeSpan.Zero).Should().BeTrue();

        for (var i = 1; i < 4_000; i++) guard.IsRepeat($"flood/{i}", 1, false, TimeSpan.FromSeconds(300));
        guard.IsRepeat("a", 33, true, TimeSpan.FromSeconds(300)).Should().BeTrue("there was room");
        guard.IsRepeat("one/more", 1, false, TimeSpan.FromSeconds(301));
        guard.IsRepeat("a", 33, true, TimeSpan.FromSeconds(301)).Should().BeFalse("all was forgotten for what came");

        // What is past its ten minutes makes room before what is not.
        guard = new DuplicateGuard();
        for (var i = 0; i < 3_999; i++) guard.IsRepeat($"old/{i}", 1, false, TimeSpan.Zero);
        guard.IsRepeat("a", 33, false, TimeSpan.FromSeconds(301));
        guard.IsRepeat("one/more", 1, false, TimeSpan.FromSeconds(601));
        guard.IsRepeat("a", 33, true, TimeSpan.FromSeconds(601)).Should().BeTrue();
    }

    [Fact]
    public void After_a_start_a_repeat_is_known_by_all_its_values_for_ten_minutes()
    {
        var (guard, at) = (new DuplicateGuard(), new DateTimeOffset(2025, 10, 4, 6, 0, 0, TimeSpan.Zero));
        StoredReading Kept(Quantity quantity, double value, int minutes) => new(1, new Reading(
            "cellar/s", quantity, value, at, at.AddMinutes(-minutes), TimeSource.Arrival, Quality.Good, null));

        guard.TakeUp(Kept(Quantity.Temperature, 5, 10), at);
        guard.TakeUp(Kept(Quantity.Humidity, 90, 1), at);
        guard.TakeUp(Kept(Quantity.Light, 7, 11), at);
        Measured five = new(Quantity.Temperature, 5, null), damp = new(Quantity.Humidity, 90, null);
        guard.IsKept("cellar/s", [five, damp], at).Should().BeTrue();
        guard.IsKept("cellar/s", [five, damp with { Value = 91 }], at).Should().BeFalse("one is new");
        guard.IsKept("cellar/t", [five], at).Should().BeFalse("another sensor's");
        guard.IsKept("cellar/s", [new(Quantity.Light, 7, null)], at).Should().BeFalse("it was too old to take up");
        guard.IsKept("cellar/s", [five], at.AddSeconds(1)).Should().BeFalse("ten minutes are over");
        guard.IsKept("cellar/s", [damp], at.AddMinutes(9)).Should().BeTrue();
    }
}
