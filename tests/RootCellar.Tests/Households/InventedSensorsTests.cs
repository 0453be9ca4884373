using RootCellar.Monitoring;
using RootCellar.Places;
using RootCellar.Readings;
using RootCellar.Storage;
using RootCellar.Tests.Storage;
using RootCellar.Watch;

namespace RootCellar.Tests.Households;

/// <summary>
/// Sensors that somebody invents cost a bounded amount and go by themselves; sensors that are placed are never in their way.
/// </summary>
public sealed class InventedSensorsTests
{
    private const string Air = """{"temperature_c":6,"humidity_pct":92}""";

    [Fact]
    public async Task Beyond_the_limit_of_the_house_a_new_sensor_is_turned_away_and_the_known_ones_go_on()
    {
        await using var farm = await Farm.WithCellarAsync(With(most: 3));
        await farm.SayAsync("rootcellar/cellar/door", Air);
        await farm.SayAsync("rootcellar/a/b", Air);
        await farm.SayAsync("rootcellar/a/c", Air);
        for (var i = 0; i < 5; i++)
        {
            var refused = async () => await farm.SayAsync($"rootcellar/invented/{i}", Air);
            (await refused.Should().ThrowAsync<SensorTurnedAwayException>()).Which.Message.Should().Contain("its 3 sensors (Sensors:Most)");
        }

        await farm.HintAsync("rootcellar/invented/9", Air);
        await farm.SayAsync("rootcellar/cellar/door", """{"temperature_c":7}""");

        (await SensorsAsync(farm)).Should().Equal("a/b", "a/c", "cellar/door");
        farm.Store.Text("SELECT count(*) FROM sensor").Should().Be("3");
        (await farm.SeeAsync(s => s.Place("cellar")!.Air!.TemperatureC)).Should().Be(7);
        var run = await farm.SeeAsync(s => s.TurnedAway);
        (run!.Messages, run.ByHouse, run.Client).Should().Be((6, 6, null));
        farm.Time.Advance(TimeSpan.FromDays(1));
        (await farm.SeeAsync(s => s.TurnedAway)).Should().BeNull("nothing was turned away for a day");
    }

    [Fact]
    public async Task One_client_brings_so_many_and_others_are_not_held_up_by_it()
    {
        await using var farm = await Farm.WithCellarAsync(With(perClient: 2));
        await farm.SayAsync("rootcellar/x/1", Air, client: "10.0.0.7");
        await farm.SayAsync("rootcellar/x/2", Air, client: "10.0.0.7");
        var third = () => farm.SayAsync("rootcellar/x/3", Air, client: "10.0.0.7");
        (await third.Should().ThrowAsync<SensorTurnedAwayException>()).Which.Message.Should().Contain("10.0.0.7 brought 2 sensors");
        await farm.SayAsync("rootcellar/x/4", Air, client: "10.0.0.8");
        await farm.SayAsync("rootcellar/x/5", Air);

        await farm.Pipeline.AskAsync((h, wall, mono) => h.SaveSensor("x/1", "cellar", null, mono, wall),
            TestContext.Current.CancellationToken);
        await third.Should().NotThrowAsync("one that a person placed was not invented");
        (await SensorsAsync(farm)).Should().Equal("x/1", "x/2", "x/3", "x/4", "x/5");
    }

    [Fact]
    public async Task A_gateways_message_is_kept_for_the_sensors_that_are_known()
    {
        var settings = With(most: 1);
        settings.Mqtt.Mappings =
        [
            new Mapping { Topic = "gateway", Pointer = "/a", Quantity = "temperature_c", Place = "cellar", Sensor = "a" },
            new Mapping { Topic = "gateway", Pointer = "/b", Quantity = "temperature_c", Place = "cellar", Sensor = "b" },
        ];
        await using var farm = await Farm.WithCellarAsync(settings);
        await farm.SayAsync("gateway", """{"a":5,"b":6}""");
        await farm.SayAsync("gateway", """{"a":5.5,"b":6}""");
        (await SensorsAsync(farm)).Should().Equal("cellar/a");
        farm.Store.Count().Should().Be(2);
    }

    [Fact]
    public async Task A_flood_does_not_make_the_house_forget_what_it_heard_on_honest_topics()
    {
        await using var farm = await Farm.WithCellarAsync(With(most: 1));
        await farm.SayAsync("rootcellar/cellar/door", Air);
        for (var i = 0; i < 4_100; i++) await farm.HintAsync($"rootcellar/invented/{i}", Air);
        await farm.SayAsync("rootcellar/cellar/door", Air, dup: true);
        farm.Store.Count().Should().Be(2, "it is known to be a repeat");
    }

    [Fact]
    public async Task What_nobody_placed_is_gone_with_its_readings_after_a_day_of_silence()
    {
        await using var farm = await Farm.WithCellarAsync();
        await farm.SayAsync("rootcellar/cellar/door", Air);
        await farm.SayAsync("rootcellar/neighbour/shed", Air);
        await farm.SayAsync("rootcellar/neighbour/named", Air);
        await farm.Pipeline.AskAsync((h, wall, mono) => h.SaveSensor("neighbour/named", null, "the new one", mono, wall),
            TestContext.Current.CancellationToken);
        await GoAsync(farm, TimeSpan.FromHours(23));
        (await SensorsAsync(farm)).Should().HaveCount(3);
        await GoAsync(farm, TimeSpan.FromHours(1));

        (await SensorsAsync(farm)).Should().Equal("cellar/door", "neighbour/named");
        (await farm.SeeAsync(s => s.OpenAlarms)).Should().ContainSingle("the one in the cellar is missed").Which.Rule.Should()
            .Be(Rule.AllSilent);
        farm.Store.Text("SELECT key FROM sensor ORDER BY key").Should().Be("cellar/door neighbour/named");
        await TidyAsync(farm);
        farm.Store.Text("SELECT DISTINCT sensor FROM reading ORDER BY sensor").Should().Be("1 3");
        farm.Store.Text("SELECT count(*) FROM sensor_leaving").Should().Be("0");

        await farm.SayAsync("rootcellar/neighbour/late", Air);
        farm.Store.Text("SELECT id FROM sensor WHERE key = 'neighbour/late'").Should().Be("4");
    }

    [Fact]
    public async Task A_sensor_that_speaks_now_and_then_stays_and_silence_before_a_restart_counts()
    {
        await using var farm = await Farm.WithCellarAsync();
        await farm.SayAsync("rootcellar/x/quiet", Air);
        await farm.SayAsync("rootcellar/x/slow", Air);
        for (var i = 0; i < 3; i++)
        {
            await GoAsync(farm, TimeSpan.FromHours(7.5));
            await farm.SayAsync("rootcellar/x/slow", Air);
        }

        // Away for a month: nobody listened, so nothing was silent meanwhile.
        await farm.RestartAsync(TimeSpan.FromDays(30));
        await GoAsync(farm, TimeSpan.FromMinutes(50));
        (await SensorsAsync(farm)).Should().Equal("x/quiet", "x/slow");
        await GoAsync(farm, TimeSpan.FromMinutes(50));
        (await SensorsAsync(farm)).Should().Equal("x/slow");
    }

    [Fact]
    public async Task A_number_is_never_given_twice()
    {
        await using var farm = await Farm.WithCellarAsync();
        await farm.SayAsync("rootcellar/x/1", Air);
        await farm.SayAsync("rootcellar/x/2", Air);
        await farm.Pipeline.AskAsync((h, wall, mono) => h.Forget("x/2", mono, wall), TestContext.Current.CancellationToken);
        await farm.RestartAsync(TimeSpan.FromMinutes(1));
        await farm.SayAsync("rootcellar/x/3", Air);
        farm.Store.Text("SELECT id FROM sensor WHERE key = 'x/3'").Should().Be("3", "2 was another's, whose readings may be there still");

        // Readings whose sensor's row was never written: the disk was full, and then the power went.
        await farm.Store.WriteAsync(c => c.Execute("UPDATE reading SET sensor = 40 WHERE sensor = 3"));
        await farm.Store.WriteAsync(c => c.Execute("DELETE FROM sensor WHERE id = 3"));
        await farm.RestartAsync(TimeSpan.FromMinutes(1));
        await farm.SayAsync("rootcellar/x/4", Air);
        farm.Store.Text("SELECT id FROM sensor WHERE key = 'x/4'").Should().Be("41");
    }

    [Fact]
    public async Task A_sensor_that_a_person_forgets_leaves_what_it_measured_and_comes_back_as_new()
    {
        await using var farm = await Farm.WithCellarAsync(Farm.AtOnce());
        await farm.SayAsync("rootcellar/cellar/door", """{"temperature_c":11,"humidity_pct":92}""");
        (await farm.SeeAsync(s => s.OpenAlarms)).Should().NotBeEmpty();
        await farm.AskAsync(h => h.SaveCalibration("cellar/door", Quantity.Temperature, null, Sample.At));
        await farm.Pipeline.AskAsync((h, wall, mono) => h.SaveSensor("cellar/door", "cellar", "by the door", mono, wall),
            TestContext.Current.CancellationToken);

        (await farm.Pipeline.AskAsync((h, wall, mono) => h.Forget("cellar/door", mono, wall), TestContext.Current.CancellationToken))
            .Should().BeTrue();
        (await farm.Pipeline.AskAsync((h, wall, mono) => h.Forget("cellar/door", mono, wall), TestContext.Current.CancellationToken))
            .Should().BeFalse();

        (await SensorsAsync(farm)).Should().BeEmpty();
        (await farm.SeeAsync(s => s.OpenAlarms)).Should().BeEmpty("nobody speaks for the place any more");
        await TidyAsync(farm);
        farm.Store.Count().Should().Be(2, "it was in a place: what it measured stays");
        await farm.RestartAsync(TimeSpan.FromMinutes(1));
        (await SensorsAsync(farm)).Should().BeEmpty("it is forgotten for good");

        await farm.SayAsync("rootcellar/cellar/door", """{"temperature_c":6,"humidity_pct":92}""");
        var back = (await farm.SeeAsync(s => s.Sensors)).Should().ContainSingle().Which;
        (back.Name, back.FirstSeen).Should().Be((null, farm.Time.GetUtcNow()));
        farm.Store.Text("SELECT DISTINCT sensor FROM reading").Should().Be("1", "what it measured before is its own");
    }

    [Fact]
    public async Task One_that_was_forgotten_and_speaks_again_does_not_take_what_it_measured_with_it_when_it_falls_silent()
    {
        await using var farm = await Farm.WithCellarAsync();
        await farm.SayAsync("rootcellar/cellar/door", Air);
        await farm.Pipeline.AskAsync((h, wall, mono) => h.SetUpFinished = h.Forget("cellar/door", mono, wall), TestContext.Current.CancellationToken);
        await farm.SayAsync("rootcellar/cellar/door", Air);
        farm.Store.Count().Should().Be(4);
        await GoAsync(farm, TimeSpan.FromHours(30));
        await TidyAsync(farm);
        farm.Store.Count().Should().Be(4);
        (await SensorsAsync(farm)).Should().Equal("cellar/door");
    }

    [Fact]
    public async Task A_start_survives_thirty_thousand_sensors_of_an_earlier_flood_and_cleans_up()
    {
        await using var farm = await Farm.WithCellarAsync();
        await farm.SayAsync("rootcellar/cellar/door", Air);
        await farm.Store.WriteAsync(c =>
        {
            c.Execute(
                """
                WITH RECURSIVE n(i) AS (SELECT 2 UNION ALL SELECT i + 1 FROM n WHERE i < 30001)
                INSERT INTO sensor (id, key, named_place, first_ms) SELECT i, 'invented/s' || i, 'invented', $at FROM n
                """,
                ("$at", Sample.At.ToUnixTimeMilliseconds()));
            c.Execute(
                """
                INSERT INTO reading (sensor, quantity, at_ms, seq, value, arrived_ms, time_source, quality)
                SELECT id, 1, $at, -id, 5, $at, 0, 0 FROM sensor WHERE id > 1
                """,
                ("$at", Sample.At.ToUnixTimeMilliseconds()));
        });
        await farm.RestartAsync(TimeSpan.FromMinutes(1));
        await farm.SettledAsync();

        (await farm.AskAsync(h => h.SensorCount)).Should().Be(1_000);
        (await SensorsAsync(farm)).Should().Contain("cellar/door").And.Contain("invented/s2").And.NotContain("invented/s30001");
        farm.Store.Text("SELECT count(*) FROM sensor").Should().Be("1000");
        await TidyAsync(farm);
        farm.Store.Text("SELECT count(DISTINCT sensor) FROM reading").Should().Be("1000");
        farm.Store.Text("SELECT count(*) FROM sensor_leaving").Should().Be("0");
        (await farm.Pipeline.AskAsync((h, wall, mono) => h.ForgetWaiting(mono, wall), TestContext.Current.CancellationToken)).Should()
            .Be(999);
        await farm.SayAsync("rootcellar/cellar/shelf", Air);
        farm.Store.Text("SELECT id FROM sensor ORDER BY id").Should().Be("1 30002");
    }

    [Fact]
    public async Task An_empty_place_goes_and_one_with_a_sensor_stays()
    {
        await using var farm = await Farm.WithCellarAsync();
        await farm.PlaceAsync("loft");
        await farm.SayAsync("rootcellar/loft/beam", """{"temperature_c":6,"humidity_pct":92}""");
        (await farm.Pipeline.AskAsync((h, wall, mono) => h.RemovePlace("loft", mono, wall), TestContext.Current.CancellationToken))
            .Should().BeFalse();
        await farm.Pipeline.AskAsync((h, wall, mono) => h.SaveSensor("loft/beam", "cellar", null, mono, wall),
            TestContext.Current.CancellationToken);
        (await farm.Pipeline.AskAsync((h, wall, mono) => h.RemovePlace("loft", mono, wall), TestContext.Current.CancellationToken))
            .Should().BeTrue();
        await farm.RestartAsync(TimeSpan.FromMinutes(1));
        (await farm.SeeAsync(s => s.AllPlaces)).Should().ContainSingle().Which.Id.Should().Be("cellar");
        await farm.SayAsync("rootcellar/loft/beam", """{"temperature_c":6,"humidity_pct":92}""");
        (await farm.SeeAsync(s => s.Place("cellar")!.Air!.TemperatureC)).Should().Be(6);
    }

    [Fact]
    public async Task A_reading_takes_back_the_word_that_its_sensor_is_offline()
    {
        await using var farm = await Farm.WithCellarAsync();
        await farm.SayAsync("rootcellar/cellar/door", Air);
        await farm.SayAsync("rootcellar/cellar/door/status", "offline");
        (await OnlineAsync(farm)).Should().BeFalse();
        await farm.HintAsync("rootcellar/cellar/door", Air, replay: true);
        (await OnlineAsync(farm)).Should().BeFalse("a replayed message is no sign of life");
        await farm.SayAsync("rootcellar/cellar/door", Air);
        (await OnlineAsync(farm)).Should().BeTrue();
    }

    [Fact]
    public async Task A_long_topic_that_cannot_be_read_is_shown_cut()
    {
        await using var farm = await Farm.WithCellarAsync();
        await farm.SayAsync("rootcellar/" + new string('x', 60_000), Air);
        (await farm.SeeAsync(s => s.Unreadable.Single().Topic.Length)).Should().BeLessThan(300);
    }

    private static Settings With(int most = 1_000, int perClient = 100) => new()
    {
        Household = { TimeZone = "UTC" },
        Sensors = new SensorLimits { Most = most, MostWaitingPerClient = perClient },
    };

    private static async Task<bool?> OnlineAsync(Farm farm) => await farm.SeeAsync(s => s.Sensors.Single().Online);

    private static async Task<IReadOnlyList<string>> SensorsAsync(Farm farm) =>
        await farm.SeeAsync(s => s.Sensors.Select(s => s.Key).ToList());

    private static async Task TidyAsync(Farm farm)
    {
        while (await farm.Store.WriteAsync(c => SensorLeaving.RemoveSome(c, 700)) > 0)
        {
        }
    }

    private static async Task GoAsync(Farm farm, TimeSpan time)
    {
        for (var gone = TimeSpan.Zero; gone < time; gone += TimeSpan.FromSeconds(30))
        {
            farm.Time.Advance(TimeSpan.FromSeconds(30));
            if (gone.Minutes == 0) await farm.SettledAsync();
        }

        await farm.SettledAsync();
    }
}
