using RootCellar.Places;
using RootCellar.Watch;

namespace RootCellar.Tests.Households;

/// <summary>A room that was emptied, and alarms that grow worse.</summary>
public sealed class EmptiedTests
{
    private static readonly Dictionary<string, IReadOnlyList<string>> Potatoes = new() { ["cellar"] = ["potato"] };
    private static readonly Dictionary<string, IReadOnlyList<string>> Nothing = [];
    private static readonly HashSet<string> Used = ["cellar"];

    [Fact]
    public async Task An_emptied_room_rings_no_more_and_who_was_told_is_told_why()
    {
        await using var farm = await Farm.WithCellarAsync();
        await StandsAsync(farm, Potatoes);
        await farm.GoAsync(30, 12);
        (await farm.SeeAsync(s => s.OpenAlarms)).Should().ContainSingle(a => a.Rule == Rule.TooWarm);

        await StandsAsync(farm, Nothing);
        await farm.GoAsync(2, 12);
        (await farm.SeeAsync(s => s.OpenAlarms)).Should().BeEmpty();
        farm.Texts.Should().HaveCount(2);
        farm.Texts[1].Should().StartWith("CELLAR no longer watched for").And.Contain("nothing stands there now");
        farm.Store.Read(c => AlarmRows.Past(c, 10)).Should().ContainSingle().Which.Ended.Should().Be(WhyEnded.NothingThere);

        await farm.GoAsync(60, 25);
        farm.Texts.Should().HaveCount(2, "what is empty cannot spoil");
        var view = (await farm.SeeAsync(s => s.Place("cellar")))!;
        (view.Emptied, view.Band, view.Air!.TemperatureC).Should().Be((true, null, 25.0));

        await farm.GoAsync(10, 25, () => ""","co2_ppm":6000""");
        farm.Texts.Should().HaveCount(3);
        farm.Texts[2].Should().Contain("CO2 6,000", "people still go in");

        await StandsAsync(farm, Potatoes);
        await farm.GoAsync(30, 25);
        (await farm.SeeAsync(s => s.OpenAlarms)).Should().Contain(a => a.Rule == Rule.TooWarm);
    }

    [Fact]
    public async Task Where_no_bin_ever_stood_or_where_it_is_asked_for_the_air_is_judged()
    {
        await using var farm = await Farm.WithCellarAsync();
        await farm.PlaceAsync("shed");
        await farm.AskAsync(h =>
        {
            h.SavePlace(new Place("cellar", "Cellar", Purpose.Storage, null, ["potato"]) { WatchEmpty = true });
            return true;
        });
        await StandsAsync(farm, Nothing);
        await farm.GoAsync(30, 12);
        await farm.GoAsync(30, 12, sensor: "shed/door");
        (await farm.SeeAsync(s => s.OpenAlarms)).Where(a => a.Rule == Rule.TooWarm).Select(a => a.Place).Should().Equal("cellar", "shed");
        await farm.RestartAsync(TimeSpan.FromMinutes(1));
        (await farm.SeeAsync(s => s.Place("cellar")))!.Place.WatchEmpty.Should().BeTrue();
    }

    [Fact]
    public async Task Carbon_dioxide_that_reaches_the_next_limit_is_told_again_acknowledged_or_shelved()
    {
        await using var farm = await Farm.WithCellarAsync();
        await farm.GoAsync(10, 4, () => ""","co2_ppm":6000""");
        farm.Texts.Should().ContainSingle();
        await DoAsync(farm, (h, id, wall, mono) => h.Acknowledge(id, "Nell", mono, wall));
        await farm.GoAsync(60, 4, () => ""","co2_ppm":29000""");
        farm.Texts.Should().ContainSingle("it is no other matter for whoever goes in");

        await farm.GoAsync(1, 4, () => ""","co2_ppm":31000""");
        farm.Texts.Should().ContainSingle("one odd reading is none");
        await farm.GoAsync(10, 4, () => ""","co2_ppm":31000""");
        farm.Texts.Should().HaveCount(2);
        farm.Texts[1].Should().Contain("31,000").And.Contain("was 6,000");
        (await farm.SeeAsync(s => s.OpenAlarms)).Should().ContainSingle().Which.State.Should().Be(AlarmState.Unacknowledged);

        await DoAsync(farm, (h, id, wall, mono) => h.Shelve(id, TimeSpan.FromHours(8), mono, wall));
        (await farm.SeeAsync(s => s.OpenAlarms)).Single().ShelvedUntil.Should()
            .BeBefore(farm.Time.GetUtcNow().AddMinutes(61), "an hour at most");
        await farm.GoAsync(10, 4, () => ""","co2_ppm":45000""");
        farm.Texts.Should().HaveCount(3);
        farm.Texts[2].Should().StartWith("DANGER").And.Contain("45,000 ppm: it can kill");
        await farm.GoAsync(60, 4, () => ""","co2_ppm":25000""");
        await farm.GoAsync(30, 4, () => ""","co2_ppm":45000""");
        farm.Texts.Should().HaveCount(3, "that has been told");
    }

    [Fact]
    public async Task Near_freezing_and_frozen_are_told_each_once()
    {
        await using var farm = await Farm.WithCellarAsync();
        await farm.GoAsync(10, -0.2);
        farm.Texts.Should().ContainSingle();
        await DoAsync(farm, (h, id, wall, mono) => h.Acknowledge(id, "Nell", mono, wall));
        await farm.GoAsync(10, -2);
        farm.Texts.Should().HaveCount(2);
        farm.Texts[1].Should().StartWith("URGENT").And.Contain("28F");
        await farm.RestartAsync(TimeSpan.FromMinutes(1));
        await farm.GoAsync(20, -2.5);
        farm.Texts.Should().HaveCount(2, "a restart does not forget what was told");
    }

    private static Task<bool> StandsAsync(Farm farm, IReadOnlyDictionary<string, IReadOnlyList<string>> crops) => farm.AskAsync(h =>
    {
        h.SetBins(crops, Used);
        return true;
    });

    private static async Task DoAsync(Farm farm, Func<Monitoring.LiveState, string, DateTimeOffset, TimeSpan, AlarmChange?> what)
    {
        var id = (await farm.SeeAsync(s => s.OpenAlarms)).Single().Id;
        await farm.Pipeline.AskAsync((h, wall, mono) => what(h, id, wall, mono), TestContext.Current.CancellationToken);
        await farm.SettledAsync();
    }
}
