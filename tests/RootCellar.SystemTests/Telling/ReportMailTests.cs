using System.Diagnostics.Metrics;
using System.Text.Json;
using System.Text.RegularExpressions;
using Microsoft.Extensions.DependencyInjection;
using Microsoft.Extensions.Logging.Abstractions;
using Microsoft.Playwright;
using MimeKit;
using RootCellar.Household;
using RootCellar.Ledger;
using RootCellar.Places;
using RootCellar.Report;
using RootCellar.Storage;
using RootCellar.SystemTests.Pages;
using RootCellar.SystemTests.Running;
using RootCellar.Tell;

namespace RootCellar.SystemTests.Telling;

/// <summary>
/// The weekly report by mail: sent by the service's own clock and outbox, received by a real SMTP server, read in a browser from the bytes
/// received.
/// </summary>
public sealed class ReportMailTests
{
    private static readonly DateTimeOffset Sunday = new(2025, 10, 5, 22, 0, 30, TimeSpan.Zero);

    [Fact]
    public async Task From_the_mail_alone_ten_questions_of_a_grower_are_answered()
    {
        await using var postbox = Postbox.Start();
        var mail = await ReceiveAsync(postbox);

        mail.To.ToString().Should().Be("nell@homestead.example");
        mail.Subject.Should().StartWith("Week 40, September 29 to October 5, 2025 so far: Sort b2");
        var both = mail.Body.Should().BeOfType<MultipartAlternative>().Subject;
        both[1].Should().BeOfType<MultipartRelated>("the pictures belong to the HTML");
        var parts = mail.BodyParts.ToList();
        parts.OfType<TextPart>().Select(p => p.ContentType.MimeType).Should().Equal("text/plain", "text/html");
        var pictures = parts.OfType<MimePart>().Where(p => p.ContentType.IsMimeType("image", "png")).ToList();
        pictures.Should().HaveCount(7, "all lots, two places with two figures, two lots").And.OnlyContain(
            p => p.ContentDisposition!.Disposition == "inline");

        using (var whole = new MemoryStream())
        {
            await mail.WriteToAsync(whole, TestContext.Current.CancellationToken);
            TestContext.Current.TestOutputHelper?.WriteLine($"The mail: {whole.Length} bytes.");
            whole.Length.Should().BeLessThan(500_000);
        }

        await using var phone = await Phone.OpenAsync(new Uri("about:blank"), 360, 740);
        await phone.Page.SetContentAsync(Inside(mail));
        var seen = (await phone.Page.InnerTextAsync("body")).Replace('\u00A0', ' ');
        (string Question, string InText, string InHtml)[] questions =
        [
            ("Which week is this?", "Week 40, September 29 to October 5, 2025 (2025-W40)", "Week 40, September 29 to October 5, 2025"),
            ("What do I do first?", "1. Sort b2 in Root cellar.", "Sort b2 in Root cellar."),
            ("Why, and what must I mind?", "Careful: Take out what is soft", "Careful: Take out what is soft"),
            ("What did the dry air cost me?", "Dry air cost about", "Dry air cost about"),
            ("How long was the cellar too dry, and when was it worst?", "Out of it: too dry for ", "Too dry for "),
            ("What was sold, and what was thrown out?", "sold 22.0 lb; culled 3.3 lb (rot)", "Culled, rot"),
            ("How much is left?", "At end ", "At end"),
            ("Does it lose faster than last week, and than it need?", " a week, last week ", "last week"),
            ("When will it sprout?", "sprouts show about", "sprouts show about"),
            ("Can I keep my promise to the market?", "* Market: 661.4 lb Potato, due Oct 11: ", "Market: 661.4 lb Potato, due Oct 11."),
        ];
        foreach (var (question, inText, inHtml) in questions)
        {
            mail.TextBody.Should().Contain(inText, question);
            seen.Should().Contain(inHtml, question);
        }

        foreach (var (width, height, dark) in ((int, int, bool)[])[(360, 740, false), (360, 740, true), (1280, 800, false)])
        {
            await using var reader = await Phone.OpenAsync(new Uri("about:blank"), width, height, dark);
            await reader.Page.SetContentAsync(Inside(mail));
            await reader.LookAsync("report-mail");
            // Nothing is fetched from anywhere: the pictures came with it.
            reader.Complaints.Where(c => !c.Contains("data:image", StringComparison.Ordinal)).Should().BeEmpty();
        }
    }

    /// <summary>The HTML as a mail reader shows it: what it calls by cid is the part of that name.</summary>
    private static string Inside(MimeMessage mail) => Regex.Replace(
        mail.HtmlBody!, "\"cid:(?<id>[^\"]+)\"",
        m =>
        {
            var part = mail.BodyParts.OfType<MimePart>().Single(p => p.ContentId == m.Groups["id"].Value);
            using var bytes = new MemoryStream();
            part.Content!.DecodeTo(bytes);
            return $"\"data:image/png;base64,{Convert.ToBase64String(bytes.ToArray())}\"";
        },
        RegexOptions.ExplicitCapture, TimeSpan.FromSeconds(5));

    private static async Task<MimeMessage> ReceiveAsync(Postbox postbox)
    {
        using var folder = new Scratch();
        var time = new Moment();
        await using var store = Store.Open(folder.Path, new KeepOptions(), time, NullLogger<Store>.Instance);
        await store.WriteAsync(c =>
        {
            PlaceRows.Save(c, new Place("curing-room", "Curing room", Purpose.Curing, 30, ["potato"]));
            PlaceRows.Save(c, new Place("root-cellar", "Root cellar", Purpose.Storage, 30, ["potato"]));
            for (var t = new DateTimeOffset(2025, 9, 20, 0, 0, 0, TimeSpan.Zero); t < Sunday; t = t.AddMinutes(5))
            {
                Air(c, "curing-room", t, 13 + Math.Sin(t.Hour / 4.0), 92);
                Air(c, "root-cellar", t, 5 + (0.5 * Math.Sin(t.Hour / 4.0)), t.Day is 1 or 2 ? 45 : 92);
            }

            ReportRows.DueSince(c, Sunday.AddDays(-10));
        });
        var settings = new Settings { Household = { TimeZone = "America/New_York" }, Http = { PublicUrl = "http://cellar.example:8080" } };
        RootCellar.Household.Language.Of(settings.Household, ".").Speak();
        var options = new MailOptions { Host = "127.0.0.1", Port = postbox.Port, Tls = "off", From = "cellar@homestead.example" };
        using var outbox = new Outbox(new ChannelDesk(new MailChannel(options, week => store.Read(c => ReportRows.Parts(c, week)))), store, time,
            new TellMetrics(new ServiceCollection().AddMetrics().BuildServiceProvider().GetRequiredService<IMeterFactory>()),
            NullLogger<Outbox>.Instance);
        await outbox.StartAsync(TestContext.Current.CancellationToken);
        using var clock = new ReportClock(
            store, settings.Report, settings.Tell, new ReportMaker(settings.Household, settings.Watch, settings.Http,
                new ReportTemplates(null)), Book,
            () => [new Contact("n", "Nell", MailChannel.ChannelName, "nell@homestead.example", "all")], outbox, time,
            NullLogger<ReportClock>.Instance);
        (await clock.LookAsync()).Should().Be("2025-W40");
        await Eventually.HoldsAsync(() => postbox.Mails.Count == 1, "the mail arrives");
        await outbox.StopAsync(TestContext.Current.CancellationToken);
        return postbox.Mails[0];
    }

    private static void Air(Microsoft.Data.Sqlite.SqliteConnection c, string place, DateTimeOffset at, double celsius, double percent) =>
        c.Execute(
        "INSERT INTO air (place, at_ms, temperature_c, humidity_pct, quality) VALUES ($p, $at, $t, $rh, 0)", ("$p", place),
        ("$at", at.ToUnixTimeMilliseconds()), ("$t", celsius), ("$rh", percent));

    private static Book Book()
    {
        using var document = JsonDocument.Parse(
            """
            [{"event":"dug","at":"2025-09-20T09:00:00Z","lot":"<b>N-row</b>","crop":"potato","variety":"Norland","weightKg":120},
             {"event":"filled","at":"2025-09-20T10:00:00Z","bin":"b1","lot":"<b>N-row</b>","weightKg":60,"place":"root-cellar"},
             {"event":"filled","at":"2025-09-20T10:00:00Z","bin":"b2","lot":"<b>N-row</b>","weightKg":60,"place":"root-cellar"},
             {"event":"dug","at":"2025-09-28T09:00:00Z","lot":"K-row","crop":"potato","variety":"Kennebec","weightKg":40},
             {"event":"filled","at":"2025-09-28T10:00:00Z","bin":"k1","lot":"K-row","weightKg":40,"place":"curing-room"},
             {"event":"promised","at":"2025-09-29T09:00:00Z","order":"Market","crop":"potato","weightKg":300,"due":"2025-10-11"},
             {"event":"sold","at":"2025-09-30T15:00:00Z","bin":"b1","weightKg":10},
             {"event":"culled","at":"2025-10-01T15:00:00Z","bin":"b1","weightKg":1.5,"reason":"rot"},
             {"event":"weighed","at":"2025-10-02T15:00:00Z","bin":"b1","weightKg":47.6},
             {"event":"condition-seen","at":"2025-10-03T15:00:00Z","bin":"b2","what":"soft"}]
            """);
        long id = 0;
        return BookBuilder.Build(
        [
            .. document.RootElement.EnumerateArray().Select(
                e => EventReader.Read(e.Clone(), Sunday, out var wrong) ?? throw new InvalidOperationException(wrong))
                .Select(e => Recorded.Of(new LedgerEntry(++id, e.Event, e.At!.Value, e.At.Value, "test", e.Note, e.Body, null, e.Of))),
        ], HouseholdCalendar.Utc);
    }

    private sealed class Moment : TimeProvider
    {
        public override DateTimeOffset GetUtcNow() => Sunday;
    }
}
