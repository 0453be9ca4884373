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
}
