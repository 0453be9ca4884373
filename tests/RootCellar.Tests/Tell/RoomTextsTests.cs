using RootCellar.Advice;
using RootCellar.Places;
using RootCellar.Science.Air;
using RootCellar.Tell;
using RootCellar.Tests.Households;
using RootCellar.Tests.Storage;
using RootCellar.Tests.Watch;
using RootCellar.Watch;
using static RootCellar.Tests.Tell.Messages;

namespace RootCellar.Tests.Tell;

/// <summary>The texts about one room's air: to each what he was not told yet, and what changed of what he was.</summary>
public sealed class RoomTextsTests
{
    private static readonly Contact Zoe = new("1", "Zoe", "post", "+1", "all");
    private static readonly Contact Ann = new("2", "Ann", "post", "+2", "all");
    private static readonly Contact Urgent = new("3", "Bob", "post", "+3", "urgent");

    private static readonly StandingLimit Warm = Stands(Rule.TooWarm, Measure.Air, 24, 15.6, 25);
    private static readonly StandingLimit Dry = Stands(Rule.TooDry, Measure.Humidity, 60, 85, 20);
    private static readonly StandingLimit Frost = Stands(Rule.FreezingNear, Measure.Pulp, -0.5, -0.8, 5);
    private static readonly StandingLimit Light = Stands(Rule.LightInTheDark, Measure.Light, 140, 10, 20);
    private static readonly StandingLimit Co2 = Stands(Rule.Co2High, Measure.Co2, 6200, 5000, 10);

    private readonly Teller teller = new(new TellOptions(), Renderer());

    [Fact]
    public void What_changed_together_is_one_text_to_each_and_nobody_is_told_it_twice()
    {
        teller.Put(Zoe);
        teller.Put(Ann);
        teller.Put(Urgent);
        var texts = Tell([Warm, Dry], Raised(Warm), Raised(Dry));
        texts.Select(t => t.Recipient).Should().Equal("+1", "+2");
        var text = texts[0];
        text.Sms.Should().Be("CURING ROOM 15F too warm (75F) since 19:15, 25% too dry (60%) since 19:20. "
            + "48F out: 1 open door + vent 2 wet floor, clear of plugs 3 shut at 57F. Told Ann, Zoe.");
        text.Body.Should().Contain("Since Tue 14 Oct 19:15. Worst so far 75F.").And.NotContain("STILL");
        (text.Said!.Place, text.Said.Ended).Should().Be(("curing", null));
        text.Said.Findings.Should().Equal(new SaidFinding(Rule.TooWarm, Warm.Since, 24), new SaidFinding(Rule.TooDry, Dry.Since, 60));

        Tell([Warm, Dry], Raised(Dry)).Should().BeEmpty("the last text said it");
        Tell([Warm, Dry], Raised(Dry with { Since = Dry.Since.AddSeconds(59) })).Should().BeEmpty("clocks are set in small steps");
        Tell([Warm, Dry], Raised(Dry with { Since = Dry.Since.AddSeconds(-60) })).Should().HaveCount(2, "it is another time");
        teller.Put(new Contact("4", "Cy", "post", "+4", "all"));
        Tell([Warm, Dry], Raised(Warm), Raised(Dry)).Select(t => t.Recipient).Should().Equal("+4");
    }

    [Fact]
    public void What_is_urgent_is_told_to_all_and_again_and_the_rest_is_not()
    {
        teller.Put(Zoe);
        teller.Put(Urgent);
        Tell([Warm], Raised(Warm)).Select(t => t.Recipient).Should().Equal("+1");
        for (var time = 0; time < 2; time++)
        {
            var texts = Tell([Warm, Frost], Raised(Warm), Raised(Frost));
            texts.Select(t => (t.Recipient, t.Priority, t.Alarm)).Should()
                .Equal(("+1", "urgent", "freezing-near"), ("+3", "urgent", "freezing-near"));
            var bins = time == 0 ? "bins" : "still bins";
            texts[0].Sms
                .Should().StartWith($"URGENT CURING ROOM {bins} 31.1F, crops freeze near 31F since 19:35, still 15F too warm (75F)");
            texts[1].Sms.Should().Contain(time == 0 ? ", 15F too warm (75F)" : ", still 15F too warm (75F)");
        }
    }

    [Fact]
    public void A_further_text_says_what_changed_of_what_was_told()
    {
        teller.Put(Zoe);
        Tell([Warm, Dry], Raised(Warm), Raised(Dry));
        var cooler = Warm with { Shown = new Shown(Measure.Air, 20, 15.6) };
        Tell([cooler, Dry, Light], Raised(Light)).Single().Sms.Should().Be("CURING ROOM still 8F too warm (68F), was 75F since 19:15, "
            + "still 25% too dry (60%), light 140 lux, dark is under 10 lux since 19:20. 48F out: open door + vent.");
        var reminder = Tell([cooler], Reminder(cooler)).Single();
        reminder.Sms.Should().Be("CURING ROOM still 8F too warm (68F) since 19:15; nobody is on it. 48F out: 1 open door + vent "
            + "2 shut at 57F. Told Zoe.");
        reminder.Subject.Should().Be("CURING ROOM: too warm, still");
        Tell([cooler], Reminder(cooler)).Should().ContainSingle("nobody is on it");
    }

    [Fact]
    public void What_is_over_says_since_when_how_long_and_the_worst_and_what_is_left()
    {
        teller.Put(Zoe);
        Tell([Warm, Dry], Raised(Warm), Raised(Dry));
        var over = Tell([Dry], Over(Warm, 15, 24, 120)).Single();
        over.Sms.Should().Be("CURING ROOM no longer too warm: 59F at 19:37, after 2 h (worst 75F); still 25% too dry (60%) since 19:20. "
            + "48F out: open door + vent.");
        over.Said!.Ended.Should().Equal(new SaidEnd(Rule.TooWarm));
        over.Said.Findings.Select(f => f.Rule).Should().Equal(Rule.TooDry);
        over.Body.Should().Contain("Since Tue 14 Oct 19:15.").And.NotContain("Worst so far");
        Tell([Warm, Dry], Raised(Warm), Raised(Dry)).Single().Sms.Should().Contain("15F too warm (75F) since 19:15, still 25% too dry",
            "what was over and begins again is told again, however soon");

        Tell([], Over(Warm, 15, 24, 120), Over(Dry, 88, 55, 130)).Single().Sms.Should().Be("CURING ROOM fine again: 59F, 88% at 19:37, "
            + "after 2 h 10 min (worst 75F, 55%). If door or vent is still open, shut it. Told Zoe.");
        Tell(teller, [], [Over(Warm, 15, 24, 120), Over(Dry, 88, 55, 130)], othersOpen: true).Single().Sms.Should()
            .StartWith("CURING ROOM no longer too warm, too dry: 59F, 88% at 19:37, after 2 h 10 min (worst 75F, 55%). If door");
        Tell([], Over(Co2, 900, 7000, 130)).Single().Sms.Should().Be("CURING ROOM fine again: 900 ppm at 19:37, after 2 h 10 min "
            + "(worst 7,000 ppm). Not a safety gauge. Still air it before you go in, and don't go in alone.");
    }

    [Fact]
    public void What_one_text_has_no_room_for_makes_another_and_a_mail_says_it_all()
    {
        teller.Put(Zoe);
        teller.Put(Urgent);
        teller.Put(new Contact("9", "Mae", "mail", "mae@farm.example", "all"));
        StandingLimit[] all = [Warm, Dry, Light, Co2];
        var texts = Tell(all, Raised(Warm), Raised(Dry), Raised(Light), Raised(Co2)).ToLookup(t => t.Recipient);
        texts["+3"].Single().Said!.Findings.Select(f => f.Rule).Should().Equal([Rule.Co2High], "the others are not urgent");
        texts["+1"].Select(t => t.Alarm).Should().Equal("co2-high", "too-warm", "too-dry", "light-in-the-dark");
        texts["+1"].Should().AllSatisfy(t => t.Sms.Should().Contain("Never go in alone."));
        texts["+1"].Select(t => t.Sms.Split(". ")[0]).Should().Equal("URGENT CURING ROOM CO2 6,200 ppm, limit 5,000 since 19:30",
            "CURING ROOM 15F too warm (75F) since 19:15", "CURING ROOM 25% too dry (60%) since 19:20",
            "CURING ROOM light 140 lux, dark is under 10 lux since 19:20");
        texts["mae@farm.example"].Single().Said!.Findings.Select(f => f.Rule).Should()
            .Equal(Rule.Co2High, Rule.TooWarm, Rule.TooDry, Rule.LightInTheDark);
    }

    [Fact]
    public async Task What_reached_nobody_is_told_again_and_what_was_told_is_known_after_a_start()
    {
        teller.Put(Zoe);
        var first = Tell([Warm], Raised(Warm)).Single();
        teller.Undelivered(first);
        var second = Tell([Warm], Raised(Warm)).Single();
        teller.Undelivered(first);
        Tell([Warm], Raised(Warm)).Should().BeEmpty("a later text said it");

        using var folder = new TempFolder();
        await using var store = folder.Open(TimeProvider.System);
        await store.WriteAsync(c =>
        {
            ContactRows.Save(c, Zoe);
            OutboxRows.Save(c, second with { State = OutgoingState.Sent });
            OutboxRows.Save(c, Tell([Dry], Raised(Dry)).Single() with { State = OutgoingState.GivenUp });
            OutboxRows.Save(c, Tell([Light], Raised(Light)).Single() with { CreatedAt = At.AddHours(1) });
            OutboxRows.Save(c, Tell([Warm], Over(Light, 0, 140, 30)).Single() with { CreatedAt = At.AddHours(2) });
            OutboxRows.Save(c, teller.Test(Zoe.Id, At.AddHours(3))!);
        });
        var again = new Teller(new TellOptions(), Renderer());
        again.Load(store, () => throw new InvalidOperationException("the record can be read"));
        Tell(again, [Warm], Raised(Warm)).Should().BeEmpty();
        Tell(again, [Dry], Raised(Dry)).Should().ContainSingle("its text was given up");
        Tell(again, [Light], Raised(Light)).Should().ContainSingle("it was over since");
        // One that says nothing of a room has nothing to be forgotten.
        again.Undelivered(teller.Test(Zoe.Id, At)!);
        Tell(again, [Warm], Raised(Warm)).Should().BeEmpty();
    }

    /// <summary>A channel that is not set up, and one that took nothing for longer than a text is of use.</summary>
    [Theory]
    [InlineData("post")]
    [InlineData(CapturingChannel.ChannelName)]
    public async Task What_the_outbox_gives_up_is_told_again(string channel)
    {
        teller.Put(Zoe with { Channel = channel });
        var given = Tell([Warm], Raised(Warm)).Single();
        using var folder = new TempFolder();
        var time = new HouseTime(At.AddDays(4));
        await using var store = folder.Open(time);
        using var outbox = new Outbox(new ChannelDesk(new CapturingChannel()), store, time, new TellMetrics(TestMeters.Factory),
            Microsoft.Extensions.Logging.Abstractions.NullLogger<Outbox>.Instance, teller: teller);
        await outbox.StartAsync(TestContext.Current.CancellationToken);
        outbox.Accept([given], Task.FromResult(true));
        await Sample.UntilAsync(() => outbox.Underway == 0);
        await outbox.StopAsync(TestContext.Current.CancellationToken);
        Tell([Warm], Raised(Warm)).Should().ContainSingle("the first reached nobody");
    }

    [Fact]
    public async Task With_a_record_whose_contacts_cannot_be_read_the_copy_knows_whom_to_tell()
    {
        using var folder = new TempFolder();
        await using var store = folder.Open(TimeProvider.System);
        await store.WriteAsync(c => RootCellar.Storage.Sql.Execute(c, "ALTER TABLE contact RENAME TO contact_damaged"));
        teller.Load(store, () => [Ann]);
        teller.Contacts.Should().Equal(Ann);
        var other = new Teller(new TellOptions(), Renderer());
        other.Load(store, () => null);
        other.Contacts.Should().BeEmpty();
    }

    [Fact]
    public void That_it_is_over_is_said_in_plain_figures_also_by_words_of_the_growers_own()
    {
        using var folder = new TempFolder();
        File.WriteAllText(Path.Combine(folder.Path, "too-warm.over.sbn"), "{{ value }} of {{ limit }}");
        File.WriteAllText(Path.Combine(folder.Path, "too-warm.sbn"), "{{ value }} of {{ limit }}");
        var renderer = Renderer(templates: new TemplateSet(folder.Path));
        var (raised, over) = (Messages.Change(Rule.TooWarm, Telling.Raised, 25), Messages.Change(Rule.TooWarm, Telling.Over, 25));
        renderer.Render(raised with { After = raised.After with { Value = 15.6 } }, Curing, Held).Sms.Should().Be("60.1F of 60.0F");
        renderer.Render(over with { After = over.After with { Value = 15.5 } }, Curing, Held).Sms.Should().Be("60F of 60F");
    }

    [Fact]
    public void Words_of_the_growers_own_are_taken_to_tell_of_their_own_rule()
    {
        using var folder = new TempFolder();
        File.WriteAllText(Path.Combine(folder.Path, "too-warm.sbn"), "{{ place }} is hot.");
        var own = new Teller(new TellOptions(), Renderer(templates: new TemplateSet(folder.Path)));
        own.Put(Zoe);
        var text = Tell(own, [Warm, Dry], Raised(Warm)).Single();
        text.Sms.Should().Be("CURING ROOM is hot.");
        text.Said!.Findings.Select(f => f.Rule).Should().Equal(Rule.TooWarm);
        Tell(own, [Warm, Dry], Raised(Dry)).Single().Said!.Findings.Select(f => f.Rule).Should().Equal(Rule.TooWarm, Rule.TooDry);
    }

    [Fact]
    public async Task Without_a_record_the_copy_beside_it_knows_whom_to_tell()
    {
        using var folder = new TempFolder();
        await File.WriteAllTextAsync(folder.File, "no record at all", TestContext.Current.CancellationToken);
        await using var none = folder.Open(TimeProvider.System);
        teller.Load(none, () => [Ann]);
        teller.Contacts.Should().Equal(Ann);
    }

    private IReadOnlyList<Outgoing> Tell(IReadOnlyList<StandingLimit> standing, params IReadOnlyList<AlarmChange> changes) =>
        Tell(teller, standing, changes);

    private static IReadOnlyList<Outgoing> Tell(Teller teller, IReadOnlyList<StandingLimit> standing, AlarmChange change) =>
        Tell(teller, standing, [change]);

    private static IReadOnlyList<Outgoing> Tell(Teller teller, IReadOnlyList<StandingLimit> standing, IReadOnlyList<AlarmChange> changes,
        bool othersOpen = false)
    {
        var air = new PlaceAir("curing", At, 24, 60, MoistAir.At(24, 60).DewPointC, null, null, null, null, null, AirQuality.Good);
        var band = Watching.Held(new ClimateBand(10, 15.6, 85, 95), -0.8, 10);
        var outdoors = air with { TemperatureC = 9, DewPointC = MoistAir.At(9, 60).DewPointC };
        return teller.Compose(changes, PlaceJudge.Of(Curing, air, band, standing, outdoors), band, othersOpen, At);
    }

    private static StandingLimit Stands(Rule rule, Measure measure, double value, double limit, int minutes) => new(
        rule, StandingState.Alarm, new Shown(measure, value, limit), value, At.AddMinutes(-minutes), null, rule.Slug());

    private static AlarmChange Raised(StandingLimit s) => Change(s, Telling.Raised, AlarmState.Unacknowledged);

    private static AlarmChange Reminder(StandingLimit s) => Change(s, Telling.Reminder, AlarmState.Unacknowledged);

    private static AlarmChange Over(StandingLimit s, double back, double worst, int minutes)
    {
        var over = Change(s, Telling.Over, AlarmState.ReturnedUnacknowledged);
        return over with
        {
            Lasted = TimeSpan.FromMinutes(minutes),
            After = over.After with { Active = false, Value = back, Worst = worst, ReturnedAt = At.AddMinutes(-3) },
        };
    }

    private static AlarmChange Change(StandingLimit s, Telling tell, AlarmState state) => new(null, new Alarm(
        s.Rule.Slug(), 7, s.Rule, "curing", null, s.Rule.Priority(), state, true, s.Shown.Measure, s.Shown.Value, s.Shown.Limit, s.Worst,
        At, s.Since), tell, At - s.Since);
}
