using RootCellar.Advice;
using RootCellar.Household;
using RootCellar.Places;
using RootCellar.Tell;
using RootCellar.Tests.Households;
using RootCellar.Tests.Tell;

namespace RootCellar.Tests.Advice;

/// <summary>Through the door: readings in by MQTT topics, texts out.</summary>
public sealed class OneTextTests
{
    private static async Task<Farm> CuringAsync(Settings? settings = null)
    {
        var farm = new Farm(settings);
        await farm.StartAsync();
        await farm.AskAsync(h =>
        {
            h.SavePlace(new Place("curing", "Curing room", Purpose.Curing, null, ["potato"]));
            h.SavePlace(new Place("outdoors", "Outdoors", Purpose.Outdoors, null, []));
            return true;
        });
        return farm;
    }

    private static async Task GoAsync(Farm farm, int minutes, double fahrenheit, double humidity, double outFahrenheit = 48,
        double outHumidity = 70, string more = "")
    {
        for (var i = 0; i < minutes; i++)
        {
            await farm.SayAsync("rootcellar/outdoors/porch", Payload(outFahrenheit, outHumidity));
            await farm.GoAsync(1, null, sensor: "curing/door", before: Payload(fahrenheit, humidity, more));
        }
    }

    private static string Payload(double fahrenheit, double humidity, string more = "") =>
        FormattableString.Invariant($$"""{"temperature_c":{{(fahrenheit - 32) / 1.8}},"humidity_pct":{{humidity}}{{more}}}""");

    [Fact]
    public async Task The_hot_dry_afternoon_is_one_text_with_one_order_of_work()
    {
        await using var farm = await CuringAsync();
        await GoAsync(farm, 5, 58, 90);
        await GoAsync(farm, 25, 75, 60);
        farm.Texts.Should().ContainSingle().Which.Should().MatchRegex(
            @"^CURING ROOM 10F too warm \(75F\)( since \d\d:\d\d)?, 20% too dry \(60%\) since \d\d:\d\d\. 48F out: 1 open door \+ vent 2 wet floor, clear of plugs 3 shut at 57F\.$");
    }

    [Fact]
    public async Task What_was_on_its_way_when_the_text_left_needs_no_second_one()
    {
        await using var farm = await CuringAsync();
        await GoAsync(farm, 5, 58, 90);
        await GoAsync(farm, 10, 75, 90);
        await GoAsync(farm, 30, 75, 60);
        farm.Texts.Should().ContainSingle().Which.Should().Contain("10F too warm (75F) since").And.Contain("20% too dry (60%) since");
        (await farm.SeeAsync(s => s.OpenAlarms.Count)).Should().Be(2, "the dry air is an alarm of its own all the same");
    }

    [Fact]
    public async Task A_second_trouble_after_the_text_says_what_changed_of_the_first()
    {
        await using var farm = await CuringAsync();
        await GoAsync(farm, 5, 58, 90);
        await GoAsync(farm, 25, 75, 90);
        await GoAsync(farm, 25, 68, 60);
        farm.Texts.Should().HaveCount(2);
        farm.Texts[1].Should().Contain("still 3F too warm (68F), was 75F").And.Contain("20% too dry (60%)");
    }

    [Fact]
    public async Task What_one_text_has_no_room_for_makes_a_second()
    {
        await using var farm = await CuringAsync();
        await GoAsync(farm, 5, 58, 90, more: ",\"co2_ppm\":900");
        await GoAsync(farm, 40, 75, 60, more: ",\"co2_ppm\":6200");
        farm.Texts.Should().Contain(t => t.StartsWith("URGENT CURING ROOM CO2 6,200 ppm") && t.Contains("Never go in alone."));
        var all = string.Join('\n', farm.Texts);
        all.Should().Contain("too warm (75F)").And.Contain("too dry (60%)");
    }

    [Fact]
    public async Task Who_came_after_the_text_is_told_what_it_said_and_nobody_else_is_again()
    {
        await using var farm = await CuringAsync();
        await GoAsync(farm, 5, 58, 90);
        await GoAsync(farm, 17, 75, 90);
        await GoAsync(farm, 10, 75, 60);
        await farm.AskAsync(h => { h.SaveContact(new Contact("1", "Ann", CapturingChannel.ChannelName, "ann", "all")); return true; });
        await GoAsync(farm, 20, 75, 60);
        var texts = farm.Store.Read(c => OutboxRows.Latest(c, 100)).ToLookup(t => t.Recipient, t => t.Sms);
        texts[""].Should().ContainSingle().Which.Should().Contain("too dry (60%)");
        texts["ann"].Should().ContainSingle().Which.Should().Contain("too dry (60%)").And.Contain("10F too warm (75F)");
    }

    [Fact]
    public async Task After_a_restart_it_is_still_known_what_was_told()
    {
        await using var farm = await CuringAsync();
        await GoAsync(farm, 5, 58, 90);
        await GoAsync(farm, 25, 75, 90);
        await farm.RestartAsync(TimeSpan.FromMinutes(1));
        await GoAsync(farm, 25, 68, 60);
        farm.Texts.Should().HaveCount(2);
        farm.Texts[1].Should().Contain("still 3F too warm (68F), was 75F").And.Contain("20% too dry (60%)");
    }

    [Fact]
    public async Task What_was_over_and_begins_again_is_told_again_however_soon_and_across_a_restart()
    {
        await using var farm = await CuringAsync(Farm.AtOnce());
        await HearAsync(60);
        for (var time = 1; time <= 3; time++)
        {
            await HearAsync(68);
            await HearAsync(60);
            await farm.SettledAsync();
            farm.Texts.Should().HaveCount(2 * time);
            farm.Texts.Count(t => t.Contains("3F too warm (68F)", StringComparison.Ordinal)).Should().Be(time);
            if (time == 2) await farm.RestartAsync(TimeSpan.FromSeconds(2));
        }

        async Task HearAsync(double fahrenheit)
        {
            farm.Time.Advance(TimeSpan.FromSeconds(3));
            await farm.SayAsync("rootcellar/curing/door", Payload(fahrenheit, 90));
        }
    }

    [Fact]
    public async Task What_was_on_its_way_and_told_needs_no_second_text_after_a_restart_either()
    {
        await using var farm = await CuringAsync();
        await GoAsync(farm, 5, 58, 90);
        await GoAsync(farm, 10, 75, 90);
        await GoAsync(farm, 14, 75, 60);
        farm.Texts.Should().ContainSingle().Which.Should().Contain("too dry (60%)");
        await farm.RestartAsync(TimeSpan.FromMinutes(1));
        await GoAsync(farm, 20, 75, 60);
        (await farm.SeeAsync(s => s.OpenAlarms.Count)).Should().Be(2);
        farm.Texts.Should().ContainSingle();
    }

    [Fact]
    public async Task What_reached_nobody_is_told_again()
    {
        await using var farm = await CuringAsync();
        await farm.AskAsync(h => { h.SaveContact(new Contact("1", "Ann", "mail", "ann@example.org", "all")); return true; });
        await GoAsync(farm, 5, 58, 90);
        await GoAsync(farm, 10, 75, 90);
        await GoAsync(farm, 40, 75, 60);
        var mails = farm.Store.Read(c => OutboxRows.Latest(c, 100)).Where(t => t.Channel == "mail").ToList();
        mails.Should().OnlyContain(t => t.State == OutgoingState.GivenUp, "no mail is set up").And.HaveCount(2);
    }

    [Fact]
    public async Task A_third_of_a_percent_too_dry_by_a_sensor_good_to_three_is_noise()
    {
        await using var farm = await CuringAsync();
        await GoAsync(farm, 5, 58, 90);
        await GoAsync(farm, 60, 58, 79.7);
        (await farm.SeeAsync(s => s.OpenAlarms.Count)).Should().Be(0);
        farm.Texts.Should().BeEmpty();
    }

    [Fact]
    public async Task The_same_little_for_hours_is_an_alarm_that_says_how_little_and_how_long()
    {
        await using var farm = await CuringAsync();
        await GoAsync(farm, 5, 58, 90);
        var began = farm.Time.GetUtcNow();
        await GoAsync(farm, 260, 58, 79.3);
        farm.Texts.Should().ContainSingle().Which.Should().Contain(FormattableString.Invariant($"1% too dry (79%) since {began:HH:mm}"));
    }

    [Fact]
    public async Task A_little_that_grows_far_is_an_alarm_when_both_together_are_enough()
    {
        await using var farm = await CuringAsync();
        await GoAsync(farm, 5, 58, 90);
        await GoAsync(farm, 20, 58, 79.5);
        farm.Texts.Should().BeEmpty();
        await GoAsync(farm, 12, 58, 73);
        farm.Texts.Should().ContainSingle().Which.Should().Contain("7% too dry (73%) since");
    }

    [Fact]
    public async Task What_a_page_says_grows_with_size_and_time_and_ends_with_the_air()
    {
        await using var farm = await CuringAsync();
        await GoAsync(farm, 5, 58, 90);
        await SaysAsync("", "");
        var began = farm.Time.GetUtcNow();
        await GoAsync(farm, 3, 67, 90);
        await SaysAsync($"2F too warm (67F) since {began:HH:mm}; a text goes out at", "open door + vent");
        // A jump of more than cellar air makes is believed once it has stood for some minutes.
        await GoAsync(farm, 8, 75, 90);
        await SaysAsync($"10F too warm (75F) since {began:HH:mm}; a text goes out at", "open door + vent");
        await GoAsync(farm, 25, 75, 90);
        await SaysAsync($"10F too warm (75F) since {began:HH:mm}", "open door + vent");
        await GoAsync(farm, 8, 56, 90);
        await SaysAsync("too warm: back to 56F, over at", "If door or vent is still open, shut it.");
        await GoAsync(farm, 40, 56, 90);
        await SaysAsync("", "");

        async Task SaysAsync(string wrong, string order)
        {
            var judged = (await farm.SeeAsync(s => s.Place("curing")))!.Judgement;
            var words = new JudgementWords(new RootCellar.Household.HouseholdOptions { TimeZone = "UTC" });
            words.Standing(judged, farm.Time.GetUtcNow()).Should()
                .StartWith(wrong).And.HaveLength(wrong.Length == 0 ? 0 : words.Standing(judged, farm.Time.GetUtcNow()).Length);
            var says = words.Order(judged.Order, judged.Decides);
            if (order.Length == 0) says.Should().BeEmpty();
            else says.Should().Contain(order);
            if (judged.Findings.All(f => !f.Calls)) says.Should().NotContain("open door + vent");
        }
    }
}
