using Microsoft.Extensions.Logging.Abstractions;
using RootCellar.Diagnostics;
using RootCellar.Monitoring;
using RootCellar.Storage;
using RootCellar.Tell;
using RootCellar.Tests.Households;
using RootCellar.Tests.Storage;

namespace RootCellar.Tests.Tell;

public sealed class OutboxTests : IAsyncLifetime
{
    private readonly TempFolder folder = new();
    private readonly HouseTime time = new(Sample.At);
    private Store store = null!;

    public ValueTask InitializeAsync()
    {
        store = folder.Open(time);
        return ValueTask.CompletedTask;
    }

    public async ValueTask DisposeAsync()
    {
        await store.DisposeAsync();
        folder.Dispose();
    }

    [Fact]
    public async Task A_channel_that_fails_is_tried_until_it_works()
    {
        var channel = new CapturingChannel(refusals: 7);
        using var outbox = await StartAsync(channel);
        await OfferAsync(outbox, Text());
        await PassAsync(TimeSpan.FromSeconds(20), () => Row().State == OutgoingState.Sent);
        channel.Taken.Should().ContainSingle().Which.Sms.Should().Be("CELLAR 50F", "a refused text did not leave, so it is no repeat");
        Row().Should().Match<Outgoing>(r => r.Attempts == 8 && r.SentAt != null && r.Error == null);
        outbox.Troubles.Should().BeEmpty();
        await outbox.StopAsync(TestContext.Current.CancellationToken);
    }

    [Fact]
    public async Task Over_never_overtakes_raised()
    {
        var channel = new CapturingChannel(refusals: 9);
        using var outbox = await StartAsync(channel);
        for (var i = 1; i <= 6; i++) await OfferAsync(outbox, Text($"m{i}"));
        await PassAsync(TimeSpan.FromSeconds(20), () => channel.Taken.Count == 6);
        channel.Taken.Select(t => t.Id).Should().Equal("m1", "m2", "m3", "m4", "m5", "m6");
        await outbox.StopAsync(TestContext.Current.CancellationToken);
    }

    [Fact]
    public async Task Over_never_overtakes_raised_though_its_row_is_written_first()
    {
        var channel = new CapturingChannel();
        using var outbox = await StartAsync(channel);
        var writing = new TaskCompletionSource<bool>();
        outbox.Accept([Text("raised")], writing.Task);
        await OfferAsync(outbox, Text("over"));
        outbox.Underway.Should().Be(2);
        writing.SetResult(true);
        await PassAsync(TimeSpan.FromSeconds(1), () => outbox.Underway == 0);
        channel.Taken.Select(t => t.Id).Should().Equal("raised", "over");
        await outbox.StopAsync(TestContext.Current.CancellationToken);
    }

    [Fact]
    public async Task Without_a_record_texts_go_in_the_order_they_were_decided_on()
    {
        using var other = new TempFolder();
        await File.WriteAllTextAsync(other.File, "no record at all", TestContext.Current.CancellationToken);
        await using var none = other.Open(time);
        none.StartProblem.Should().NotBeNull();
        var channel = new CapturingChannel();
        using var outbox = await StartAsync(channel, none);
        var recorder = new Recorder(none, outbox, new FailedWork(time, NullLogger<FailedWork>.Instance), time);
        var decided = Enumerable.Range(1, 200).Select(i => $"m{i}").ToList();
        await Task.WhenAll(decided.Select(id => recorder.KeepAsync(new Change(id, c => { }, [Text(id)]))));
        await PassAsync(TimeSpan.FromSeconds(1), () => outbox.Underway == 0);
        channel.Taken.Select(t => t.Id).Should().Equal(decided);
        await outbox.StopAsync(TestContext.Current.CancellationToken);
    }

    [Fact]
    public async Task A_text_that_does_not_get_through_holds_up_only_its_own_room()
    {
        var channel = new CapturingChannel
        {
            Instead = (text, _, _) => text.Alarm == "cellar" ? throw new RefusedException("not this one", null) : Task.CompletedTask,
        };
        using var outbox = await StartAsync(channel);
        await OfferAsync(outbox, Text("m1") with { Alarm = "cellar" });
        await OfferAsync(outbox, Text("m2") with { Alarm = "cellar", CreatedAt = Sample.At.AddMinutes(9) });
        await OfferAsync(outbox, Text("m3") with { Alarm = "curing" });
        await PassAsync(TimeSpan.FromMilliseconds(100), () => channel.Taken.Count == 1 && outbox.Underway == 2);
        channel.Taken.Single().Id.Should().Be("m3");
        outbox.Underway.Should().Be(2);
        time.Advance(TimeSpan.FromMinutes(10));
        outbox.OldestWait.Should().BeGreaterThanOrEqualTo(TimeSpan.FromMinutes(10)).And.BeLessThan(TimeSpan.FromMinutes(20));
        outbox.Troubles[CapturingChannel.ChannelName].Should().Be("not this one");
        (await new ChannelsCheck(outbox, new ChannelDesk()).CheckHealthAsync(new(), TestContext.Current.CancellationToken)).Description.Should()
            .Be("captured: not this one");
        TestMeters.Heard(meters => _ = new OutboxMetrics(meters, outbox)).Should().Equal("rootcellar.channels.in.trouble 1",
            "rootcellar.texts.waiting 2", FormattableString.Invariant($"rootcellar.texts.oldest {outbox.OldestWait.TotalSeconds}s"));
        await outbox.StopAsync(TestContext.Current.CancellationToken);
    }

    [Fact]
    public async Task A_channel_that_falls_silent_may_have_taken_the_text_so_the_next_attempt_says_so()
    {
        var channel = new CapturingChannel
        {
            Instead = (_, before, cancel) => before == 0
            ? Task.Delay(Timeout.Infinite, cancel) : Task.CompletedTask
        };
        using var outbox = await StartAsync(channel);
        await OfferAsync(outbox, Text());
        await PassAsync(TimeSpan.FromSeconds(5), () => outbox.Underway == 0);
        channel.Taken.Single().Sms.Should().Be("CELLAR 50F (may be a repeat)");
        channel.Attempts.Should().Be(2);
        outbox.OldestWait.Should().Be(TimeSpan.Zero);
        await outbox.StopAsync(TestContext.Current.CancellationToken);
    }

    [Theory]
    [InlineData(false, "CELLAR 50F")]
    [InlineData(true, "CELLAR 50F (may be a repeat)")]
    public async Task An_error_says_whether_the_text_may_have_left(bool broken, string expected)
    {
        Exception error = broken ? new IOException("broken off while it was read") : new HttpRequestException(
            HttpRequestError.NameResolutionError);
        var channel = new CapturingChannel { Instead = (_, before, _) => before == 0 ? throw error : Task.CompletedTask };
        using var outbox = await StartAsync(channel);
        await OfferAsync(outbox, Text());
        await PassAsync(TimeSpan.FromSeconds(1), () => Row().State == OutgoingState.Sent);
        channel.Taken.Single().Sms.Should().Be(expected);
        await outbox.StopAsync(TestContext.Current.CancellationToken);
    }

    [Fact]
    public async Task What_a_gateway_asks_to_wait_is_waited()
    {
        var channel = new CapturingChannel
        {
            Instead = (_, before, _) => before == 0
            ? throw new RefusedException("too many", TimeSpan.FromMinutes(3)) : Task.CompletedTask
        };
        using var outbox = await StartAsync(channel);
        await OfferAsync(outbox, Text());
        await PassAsync(TimeSpan.FromSeconds(1), () => channel.Attempts == 1);
        var refused = time.GetUtcNow();
        await PassAsync(TimeSpan.FromSeconds(1), () => channel.Attempts == 2);
        (time.GetUtcNow() - refused).Should().BeGreaterThan(TimeSpan.FromMinutes(2.8));
        await outbox.StopAsync(TestContext.Current.CancellationToken);
    }

    [Fact]
    public async Task A_gateway_that_asks_for_a_day_is_tried_again_after_the_longest_wait()
    {
        var channel = new CapturingChannel
        {
            Instead = (_, before, _) => before == 0 ? throw new RefusedException("too many", TimeSpan.FromDays(1)) : Task.CompletedTask
        };
        using var outbox = await StartAsync(channel);
        await OfferAsync(outbox, Text());
        await PassAsync(TimeSpan.FromSeconds(10), () => channel.Attempts == 2);
        (time.GetUtcNow() - Sample.At).Should().BeGreaterThan(TimeSpan.FromMinutes(4.9)).And.BeLessThan(TimeSpan.FromHours(12));
        await outbox.StopAsync(TestContext.Current.CancellationToken);
    }

    [Fact]
    public void Each_attempt_and_its_end_is_counted_and_the_log_says_what_the_page_says()
    {
        var counted = TestMeters.Heard(meters =>
        {
            var refusals = 1;
            var channel = new CapturingChannel
            {
                Instead = (_, _, _) => refusals-- > 0 ? throw new RefusedException("no", null) : Task.CompletedTask
            };
            using var outbox = new Outbox(new ChannelDesk(channel), store, time, new TellMetrics(meters), NullLogger<Outbox>.Instance,
                new TellPace { Time = time });
            Told(outbox).GetAwaiter().GetResult();
        });
        counted.Should().HaveCount(4);
        counted.Take(3).Should().Equal("rootcellar.texts.tried 1 channel=captured", "rootcellar.texts.failed 1 channel=captured reason=refused",
            "rootcellar.texts.tried 1 channel=captured");
        counted[3].Should().Match("rootcellar.texts.latency *s channel=captured");

        async Task Told(Outbox outbox)
        {
            await outbox.StartAsync(TestContext.Current.CancellationToken);
            await OfferAsync(outbox, Text());
            await PassAsync(TimeSpan.FromSeconds(1), () => outbox.Underway == 0);
            await outbox.StopAsync(TestContext.Current.CancellationToken);
        }
    }

    [Fact]
    public async Task How_a_text_stands_is_written_once_the_record_takes_writes_again()
    {
        await store.FillAsync();
        var channel = new CapturingChannel();
        using var outbox = await StartAsync(channel);
        outbox.Accept([Text() with { Body = new string('x', 20_000) }], Task.FromResult(true));
        await PassAsync(TimeSpan.FromSeconds(1), () => outbox.Underway == 0);
        channel.Taken.Should().ContainSingle("a text matters more than its row");
        outbox.AllMarked.Should().BeFalse();
        folder.MakeRoom();
        await PassAsync(TimeSpan.FromSeconds(11), () => store.Problem is null);
        await outbox.WriteMarksAsync();
        outbox.AllMarked.Should().BeTrue();
        Row().State.Should().Be(OutgoingState.Sent);
        await outbox.StopAsync(TestContext.Current.CancellationToken);
    }

    [Fact]
    public async Task While_it_does_not_get_through_the_trouble_is_known_and_after_three_days_it_is_given_up()
    {
        var channel = new CapturingChannel(refusals: int.MaxValue);
        using var outbox = await StartAsync(channel);
        await OfferAsync(outbox, Text());
        await PassAsync(TimeSpan.FromSeconds(30), () => outbox.Troubles.ContainsKey(CapturingChannel.ChannelName));
        Row().State.Should().Be(OutgoingState.Sending);
        await PassAsync(TimeSpan.FromHours(1), () => Row().State == OutgoingState.GivenUp);
        (time.GetUtcNow() - Sample.At).Should().BeGreaterThan(TimeSpan.FromDays(3));
        Row().Error.Should().Be("could not be delivered for three days");
        channel.Attempts.Should().BeGreaterThan(5);
        await outbox.StopAsync(TestContext.Current.CancellationToken);
    }

    [Theory]
    [InlineData(OutgoingState.Waiting, "CELLAR 50F")]
    [InlineData(OutgoingState.Sending, "CELLAR 50F (may be a repeat)")]
    [InlineData(OutgoingState.Sent, null)]
    [InlineData(OutgoingState.GivenUp, null)]
    public async Task A_new_start_sends_what_waits_and_marks_what_may_have_left(Enum state, string? expected)
    {
        await store.WriteAsync(c => OutboxRows.Save(c, Text() with { State = (OutgoingState)state }));
        await store.WriteAsync(c => OutboxRows.Save(c, Text("last")));
        var channel = new CapturingChannel();
        using var outbox = await StartAsync(channel);
        await PassAsync(TimeSpan.FromSeconds(1), () => Row("last").State == OutgoingState.Sent);
        if (expected is not null) await PassAsync(TimeSpan.FromSeconds(1), () => Row().State == OutgoingState.Sent);
        channel.Taken.Where(t => t.Id == "m1").Select(t => t.Sms).Should().Equal(expected is null ? [] : [expected]);
        await outbox.StopAsync(TestContext.Current.CancellationToken);
    }

    [Fact]
    public async Task Too_old_a_text_and_one_for_a_channel_that_is_not_set_up_are_given_up_at_once()
    {
        await store.WriteAsync(c => OutboxRows.Save(c, Text() with { CreatedAt = Sample.At.AddDays(-4) }));
        await store.WriteAsync(c => OutboxRows.Save(c, Text("m2") with { Channel = "pigeon" }));
        var channel = new CapturingChannel();
        using var outbox = await StartAsync(channel);
        await PassAsync(TimeSpan.FromSeconds(1), () => Row().State == OutgoingState.GivenUp && Row("m2").State == OutgoingState.GivenUp);
        Row("m2").Error.Should().Contain("pigeon is not set up");
        channel.Attempts.Should().Be(0);
        await outbox.StopAsync(TestContext.Current.CancellationToken);
    }

    [Fact]
    public async Task Stopped_between_two_attempts_the_text_waits_for_the_next_start()
    {
        var channel = new CapturingChannel(refusals: int.MaxValue);
        using (var outbox = await StartAsync(channel))
        {
            await OfferAsync(outbox, Text());
            await PassAsync(TimeSpan.FromMilliseconds(1), () => outbox.Troubles.Count > 0);
            await outbox.StopAsync(TestContext.Current.CancellationToken);
        }

        Row().State.Should().Be(OutgoingState.Waiting);
        store.Read(OutboxRows.Unsent).Single().MayBeRepeat.Should().BeFalse();
    }

    /// <summary>Stopped while the far side has it or may have it: the next start says that it may be a repeat.</summary>
    [Theory]
    [InlineData(true)]
    [InlineData(false)]
    public async Task Stopped_when_it_may_have_left_the_text_stays_as_being_sent(bool silent)
    {
        var channel = new CapturingChannel
        {
            Instead = (_, _, cancel) => silent ? Task.Delay(Timeout.Infinite, cancel) : throw new IOException("broken off while it was read"),
        };
        using (var outbox = await StartAsync(channel))
        {
            await OfferAsync(outbox, Text());
            await PassAsync(TimeSpan.FromMilliseconds(1), () => silent ? channel.Attempts > 0 : outbox.Troubles.Count > 0);
            await outbox.StopAsync(TestContext.Current.CancellationToken);
        }

        store.Read(OutboxRows.Unsent).Single().Should().Match<Outgoing>(t => t.State == OutgoingState.Sending && t.MayBeRepeat);
    }

    [Theory]
    [InlineData(true)]
    [InlineData(false)]
    public async Task A_text_that_is_not_to_be_sent_is_not_and_the_next_one_is(bool faulted)
    {
        var channel = new CapturingChannel();
        using var outbox = await StartAsync(channel);
        outbox.Accept([Text()], NotWritten());
        await OfferAsync(outbox, Text("m2"));
        outbox.Accept([Text("m3")], NotWritten());
        await PassAsync(TimeSpan.FromSeconds(1), () => outbox.Underway == 0);
        channel.Taken.Select(t => t.Id).Should().Equal("m2");
        await outbox.StopAsync(TestContext.Current.CancellationToken);
        outbox.ExecuteTask!.IsCompletedSuccessfully.Should().BeTrue("nothing of it stops the others");

        Task<bool> NotWritten() => faulted ? Task.FromException<bool>(new IOException("not written")) : Task.FromResult(false);
    }

    [Fact]
    public async Task With_texts_of_before_that_cannot_be_read_those_of_now_go_out()
    {
        await store.WriteAsync(c => c.Execute("ALTER TABLE outbox RENAME TO outbox_damaged"));
        var channel = new CapturingChannel();
        using var outbox = await StartAsync(channel);
        outbox.Accept([Text()], Task.FromResult(true));
        await PassAsync(TimeSpan.FromSeconds(1), () => channel.Taken.Count == 1 && outbox.Underway == 0);
        outbox.AllMarked.Should().BeFalse("how it stands is still to be written");
        await outbox.StopAsync(TestContext.Current.CancellationToken);
    }

    private static Outgoing Text(string id = "m1") =>
        new(id, null, CapturingChannel.ChannelName, "", "high", "CELLAR 50F", "Too warm", "body", Sample.At);

    private async Task<Outbox> StartAsync(IChannel channel, Store? record = null)
    {
        var outbox = new Outbox(new ChannelDesk(channel), record ?? store, time, new TellMetrics(TestMeters.Factory), NullLogger<Outbox>.Instance,
            new TellPace { Time = time });
        await outbox.StartAsync(TestContext.Current.CancellationToken);
        return outbox;
    }

    private async Task OfferAsync(Outbox outbox, Outgoing text)
    {
        await store.WriteAsync(c => OutboxRows.SaveNew(c, text));
        outbox.Accept([text], Task.FromResult(true));
    }

    private Outgoing Row(string id = "m1") => store.Read(c => OutboxRows.Latest(c, 10)).Single(r => r.Id == id);

    private Task PassAsync(TimeSpan step, Func<bool> until) => Sample.UntilAsync(() =>
    {
        time.Advance(step);
        return until();
    });
}
