using RootCellar.Mirror;
using RootCellar.Places;
using RootCellar.Readings;
using RootCellar.Storage;
using RootCellar.Tests.Storage;

namespace RootCellar.Tests.Households;

/// <summary>What late readings do, what they leave alone, and what they cost.</summary>
public sealed class LateReadingsTests
{
    private static readonly TimeSpan Minute = TimeSpan.FromMinutes(1);

    [Fact]
    public async Task However_many_come_late_one_pass_is_made_once_no_more_come()
    {
        await using var farm = await Farm.WithCellarAsync();
        using var late = farm.Late;
        await LateAsync(farm, hoursAgo: 48, messages: 50);
        (await late.LookAsync(TestContext.Current.CancellationToken)).Should().BeNull("more may come");
        await LateAsync(farm, hoursAgo: 39, messages: 50);
        (await late.LookAsync(TestContext.Current.CancellationToken)).Should().BeNull("more did come");
        (await late.LookAsync(TestContext.Current.CancellationToken)).Should().BeInRange(200, 210);
        (await late.LookAsync(TestContext.Current.CancellationToken)).Should().BeNull("all is done");
    }

    [Fact]
    public async Task One_who_never_stops_sending_late_is_not_waited_for_longer_than_five_minutes()
    {
        await using var farm = await Farm.WithCellarAsync();
        using var late = farm.Late;
        var passes = 0;
        for (var i = 0; i < 30; i++)
        {
            await LateAsync(farm, hoursAgo: 48 - (i / 6.0), messages: 1);
            farm.Time.Advance(TimeSpan.FromSeconds(20));
            if (await late.LookAsync(TestContext.Current.CancellationToken) is not null) passes++;
        }

        passes.Should().Be(1);
    }

    [Fact]
    public async Task Late_frost_and_late_nonsense_are_neither_now_nor_an_alarm()
    {
        await using var farm = await Farm.WithCellarAsync(Farm.AtOnce());
        await LateAsync(farm, hoursAgo: 144, messages: 20, temperature: -6);
        await LateAsync(farm, hoursAgo: 140, messages: 20, temperature: 85);
        await farm.GoAsync(2, null);
        (await farm.SeeAsync(s => s.Place("cellar")))!.Air!.Quality.Should().Be(AirQuality.None);
        (await farm.SeeAsync(s => s.OpenAlarms)).Should().BeEmpty();
        farm.Texts.Should().BeEmpty();
        (await farm.SeeAsync(s => s.Sensors)).Single().Last.Should().NotBeEmpty("the page shows what was heard last, with its age");

        // What it reads now is now, whatever it had stored.
        await farm.GoAsync(2, 6);
        await LateAsync(farm, hoursAgo: 100, messages: 20, temperature: -6);
        await farm.GoAsync(1, null);
        (await farm.SeeAsync(s => s.Place("cellar")))!.Air!.TemperatureC.Should().Be(6);
        farm.Texts.Should().BeEmpty();
    }

    [Fact]
    public async Task A_store_emptied_in_a_minute_teaches_no_rhythm()
    {
        await using var farm = await Farm.WithCellarAsync();
        for (var i = 0; i < 12; i++)
        {
            await LateAsync(farm, hoursAgo: 144 - i, messages: 1);
            farm.Time.Advance(TimeSpan.FromSeconds(12));
        }

        (await farm.SeeAsync(s => s.Sensors)).Single().ExpectedInterval.Should()
            .Be(TimeSpan.FromMinutes(10), "that is assumed until it is known");
    }

    [Fact]
    public async Task A_clock_that_is_slow_is_not_taken_for_old_news()
    {
        await using var farm = await Farm.WithCellarAsync();
        string Slow() => $",\"time\":{farm.Time.GetUtcNow().AddHours(-3).ToUnixTimeSeconds()}";
        await farm.GoAsync(3, 6, Slow);
        (await farm.SeeAsync(s => s.Place("cellar")))!.Air!.Quality.Should().Be(AirQuality.None, "it may be emptying its store");
        await farm.GoAsync(4, 6.5, Slow);
        (await farm.SeeAsync(s => s.Place("cellar")))!.Air!.TemperatureC.Should().Be(6.5);
        // Old news of such a clock is old news all the same.
        await farm.SayAsync("rootcellar/cellar/door",
            $$"""{"temperature_c":-6,"time":{{farm.Time.GetUtcNow().AddHours(-50).ToUnixTimeSeconds()}}}""");
        (await farm.SeeAsync(s => s.Place("cellar")))!.Air!.TemperatureC.Should().Be(6.5);
    }

    [Fact]
    public async Task Air_that_was_sampled_without_a_late_sensor_is_made_anew_with_it()
    {
        await using var farm = await Farm.WithCellarAsync();
        await farm.GoAsync(1, 8, sensor: "cellar/shelf");
        await farm.GoAsync(60, 6);
        var alone = Air(farm);
        alone.Where(a => a.At > Sample.At.AddMinutes(40)).Should().AllSatisfy(a => a.TemperatureC.Should().Be(6));
        for (var minute = 1; minute < 55; minute++)
        {
            await farm.SayAsync("rootcellar/cellar/shelf",
                $$"""{"temperature_c":8,"humidity_pct":92,"time":{{Sample.At.AddMinutes(minute).ToUnixTimeSeconds()}}}""");
        }

        await MakeAsync(farm);
        var both = Air(farm);
        both.Where(a => a.At > Sample.At).Select(a => a.At).Should()
            .Equal(alone.Select(a => a.At), "what was sampled is put right where it stands");
        both.Where(a => a.At > Sample.At.AddMinutes(40) && a.At < Sample.At.AddMinutes(55)).Should().HaveCountGreaterThan(1)
            .And.AllSatisfy(a => a.TemperatureC.Should().Be(7));
    }

    [Fact]
    public async Task Late_readings_are_of_the_place_where_the_sensor_stood_then()
    {
        await using var farm = await Farm.WithCellarAsync();
        await farm.PlaceAsync("loft");
        await farm.GoAsync(2, 6);
        farm.Time.Advance(TimeSpan.FromHours(2));
        var moved = farm.Time.GetUtcNow();
        await farm.GoAsync(1, null);
        await farm.AskAsync(h => h.SaveSensor("cellar/door", "loft", null, TimeSpan.FromHours(3), moved));
        await farm.GoAsync(90, null);
        await LateAsync(farm, hoursAgo: 3, messages: 17);
        await MakeAsync(farm);
        Air(farm).Should().Contain(a => a.At > moved.AddMinutes(-60) && a.At < moved).And.NotContain(a => a.At > moved.AddMinutes(2));
        Air(farm, "loft").Should().NotContain(a => a.At < moved).And.Contain(a => a.At > moved.AddMinutes(2));
    }

    [Fact]
    public async Task A_calibration_counts_from_its_day_on_for_late_readings_too()
    {
        await using var farm = await Farm.WithCellarAsync();
        await farm.GoAsync(2, 6);
        var correction = RootCellar.Science.Air.SensorCorrection.Fit(
            RootCellar.Science.Air.SensorCorrection.Temperature, [new(0, 0.1, 0.5)]).Correction!;
        await farm.AskAsync(h =>
            h.SaveCalibration("cellar/door", Quantity.Temperature, new Calibration(Quantity.Temperature, default, [], correction),
                farm.Time.GetUtcNow().AddHours(-24)));
        await LateAsync(farm, hoursAgo: 30, messages: 72);
        await MakeAsync(farm);
        Air(farm).Should().Contain(a => a.At < farm.Time.GetUtcNow().AddHours(-25) && Math.Abs(a.TemperatureC!.Value - 5) < 1e-9)
            .And.Contain(a => a.At > farm.Time.GetUtcNow().AddHours(-23) && Math.Abs(a.TemperatureC!.Value - 4.5) < 1e-9);
    }

    [Fact]
    public async Task What_came_late_before_a_kill_is_made_after_it()
    {
        await using var farm = await Farm.WithCellarAsync();
        await LateAsync(farm, hoursAgo: 48, messages: 50);
        await farm.RestartAsync(Minute);
        await MakeAsync(farm);
        Air(farm).Should().HaveCountGreaterThan(95);
    }

    [Fact]
    public async Task A_sensor_that_waits_brings_its_stored_days_with_it_when_it_is_let_in()
    {
        await using var farm = await Farm.WithCellarAsync();
        await farm.AskAsync(h => h.SetUpFinished = true);
        await LateAsync(farm, hoursAgo: 48, messages: 50);
        await MakeAsync(farm);
        Air(farm).Should().BeEmpty();
        await farm.AskAsync(h => h.SaveSensor("cellar/door", "cellar", null, Minute, farm.Time.GetUtcNow()));
        await MakeAsync(farm);
        Air(farm).Should().HaveCountGreaterThan(95);
    }

    [Fact]
    public async Task Older_than_raw_readings_are_kept_they_fill_what_is_empty_and_then_become_summaries()
    {
        await using var farm = await Farm.WithCellarAsync(new Settings { Household = { TimeZone = "UTC" }, Keep = { RawDays = 2 } });
        var known = new PlaceAir("cellar", Sample.At.AddDays(-5), 9, 80, null, null, null, null, null, null, AirQuality.Good);
        await farm.Store.WriteAsync(c => PlaceRows.SaveAir(c, known));
        await LateAsync(farm, hoursAgo: 122, messages: 24);
        var before = farm.Time.GetUtcNow().AddDays(-2);
        (await farm.Store.WriteAsync(c => Housekeeping.SummariseSome(c, before, 5))).Should().Be(0, "the air of those hours comes first");
        await MakeAsync(farm);
        Air(farm).Should().Contain(known, "its raw readings may be gone").And.HaveCountGreaterThan(45);
        while (await farm.Store.WriteAsync(c => Housekeeping.SummariseSome(c, before, 5)) > 0)
        {
        }

        farm.Store.Text("SELECT count(*) FROM reading").Should().Be("0");
        farm.Store.Text("SELECT count(*) > 40 FROM rollup").Should().Be("1");
    }

    [Fact]
    public async Task A_device_time_that_cannot_be_is_no_late_reading()
    {
        await using var farm = await Farm.WithCellarAsync();
        await LateAsync(farm, hoursAgo: 31 * 24, messages: 3);
        farm.Store.Text("SELECT count(*) FROM reading_late").Should().Be("0");
        (await farm.SeeAsync(s => s.Place("cellar")))!.Air!.TemperatureC.Should()
            .Be(5, "it is filed under its arrival, as docs/mqtt.md says");
    }

    [Fact]
    public async Task The_mirror_is_sent_the_late_readings_and_the_air_that_was_made_of_them()
    {
        await using var farm = await Farm.WithCellarAsync();
        await farm.Store.WriteAsync(c => MirrorRows.SwitchOn(c, "http://one house cellar", farm.Time.GetUtcNow().AddDays(-3)));
        await farm.GoAsync(10, 6);
        (await SentAsync(farm)).Should().Contain(l => l.StartsWith("air,", StringComparison.Ordinal));
        (await SentAsync(farm)).Should().BeEmpty();
        await LateAsync(farm, hoursAgo: 48, messages: 30);
        await MakeAsync(farm);
        var sent = await SentAsync(farm);
        sent.Count(l => l.StartsWith("reading,", StringComparison.Ordinal) && l.Contains("temperature_c=5", StringComparison.Ordinal))
            .Should().Be(30);
        sent.Count(l => l.StartsWith("air,", StringComparison.Ordinal)).Should().BeGreaterThanOrEqualTo(58);
    }

    private static async Task<IReadOnlyList<string>> SentAsync(Farm farm)
    {
        await farm.Store.WriteAsync(_ => { });
        var claim = await farm.Store.WriteAsync(c => MirrorRows.Take(c, MirrorRows.SeriesToAdd(c), farm.Time.GetUtcNow(), 1_000));
        var lines = farm.Store.Read(c => MirrorReader.Lines(c, claim)).ToList();
        await farm.Store.WriteAsync(c => MirrorRows.Confirm(c, claim, 0, [], farm.Time.GetUtcNow()));
        return lines;
    }

    /// <summary>Messages that the device measured ten minutes apart from so many hours ago on.</summary>
    private static async Task LateAsync(Farm farm, double hoursAgo, int messages, double temperature = 5)
    {
        var begin = farm.Time.GetUtcNow().AddHours(-hoursAgo).AddSeconds(7);
        for (var i = 0; i < messages; i++)
        {
            await farm.SayAsync("rootcellar/cellar/door", FormattableString.Invariant(
                $$"""{"temperature_c":{{temperature}},"humidity_pct":92,"time":{{begin.AddMinutes(10 * i).ToUnixTimeSeconds()}}}"""));
        }
    }

    private static async Task MakeAsync(Farm farm)
    {
        using var late = farm.Late;
        await late.LookAsync(TestContext.Current.CancellationToken);
        await late.LookAsync(TestContext.Current.CancellationToken);
    }

    private static List<PlaceAir> Air(Farm farm, string place = "cellar") =>
        [.. farm.Store.Read(c => PlaceRows.Air(c, place, DateTimeOffset.UnixEpoch, DateTimeOffset.MaxValue))];
}
