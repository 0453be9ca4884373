using Microsoft.Extensions.DependencyInjection;
using RootCellar.Household;
using RootCellar.Lots;
using RootCellar.Monitoring;
using RootCellar.Places;
using RootCellar.Storage;
using RootCellar.Tests.Pages;
using RootCellar.Tests.Storage;

namespace RootCellar.Tests.Households;

/// <summary>Readings that were stored while the network was away, as they come: over MQTT, with the device's own times.</summary>
public sealed class LateOverMqttTests
{
    private static readonly TimeSpan Apart = TimeSpan.FromMinutes(10);

    // Off the five minutes, so that no reading and sample fall on one moment.
    private static readonly DateTimeOffset Begin = Sample.At.AddMinutes(-2).AddDays(-6);

    [Fact]
    public async Task Six_days_that_were_stored_make_the_air_of_their_own_hours_and_the_lot_is_worked_out_from_there()
    {
        var port = Radio.FreePort();
        await using var site = await Site.OpenAsync(change: s => s.Mqtt.Listen = $"127.0.0.1:{port}");
        await FillAsync(site);
        (await site.Lots.AdvanceAsync(TestContext.Current.CancellationToken)).Bins["B1"].DarkHours.Should()
            .BeGreaterThan(140, "nobody has measured yet");

        await using (var radio = await Radio.OnAsync(port))
        {
            for (var i = 0; i < 864; i++) await SayAsync(radio, Begin + (i * Apart), i);
        }

        await GoUntilAsync(site, () => Air(site).Count > 1700);
        var air = Air(site);
        air.Should().HaveCountLessThanOrEqualTo(1730).And.BeInAscendingOrder(a => a.At);
        var day2 = air.Single(a => a.At == new DateTimeOffset(2025, 9, 30, 6, 0, 0, TimeSpan.Zero));
        (day2.TemperatureC, day2.RelativeHumidityPercent, day2.PulpC, day2.Quality).Should()
            .Be((Temperature(288), 92, Temperature(288) + 0.5, AirQuality.Good));

        await GoUntilAsync(site, () => site.Lots.Views.Bins["B1"].DarkHours < 2);
        site.Lots.Views.Bins["B1"].PulpC.Should().BeInRange(4.5, 7);
        (await site.WordsAsync("/places/cellar")).Should().NotContain("No reading");
        (await OpenAlarmsAsync(site)).Should().Be(0);
    }

    [Fact]
    public async Task The_estimate_is_that_of_the_same_readings_heard_live()
    {
        const int Messages = 100;
        var live = await RunAsync(async (site, radio, at) =>
        {
            for (var i = 0; i < Messages; i++)
            {
                await SayAsync(radio, at + (i * Apart), i);
                await PassAsync(site, Apart);
            }
        });
        var late = await RunAsync(async (site, radio, at) =>
        {
            await PassAsync(site, Messages * Apart);
            for (var i = 0; i < Messages; i++) await SayAsync(radio, at + (i * Apart), i);
        });

        late.Air.Should().HaveCountGreaterThan(195);
        var seconds = TimeSpan.FromSeconds(1);
        late.Air.Take(190).Zip(live.Air).Should().AllSatisfy(
            pair => (pair.First.TemperatureC, pair.First.RelativeHumidityPercent, pair.First.PulpC)
            .Should().Be((pair.Second.TemperatureC, pair.Second.RelativeHumidityPercent, pair.Second.PulpC)));
        late.Air.Take(190).Zip(live.Air).Should().AllSatisfy(pair => pair.First.At.Should().BeCloseTo(pair.Second.At, seconds));
        // To a hundred-thousandth. The same air is folded by the same law, but the last reading came ten minutes later, so it stood for now
        // ten minutes longer.
        late.Bin.Kg.Value.Should().BeApproximately(live.Bin.Kg.Value, 1e-5 * live.Bin.Kg.Value);
        late.Bin.HealedDays.Should().BeApproximately(live.Bin.HealedDays, 1e-3);
        late.Bin.DarkHours.Should().BeApproximately(live.Bin.DarkHours, 0.2);
    }

    private static async Task<(IReadOnlyList<PlaceAir> Air, BinEstimate Bin)> RunAsync(Func<Site, Radio, DateTimeOffset, Task> story)
    {
        var port = Radio.FreePort();
        await using var site = await Site.OpenAsync(change: s => s.Mqtt.Listen = $"127.0.0.1:{port}", at: Begin);
        await site.WriteAsync(Filled(Begin));
        await using var radio = await Radio.OnAsync(port);
        await story(site, radio, Begin);
        await GoUntilAsync(site, () => site.Store.Read(c => c.Scalar("SELECT count(*) FROM reading_late")) is 0L && Air(site).Count > 195);
        var now = site.Time.GetUtcNow();
        await PassAsync(site, Begin.AddHours(18) - now);
        var views = await site.Lots.AdvanceAsync(TestContext.Current.CancellationToken);
        return (Air(site), views.Bins["B1"]);
    }

    private static Task SayAsync(Radio radio, DateTimeOffset at, int i) => radio.SayAsync(
        "rootcellar/cellar/door",
        $$"""{"temperature_c":{{Temperature(i)}},"humidity_pct":92,"pulp_c":{{Temperature(i) + 0.5}},"time":{{at.ToUnixTimeSeconds()}}}""");

    private static double Temperature(int i) => Math.Round(5 + Math.Sin(i / 20.0), 2);

    private static string Filled(DateTimeOffset at) =>
        $$"""
        [{"event":"dug","lot":"2025-1","crop":"potato","variety":"Kennebec","at":"{{at:yyyy-MM-ddTHH:mm:ssZ}}","dugOn":"{{at:yyyy-MM-dd}}"},
         {"event":"filled","bin":"B1","lot":"2025-1","weightKg":20,"place":"cellar","at":"{{at:yyyy-MM-ddTHH:mm:ssZ}}"}]
        """;

    private static Task FillAsync(Site site) => site.WriteAsync(Filled(Begin.AddMinutes(1)));

    private static List<PlaceAir> Air(Site site) =>
        [.. site.Store.Read(c => PlaceRows.Air(c, "cellar", DateTimeOffset.UnixEpoch, DateTimeOffset.MaxValue))
            .Where(a => a.At.ToUnixTimeSeconds() % 300 < 2)];

    private static async Task<int> OpenAlarmsAsync(Site site)
    {
        var pipeline = site.Services.GetRequiredService<Pipeline>();
        await pipeline.AskAsync((_, _, _) => true, TestContext.Current.CancellationToken);
        return pipeline.Snapshot.OpenAlarms.Count;
    }

    /// <summary>Time goes by as it does, and all that was queued on the way is looked at.</summary>
    private static async Task PassAsync(Site site, TimeSpan span)
    {
        // Minute by minute: whatever comes due within one step sees the time at its end.
        for (var left = span; left > TimeSpan.Zero; left -= TimeSpan.FromMinutes(1))
        {
            site.Time.Advance(left < TimeSpan.FromMinutes(1) ? left : TimeSpan.FromMinutes(1));
            await OpenAlarmsAsync(site);
        }

        await site.Store.WriteAsync(_ => { });
    }

    // The service works on its own threads while its time stands still; a little of it at a time, so that its timers come round.
    private static async Task GoUntilAsync(Site site, Func<bool> holds)
    {
        using var patience = new CancellationTokenSource(TimeSpan.FromMinutes(1));
        while (!holds())
        {
            site.Time.Advance(TimeSpan.FromSeconds(5));
            await Task.Delay(5, patience.Token);
        }
    }
}
