using Microsoft.Data.Sqlite;
using RootCellar.Readings;
using RootCellar.Report;
using RootCellar.Storage;
using RootCellar.Tests.Lots;
using static RootCellar.Tests.Lots.Cellar;

namespace RootCellar.Tests.Report;

/// <summary>Which sensors the week's report says need a hand, from readings as they are kept.</summary>
public sealed class SensorWeekTests : IAsyncDisposable
{
    private static readonly DateTimeOffset Monday = new(2025, 10, 6, 0, 0, 0, TimeSpan.Zero);
    private static readonly DateTimeOffset Sunday = Monday.AddDays(7);

    private readonly Cellar cellar = new();
    private int sensors;

    public ValueTask DisposeAsync() => cellar.DisposeAsync();

    [Fact]
    public async Task A_sensor_that_measures_needs_nothing()
    {
        await SpeaksAsync("east", Quantity.Humidity, Wave(90));
        (await TroubleAsync()).Should().BeEmpty();
    }

    [Fact]
    public async Task Silence_counts_from_three_of_its_own_intervals_and_an_hour_at_least()
    {
        await SpeaksAsync("gone", Quantity.Humidity, Wave(90), until: Sunday.AddMinutes(-61));
        await SpeaksAsync("brief", Quantity.Humidity, Wave(90), until: Sunday.AddMinutes(-50));
        await SpeaksAsync("slow", Quantity.Humidity, Wave(90), until: Sunday.AddHours(-2), everyMinutes: 60);
        await SpeaksAsync("slow-gone", Quantity.Humidity, Wave(90), until: Sunday.AddHours(-3.5), everyMinutes: 60);
        var found = await TroubleAsync();
        found.Should().AllSatisfy(f => f.Needs.Should().Be(SensorNeeds.Silent));
        found.Select(f => f.Sensor).Should().Equal("gone", "slow-gone");
        found[0].Since.Should().Be(Sunday.AddMinutes(-65));
    }

    [Fact]
    public async Task One_that_nobody_has_put_in_a_place_and_one_that_came_afterwards_need_nothing()
    {
        await cellar.Record.WriteAsync(c =>
        {
            SensorRows.Save(c, new SensorRow(501, "waits", null, null, null, Monday, null));
            SensorRows.Save(c, new SensorRow(502, "later", StoreRoom, null, null, Sunday, null));
        });
        (await TroubleAsync()).Should().BeEmpty();
        await cellar.Record.WriteAsync(c => SensorRows.Save(c, new SensorRow(503, "there", StoreRoom, null, null, Sunday.AddSeconds(-1), null)));
        (await TroubleAsync()).Should().ContainSingle().Which.Needs.Should().Be(SensorNeeds.Silent);
    }

    [Fact]
    public async Task The_same_humidity_for_two_days_is_no_measuring()
    {
        await SpeaksAsync("stuck", Quantity.Humidity, t => t < Sunday.AddDays(-3) ? 88.1 : 91.3);
        await SpeaksAsync("moved-once", Quantity.Humidity, t => t == Sunday.AddDays(-1) ? 91.4 : 91.3);
        // A still cellar's temperature may well stand for two days while the humidity moves.
        await SpeaksAsync("still", Quantity.Humidity, Wave(90));
        await MoreAsync("still", Quantity.Temperature, _ => 4.5, Monday.AddDays(-1), Sunday, 5);
        var stuck = (await TroubleAsync()).Should().ContainSingle().Subject;
        (stuck.Sensor, stuck.Needs, stuck.Quantity, stuck.Value).Should().Be(("stuck", SensorNeeds.Stuck, Quantity.Humidity, 91.3));
    }

    [Fact]
    public async Task A_sensor_that_began_to_speak_today_is_not_stuck_since_the_day_before_yesterday()
    {
        await SpeaksAsync("new", Quantity.Humidity, _ => 91, from: Sunday.AddHours(-8));
        await SpeaksAsync("new-wet", Quantity.Humidity, _ => 99.9, from: Sunday.AddHours(-20), quality: Quality.Saturated);
        (await TroubleAsync()).Should().BeEmpty();
    }

    [Fact]
    public async Task Damp_to_the_top_for_four_days_is_a_good_cellar_until_something_says_otherwise()
    {
        // As the doorkeeper marks them: for twelve hours they pass, then no more.
        await SpeaksAsync("wet", Quantity.Humidity, _ => 99.9, from: Sunday.AddDays(-4), until: Sunday.AddDays(-3.5));
        await MoreAsync("wet", Quantity.Humidity, _ => 99.9, Sunday.AddDays(-3.5), Sunday, 5, Quality.Saturated);
        await MoreAsync("wet", Quantity.Temperature, t => t.Hour < 12 ? 4 : 6.5, Sunday.AddDays(-4), Sunday, 5);
        await SpeaksAsync("other", Quantity.Humidity, Wave(96));
        (await TroubleAsync()).Should().BeEmpty("the other reads as damp");

        await SpeaksAsync("drier", Quantity.Humidity, Wave(85));
        var wet = (await TroubleAsync()).Should().ContainSingle().Subject;
        (wet.Sensor, wet.Needs).Should().Be(("wet", SensorNeeds.Saturated));
        wet.Value.Should().BeApproximately(99.9, 1e-9);
    }

    [Theory]
    [InlineData(Quantity.BatteryPercent, 100, 19, true)]
    [InlineData(Quantity.BatteryPercent, 100, 21, false)]
    [InlineData(Quantity.BatteryVolts, 3.1, 2.35, true)]
    [InlineData(Quantity.BatteryVolts, 3.1, 2.45, false)]
    [InlineData(Quantity.BatteryVolts, 4.15, 3.45, true)]
    [InlineData(Quantity.BatteryVolts, 4.15, 3.55, false)]
    internal async Task A_battery_is_low_by_what_kind_it_is(Quantity quantity, double begun, double now, bool low)
    {
        await SpeaksAsync("b", Quantity.Humidity, Wave(90));
        await MoreAsync("b", quantity, t => t < Monday ? begun : now, Monday.AddDays(-30), Sunday, 60);
        var found = await TroubleAsync();
        if (low)
            found.Should().ContainSingle().Which.Should()
                .Match<SensorTrouble>(f => f.Needs == SensorNeeds.Battery && f.Quantity == quantity
                    && Math.Abs(f.Value!.Value - now) < 1e-9);
        else found.Should().BeEmpty();
    }

    [Theory]
    [InlineData(Quantity.Humidity, 3.5, true)]
    [InlineData(Quantity.Humidity, 2.5, false)]
    [InlineData(Quantity.Temperature, -0.6, true)]
    [InlineData(Quantity.Temperature, -0.4, false)]
    internal async Task One_of_three_that_goes_apart_is_named_with_how_far(Quantity quantity, double by, bool apart)
    {
        double middle = quantity == Quantity.Humidity ? 88 : 6;
        // All three follow the weather, and stand apart as they always did: only what one of them gained counts.
        foreach (var (name, off) in ((string, double)[])[("a", 0), ("b", 1.2), ("c", -0.9)])
            await SpeaksAsync(name, quantity, t => middle + off + Weather(t) + (name == "c" && t >= Monday ? by : 0),
                from: Monday.AddDays(-21), everyMinutes: 30);
        var found = await TroubleAsync();
        if (apart)
            found.Should().ContainSingle().Which.Should()
                .Match<SensorTrouble>(f => f.Sensor == "c" && f.Needs == SensorNeeds.Drifting && f.Quantity == quantity
                    && Math.Abs(f.Value!.Value - by) < 0.05);
        else found.Should().BeEmpty();
    }

    [Fact]
    public async Task Of_two_that_go_apart_one_is_named_and_nobody_says_it_is_the_one()
    {
        await SpeaksAsync("a", Quantity.Humidity, t => 88 + Weather(t), from: Monday.AddDays(-21), everyMinutes: 30);
        await SpeaksAsync("b", Quantity.Humidity, t => 88 + Weather(t) + (t >= Monday ? 5 : 0), from: Monday.AddDays(-21),
            everyMinutes: 30);
        (await TroubleAsync()).Should().ContainSingle().Which.Needs.Should().Be(SensorNeeds.Drifting);
    }

    [Fact]
    public async Task A_little_that_cannot_be_true_is_not_nor_is_a_battery_that_was_changed_since()
    {
        // One reading an hour beside twelve: 8 %.
        await SpeaksAsync("odd", Quantity.Humidity, Wave(90));
        await MoreAsync("odd", Quantity.Temperature, _ => -40, Monday.AddMinutes(2), Sunday, 60, Quality.OutOfRange);
        await MoreAsync("odd", Quantity.BatteryPercent, t => t < Sunday.AddDays(-2) ? 5 : 95, Monday, Sunday, 60);
        (await TroubleAsync()).Should().BeEmpty();
    }

    [Fact]
    public async Task Much_that_cannot_be_true_is_doubted()
    {
        await SpeaksAsync("loose", Quantity.Humidity, Wave(90));
        await MoreAsync("loose", Quantity.Temperature, _ => -40, Monday.AddMinutes(2), Sunday, 30, Quality.OutOfRange);
        (await TroubleAsync()).Should().ContainSingle().Which.Needs.Should().Be(SensorNeeds.Doubted);
    }

    private static Func<DateTimeOffset, double> Wave(double middle) => t => Math.Round(middle + (2 * Math.Sin(t.TimeOfDay.TotalHours)), 1);

    private static double Weather(DateTimeOffset t) => 3 * Math.Sin(t.ToUnixTimeSeconds() / 86400.0 / 4);

    private Task<IReadOnlyList<SensorTrouble>> TroubleAsync() => Task.FromResult(cellar.Record.Read(c => SensorWeek.Of(c, Monday, Sunday)));

    private async Task SpeaksAsync(
        string name, Quantity quantity, Func<DateTimeOffset, double> says, DateTimeOffset? from = null, DateTimeOffset? until = null,
        int everyMinutes = 5, Quality quality = Quality.Good)
    {
        var first = from ?? Monday.AddDays(-1);
        int id = ++sensors;
        await cellar.Record.WriteAsync(
            c => { SensorRows.Save(c, new SensorRow(id, name, StoreRoom, null, null, first, everyMinutes * 60, null)); });
        await MoreAsync(name, quantity, says, first, until ?? Sunday, everyMinutes, quality);
    }

    private Task MoreAsync(string name, Quantity quantity, Func<DateTimeOffset, double> says, DateTimeOffset from, DateTimeOffset until,
        int everyMinutes, Quality quality = Quality.Good) => cellar.Record.WriteAsync(c =>
    {
        using var insert = c.Command(
            "INSERT INTO reading (sensor, quantity, at_ms, seq, value, arrived_ms, time_source, quality) SELECT id, $q, $at, 0, $v, $at, 0, $quality FROM sensor WHERE key = $name");
        insert.Parameters.AddWithValue("$name", name);
        insert.Parameters.AddWithValue("$q", (int)quantity);
        insert.Parameters.AddWithValue("$quality", (int)quality);
        var (at, v) = (insert.Parameters.Add("$at", SqliteType.Integer), insert.Parameters.Add("$v", SqliteType.Real));
        for (var t = from; t < until; t += TimeSpan.FromMinutes(everyMinutes))
        {
            (at.Value, v.Value) = (t.ToUnixTimeMilliseconds(), says(t));
            insert.ExecuteNonQuery();
        }
    });
}
