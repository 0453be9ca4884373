using Microsoft.Extensions.Logging;
using RootCellar.Household;
using RootCellar.Lots;
using RootCellar.Mirror;
using RootCellar.Readings;
using RootCellar.Storage;
using RootCellar.Tests.Storage;

namespace RootCellar.Tests.Mirror;

/// <summary>The mirror against a server that has the faults a real one cannot be made to have.</summary>
public sealed class MirrorServiceTests : IAsyncLifetime
{
    private static readonly MirrorPace Quick = new()
    {
        Retries = 2,
        FirstRetry = TimeSpan.FromMilliseconds(20),
        LongestRetry = TimeSpan.FromSeconds(2),
        Break = TimeSpan.FromMilliseconds(600),
        Refused = TimeSpan.FromMilliseconds(200),
        Away = TimeSpan.FromMilliseconds(200),
    };

    private readonly TempFolder folder = new();
    private readonly HouseTime time = new(Sample.At.AddHours(30));
    private readonly MirrorState state = new();
    private readonly Lines log = new();
    private Store store = null!;
    private StandIn server = null!;
    private MirrorService? mirror;

    public async ValueTask InitializeAsync()
    {
        store = folder.Open(time, batchSeconds: 0);
        server = await StandIn.StartAsync();
        await store.WriteAsync(c => SensorRows.Save(c, new SensorRow(1, "cellar/door", "cellar", null, null, Sample.At, null)));
    }

    public async ValueTask DisposeAsync()
    {
        await StopAsync();
        await server.DisposeAsync();
        await store.DisposeAsync();
        folder.Dispose();
    }

    [Fact]
    public async Task Points_go_out_packed_with_the_token_to_the_bucket_and_never_twice_without_need()
    {
        await StartAsync();
        await KeepAsync(1, 250);
        await CaughtUpAsync(250);

        server.Taken.Should().HaveCount(250).And.OnlyHaveUniqueItems();
        server.Writes.Should()
            .OnlyContain(w => w.Gzip && w.Token == "Token secret-one" && w.Path == "/api/v2/write?org=house&bucket=cellar&precision=ns");
        server.Writes.Should().OnlyContain(w => w.Lines.Length <= 100);
        state.Now.Sent.Should().Be(250);
    }

    [Fact]
    public async Task A_wrong_token_is_found_before_there_is_anything_to_send()
    {
        server.Behave = (_, _) => (401, "no", null);
        await StartAsync();
        await Sample.UntilAsync(() => state.Now.State == MirrorWord.Refused);
        state.Now.BehindRows.Should().Be(0);
    }

    [Theory]
    [InlineData(401, "does not know the token")]
    [InlineData(403, "may not write")]
    [InlineData(404, "no such organisation or bucket")]
    [InlineData(301, "it answers 301")]
    public async Task A_refusal_is_said_once_and_nothing_is_lost(int status, string words)
    {
        server.Behave = (_, _) => (status, "no", null);
        await StartAsync();
        await KeepAsync(1, 30);
        await Sample.UntilAsync(() => state.Now.State == MirrorWord.Refused && server.Writes.Count >= 3);

        state.Now.Problem.Should().Contain(words);
        state.Now.BehindRows.Should().Be(30);
        log.Of(LogLevel.Warning).Should().ContainSingle("it was tried thrice and more").Which.Should()
            .Contain(words).And.NotContain("secret");
        server.Behave = (_, _) => (204, "", null);
        await CaughtUpAsync(30);
        server.Taken.Should().HaveCount(30);
        state.Now.LastError.Should().Contain(words, "what was is still shown");
    }

    [Fact]
    public async Task A_token_that_is_put_right_in_its_file_is_used_without_a_restart()
    {
        server.Behave = (token, _) => token == "Token secret-two" ? (204, "", null) : (401, "unauthorized access", null);
        await StartAsync();
        await KeepAsync(1, 5);
        await Sample.UntilAsync(() => state.Now.State == MirrorWord.Refused);
        await File.WriteAllTextAsync(TokenFile, "secret-two\n", TestContext.Current.CancellationToken);
        await CaughtUpAsync(5);
        server.Taken.Should().HaveCount(5);
    }

    [Fact]
    public async Task A_malformed_point_is_set_aside_and_its_neighbours_arrive()
    {
        server.Behave = (_, lines) => lines.Any(l => l.Contains("temperature_c=7 ", StringComparison.Ordinal))
            ? (400, "unable to parse", null) : (204, "", null);
        await StartAsync();
        await KeepAsync(1, 60);
        await CaughtUpAsync(59);

        server.Taken.Should().HaveCount(59).And.OnlyHaveUniqueItems();
        state.Now.Aside.Should().Be(1);
        store.Text("SELECT point || ' / ' || why FROM mirror_aside").Should().Contain("temperature_c=7 ").And.Contain("unable to parse");
        log.Of(LogLevel.Warning).Should().ContainSingle(l => l.Contains("malformed", StringComparison.Ordinal));
    }

    [Theory]
    [InlineData(3)]
    [InlineData(90)]
    public async Task A_server_that_calls_everything_malformed_is_not_believed(int points)
    {
        server.Behave = (_, _) => (400, "what is this", null);
        await StartAsync();
        await KeepAsync(1, points);
        await Sample.UntilAsync(() => state.Now.State == MirrorWord.Refused);

        state.Now.Problem.Should().Contain("every point malformed");
        state.Now.Aside.Should().Be(0);
        server.Behave = (_, _) => (204, "", null);
        await CaughtUpAsync(points);
        server.Taken.Distinct().Should().HaveCount(points);
    }

    [Fact]
    public async Task What_is_too_large_goes_in_smaller_parts()
    {
        server.Behave = (_, lines) => lines.Length > 7 ? (413, "too large", null) : (204, "", null);
        await StartAsync();
        await KeepAsync(1, 100);
        await CaughtUpAsync(100);
        server.Taken.Should().HaveCount(100).And.OnlyHaveUniqueItems();
        state.Now.Aside.Should().Be(0);
    }

    [Theory]
    [InlineData(500, null)]
    [InlineData(503, 1)]
    [InlineData(429, 1)]
    public async Task A_full_or_busy_server_is_tried_again(int status, int? retryAfter)
    {
        var tries = 0;
        server.Behave = (_, _) => Interlocked.Increment(ref tries) <= 4 ? (status, "full", retryAfter) : (204, "", null);
        await StartAsync();
        await KeepAsync(1, 20);
        await CaughtUpAsync(20);
        server.Taken.Distinct().Should().HaveCount(20);
    }

    [Fact]
    public async Task A_server_that_does_not_answer_is_left_and_found_again()
    {
        server.Slowness = TimeSpan.FromSeconds(20);
        await StartAsync(timeoutSeconds: 1);
        await KeepAsync(1, 20);
        await Sample.UntilAsync(() => state.Now.State == MirrorWord.Waiting);
        state.Now.Problem.Should().ContainAny("in time", "soon");
        server.Slowness = TimeSpan.Zero;
        await CaughtUpAsync(20);
        state.Now.Problem.Should().BeNull();
    }

    [Fact]
    public async Task A_day_of_queue_is_caught_up_at_the_rate_that_was_set()
    {
        const int Minutes = 1_440;
        await StartAsync();
        await KeepAsync(1, 1);
        await CaughtUpAsync(1);
        await StopAsync();
        await KeepAsync(2, Minutes);
        var clock = new HouseTime(Sample.At);
        await StartAsync(rowsPerSecond: 20, timeoutSeconds: 600, pace: Quick with { Time = clock });
        // What passes while a batch is on its way counts.
        var tenths = 0;
        for (; state.Now.Sent < Minutes && tenths < 20_000; tenths++)
        {
            clock.Advance(TimeSpan.FromSeconds(0.1));
            await store.WriteAsync(_ => { });
        }

        tenths.Should().BeInRange(600, 19_999, "1,400 at twenty a second");
        server.Taken.Should().HaveCount(Minutes).And.OnlyHaveUniqueItems();
    }

    [Fact]
    public async Task A_change_of_an_alarm_is_a_point_at_the_moment_it_names()
    {
        await StartAsync();
        await Sample.UntilAsync(() => state.Now.State == MirrorWord.UpToDate);
        var raised = new RootCellar.Watch.Alarm(
            "a1", 1, RootCellar.Watch.Rule.TooWarm, "cellar", null, RootCellar.Watch.AlarmPriority.High,
            RootCellar.Watch.AlarmState.Unacknowledged, true, RootCellar.Watch.Measure.Air, 12, 7, 13,
            Sample.At, Sample.At.AddMinutes(-20));
        await store.WriteAsync(c => RootCellar.Watch.AlarmRows.Save(c, raised));
        var seen = raised.Acknowledge("Nell", Sample.At.AddMinutes(3));
        await store.WriteAsync(c => RootCellar.Watch.AlarmRows.Save(c, seen));
        var over = seen.ReturnToNormal(Sample.At.AddMinutes(9));
        await store.WriteAsync(c => RootCellar.Watch.AlarmRows.Save(c, over));
        await CaughtUpAsync(3);

        var sent = server.Taken.Where(l => l.StartsWith("alarm,", StringComparison.Ordinal)).ToList();
        sent.Select(l => l.Split(' ')[^1]).Should().Equal(
            new[] { 0, 3, 9 }.Select(m => $"{Sample.At.AddMinutes(m).ToUnixTimeMilliseconds()}000000"));
        sent[0].Should().StartWith("alarm,place=cellar,priority=high,rule=too-warm ").And.Contain("active=1i").And.Contain(
            "raised=1i").And.Contain("state=\"unacknowledged\"");
        sent[2].Should().Contain("active=0i").And.Contain("state=\"normal\"").And.Contain("acknowledged_by=\"Nell\"");
        Points.AlarmLife(store.Text("SELECT body FROM alarm")).Select(l => l.Split(' ')[^1]).Should()
            .Equal(sent.Select(l => l.Split(' ')[^1]), "a backfill falls on the same points");
    }

    private string TokenFile => Path.Combine(folder.Path, "token");

    private async Task StartAsync(int rowsPerSecond = 100_000, int timeoutSeconds = 20, MirrorPace? pace = null)
    {
        if (!File.Exists(TokenFile)) await File.WriteAllTextAsync(TokenFile, "secret-one\n", TestContext.Current.CancellationToken);
        var options = new MirrorOptions
        {
            EverySeconds = 1,
            BatchRows = 100,
            RowsPerSecond = rowsPerSecond,
            Influx = { Url = server.Url, Org = "house", Bucket = "cellar", TokenFile = TokenFile, TimeoutSeconds = timeoutSeconds },
        };
        options.Influx.Problems().Should().BeEmpty();
        mirror = new MirrorService(options, store, () => LotViews.Nothing, state, time, log, pace ?? Quick);
        await mirror.StartAsync(TestContext.Current.CancellationToken);
        await Sample.UntilAsync(() => state.Now.State is not (MirrorWord.Off or MirrorWord.Starting));
    }

    private async Task StopAsync()
    {
        if (mirror is null) return;
        await mirror.StopAsync(CancellationToken.None);
        mirror.Dispose();
        mirror = null;
    }

    /// <summary>One reading a minute.</summary>
    private Task KeepAsync(int first, int last) => store.AppendAsync(
        [.. Enumerable.Range(first, last - first + 1).Select(i => Sample.Reading(i, Sample.At.AddMinutes(i)))], urgent: true).AsTask();

    private Task CaughtUpAsync(long sent) => Sample.UntilAsync(
        () => state.Now is { State: MirrorWord.UpToDate, BehindRows: 0 } now && now.Sent >= sent);

    private sealed class Lines : ILogger<MirrorService>
    {
        private readonly List<(LogLevel Level, string Text)> lines = [];

        public IReadOnlyList<string> Of(LogLevel level)
        {
            lock (lines) return [.. lines.Where(l => l.Level == level).Select(l => l.Text)];
        }

        public IDisposable? BeginScope<TState>(TState state)
            where TState : notnull => null;

        public bool IsEnabled(LogLevel logLevel) => true;

        public void Log<TState>(LogLevel logLevel, EventId eventId, TState state, Exception? exception, Func<TState, Exception?,
            string> formatter)
        {
            lock (lines) lines.Add((logLevel, formatter(state, exception)));
        }
    }
}
