using System.Diagnostics.Metrics;
using Microsoft.Extensions.DependencyInjection;
using Microsoft.Extensions.Diagnostics.HealthChecks;
using Microsoft.Extensions.Logging;
using Microsoft.Extensions.Time.Testing;
using RootCellar.Diagnostics;
using RootCellar.Tests.Pages;
using RootCellar.Tests.Storage;

namespace RootCellar.Tests.Running;

/// <summary>Work that nobody awaits does not fail in silence.</summary>
public sealed class FailedWorkTests
{
    private readonly FakeTimeProvider time = new(Sample.At);
    private readonly Lines lines = new();

    [Fact]
    public async Task A_failure_is_logged_counted_and_shown_for_an_hour()
    {
        await using var failed = Make();
        var counted = 0L;
        using var listener = Count(n => counted += n);

        failed.Watch(Task.FromException(new IOException("no such card")), "record", "keeping the air of a place");
        await Sample.UntilAsync(() => failed.Recent.Count == 1);

        failed.Recent[0].Should().Match<WorkFailure>(
            f => f.What == "keeping the air of a place" && f.Count == 1 && f.Problem == "no such card" && !f.Failing);
        lines.All.Should().ContainSingle(l => l.Contains("keeping the air of a place"));
        counted.Should().Be(1);
        (await HealthAsync(failed)).Should().Be(HealthStatus.Degraded);

        time.Advance(FailedWork.ShownFor);
        failed.Recent.Should().BeEmpty();
        (await HealthAsync(failed)).Should().Be(HealthStatus.Healthy);
    }

    [Fact]
    public async Task Every_part_of_a_task_that_failed_is_said()
    {
        await using var failed = Make();

        failed.Watch(Task.WhenAll(Task.FromException(new IOException("one")), Task.FromException(new IOException("two"))), "record",
            "keeping changes");

        await Sample.UntilAsync(() => failed.Recent is [{ Count: 2 }]);
    }

    [Fact]
    public async Task A_thousand_failures_are_two_lines_of_the_log()
    {
        await using var failed = Make();
        for (var i = 0; i < 1_000; i++) failed.Failed("record", "keeping the air of a place", new IOException("no such card"));

        lines.All.Should().HaveCount(1);
        time.Advance(TimeSpan.FromMinutes(10));
        lines.All.Should().HaveCount(2);
        lines.All[1].Should().Contain("999 times more");
        failed.Recent[0].Count.Should().Be(1_000);
    }

    [Fact]
    public async Task Work_is_tried_again_until_it_is_done_and_counts_as_failing_meanwhile()
    {
        await using var failed = Make();
        var tries = 0;
        var done = new TaskCompletionSource();

        failed.Run("record", "copying the set-up", _ =>
        {
            if (Interlocked.Increment(ref tries) < 3) throw new IOException("no such card");
            done.SetResult();
            return Task.CompletedTask;
        });
        await Sample.UntilAsync(() => failed.Recent is [{ Failing: true }]);
        await Sample.UntilAsync(() =>
        {
            time.Advance(TimeSpan.FromSeconds(1));
            return done.Task.IsCompleted;
        });
        await Sample.UntilAsync(() => failed.Recent is [{ Failing: false, Count: 2 }]);
        lines.All.Should().Contain(l => l.Contains("works again"));
    }

    [Fact]
    public async Task Work_that_was_told_to_stop_has_not_failed_but_a_time_that_ran_out_has()
    {
        await using var failed = Make();
        failed.Watch(Task.FromCanceled(new CancellationToken(canceled: true)), "record", "stopped");
        failed.Watch(Task.FromException(new TaskCanceledException("too slow", new TimeoutException())), "texts", "too slow");

        await Sample.UntilAsync(() => failed.Recent.Count > 0);
        failed.Recent.Should().ContainSingle(f => f.What == "too slow");
    }

    [Fact]
    public async Task Now_says_it_in_one_line()
    {
        await using var site = await Site.OpenAsync();
        (await site.WordsAsync("/")).Should().NotContain("own work");

        site.Services.GetRequiredService<FailedWork>()
            .Failed("record", "keeping the air of a place", new IOException("/secret/path"), triedAgain: true);
        var words = await site.WordsAsync("/");
        words.Should().Contain("own work fails now.").And.Contain("keeping the record (times: 1").And.NotContain("/secret/path");

        site.Time.Advance(FailedWork.ShownFor);
        (await site.WordsAsync("/")).Should().Contain("own work fails now.", "it is still failing");
        site.Services.GetRequiredService<FailedWork>().WorksAgain("record", "keeping the air of a place");
        (await site.WordsAsync("/")).Should().NotContain("own work");
    }

    private FailedWork Make() => new(time, lines);

    private static async Task<HealthStatus> HealthAsync(FailedWork failed) =>
        (await failed.CheckHealthAsync(new HealthCheckContext())).Status;

    private static MeterListener Count(Action<long> add)
    {
        var listener = new MeterListener
        {
            InstrumentPublished = (instrument, l) =>
            {
                if (instrument.Name == "rootcellar.work.failed") l.EnableMeasurementEvents(instrument);
            },
        };
        listener.SetMeasurementEventCallback<long>((_, value, tags, _) =>
        {
            foreach (var tag in tags) if (tag is { Key: "what", Value: "keeping the air of a place" }) add(value);
        });
        listener.Start();
        return listener;
    }

    /// <summary>The lines of the log.</summary>
    private sealed class Lines : ILogger<FailedWork>
    {
        private readonly List<string> all = [];

        public IReadOnlyList<string> All
        {
            get
            {
                lock (all) return [.. all];
            }
        }

        public IDisposable? BeginScope<TState>(TState state)
            where TState : notnull => null;

        public bool IsEnabled(LogLevel logLevel) => true;

        public void Log<TState>(LogLevel logLevel, EventId eventId, TState state, Exception? exception, Func<TState, Exception?,
            string> formatter)
        {
            lock (all) all.Add(formatter(state, exception));
        }
    }
}
