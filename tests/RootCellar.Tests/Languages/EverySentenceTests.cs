using System.Globalization;
using System.Text;
using Microsoft.Extensions.DependencyInjection;
using RootCellar.Ledger;
using RootCellar.Monitoring;
using RootCellar.Places;
using RootCellar.Readings;
using RootCellar.Report;
using RootCellar.Storage;
using RootCellar.Tell;
using RootCellar.Tests.Pages;
using RootCellar.Tests.Storage;
using RootCellar.Watch;

namespace RootCellar.Tests.Languages;

/// <summary>
/// In a household of another language every page, text and report is in it: what stands neither in the strings file nor in a template is
/// found.
/// </summary>
public sealed class EverySentenceTests(ITestOutputHelper output)
{
    private readonly HashSet<string> looked = new(StringComparer.Ordinal);
    private readonly SortedDictionary<string, List<string>> found = new(StringComparer.Ordinal);

    [Fact]
    public async Task No_page_text_or_report_says_a_word_of_English_in_another_language()
    {
        using var folder = new TempFolder();
        PseudoLanguage.Write(folder.Path);
        await using var site = await Site.OpenAsync(
            zone: "UTC", record: folder, fill: AirAsync, change: s =>
            {
                s.Household.Language = PseudoLanguage.Code;
                s.Tell.Post.Url = "http://127.0.0.1:9/";
                s.Tell.Mail.Host = "127.0.0.1";
                s.Tell.Mail.Port = 9;
                s.Tell.Mail.To = "zz@zz.example";
            });
        await SetUpAsync(site);
        await BookAsync(site);
        await site.Lots.AdvanceAsync(TestContext.Current.CancellationToken);
        // On its way to an alarm, alarms of all kinds, other ones, a place silent meanwhile, most of it over; then nothing is heard, and
        // the clock is set.
        await GoAsync(site, 3, 24, 60, 400, 45_000);
        await LookAsync(site);
        await GoAsync(site, 30, 24, 60, 400, 45_000);
        await LookAsync(site);
        await WriteAsync(site);
        await GoAsync(site, 150, -2, 60, 0, 600);
        await LookAsync(site);
        await GoAsync(site, 40, 13, 90, 0, 600);
        await GoAsync(site, 240, null, 0, 0, 0);
        site.Time.Offset = TimeSpan.FromHours(2);
        await GoAsync(site, 2, null, 0, 0, 0);
        await LookAsync(site);
        await GoAsync(site, 2, 13, 90, 0, 600);
        await LookAsync(site);
        await PassAsync(site);

        var test = await site.Services.GetRequiredService<Pipeline>().AskAsync(
            (_, _, _) =>
            {
                var teller = site.Services.GetRequiredService<Teller>();
                teller.Put(new Contact("zz", "zzbert", MailChannel.ChannelName, "zz@zz.example", "all"));
                return teller.Test("zz", site.Time.GetUtcNow());
            },
            TestContext.Current.CancellationToken);
        Look("test text", [test!.Sms, test.Subject, test.Body]);

        site.Services.GetRequiredService<RootCellar.Household.Languages>().Household.Speak();
        var desk = site.Services.GetRequiredService<ReportDesk>();
        foreach (var week in new[] { desk.LastWhole, desk.Running })
        {
            var made = desk.Of(week)!;
            Look("report.subject", [made.Subject]);
            Look("report.text", made.Text.Split('\n'));
            Look("report.html", PseudoLanguage.Seen(made.Document()));
        }

        var texts = site.Store.Read(c => OutboxRows.Latest(c, 500));
        texts.Should().HaveCountGreaterThan(6);
        site.Store.Read(c => AlarmRows.Latest(c, AlarmState.Normal.Slug(),
            500)).Concat(site.Services.GetRequiredService<Pipeline>().Snapshot.Places.SelectMany(p => p.Alarms))
            .Select(a => a.Rule).Distinct().Should().HaveCountGreaterThan(7, "otherwise little was said");
        looked.Should().HaveCountGreaterThan(80, "otherwise little was looked at");
        foreach (var text in texts) Look("text " + text.Priority, [text.Sms, text.Subject, .. text.Body.Split('\n')]);

        output.WriteLine($"{looked.Count} pages, answers and texts were looked at.");
        foreach (var (line, where) in found) output.WriteLine($"{line}   <- {string.Join(' ', where.Distinct().Take(2))}");
        found.Keys.Should().BeEmpty();
    }

    private static async Task AirAsync(Store store)
    {
        await store.WriteAsync(c =>
        {
            foreach (var (place, celsius, percent) in new[] { ("curing", 16.0, 78.0), ("cellar", 6.0, 85.0), ("yard", 9.0, 75.0) })
            {
                c.Execute(
                    """
                    WITH RECURSIVE n(i) AS (SELECT 0 UNION ALL SELECT i + 1 FROM n WHERE i + 1 < $count)
                    INSERT INTO air (place, at_ms, temperature_c, humidity_pct, dew_point_c, deficit_pa, quality)
                    SELECT $place, $from + i * 300000, $c + (i / 288 % 7) * 0.3 + (i % 288) / 60.0, $rh - (i % 288) / 30.0, $c - 1.5, 60,
                        0 FROM n WHERE i % 1000 > 200
                    """,
                    ("$count", 60L * 288), ("$place", place), ("$from", Sample.At.AddDays(-60).ToUnixTimeMilliseconds()), ("$c", celsius),
                        ("$rh", percent));
            }
        });
    }

    private static Task<bool> SetUpAsync(Site site) => site.Services.GetRequiredService<Pipeline>().AskAsync(
        (house, _, _) =>
        {
            house.SavePlace(new Place("curing", "zzkur", Purpose.Curing, 20, ["potato", "onion"]));
            house.SavePlace(new Place("cellar", "zzkel", Purpose.Storage, 30, ["potato", "apple"]));
            house.SavePlace(new Place("yard", "zzhof", Purpose.Outdoors, null, []));
            house.SavePlace(new Place("shed", "zzhut", Purpose.Storage, null, ["cabbage"]));
            return true;
        },
        TestContext.Current.CancellationToken);

    private static Task BookAsync(Site site)
    {
        string At(double days) => site.Time.GetUtcNow().AddDays(-days).ToString("O", CultureInfo.InvariantCulture);
        string Day(double days) => site.Time.GetUtcNow().AddDays(-days).ToString("yyyy-MM-dd", CultureInfo.InvariantCulture);
        return site.WriteAsync($$"""
            [{"event":"row-planted","at":"{{At(160)}}","row":"zzr1","crop":"potato","variety":"Kennebec","maturity":"early","lengthM":30},
             {"event":"row-planted","at":"{{At(120)}}","row":"zzr2","crop":"potato","maturityDays":100,"lengthM":20},
             {"event":"vines-dead","at":"{{At(62)}}","row":"zzr1","how":"frost"},
             {"event":"dug","at":"{{At(50)}}","lot":"zzp","crop":"potato","variety":"Kennebec","row":"zzr1","skin":"tender","flags":["rain","late-blight"],"weightKg":100},
             {"event":"filled","at":"{{At(50)}}","lot":"zzp","bin":"zzb1","weightKg":22,"place":"curing","grade":"zztable"},
             {"event":"filled","at":"{{At(50)}}","lot":"zzp","bin":"zzb2","weightKg":18,"place":"curing","grade":"zzseed"},
             {"event":"filled","at":"{{At(49)}}","lot":"zzp","bin":"zzb3","weightKg":18,"place":"curing","note":"zznote"},
             {"event":"moved","at":"{{At(30)}}","bin":"zzb2","place":"cellar"},
             {"event":"weighed","at":"{{At(28)}}","bin":"zzb1","weightKg":20.5,"resolutionKg":0.05},
             {"event":"weighed","at":"{{At(3)}}","bin":"zzb1","weightKg":19.5,"resolutionKg":0.05},
             {"event":"dug","at":"{{At(40)}}","lot":"zza","crop":"apple"},
             {"event":"filled","at":"{{At(40)}}","lot":"zza","bin":"zzb4","weightKg":40,"place":"cellar"},
             {"event":"dug","at":"{{At(6)}}","lot":"zzo","crop":"onion","skin":"set"},
             {"event":"filled","at":"{{At(6)}}","lot":"zzo","bin":"zzb5","weightKg":10,"place":"curing"},
             {"event":"filled","at":"{{At(4)}}","lot":"zzo","bin":"zzb6","weightKg":10},
             {"event":"condition-seen","at":"{{At(4)}}","bin":"zzb3","what":"soft"},
             {"event":"condition-seen","at":"{{At(4)}}","bin":"zzb1","what":"dry"},
             {"event":"sprouts-seen","at":"{{At(3)}}","bin":"zzb2","share":"few","length":4},
             {"event":"culled","at":"{{At(3)}}","bin":"zzb2","weightKg":0.5,"reason":"rot"},
             {"event":"promised","at":"{{At(3)}}","order":"zzmarket","crop":"potato","grade":"zztable","weightKg":60,"due":"{{Day(-3)}}"},
             {"event":"promised","at":"{{At(3)}}","order":"zzfair","crop":"potato","weightKg":2,"due":"{{Day(-9)}}"},
             {"event":"sold","at":"{{At(2)}}","bin":"zzb2","weightKg":1,"order":"zzmarket"},
             {"event":"eaten","at":"{{At(2)}}","bin":"zzb2","weightKg":1},{"event":"canned","at":"{{At(2)}}","bin":"zzb2","weightKg":0.5},
             {"event":"given","at":"{{At(2)}}","bin":"zzb2","weightKg":0.5},
             {"event":"sorted","at":"{{At(1)}}","bin":"zzb1","into":[{"bin":"zzb1","weightKg":15,"grade":"zztable"},{"bin":"zzb7","weightKg":4}]}]
            """);
    }

    private async Task LookAsync(Site site)
    {
        var bin = site.Book.Bins["zzb1"];
        foreach (var path in EveryPage.Addresses(site, site.Book, bin, site.Book.Lots["zzp"]).Distinct(StringComparer.Ordinal))
        {
            if (path.StartsWith("/api", StringComparison.Ordinal) || path.StartsWith("/assets", StringComparison.Ordinal)
                || path.StartsWith("/openapi", StringComparison.Ordinal) || path.StartsWith("/calendar", StringComparison.Ordinal)
                || path is "/metrics" || path.StartsWith("/health", StringComparison.Ordinal)) continue;
            var answer = await site.LookAsync(path);
            Look(path.Split('?')[0], PseudoLanguage.Seen(answer.Html));
        }

        Look("calendar", site.Services.GetRequiredService<RootCellar.Household.Languages>().Household.Say(
            () => site.Services.GetRequiredService<ComingDates>().Now.SelectMany(d => new[] { d.What, d.About }).ToList()));
    }

    private void Look(string where, IEnumerable<string> texts)
    {
        looked.Add(where);
        foreach (var text in texts.Where(t => PseudoLanguage.Strange(t).Any()))
        {
            var line = string.Join(' ', text.Split((char[]?)null, StringSplitOptions.RemoveEmptyEntries));
            if (!found.TryGetValue(line, out var at)) found.Add(line, at = []);
            at.Add(where);
        }
    }

    private static async Task SayAsync(Site site, string sensor, string payload) =>
        await await site.Services.GetRequiredService<Pipeline>().OfferAsync(
        new Arrived("rootcellar/" + sensor, Encoding.UTF8.GetBytes(payload), WantsReceipt: true, Dup: false, Replay: false, null));

    private static async Task GoAsync(Site site, int minutes, double? celsius, double percent, double lux, double ppm)
    {
        for (var minute = 0; minute < minutes; minute++)
        {
            if (celsius is null)
            {
                await PassAsync(site);
                continue;
            }

            await SayAsync(site, "yard/zzporch", """{"temperature_c":9,"humidity_pct":70}""");
            await SayAsync(site, "curing/zzdoor", FormattableString.Invariant(
                $$"""{"temperature_c":{{celsius}},"humidity_pct":{{percent}},"light_lux":{{lux}},"co2_ppm":{{ppm}},"battery_pct":8}"""));
            await SayAsync(site, "cellar/zza", FormattableString.Invariant(
                $$"""{"temperature_c":{{celsius}},"humidity_pct":{{percent}}}"""));
            await SayAsync(site, "cellar/zzb", """{"temperature_c":6,"humidity_pct":100}""");
            if (minute == 0)
                await await site.Services.GetRequiredService<Pipeline>().OfferAsync(new Arrived(
                    "zzshed/zzforeign", """{"zzt":{"temperature":2,"zzid":7}}"""u8.ToArray(), WantsReceipt: true, Dup: false, Replay: false, null));
            if (minute == 0) await SayAsync(site, "shed/zzc", """{"temperature_c":2,"humidity_pct":95}""");
            if (minute == 0) await SayAsync(site, "zznobody/zzd", """{"temperature_c":2,"humidity_pct":95}""");
            await SayAsync(site, "curing/zzwrong", """{"temperature_c":-127,"humidity_pct":500}""");
            await PassAsync(site);
        }
    }

    private static async Task PassAsync(Site site)
    {
        for (var second = 0; second < 60; second++) site.Time.Advance(TimeSpan.FromSeconds(1));
        await site.Services.GetRequiredService<Pipeline>().AskAsync((_, _, _) => true, TestContext.Current.CancellationToken);
        await site.Store.WriteAsync(_ => { });
    }

    /// <summary>What forms answer: asked back, refused, done, taken back.</summary>
    private async Task WriteAsync(Site site)
    {
        foreach (var what in new[] { "dug", "filled", "row-planted",
            "vines-dead" }.Concat(LogKinds.OfBin.Select(k => k.Name)).Distinct()) await FormAsync(site, "/log/" + what);
        await FormAsync(site, "/log/dug", ("lot", "zzp"), ("crop", "onion"));
        await FormAsync(site, "/log/dug", ("lot", "zzp"), ("crop", "potato"));
        await FormAsync(site, "/log/filled", ("bin", "zzb1"), ("lot", "zzo"), ("amount", "5"), ("unit", "lb"), ("place", "curing"));
        await FormAsync(site, "/log/filled", ("bin", "zzb1"), ("lot", "zzp"), ("amount", "900000"), ("unit", "lb"), ("place", "curing"));
        await FormAsync(site, "/log/filled", ("bin", "zzb9"), ("lot", "zzpp"), ("amount", "5"), ("unit", "bushel"));
        await FormAsync(site, "/log/weighed", ("bin", "zzb1"), ("amount", "500"), ("unit", "lb"));
        await FormAsync(site, "/log/weighed", ("bin", "zzb1"), ("amount", "1"), ("unit", "lb"));
        await FormAsync(site, "/log/weighed", ("bin", "zzb99"), ("amount", "zz"), ("unit", "lb"));
        await FormAsync(site, "/log/moved", ("bin", "zzb1"), ("place", "curing"));
        await FormAsync(site, "/log/sold", ("bin", "zzb2"), ("amount", "900"), ("unit", "lb"), ("order", "zzother"));
        await FormAsync(site, "/log/canned", ("bin", "zzb2"), ("amount", "2"), ("unit", "quart"));
        await FormAsync(site, "/log/promised", ("order", "zzmarket"), ("crop", "potato"), ("amount", "2"), ("unit", "lb"),
            ("due", "2020-01-01"));
        await FormAsync(site, "/log/row-planted", ("row", "zzr1"), ("crop", "onion"));
        await FormAsync(site, "/log/vines-dead", ("row", "zzr9"));
        await FormAsync(site, "/log/sprouts-seen", ("bin", "zzb1"), ("choice", "most"), ("length", "30"));
        await FormAsync(site, "/log/eaten", ("bin", "zzb2"), ("amount", "1"), ("unit", "lb"));
        await FormAsync(site, "/log/undo/" + site.Book.Entries.Count);
        foreach (var handler in new[] { "RemovePlace", "Contact", "Passphrase", "Token", "Helper", "Reader", "Finish", "Reopen",
            "SensorPassword", "OldPassword", "Calendar", "NoCalendar" })
            await FormAsync(site, "/set-up?handler=" + handler, ("id", "cellar"));
        await FormAsync(site, "/set-up?handler=Token", ("name", "zzscript"));
        await FormAsync(site, "/set-up?handler=Helper", ("name", "zzhelp"), ("pin", "482916"));
        await FormAsync(site, "/set-up?handler=Reader", ("name", "zzreader"));
        await FormAsync(site, "/set-up?handler=Contact", ("name", "zzbert"), ("channel", "mail"), ("address", "zz@zz.example"),
            ("wants", "all"));
        foreach (var handler in new[] { "Mail", "Post", "Modem", "Test", "Off" })
            await FormAsync(site, "/set-up/channels?handler=" + handler, ("channel", "modem"), ("to", "zz"), ("on", "true"));
        await FormAsync(site, "/set-up/channels?handler=Mail", ("Host", "zz.example"), ("From", "zz@zz.example"));
        await FormAsync(site, "/set-up/channels?handler=Post", ("Url", "http://zz.example"), ("Headers", "zz"), ("Body", "zz"));
        await FormAsync(site, "/set-up/channels?handler=Post", ("Url", "http://zz.example"), ("Headers", "zz: zz"), ("Body", "zz"),
            ("preview", "true"));
        foreach (var (url, minutes) in new[] { ("zz", "5"), ("http://zz.example", "0"), ("http://zz.example", "5") })
            await FormAsync(site, "/set-up/channels?handler=Ping", ("Url", url), ("Minutes", minutes));
        using (var stick = new Storage.TempFolder())
        {
            foreach (var (folder, card) in new[] { ("zz", ""), ("/zz/zz/zz", ""), (stick.Path, ""), (stick.Path, "true") })
                await FormAsync(site, "/set-up/backup?handler=Save", ("folder", folder), ("sameCard", card));
            await FormAsync(site, "/set-up/backup?handler=Download", ("passphrase", "zz"));
            // A backup is called by the second it was made in.
            site.Time.Advance(TimeSpan.FromSeconds(2));
            foreach (var handler in new[] { "Now", "Off" }) await FormAsync(site, "/set-up/backup?handler=" + handler);
        }

        foreach (var what in new[] { "", "temperature_c" })
            await FormAsync(site, "/sensors?handler=Use", ("topic", "zzshed/zzforeign"), ("place", "cellar"), ("sensor", "zzs"),
                ("at", "/zzt/temperature"), ("what", what));
        await FormAsync(site, "/sensors?handler=Use", ("topic", "zzshed/zzforeign"), ("place", "cellar"), ("sensor", "zz/"));
        await FormAsync(site, "/sensors?handler=Unmap", ("ids", "zz"));
        foreach (var handler in new[] { "Put", "Password", "ForgetWaiting" }) await FormAsync(site, "/sensors?handler=" + handler,
            ("key", "zznobody/zzd"), ("place", "cellar"));
        var alarms = site.Services.GetRequiredService<Pipeline>().Snapshot.Place("curing")!.Alarms;
        await FormAsync(site, "/alarms?handler=Acknowledge", ("id", alarms[0].Id));
        await FormAsync(site, "/alarms?handler=Shelve", ("id", alarms[^1].Id));
        using var stranger = new Entry.Visitor(site);
        foreach (var path in new[] { "/sign-in", "/nothing", "/trouble/500", "/trouble/429", "/trouble/413", "/answer/zz" }) Look(path,
            PseudoLanguage.Seen((await site.LookAsync(path)).Html));
        await FormAsync(site, "/sign-in", ("passphrase", "zz"));
        await FormAsync(site, "/sign-in?handler=Helper", ("name", "zz"), ("pin", "111111"));
    }

    private async Task FormAsync(Site site, string path, params (string Name, string Value)[] fields)
    {
        var page = await site.LookAsync(path.Split('?')[0]);
        var answer = await site.SendAsync(path, page.Html, fields);
        ((int)answer.Status).Should().BeLessThan(500, path);
        Look(path, PseudoLanguage.Seen(answer.Location is { } on ? (await site.LookAsync(on)).Html : answer.Html));
    }
}
