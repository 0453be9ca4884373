using RootCellar.Advice;
using RootCellar.Household;
using RootCellar.Places;
using RootCellar.Tell;
using RootCellar.Tests.Storage;
using RootCellar.Watch;

namespace RootCellar.Tests.Tell;

/// <summary>Who is told of what, what a contact may be, and how a text is marked.</summary>
public sealed class WhoIsToldTests
{
    private static readonly AlarmChange Warm = Messages.Change(Rule.TooWarm, Telling.Raised, 25);
    private static readonly AlarmChange Frost = Messages.Change(Rule.FreezingNear, Telling.Raised, 25);

    [Fact]
    public void Who_wants_urgent_texts_only_gets_no_others_and_nobody_gets_one_twice()
    {
        var teller = new Teller(new TellOptions(), Messages.Renderer());
        Told(teller, Warm).Should().BeEmpty("there is nobody to tell");
        teller.Put(new Contact("1", "Zoe", "mail", "zoe@example.org", "all"));
        teller.Put(new Contact("2", "Ann", "post", "+1555", "urgent"));
        teller.Put(new Contact("3", "Zoe's phone", "mail", "zoe@example.org", "all"));
        Told(teller, Warm).Should().Equal("mail zoe@example.org");
        Told(teller, Frost).Should().BeEquivalentTo("mail zoe@example.org", "post +1555");
        Told(teller, Warm with { Tell = Telling.None }).Should().BeEmpty();
        teller.Contacts.Select(c => c.Name).Should().Equal("Ann", "Zoe", "Zoe's phone");
        teller.Remove("1").Should().BeTrue();
        teller.Remove("1").Should().BeFalse();
        Told(teller, Warm).Should().Equal("mail zoe@example.org");
    }

    [Fact]
    public void A_text_carries_its_alarm_its_priority_and_its_hour()
    {
        var teller = new Teller(new TellOptions(), Messages.Renderer());
        teller.Put(new Contact("1", "Zoe", "mail", "zoe@example.org", "all"));
        var text = Compose(teller, Frost).Single();
        (text.Alarm, text.Priority, text.CreatedAt, text.State).Should().Be((Frost.After.Id, "urgent", Messages.At, OutgoingState.Waiting));
        text.Sms.Should().Be(Messages.Renderer().Render(Frost, Messages.Cellar, Messages.Held).Sms);
        text.Id.Should().HaveLength(32).And.NotBe(Compose(teller, Frost).Single().Id);

        teller.Test("9", Messages.At).Should().BeNull();
        var test = teller.Test("1", Messages.At)!;
        (test.Channel, test.Recipient, test.Priority, test.Alarm).Should().Be(("mail", "zoe@example.org", "low", null));
        test.Id.Should().HaveLength(32);
        test.Sms.Should().StartWith("RootCellar test").And.Contain("nothing to do");
        test.Subject.Should().Be("RootCellar test");
    }

    [Fact]
    public void Who_stands_in_the_settings_is_told_too_and_a_gateway_with_contacts_only_these()
    {
        var settings = new Settings();
        (settings.Tell.Mail.Host, settings.Tell.Mail.To) = ("mail.example.org", "farm@example.org");
        settings.Tell.Post.Url = "http://gateway.example.org/";
        var teller = new Teller(settings.Tell, Messages.Renderer(), new AlwaysTold(["console"]));
        Told(teller, Warm).Should().Equal("mail farm@example.org", "post ", "console ");
        teller.Put(new Contact("1", "Ann", "post", "+1555", "all"));
        Told(teller, Warm).Should().Equal("post +1555", "mail farm@example.org", "console ");
        settings.Tell.Post.To = "+1777";
        Told(teller, Warm).Should().Equal("post +1555", "mail farm@example.org", "post +1777", "console ");
        settings.Tell.Mail.To = "";
        settings.Tell.Post.Url = "";
        Told(teller, Warm).Should().Equal("post +1555", "console ");
        settings.Tell.Post.Url = null;
        Told(teller, Warm).Should().Equal("post +1555", "console ");
        settings.Tell.Mail.To = "farm@example.org";
        settings.Tell.Mail.Host = "";
        Told(teller, Warm).Should().Equal("post +1555", "console ");
    }

    [Fact]
    public async Task Contacts_are_kept_and_known_at_the_next_start()
    {
        using var folder = new TempFolder();
        await using var store = folder.Open(TimeProvider.System);
        var zoe = new Contact("1", "Zoe", "mail", "zoe@example.org", "all", Report: false);
        var ann = new Contact("2", "Ann", "post", "+1555", "urgent");
        await store.WriteAsync(c =>
        {
            ContactRows.Save(c, zoe with { Address = "old@example.org" });
            ContactRows.Save(c, zoe);
            ContactRows.Save(c, ann);
        });
        var teller = new Teller(new TellOptions(), Messages.Renderer());
        teller.Load(store, () => null);
        teller.Contacts.Should().Equal(ann, zoe);
        await store.WriteAsync(c =>
        {
            ContactRows.Remove(c, "2").Should().BeTrue();
            ContactRows.Remove(c, "2").Should().BeFalse();
        });
        store.Read(ContactRows.All).Should().Equal(zoe);
    }

    [Theory]
    [InlineData("", "mail", "a@b.org", null, "name: who is it? At most 80 letters.")]
    [InlineData(" ", "mail", "a@b.org", null, "name: who is it? At most 80 letters.")]
    [InlineData("Ann", "pigeon", "a@b.org", null, "channel: 'pigeon' is not one of mail, post, modem.")]
    [InlineData("Ann", null, "a@b.org", null, "channel: '' is not one of mail, post, modem.")]
    [InlineData("Ann", "mail", "nobody", null, "address: 'nobody' is not a mail address. Right: ann@example.org.")]
    [InlineData("Ann", "mail", "a b@", null, "address: 'a b@' is not a mail address. Right: ann@example.org.")]
    [InlineData("Ann", "post", null, null, "address: the number or name the gateway knows this person by, e.g. +15551234567.")]
    [InlineData("Ann", "post", " ", null, "address: the number or name the gateway knows this person by, e.g. +15551234567.")]
    [InlineData("Ann", "post", "+1555", "some", "wants: 'some' is not one of all, urgent.")]
    public void What_makes_no_contact_is_refused_with_what_would_be_right(
        string name, string? channel, string? address, string? wants, string says)
    {
        ContactRules.Read(null, name, channel, address, wants, out var contact)!.Text.Should().Be(says);
        contact.Should().BeNull();
    }

    [Fact]
    public void A_contact_is_read_as_people_type_it()
    {
        ContactRules.Read(null, " Ann ", " Mail ", " ann@example.org ", " URGENT ", out var contact).Should().BeNull();
        (contact!.Name, contact.Channel, contact.Address, contact.Wants, contact.Report).Should()
            .Be(("Ann", "mail", "ann@example.org", "urgent", true));
        contact.Id.Should().MatchRegex("^[0-9a-f]{12}$");
        ContactRules.Read("7", new string('n', 80), "post", new string('1', 200), "", out contact, report: false).Should().BeNull();
        (contact!.Id, contact.Wants, contact.Report).Should().Be(("7", "all", false));
        ContactRules.Read("7", new string('n', 81), "post", "+1", "", out _).Should().NotBeNull();
        ContactRules.Read("7", "Ann", "post", new string('1', 201), "", out _).Should().NotBeNull();
        ContactRules.Read("", "Ann", "post", "+1", null, out contact).Should().BeNull();
        contact!.Id.Should().HaveLength(12);
    }

    [Theory]
    [InlineData(6.1, 5.0, 3.0, 3.0, true, false, false)]
    [InlineData(6.0, 5.0, 3.0, 3.0, false, false, false)]
    [InlineData(5.0, 5.0, 2.4, 3.0, false, true, false)]
    [InlineData(5.0, 5.0, 2.5, 3.0, false, false, false)]
    [InlineData(5.0, 5.0, 3.6, 3.0, false, false, true)]
    [InlineData(5.0, 5.0, 3.5, 3.0, false, false, false)]
    public void Outdoors_is_compared_as_far_as_a_sensor_can_tell(
        double outC, double inC, double outDew, double inDew, bool warmer, bool drier, bool wetter)
    {
        using var folder = new TempFolder();
        File.WriteAllText(Path.Combine(folder.Path, "too-warm.sbn"), "{{ outdoors_warmer }} {{ outdoors_drier }} {{ outdoors_wetter }}");
        var renderer = Messages.Renderer(templates: new TemplateSet(folder.Path));
        Says(Watch.Watching.Air(c: outC, dew: outDew)).Should().Be($"{warmer} {drier} {wetter}".ToLowerInvariant());
        Says(null).Should().Be("false false false");

        string Says(PlaceAir? outside)
        {
            var judgement = new PlaceJudgement(Messages.Cellar, RoomState.Alarm, [], [], null, Watch.Watching.Air(c: inC, dew: inDew),
                outside, null);
            return renderer.Render(Warm, Messages.Cellar, null,
                room: new RoomText(judgement, [Warm], RoomText.NothingYet, false, [], Messages.At)).Sms;
        }
    }

    [Fact]
    public void A_late_text_says_how_late_and_one_that_may_have_left_says_so()
    {
        var text = new Outgoing("1", null, "mail", "z", "low", "Too warm.", "Cellar", "Body", Messages.At);
        Marks.On(text, Messages.At.AddMinutes(15)).Should().BeSameAs(text);
        Shown(text, 16).Should().Be(("Too warm. (late by 16 min)", "Cellar (late by 16 min)"));
        Shown(text with { MayBeRepeat = true }, 0).Should().Be(("Too warm. (may be a repeat)", "Cellar (may be a repeat)"));
        Shown(text with { MayBeRepeat = true }, 120).Should()
            .Be(("Too warm. (late by 2 h) (may be a repeat)", "Cellar (late by 2 h) (may be a repeat)"));
        var full = Marks.On(text with { Sms = new string('x', 160) }, Messages.At.AddHours(2)).Sms;
        full.Should().HaveLength(160).And.EndWith("x (late by 2 h)");
        var caution = text with { Sms = new string('x', 150) + "not alone.", Priority = "urgent" };
        Marks.On(caution, Messages.At.AddHours(2)).Sms.Should().Be(caution.Sms, "a caution is worth more than the mark");

        static (string, string) Shown(Outgoing text, double minutes)
        {
            var marked = Marks.On(text, Messages.At.AddMinutes(minutes));
            return (marked.Sms, marked.Subject);
        }
    }

    [Theory]
    [InlineData(nameof(Measure.Air), 15.65, 15.55, "Celsius", "15.7C", "15.6C")]
    [InlineData(nameof(Measure.DewMargin), -0.3, 0, "Celsius", "0.3C", "0.1C")]
    [InlineData(nameof(Measure.DewMargin), -0.3, 0, "Fahrenheit", "0.5F", "0.1F")]
    [InlineData(nameof(Measure.DewMargin), -1.4, 0, "Celsius", "1.4C", "0.1C")]
    [InlineData(nameof(Measure.AirSpread), 2.6, 2.5, "Celsius", "2.6C", "2.5C")]
    [InlineData(nameof(Measure.AirSpread), 2.6, 2.5, "Fahrenheit", "4.7F", "4.5F")]
    [InlineData(nameof(Measure.AirSpread), 8.3, 2.5, "Fahrenheit", "15F", "5F")]
    [InlineData(nameof(Measure.HumiditySpread), 21, 15.75, "Celsius", "21%", "16%")]
    [InlineData(nameof(Measure.HumiditySpread), 15.9, 15.75, "Celsius", "15.9%", "15.8%")]
    [InlineData(nameof(Measure.Co2), 6230, 5000, "Celsius", "6,200 ppm", "5,000 ppm")]
    [InlineData(nameof(Measure.Co2), 5000.4, 5000, "Celsius", "just over 5,000 ppm", "5,000 ppm")]
    [InlineData(nameof(Measure.Step), -10_860, 0, "Celsius", "3 h 1 min", "under 1 min")]
    [InlineData(nameof(Measure.None), 1, 2, "Celsius", "just under ", "")]
    public void Each_measure_is_said_in_its_own_unit(
        string measure, double value, double limit, string scale, string shown, string against) =>
        Wording.Against(Enum.Parse<Measure>(measure), value, limit, Enum.Parse<TemperatureScale>(scale)).Should().Be((shown, against));

    private static IEnumerable<string> Told(Teller teller, AlarmChange change) => Compose(teller, change)
        .Select(t => $"{t.Channel} {t.Recipient}");

    private static IReadOnlyList<Outgoing> Compose(Teller teller, AlarmChange change) =>
        teller.Compose(change, Messages.Cellar, Messages.Held, Messages.At);
}
