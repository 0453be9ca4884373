using Microsoft.Extensions.Time.Testing;
using RootCellar.Readings;

namespace RootCellar.Tests.Readings;

/// <summary>What is heard and not understood is bounded, and what was there is not pushed out.</summary>
public sealed class HeardTopicsTests
{
    private static readonly DateTimeOffset At = new(2025, 10, 4, 6, 0, 0, TimeSpan.Zero);

    private readonly FakeTimeProvider time = new(At);
    private readonly HeardTopics heard;

    public HeardTopicsTests() => heard = new HeardTopics(time);

    [Fact]
    public void Its_last_messages_are_kept_with_how_often_it_comes()
    {
        Say("a", "1");
        heard.All["a"].Should().Match<HeardTopic>(h => h.EverySeconds == null && h.Count == 1 && h.At == At);
        for (var i = 1; i <= 62; i++) Say("a", $"{i}", i * 10);

        var kept = heard.All["a"];
        (kept.Count, kept.EverySeconds, kept.At, kept.Payloads.Count).Should().Be((63, 10, At.AddSeconds(620), 60));
        (Text(kept.Payloads[0].Payload), kept.Payloads[0].At, Text(kept.Last)).Should().Be(("3", At.AddSeconds(30), "62"));
    }

    [Fact]
    public void A_topic_keeps_no_more_than_16_kilobytes_and_takes_no_empty_message()
    {
        Say("a", "");
        Say(new string('t', 257), "1");
        heard.All.Should().BeEmpty();
        Say(new string('t', 256), "1");
        heard.All.Should().HaveCount(1);
        for (var i = 0; i < 4; i++) Say("a", new string('x', 4_000), i);
        heard.All["a"].Payloads.Should().HaveCount(4, "16,000 bytes are kept");
        Say("a", "y", 5);
        heard.All["a"].Payloads.Select(p => p.At).Should().Equal(At.AddSeconds(1), At.AddSeconds(2), At.AddSeconds(3), At.AddSeconds(5));
    }

    [Fact]
    public void Of_a_message_that_is_too_long_the_beginning_is_shown_and_nothing_is_read_or_kept_for_later()
    {
        Say("a", new string('1', 16_000));
        heard.All["a"].Should().Match<HeardTopic>(h => !h.IsTooLong && h.Payloads.Count == 1 && h.Size == 16_000);
        Say("a", new string('1', 16_001), 1);

        var late = heard.All["a"];
        (late.IsTooLong, late.Size, late.Last.Length, late.Written.Length, late.Payloads.Count).Should().Be((true, 16_001, 300, 300, 1));
        var recipe = Recipe.Of(late, heard.All);
        (recipe.IsUseful, recipe.Nothing, recipe.Values.Count).Should().Be((false, NothingFound.TooLong, 0));
    }

    [Fact]
    public void Invented_topics_do_not_push_out_what_was_there_and_what_falls_silent_for_a_day_makes_room()
    {
        Say("old", "1");
        for (var i = 1; i < 200; i++) Say($"new/{i}", "1", 3_600);
        Say("one/more", "1", 3_600);
        (heard.All.Count, heard.Beyond, heard.All.ContainsKey("old")).Should().Be((200, 1, true));
        Say("old", "2", 3_600);
        heard.Beyond.Should().Be(1, "what is there already is heard on");

        Say("one/more", "1", 3_600 + 86_400);
        (heard.All.Count, heard.Beyond).Should().Be((200, 2), "a day to the second is not over a day");
        Say("one/more", "1", 3_601 + 86_400);
        heard.Beyond.Should().Be(3, "at most once a minute it is looked for room");
        Say("one/more", "1", 3_661 + 86_400);
        heard.All.Keys.Should().Equal("one/more");
    }

    [Fact]
    public void It_is_listed_no_more_a_day_after_its_last_message_or_once_it_is_understood()
    {
        Say("a", "1");
        Say("b", "1");
        heard.Forget(topic => topic == "b");
        heard.All.Keys.Should().Equal("a");
        time.Advance(TimeSpan.FromDays(1));
        heard.All.Keys.Should().Equal("a");
        time.Advance(TimeSpan.FromMinutes(1));
        heard.All.Should().BeEmpty();
    }

    private void Say(string topic, string payload, int seconds = 0)
    {
        if (At.AddSeconds(seconds) > time.GetUtcNow()) time.SetUtcNow(At.AddSeconds(seconds));
        heard.Note(topic, System.Text.Encoding.UTF8.GetBytes(payload), At.AddSeconds(seconds));
    }

    private static string Text(byte[] payload) => System.Text.Encoding.UTF8.GetString(payload);
}
