using System.Net;
using System.Text;
using System.Text.Json;
using Microsoft.Extensions.DependencyInjection;
using Microsoft.Extensions.Hosting;
using RootCellar.Monitoring;
using RootCellar.Readings;
using RootCellar.Tell;
using RootCellar.Tests.Entry;
using RootCellar.Tests.Storage;
using RootCellar.Watch;

namespace RootCellar.Tests.Pages;

/// <summary>Alarms answered from where they are read: by text, as the modem's daemon hands it on, and by the link in a mail.</summary>
public sealed class AnsweringTests : IDisposable
{
    private const string Nell = "+15551234567";

    private readonly TempFolder inbox = new();
    private int received;

    public void Dispose() => inbox.Dispose();

    [Fact]
    public async Task Ok_from_a_contact_s_own_number_acknowledges_what_waits_and_is_answered_once()
    {
        await using var site = await HouseAsync();
        await TooWarmAsync(site);
        var text = (await TextsAsync(site)).Single();
        text.Should().Contain("CELLAR").And.Contain("Reply OK 1.");

        await ReceiveAsync(site, "+15550000000", "OK 1");
        (await AlarmAsync(site)).State.Should().Be(AlarmState.Unacknowledged, "nobody knows that number");
        await ReceiveAsync(site, Nell, "ok");

        var alarm = await AlarmAsync(site);
        (alarm.State, alarm.AcknowledgedBy).Should().Be((AlarmState.Acknowledged, "Nell"));
        (await TextsAsync(site)).Should().HaveCount(2).And.Contain("OK, Nell, you're on it: CELLAR too warm.");
        await LookAgainAsync(site);
        (await TextsAsync(site)).Should().HaveCount(2, "each text is taken once");
        using var shape = JsonDocument.Parse(await site.ReadAsync("/api/channels/modem"));
        var answers = shape.RootElement.GetProperty("answers");
        (answers.GetProperty("heard").GetBoolean(), answers.GetProperty("acknowledged").GetInt32(), answers.GetProperty("unknown").GetInt32())
            .Should().Be((true, 1, 1));
        (await site.WordsAsync("/set-up/channels")).Should().Contain("A text can be answered").And.Contain(
            "Since the start 1 answered, 0 answered nothing, 1 came from numbers that are no contact's and were ignored.");
    }

    [Fact]
    public async Task Where_several_wait_the_number_says_which()
    {
        await using var site = await HouseAsync();
        await TooWarmAsync(site, places: ["cellar", "curing"]);
        var numbered = await TextsAsync(site);
        numbered.Should().Contain(t => t.Contains("Reply OK 1.", StringComparison.Ordinal)).And.Contain(
            t => t.Contains("Reply OK 2.", StringComparison.Ordinal));

        await ReceiveAsync(site, Nell, "OK");
        (await TextsAsync(site)).Should().Contain("Which one? Reply OK 2 CELLAR too warm; OK 1 CURING ROOM too warm.");
        (await AlarmAsync(site)).State.Should().Be(AlarmState.Unacknowledged);
        await ReceiveAsync(site, Nell, "OK 1");
        (await AlarmAsync(site, "curing")).AcknowledgedBy.Should().Be("Nell");
        (await AlarmAsync(site)).State.Should().Be(AlarmState.Unacknowledged);
        await ReceiveAsync(site, Nell, "ok");
        (await AlarmAsync(site)).AcknowledgedBy.Should().Be("Nell", "one waits");
    }

    [Fact]
    public async Task What_answers_nothing_is_explained_once_an_hour()
    {
        await using var site = await HouseAsync();
        await ReceiveAsync(site, Nell, "OK");
        await ReceiveAsync(site, Nell, "I am driving and answer later");
        await ReceiveAsync(site, Nell, "OK, I am driving");
        (await TextsAsync(site)).Should().Equal("Nothing waits for your answer.");
        site.Time.Advance(TimeSpan.FromMinutes(61));
        await ReceiveAsync(site, Nell, "What?");
        (await TextsAsync(site)).Should().HaveCount(2).And.Contain("RootCellar can't read that. Reply OK, or OK and the number in the text.");
    }

    [Fact]
    public async Task Who_is_second_is_told_who_is_on_it()
    {
        await using var site = await HouseAsync();
        await TooWarmAsync(site);
        var id = (await AlarmAsync(site)).Id;
        await site.Services.GetRequiredService<Pipeline>().AskAsync((h, wall, mono) => h.Acknowledge(id, "Amos", mono, wall), Cancelled);
        await ReceiveAsync(site, Nell, "ok 1");
        (await AlarmAsync(site)).AcknowledgedBy.Should().Be("Amos");
        (await TextsAsync(site)).Should().Contain("Amos is on it already: CELLAR too warm.");
    }

    [Fact]
    public async Task What_lay_in_the_inbox_before_and_what_is_too_old_answers_nothing_also_after_a_restart()
    {
        using var record = new TempFolder();
        await using (var site = await HouseAsync(record, before: s => Lay(s.GetUtcNow().AddMinutes(-1), Nell, "OK")))
        {
            await TooWarmAsync(site);
            await LookAgainAsync(site);
            (await AlarmAsync(site)).State.Should().Be(AlarmState.Unacknowledged);
            await ReceiveAsync(site, Nell, "Ok");
            (await TextsAsync(site)).Should().HaveCount(2);
        }

        await using var again = await HouseAsync(record, contact: false);
        await LookAgainAsync(again);
        (await TextsAsync(again)).Should().HaveCount(2, "what was taken is not taken again");
    }

    [Fact]
    public async Task An_inbox_that_cannot_be_read_is_said_and_texts_carry_no_number()
    {
        await using var site = await HouseAsync(change: m => m.Inbox = "/nonexistent/inbox");
        await TooWarmAsync(site);
        (await TextsAsync(site)).Single().Should().NotContain("Reply");
        (await site.WordsAsync("/set-up/channels")).Should().Contain("Answers by text aren't heard: ").And.Contain("/nonexistent/inbox");

        await using var off = await HouseAsync(change: m => m.Answers = false);
        await TooWarmAsync(off);
        (await TextsAsync(off)).Single().Should().NotContain("Reply");
        (await off.WordsAsync("/set-up/channels")).Should().Contain("Answers by text are turned off in the settings file.");
    }

    [Fact]
    public async Task A_link_shows_what_is_wrong_and_only_its_button_acknowledges_once()
    {
        await using var site = await HouseAsync();
        await TooWarmAsync(site);
        var alarm = await AlarmAsync(site);
        var path = await MailAsync(site, alarm.Id);
        using var phone = new Visitor(site);

        for (var look = 0; look < 3; look++)
        {
            var page = await phone.GetAsync(path);
            page.Status.Should().Be(HttpStatusCode.OK);
            page.Words.Should().Contain("too warm").And.Contain("I'm on it").And.Contain("Everybody sees that Nell is on it");
            phone.Headers["Cache-Control"].Single().Should().Contain("no-store");
        }

        (await AlarmAsync(site)).State.Should().Be(AlarmState.Unacknowledged, "looking acknowledges nothing");
        var form = (await phone.GetAsync(path)).Html;
        (await phone.SendAsync(path, "")).Status.Should().Be(HttpStatusCode.BadRequest, "a form of another page's");
        (await AlarmAsync(site)).State.Should().Be(AlarmState.Unacknowledged);

        (await phone.SendAsync(path, form)).Location.Should().Be(path);

        alarm = await AlarmAsync(site);
        (alarm.State, alarm.AcknowledgedBy).Should().Be((AlarmState.Acknowledged, "Nell"));
        (await phone.GetAsync(path)).Words.Should().Contain("Nell is on it since").And.NotContain("I'm on it");

        // It asks again: that link is used up.
        await site.Services.GetRequiredService<Pipeline>().AskAsync(
            (h, wall, mono) => h.Shelve(alarm.Id, TimeSpan.FromHours(1), mono, wall) is not null && h.Unshelve(alarm.Id, mono, wall) is not null,
            Cancelled);
        (await AlarmAsync(site)).State.Should().Be(AlarmState.Unacknowledged);
        (await phone.GetAsync(path)).Words.Should().Contain("too warm").And.NotContain("I'm on it");
        (await phone.SendAsync(path, form)).Status.Should().Be(HttpStatusCode.OK);
        (await AlarmAsync(site)).State.Should().Be(AlarmState.Unacknowledged);
        (await phone.GetAsync("/alarms")).Location.Should().Contain("/sign-in", "the link opens nothing else");
    }

    [Theory]
    [InlineData("expired")]
    [InlineData("unknown")]
    [InlineData("no contact")]
    [InlineData("garbage")]
    public async Task A_link_that_does_not_hold_says_so_and_acknowledges_nothing(string why)
    {
        await using var site = await HouseAsync();
        await TooWarmAsync(site);
        var path = await MailAsync(site, (await AlarmAsync(site)).Id);
        using var phone = new Visitor(site);
        var form = (await phone.GetAsync(path)).Html;
        switch (why)
        {
            case "expired":
                await TooWarmAsync(site, minutes: 24 * 60);
                break;
            case "unknown":
                path = path[..^1] + (path[^1] == 'A' ? 'B' : 'A');
                break;
            case "garbage":
                path = "/answer/" + Uri.EscapeDataString("%' OR 1=1 --");
                break;
            default:
                foreach (var contact in site.Services.GetRequiredService<Pipeline>().Snapshot.Contacts)
                    await site.Services.GetRequiredService<Pipeline>().AskAsync((h, _, _) => h.RemoveContact(contact.Id), Cancelled);
                break;
        }

        var answer = await phone.GetAsync(path);
        answer.Status.Should().Be(HttpStatusCode.NotFound);
        answer.Words.Should().NotContain("CELLAR").And.NotContain("I'm on it");
        (await phone.SendAsync(path, form)).Status.Should().Be(HttpStatusCode.NotFound);
        (await AlarmAsync(site)).State.Should().Be(AlarmState.Unacknowledged);
    }

    private static CancellationToken Cancelled => TestContext.Current.CancellationToken;

    private async Task<Site> HouseAsync(TempFolder? record = null, bool contact = true, Action<ModemOptions>? change = null,
        Action<TimeProvider>? before = null)
    {
        before?.Invoke(new HouseTime(Sample.At));
        var site = await Site.OpenAsync(record: record, known: record is null || contact ? null : "as before", change: s =>
        {
            (s.Tell.Modem.On, s.Tell.Modem.Program, s.Tell.Modem.Inbox) = (true, "/bin/true", inbox.Path);
            change?.Invoke(s.Tell.Modem);
        });
        if (contact)
        {
            foreach (var (channel, address) in new[] { ("modem", Nell), ("mail", "nell@homestead.example") })
            {
                (await site.SendJsonAsync(HttpMethod.Post, "/api/contacts",
                    $$"""{"name":"Nell","channel":"{{channel}}","address":"{{address}}"}""")).Status.Should().Be(HttpStatusCode.Created);
            }
        }

        await LookAgainAsync(site);
        return site;
    }

    /// <summary>A mail about an alarm as the outbox keeps it, and the path of its link.</summary>
    private static async Task<string> MailAsync(Site site, string alarm)
    {
        var mail = new Outgoing("mail-1", alarm, "mail", "nell@homestead.example", "high", "x", "x", "x", site.Time.GetUtcNow())
        {
            State = OutgoingState.Sent,
            Answerable = new Answerable([alarm]),
        };
        var (kept, address) = new AnswerLinks(() => site.Address).Make(mail, site.Time.GetUtcNow())!.Value;
        await site.Store.WriteAsync(c => OutboxRows.Save(c, kept));
        return address.AbsolutePath;
    }

    private async Task ReceiveAsync(Site site, string from, string text)
    {
        Lay(site.Time.GetUtcNow(), from, text);
        await LookAgainAsync(site);
    }

    // As gammu-smsd names it.
    private void Lay(DateTimeOffset at, string from, string text)
    {
        var file = Path.Combine(inbox.Path, $"IN{at:yyyyMMdd}_{at:HHmmss}_{received++:00}_{from}_00.txt");
        File.WriteAllText(file, text);
        File.SetLastWriteTimeUtc(file, at.UtcDateTime);
    }

    private static async Task LookAgainAsync(Site site)
    {
        await site.Services.GetServices<IHostedService>().OfType<AnswerService>().Single().LookAsync(Cancelled);
        await SettledAsync(site);
    }

    private static async Task SettledAsync(Site site)
    {
        await site.Services.GetRequiredService<Pipeline>().AskAsync((_, _, _) => true, Cancelled);
        await Sample.UntilAsync(() => site.Services.GetRequiredService<Outbox>().Underway == 0);
    }

    private static async Task TooWarmAsync(Site site, double celsius = 20, int minutes = 40, string[]? places = null)
    {
        var pipeline = site.Services.GetRequiredService<Pipeline>();
        for (var i = 0; i < minutes; i += 5)
        {
            var said = FormattableString.Invariant($$"""{"temperature_c":{{celsius}},"humidity_pct":92}""");
            foreach (var place in places ?? ["cellar"])
            {
                await await pipeline.OfferAsync(new Arrived($"rootcellar/{place}/door", Encoding.UTF8.GetBytes(said), WantsReceipt: true,
                    Dup: false, Replay: false, null));
            }

            site.Time.Advance(TimeSpan.FromMinutes(5));
            await pipeline.AskAsync((_, _, _) => true, Cancelled);
        }

        await SettledAsync(site);
    }

    private static async Task<Alarm> AlarmAsync(Site site, string place = "cellar")
    {
        await site.Services.GetRequiredService<Pipeline>().AskAsync((_, _, _) => true, Cancelled);
        return site.Services.GetRequiredService<Pipeline>().Snapshot.OpenAlarms.Single(a => a.Place == place && a.Rule == Rule.TooWarm);
    }

    private static async Task<IReadOnlyList<string>> TextsAsync(Site site)
    {
        await SettledAsync(site);
        return [.. site.Store.Read(c => OutboxRows.Latest(c, 100)).Where(t => t.Channel == "modem" && t.State == OutgoingState.Sent).Reverse().Select(t => t.Sms)];
    }
}
