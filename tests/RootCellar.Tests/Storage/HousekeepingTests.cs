using RootCellar.Readings;
using RootCellar.Storage;

namespace RootCellar.Tests.Storage;

public sealed class HousekeepingTests : IAsyncLifetime
{
    private readonly TempFolder folder = new();
    private Store store = null!;

    public async ValueTask InitializeAsync()
    {
        store = folder.Open(new HouseTime(Sample.At));
        foreach (var id in new[] { 1, 2 })
            await store.WriteAsync(c => SensorRows.Save(c, new SensorRow(id, $"cellar/{id}", null, null, null, Sample.At, null)));
    }

    public async ValueTask DisposeAsync()
    {
        await store.DisposeAsync();
        folder.Dispose();
    }

    [Fact]
    public async Task Old_readings_become_minimum_mean_and_maximum_of_the_good_ones()
    {
        await store.AppendAsync(
            [At(0, 4), At(1, 5), At(2, 9), At(3, 85, Quality.KnownFault), At(4, double.NaN, Quality.NotFinite), At(5, 6), At(60, 7)],
            urgent: true);
        (await StepAsync(before: 59)).Should().Be(6);
        (await StepAsync(before: 59)).Should().Be(0);
        Rollups().Should().Be("0:4/6/9*3 5:6/6/6*1");
        store.Text("SELECT value FROM reading").Should().Be("7", "it is not old yet");
    }

    [Fact]
    public async Task Every_hour_what_is_too_old_is_summed_up_and_old_sums_go()
    {
        var time = new HouseTime(Sample.At);
        await store.AppendAsync([At(0, 4), At(1, 6), At(3 * 24 * 60, 9)], urgent: true);
        await store.WriteAsync(c =>
        {
            c.Execute("INSERT INTO rollup (sensor, quantity, at_ms, low, mean, high, count) VALUES (1, 1, $at, 1, 1, 1, 1)",
                ("$at", Sample.At.AddDays(-12).ToUnixTimeMilliseconds()));
        });
        using var keeping = new Housekeeping(store, new KeepOptions { RawDays = 2, SummaryDays = 10 }, time,
            new RootCellar.Diagnostics.FailedWork(time, Microsoft.Extensions.Logging.Abstractions.NullLogger<RootCellar.Diagnostics.FailedWork>.Instance),
            Microsoft.Extensions.Logging.Abstractions.NullLogger<Housekeeping>.Instance);
        await keeping.StartAsync(TestContext.Current.CancellationToken);
        await Sample.UntilAsync(() => store.Text("SELECT count(*) FROM rollup") == "0");
        store.Text("SELECT count(*) FROM reading").Should().Be("3", "none is two days old");

        // An hour too early nothing of it has passed; three days on the first two are old.
        time.Advance(TimeSpan.FromDays(3));
        await Sample.UntilAsync(() =>
        {
            time.Advance(TimeSpan.FromHours(1));
            return store.Text("SELECT count(*) FROM reading") == "1";
        });
        Rollups().Should().Be("0:4/5/6*2");
        store.Text("SELECT value FROM reading").Should().Be("9");
        await keeping.StopAsync(TestContext.Current.CancellationToken);
    }

    [Fact]
    public async Task A_late_reading_is_merged_into_its_window()
    {
        await store.AppendAsync([At(0, 4), At(1, 6)], urgent: true);
        await StepAsync(before: 59);
        await store.AppendAsync([At(2, 11)], urgent: true);
        await StepAsync(before: 59);
        Rollups().Should().Be("0:4/7/11*3");
    }

    [Fact]
    public async Task The_window_that_is_only_half_old_is_completed_later()
    {
        await store.AppendAsync([At(0, 4), At(4, 6)], urgent: true);
        (await StepAsync(before: 3)).Should().Be(1);
        (await StepAsync(before: 59)).Should().Be(1);
        Rollups().Should().Be("0:4/5/6*2");
    }

    [Theory]
    [InlineData(2, Quantity.Humidity)]
    [InlineData(2, Quantity.SignalStrength)]
    [InlineData(1, Quantity.Light)]
    public async Task Every_sensor_and_quantity_has_its_turn(int sensor, Enum quantity)
    {
        await store.AppendAsync([Sample.Reading(5, quantity: (Quantity)quantity, sensor: sensor), Sample.Reading(7, Sample.At.AddDays(1))],
            urgent: true);
        (await StepAsync(before: 59)).Should().Be(1);
        (await StepAsync(before: 59)).Should().Be(0);
    }

    [Fact]
    public async Task It_goes_in_small_steps_while_intake_goes_on_and_nothing_is_lost()
    {
        await store.AppendAsync([.. Enumerable.Range(0, 9_000).Select(i => Sample.Reading(i % 10, Sample.At.AddSeconds(i)))], urgent: true);
        var steps = new List<int>();
        var taken = 0;
        do
        {
            var step = StepAsync(before: 24 * 60);
            await store.AppendAsync([Sample.Reading(3, Sample.At.AddDays(2).AddSeconds(taken))], urgent: true);
            taken++;
            steps.Add(await step);
        }
        while (steps[^1] > 0);
        steps.Should().HaveCountGreaterThan(4).And.AllSatisfy(s => s.Should().BeLessThanOrEqualTo(2_300, "a step ends with its window"));
        steps.Sum().Should().Be(9_000);
        store.Text("SELECT sum(count) FROM rollup").Should().Be("9000");
        store.Count().Should().Be(taken);
    }

    private static StoredReading At(double minute, double value, Quality quality = Quality.Good) =>
        Sample.Reading(value, Sample.At.AddMinutes(minute), quality: quality);

    private Task<int> StepAsync(double before) => store.WriteAsync(c => Housekeeping.SummariseSome(c, Sample.At.AddMinutes(before), 5));

    private string Rollups() => store.Read(c => string.Join(" ", c.Query(
        "SELECT at_ms, low, mean, high, count FROM rollup ORDER BY at_ms",
        r => FormattableString.Invariant(
            $"{(r.Time(0) - Sample.At).TotalMinutes}:{r.GetDouble(1)}/{r.GetDouble(2)}/{r.GetDouble(3)}*{r.GetInt32(4)}"))));
}
