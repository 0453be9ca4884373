using System.Text;
using CsCheck;
using RootCellar.Advice;
using RootCellar.Household;
using RootCellar.Places;
using RootCellar.Tell;
using RootCellar.Watch;
using static RootCellar.Tests.Tell.Messages;

namespace RootCellar.Tests.Tell;

public sealed class TextRendererTests
{
    [Theory]
    [InlineData(nameof(Rule.TooWarm), nameof(Telling.Raised), 25, "CURING ROOM 11F too warm (71F) since 19:15.")]
    [InlineData(nameof(Rule.TooWarm), nameof(Telling.Reminder), 260, "CURING ROOM 11F too warm (71F) since 15:20; nobody is on it.")]
    [InlineData(nameof(Rule.TooWarm), nameof(Telling.Over), 130,
        "CURING ROOM fine again: 59F at 19:40, after 2 h 10 min (worst 74F). If door or vent is still open, shut it.")]
    [InlineData(nameof(Rule.SensorSilent), nameof(Telling.Raised), 4400,
        "CURING ROOM sensor bin-4: nothing heard for 3 days 1 h. Check its battery and its signal.")]
    [InlineData(nameof(Rule.SensorsDisagree), nameof(Telling.Raised), 20,
        "CURING ROOM sensors bin-4 and bin-4-2 15F apart for 20 min, should be within 5F. Lay them side by side for an hour. Swap or calibrate the one that is off.")]
    [InlineData(nameof(Rule.SensorsDisagree), nameof(Telling.Over), 130,
        "CURING ROOM sensors bin-4 and bin-4-2 agree again after 2 h 10 min (worst 16F apart).")]
    [InlineData(nameof(Rule.ClockStepped), nameof(Telling.Raised), 0,
        "ROOTCELLAR: the clock jumped 3 h 1 min back. Alarms are not affected. Check the times of what was logged today.")]
    public void A_text_says_place_what_value_limit_since_when_and_one_thing_to_do(string rule, string tell, int minutes, string expected) =>
        Renderer().Render(Change(Enum.Parse<Rule>(rule), Enum.Parse<Telling>(tell), minutes), Curing, Held).Sms.Should().Be(expected);

    [Fact]
    public void A_clock_that_jumped_several_times_says_how_often()
    {
        var once = Change(Rule.ClockStepped, Telling.Raised, 0);
        Renderer().Render(once with { After = once.After with { Count = 12 } }, Curing, Held).Sms
            .Should().Be("ROOTCELLAR: the clock jumped 3 h 1 min back, the last of 12 jumps. Alarms are not affected. Check the times of what was logged today.");
    }

    [Fact]
    public void A_repeat_and_a_late_text_say_so() =>
        Renderer().Render(Change(Rule.TooWarm, Telling.Over, 130), Curing, Held, mayBeRepeat: true, late: true).Sms
            .Should().Be("CURING ROOM fine again: 59F at 19:40, after 2 h 10 min (worst 74F). If door or vent is still open, shut it. (late) (may be a repeat)");

    [Fact]
    public void Every_text_fits_in_both_scales_with_the_longest_names_and_every_mark()
    {
        var hard = new string('W', 500);
        foreach (var scale in Enum.GetValues<TemperatureScale>())
        {
            foreach (var (change, place) in All(TimeSpan.FromMinutes(2879), sensor: "x/" + hard, detail: hard))
                Holds(scale, change, place with { Name = "The old {potato} cellar under the granary, north side, second door" + hard },
                    true);
        }
    }

    [Fact]
    public void Every_text_fits_whatever_people_call_their_places()
    {
        TemperatureScale[] scales = [TemperatureScale.Fahrenheit, TemperatureScale.Celsius];
        var messages = All(TimeSpan.FromMinutes(1435)).ToList();
        Gen.Select(Gen.String, Gen.Int[0, messages.Count - 1], Gen.Bool)
            .Sample((name, i, marks) => Holds(scales[i % 2], messages[i].Change, messages[i].Place with { Name = name }, marks),
                iter: 2000);
    }

    [Fact]
    public void Too_long_a_place_is_shortened_before_the_advice_and_the_value_stays()
    {
        var place = Curing with { Name = "The old potato cellar under the granary, north side, by the second door on the left hand, behind the press and the long bench" };
        var sms = Renderer().Render(Change(Rule.TooWarm, Telling.Raised, 25), place, Held).Sms;

        sms.Should().StartWith("THE OLD POTATO CELLAR UNDER THE GRANARY").And.EndWith(" 11F too warm (71F) since 19:15.");
        Gsm0338.Septets(sms).Should().BeInRange(140, 160);
    }

    [Fact]
    public void A_mail_explains_the_band_and_links_to_the_page()
    {
        var mail = Renderer(page: "http://cellar.local:8080/").Render(Change(Rule.TooWarm, Telling.Raised, 25), Curing, Held);

        mail.Subject.Should().Be("CURING ROOM: too warm");
        mail.Body.Should().Contain("11F too warm (71F) since 19:15").And.Contain("Since Tue 14 Oct 19:15.").And.Contain(
            "- Potato, storage: 38F to 45F, 90-95% RH (USDA AIB 410)")
            .And.Contain("- Onion, dry, storage").And.Contain("http://cellar.local:8080/");
    }

    [Fact]
    public void Every_message_as_the_grower_reads_it()
    {
        var print = new StringBuilder();
        foreach (var scale in Enum.GetValues<TemperatureScale>())
        {
            foreach (var (change, place) in All(TimeSpan.FromMinutes(130)))
            {
                var sms = Renderer(scale).Render(change, place, Held).Sms;
                print.Append(Gsm0338.Septets(sms)).Append(' ').AppendLine(sms);
                Gsm0338.Septets(sms).Should().BeLessThanOrEqualTo(160);
                sms.Should().NotContain("  ").And.NotContain(" .").And.NotContain(" ,").And.NotContain("()").And.MatchRegex(@"[.)]$");
            }
        }

        print.AppendLine().AppendLine(Renderer(page: "http://cellar.local:8080/")
            .Render(Change(Rule.TooWarm, Telling.Reminder, 250), Curing, Held).Body);
        TestContext.Current.TestOutputHelper!.WriteLine(print.ToString());
    }

    private static void Holds(TemperatureScale scale, AlarmChange change, Place place, bool marks)
    {
        var sms = Renderer(scale).Render(change, place, Held, marks, marks).Sms;

        sms.Should().Be(Gsm0338.Fold(sms), "it is in the alphabet");
        Gsm0338.Septets(sms).Should().BeLessThanOrEqualTo(160, sms);
        if (marks)
            sms.Should().EndWith("(late) (may be a repeat)");
        if (change is
            {
                Tell: not Telling.Over,
                After: { Measure: not (Measure.DewMargin or Measure.Light), Value: { } value, Limit: { } limit } alarm
            })
            sms.Should().Contain(Wording.Against(alarm.Measure, value, limit, scale).Value);
    }
}
