using RootCellar.Places;
using RootCellar.Tests.Households;

namespace RootCellar.Tests.Advice;

/// <summary>Through the door: readings in by MQTT topics, texts out.</summary>
public sealed class OneTextTests
{
    private static async Task<Farm> CuringAsync()
    {
        var farm = new Farm();
        await farm.StartAsync();
        await farm.AskAsync(h =>
        {
            h.SavePlace(new Place("curing", "Curing room", Purpose.Curing, null, ["potato"]));
            h.SavePlace(new Place("outdoors", "Outdoors", Purpose.Outdoors, null, []));
            return true;
        });
        return farm;
    }

    private static async Task GoAsync(Farm farm, int minutes, double fahrenheit, double humidity, double outFahrenheit = 48, double outHumidity = 70)
    {
        for (var i = 0; i < minutes; i++)
        {
            await farm.SayAsync("rootcellar/outdoors/porch", Payload(outFahrenheit, outHumidity));
            await farm.GoAsync(1, null, sensor: "curing/door", before: Payload(fahrenheit, humidity));
        }
    }

    private static string Payload(double fahrenheit, double humidity) =>
        FormattableString.Invariant($$"""{"temperature_c":{{(fahrenheit - 32) / 1.8}},"humidity_pct":{{humidity}}}""");

    [Fact]
    public async Task The_hot_dry_afternoon_is_one_text_with_one_order_of_work()
    {
        await using var farm = await CuringAsync();
        await GoAsync(farm, 5, 58, 90);
        await GoAsync(farm, 25, 75, 60);
        farm.Texts.Should().ContainSingle().Which.Should().MatchRegex(
            @"^CURING ROOM 15F too warm \(75F\)( since \d\d:\d\d)?, 25% too dry \(60%\) since \d\d:\d\d\. 48F out: 1 open door \+ vent 2 wet floor, clear of plugs 3 shut at 57F\.$");
    }

    [Fact]
    public async Task What_was_on_its_way_when_the_text_left_needs_no_second_one()
    {
        await using var farm = await CuringAsync();
        await GoAsync(farm, 5, 58, 90);
        await GoAsync(farm, 10, 75, 90);
        await GoAsync(farm, 30, 75, 60);
        farm.Texts.Should().ContainSingle().Which.Should().Contain("15F too warm (75F) since").And.Contain("25% too dry (60%) since");
        (await farm.AskAsync(h => h.OpenAlarms.Count)).Should().Be(2, "the dry air is an alarm of its own all the same");
    }

    [Fact]
    public async Task A_second_trouble_after_the_text_says_what_changed_of_the_first()
    {
        await using var farm = await CuringAsync();
        await GoAsync(farm, 5, 58, 90);
        await GoAsync(farm, 25, 75, 90);
        await GoAsync(farm, 25, 68, 60);
        farm.Texts.Should().HaveCount(2);
        farm.Texts[1].Should().Contain("still 8F too warm (68F), was 75F").And.Contain("25% too dry (60%)");
    }
}
