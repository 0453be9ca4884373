using System.Diagnostics.Metrics;
using Microsoft.Extensions.DependencyInjection;
using RootCellar.Entry;
using RootCellar.Monitoring;
using RootCellar.Places;
using RootCellar.Readings;
using RootCellar.Storage;
using RootCellar.Tests.Entry;
using RootCellar.Tests.Pages;
using RootCellar.Tests.Storage;

namespace RootCellar.Tests.Households;

/// <summary>The picture that pages read: there before its asker has the answer, never changed, and never waited for.</summary>
public sealed class SnapshotTests
{
    private static readonly TimeSpan Patience = TimeSpan.FromMinutes(2);

    [Fact]
    public async Task A_change_is_in_it_before_the_answer_and_a_reading_before_its_receipt()
    {
        await using var farm = await Farm.WithCellarAsync();
        farm.Pipeline.Snapshot.Place("cellar")!.Air.Should().BeNull();
        for (var i = 0; i < 50; i++)
        {
            await farm.SayAsync("rootcellar/cellar/door/temperature_c", $"{i / 10.0}");
            farm.Pipeline.Snapshot.Place("cellar")!.Air!.TemperatureC.Should().Be(i / 10.0);
            await farm.PlaceAsync($"shelf-{i}");
            farm.Pipeline.Snapshot.Place($"shelf-{i}").Should().NotBeNull();
        }
    }

    [Fact]
    public async Task One_that_was_taken_stays_as_it_was()
    {
        await using var farm = await Farm.WithCellarAsync(Farm.AtOnce());
        await farm.SayAsync("rootcellar/cellar/door/temperature_c", "4");
        var before = farm.Pipeline.Snapshot;
        farm.Time.Advance(TimeSpan.FromHours(2));
        await farm.SayAsync("rootcellar/cellar/door/temperature_c", "-9");
        await farm.SayAsync("rootcellar/cellar/window", "not a reading");
        await farm.PlaceAsync("attic");
        await farm.SettledAsync();
        var after = farm.Pipeline.Snapshot;

        (before.Places.Count, before.Place("cellar")!.Air!.TemperatureC, before.Unreadable.Count, before.OpenAlarms.Count).Should()
            .Be((1, 4, 0, 0));
        before.Sensor("cellar/door")!.Last.Single().Value.Should().Be(4);
        (after.Places.Count, after.Place("cellar")!.Air!.TemperatureC, after.Unreadable.Count).Should().Be((2, -9, 1));
        after.OpenAlarms.Should().NotBeEmpty();
        after.Sensor("cellar/door")!.Last.Single().Value.Should().Be(-9);
    }

    [Fact]
    public async Task While_messages_wait_making_them_takes_a_twentieth_of_the_threads_time_and_the_last_is_in_it()
    {
        var time = new HouseTime(Sample.At) { PerLook = TimeSpan.FromMilliseconds(1) };
        await using var farm = await Farm.WithCellarAsync(time: time);
        Task last;
        long begun, made;
        using (var gate = new Gate(farm.Pipeline))
        {
            await gate.ClosedAsync();
            (begun, made) = (time.Looks, farm.Pipeline.Snapshots);
            for (var i = 0; i < 400; i++) await farm.HintAsync("rootcellar/cellar/door/temperature_c", $"{i / 100.0}");
            last = await farm.Pipeline.OfferAsync(
                new Arrived("rootcellar/cellar/door/temperature_c", "4"u8.ToArray(), WantsReceipt: true, Dup: false, Replay: false));
        }

        await last;
        farm.Pipeline.Snapshot.Place("cellar")!.Air!.TemperatureC.Should().Be(4);
        (farm.Pipeline.Snapshots - made).Should().BeInRange(2, ((time.Looks - begun) / 20) + 3);
    }

    [Fact]
    public async Task No_page_and_no_answer_of_the_api_waits_for_the_thread_that_judges()
    {
        await using var site = await Site.OpenAsync();
        await site.FillAsync();
        using var ann = await Visitor.HouseholdAsync(site);
        using var gate = new Gate(site.Services.GetRequiredService<Pipeline>());
        await gate.ClosedAsync();
        foreach (var (method, pattern, path, _, _) in await WhoMayTests.EndpointsAsync(site))
        {
            if (method != "GET") continue;
            var answer = await ann.GetAsync(path).WaitAsync(Patience, TimeProvider.System, TestContext.Current.CancellationToken);
            ((int)answer.Status).Should().BeLessThan(500, pattern);
        }
    }

    [Fact]
    public async Task A_page_whose_client_went_away_stops_waiting_and_what_was_not_begun_is_not_done()
    {
        await using var site = await Site.OpenAsync();
        using var underWay = new UnderWay(site);
        var pipeline = site.Services.GetRequiredService<Pipeline>();
        using (var gate = new Gate(pipeline))
        {
            await gate.ClosedAsync();
            using var leaving = await Visitor.TokenAsync(site, Tokens.MayAll);
            var asked = leaving.JsonAsync("POST", "/api/places", """{"place":"attic","purpose":"storage"}""");
            await underWay.BecomesAsync(1);
            leaving.Dispose();
            await FluentActions.Awaiting(() => asked).Should().ThrowAsync<Exception>();
            await underWay.BecomesAsync(0);
        }

        await pipeline.AskAsync((_, _, _) => true, TestContext.Current.CancellationToken);
        pipeline.Snapshot.Place("attic").Should().BeNull();
    }

    [Fact]
    public async Task What_was_begun_is_finished_and_kept_whoever_goes_away()
    {
        await using var farm = await Farm.WithCellarAsync();
        using var client = new CancellationTokenSource();
        var asked = farm.Pipeline.AskAsync(
            (house, _, _) =>
            {
                client.Cancel();
                house.SavePlace(new Place("attic", "Attic", Purpose.Storage, null, ["potato"]));
                return true;
            },
            client.Token);
        await FluentActions.Awaiting(() => asked).Should().ThrowAsync<OperationCanceledException>();
        await farm.SettledAsync();
        farm.Pipeline.Snapshot.Place("attic").Should().NotBeNull();
        farm.Store.Read(PlaceRows.All).Should().Contain(p => p.Id == "attic");
        farm.Failed.Recent.Should().BeEmpty();
    }

    /// <summary>Holds up the one thread until it is disposed of.</summary>
    private sealed class Gate : IDisposable
    {
        private readonly ManualResetEventSlim open = new();
        private readonly TaskCompletionSource closed = new(TaskCreationOptions.RunContinuationsAsynchronously);
        private readonly Task held;

        public Gate(Pipeline pipeline) => held = pipeline.AskAsync(
            (_, _, _) =>
            {
                closed.SetResult();
                return open.Wait(Patience);
            },
            CancellationToken.None);

        public Task ClosedAsync() => closed.Task;

        public void Dispose()
        {
            open.Set();
            held.Wait(Patience, CancellationToken.None);
            open.Dispose();
        }
    }

    /// <summary>How many requests a site is at.</summary>
    private sealed class UnderWay : IDisposable
    {
        private readonly MeterListener listener = new();
        private readonly Lock gate = new();
        private long now;
        private (long Count, TaskCompletionSource Done)? awaited;

        public UnderWay(Site site)
        {
            var its = site.Services.GetRequiredService<IMeterFactory>();
            listener.InstrumentPublished = (instrument, l) =>
            {
                if (instrument.Name == "http.server.active_requests" && ReferenceEquals(instrument.Meter.Scope, its))
                    l.EnableMeasurementEvents(instrument);
            };
            listener.SetMeasurementEventCallback<long>((_, by, _, _) =>
            {
                lock (gate)
                {
                    now += by;
                    if (awaited is { } a && a.Count == now) a.Done.TrySetResult();
                }
            });
            listener.Start();
        }

        public Task BecomesAsync(long count)
        {
            lock (gate)
            {
                if (now == count) return Task.CompletedTask;
                awaited = (count, new TaskCompletionSource(TaskCreationOptions.RunContinuationsAsynchronously));
                return awaited.Value.Done.Task.WaitAsync(Patience, TimeProvider.System, TestContext.Current.CancellationToken);
            }
        }

        public void Dispose() => listener.Dispose();
    }
}
