using System.Globalization;
using RootCellar.Places;
using RootCellar.Readings;
using RootCellar.Watch;

namespace RootCellar.Tests.Households;

/// <summary>A humidity sensor at the top of its scale: a good root cellar stands there for weeks.</summary>
public sealed class DampToTheTopTests
{
    [Fact]
    public async Task After_half_a_day_it_says_95_percent_or_more_and_no_alarm_stands()
    {
        await using var farm = await Farm.WithCellarAsync();
        await TellAsync(farm, 11, ("door", 99.9));
        (await farm.SeeAsync(s => s.OpenAlarms)).Should().ContainSingle(a => a.Rule == Rule.TooWet);
        await TellAsync(farm, 3, ("door", 99.9));

        (await farm.SeeAsync(s => s.OpenAlarms)).Should().BeEmpty("that it is so damp harms no roots, and that it drips nobody knows");
        farm.Texts[0].Should().Contain("near dripping");
        farm.Texts[^1].Should().MatchRegex("^CELLAR no longer watched for .*can only say 95% or more\\. Feel the produce for water");
        var air = (await farm.SeeAsync(s => s.Place("cellar")))!.Air!;
        (air.Quality, air.RelativeHumidityPercent, air.HumidityAtLeastPercent).Should().Be((AirQuality.AtTop, 97.5, 95));
        var kept = farm.Store.Read(c => PlaceRows.Air(c, "cellar", farm.Time.GetUtcNow().AddHours(-1), farm.Time.GetUtcNow()));
        kept.Should().OnlyContain(a => a.RelativeHumidityPercent == 97.5 && a.Quality == AirQuality.AtTop);

        await TellAsync(farm, 1, ("door", 93));
        (await farm.SeeAsync(s => s.Place("cellar")))!.Air!.RelativeHumidityPercent.Should().Be(93, "it measures again");
    }

    [Fact]
    public async Task A_sensor_that_measures_outweighs_it_and_one_that_contradicts_it_is_an_alarm()
    {
        await using var farm = await Farm.WithCellarAsync();
        await TellAsync(farm, 13, ("door", 99.9), ("shelf", 90));
        var air = (await farm.SeeAsync(s => s.Place("cellar")))!.Air!;
        (air.RelativeHumidityPercent, air.HumidityAtLeastPercent).Should().Be((90, null));
        (await farm.SeeAsync(s => s.OpenAlarms)).Should().NotContain(a => a.Rule == Rule.SensorsDisagree, "the accuracies allow it");

        await TellAsync(farm, 1, ("door", 99.9), ("shelf", 70));
        (await farm.SeeAsync(s => s.OpenAlarms)).Should().Contain(a => a.Rule == Rule.SensorsDisagree)
            .And.NotContain(a => a.Rule == Rule.SensorNotBelievable);
    }

    [Fact]
    public async Task Onions_in_it_are_too_damp_all_the_while()
    {
        await using var farm = new Farm();
        await farm.StartAsync();
        await farm.AskAsync(h =>
        {
            h.SavePlace(new Place("cellar", "Loft", Purpose.Storage, null, ["onion"]));
            return true;
        });
        await TellAsync(farm, 14, ("door", 99.9));
        (await farm.SeeAsync(s => s.OpenAlarms)).Should().Contain(a => a.Rule == Rule.TooWet && a.Active);
        farm.Texts.Should().NotContain(t => t.Contains("no longer", StringComparison.Ordinal));
    }

    /// <summary>Every sensor tells its humidity every ten minutes for so many hours.</summary>
    private static async Task TellAsync(Farm farm, int hours, params (string Name, double Percent)[] sensors)
    {
        for (var times = 0; times < hours * 6; times++)
        {
            foreach (var (name, percent) in sensors)
                await farm.SayAsync($"rootcellar/cellar/{name}",
                    string.Create(CultureInfo.InvariantCulture, $$"""{"temperature_c":4,"humidity_pct":{{percent}}}"""));
            for (var part = 0; part < 20; part++) farm.Time.Advance(TimeSpan.FromSeconds(30));
            await farm.SettledAsync();
        }
    }
}
