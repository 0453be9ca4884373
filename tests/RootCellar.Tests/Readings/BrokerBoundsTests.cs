using System.Buffers;
using System.IO.Pipelines;
using System.Net;
using Microsoft.AspNetCore.Connections;
using Microsoft.Extensions.Logging;
using Microsoft.Extensions.Time.Testing;
using RootCellar.Readings;

namespace RootCellar.Tests.Readings;

/// <summary>What keeps the built-in broker small.</summary>
public class BrokerBoundsTests
{
    private readonly MqttLimits limits = new()
    { PendingBytes = 20_000, PendingMessages = 100, RetainedBytes = 65_536, RetainedMessages = 100, Subscriptions = 2 };

    [Theory]
    [InlineData("", 0)]
    [InlineData("30", 0)]
    [InlineData("307F", 127)]
    [InlineData("3080", 0)] // the length is not there whole
    [InlineData("308001", 128)]
    [InlineData("30FFFF7F", 2_097_151)]
    [InlineData("3080C2D72F", 100_000_000)]
    [InlineData("30FFFFFF7F", 268_435_455)] // the most MQTT has
    [InlineData("30FFFFFFFF7F", 0)] // no header: the library refuses it
    public void The_announced_length_of_a_packet_is_read_from_its_header(string bytes, int length) =>
        BoundedPackets.Announced(new ReadOnlySequence<byte>(Convert.FromHexString(bytes))).Should().Be(length);

    [Fact]
    public async Task A_packet_that_is_too_long_is_refused_by_its_header_alone()
    {
        var pipe = new Pipe();
        var told = 0;
        var bounded = new BoundedPackets(pipe.Reader, 1_024, length => told = length);
        await pipe.Writer.WriteAsync(Convert.FromHexString("308008"), TestContext.Current.CancellationToken);
        var first = await bounded.ReadAsync(TestContext.Current.CancellationToken);
        bounded.AdvanceTo(first.Buffer.End);
        await pipe.Writer.WriteAsync(Convert.FromHexString("308108"), TestContext.Current.CancellationToken);

        await FluentActions.Awaiting(async () => await bounded.ReadAsync()).Should().ThrowAsync<ConnectionAbortedException>();
        told.Should().Be(1_025);
    }

    [Fact]
    public void A_readers_line_is_bounded_in_bytes_in_messages_and_in_answers()
    {
        var load = new ClientLoad(limits);
        var taken = 0;
        while (load.TryQueue("a", 2_000)) taken++;
        taken.Should().Be(9, "9 of 2 000 bytes and what each costs are under 20 000");
        load.Sent("a", 2_000);
        load.TryQueue("a", 2_000).Should().BeTrue("one has gone");

        // 2 bytes a letter of the topic, the payload, and 200 for each: 19,998 of 20,000, then to the byte.
        load = new ClientLoad(limits);
        load.TryQueue("a", 19_799).Should().BeFalse("20,001");
        load.TryQueue("a", 19_798).Should().BeTrue("what was refused does not count");

        load = new ClientLoad(new MqttLimits { PendingMessages = 100 });
        Enumerable.Range(0, 101).Select(_ => load.TryQueue("a", 1)).Count(t => t).Should().Be(100);
        Enumerable.Range(0, 101).Select(_ => load.Owe()).Count(t => t).Should().Be(100);
        load = new ClientLoad(limits);
        Enumerable.Range(0, 3).Select(_ => load.TrySubscribe()).Count(t => t).Should().Be(2);
    }

    [Fact]
    public void What_is_kept_for_readers_is_bounded_in_messages_and_in_bytes()
    {
        var kept = new RetainedBudget(limits);
        Enumerable.Range(0, 150).Count(i => kept.TryKeep($"t{i}", 10)).Should().Be(100);
        kept.TryKeep("t5", 20).Should().BeTrue("it was there");
        kept.TryKeep("t5", 0).Should().BeTrue();
        kept.TryKeep("new", 10).Should().BeTrue("one has gone");

        kept = new RetainedBudget(limits);
        kept.TryKeep("a", 60_000).Should().BeTrue();
        kept.TryKeep("b", 6_000).Should().BeFalse();
        kept.TryKeep("a", 60_500).Should().BeTrue("it takes the place of what was there");
        kept.TryKeep("a", 60_500).Should().BeTrue();
        kept.TryKeep("a", 66_000).Should().BeFalse("and what was there must go, since it is no longer so");
        kept.Now.Should().Be((0, 0L));
        kept.TryKeep("b", 6_000).Should().BeTrue();
        kept.Now.Should().Be((1, 6_001L));
    }

    [Fact]
    public void A_flood_of_refusals_is_one_line_a_minute_in_the_log_and_one_on_the_page()
    {
        var time = new FakeTimeProvider(new DateTimeOffset(2025, 10, 4, 6, 0, 0, TimeSpan.Zero));
        var log = new Lines();
        using var refusals = new Refusals(time, log);
        for (var i = 0; i < 5_000; i++) refusals.Count(Refusal.Password, IPAddress.Parse($"10.0.0.{i % 7}"), "a guess");
        refusals.Count(Refusal.Packet, IPAddress.Loopback, "too long");

        log.Said.Should().HaveCount(2, "the first of each");
        time.Advance(TimeSpan.FromMinutes(1));
        log.Said[^1].Should().Contain("password 4999 more times").And.Contain("5000 since").And.Contain("10.0.0.4 and others");
        time.Advance(TimeSpan.FromMinutes(10));
        log.Said.Should().HaveCount(3, "nothing more came");

        var seen = refusals.View();
        seen.Select(r => (r.Reason, r.Count)).Should().Equal([(Refusal.Password, 5_000L), (Refusal.Packet, 1L)]);
        seen[0].Addresses.Should().HaveCount(5);
        seen[0].MoreAddresses.Should().BeTrue();
        time.Advance(TimeSpan.FromDays(1));
        refusals.View().Should().BeEmpty("nothing came for a day");
        refusals.Total(Refusal.Password).Should().Be(5_000);
        refusals.Count(Refusal.Password, IPAddress.Loopback, "again");
        log.Said.Should().HaveCount(4);
        refusals.View().Single().Count.Should().Be(1);
    }

    private sealed class Lines : ILogger<Refusals>
    {
        public List<string> Said { get; } = [];

        public IDisposable? BeginScope<TState>(TState state)
            where TState : notnull => null;

        public bool IsEnabled(LogLevel logLevel) => true;

        public void Log<TState>(LogLevel logLevel, EventId eventId, TState state, Exception? exception, Func<TState, Exception?,
            string> formatter) =>
            Said.Add(formatter(state, exception));
    }
}
