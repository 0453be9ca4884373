using System.Globalization;
using System.Text;
using System.Text.Json;
using Microsoft.Extensions.DependencyInjection;
using RootCellar.Advice;
using RootCellar.Ledger;
using RootCellar.Monitoring;
using RootCellar.Pages;
using RootCellar.Readings;
using RootCellar.Report;
using RootCellar.Tell;
using RootCellar.Tests.Pages;
using RootCellar.Watch;

namespace RootCellar.Tests.Advice;

/// <summary>Every surface asked about the same moment: text, Now, To do, the place's page, the alarms page, API and report.</summary>
public sealed class SurfacesTests
{
    private static readonly string[] NothingWrong =
        ["All is well", "Well where it is measured", "Nothing to do", "No bin needs", "Nothing due this week"];

    private sealed record Weather(double Celsius, double Humidity, double OutCelsius, double OutHumidity, double Lux, double Ppm);

    [Fact]
    public async Task No_two_surfaces_differ_in_what_since_how_far_or_what_to_do()
    {
        await using var site = await Site.OpenAsync(zone: "UTC", change: s => s.Tell.Post.Url = "http://127.0.0.1:9/");
        await SettleAsync(site);
        await site.FillAsync();
        var random = new Random(20251014);
        var (troubles, texts) = (0, 0);
        for (var round = 0; round < 14; round++)
        {
            var air = new Weather(
                random.Next(3) == 0 ? 13 : Within(random, -2, 30), random.Next(3) == 0 ? 90 : Within(random, 35, 99),
                Within(random, -10, 35), Within(random, 20, 99),
                random.Next(4) == 0 ? 60 : 0, random.Next(4) == 0 ? Within(random, 6_000, 45_000) : 600);
            // Until a text leaves, so that it can be held against the same moment.
            var before = site.Store.Read(c => OutboxRows.Latest(c, 500)).Count;
            for (var left = 1 + random.Next(28); left > 0 && site.Store.Read(c => OutboxRows.Latest(c, 500)).Count == before; left--)
                await GoAsync(site, 1, air);
            await site.Lots.AdvanceAsync(TestContext.Current.CancellationToken);
            var seen = await LookAsync(site);
            if (seen.Findings > 0) troubles++;
            texts += seen.Texts;
        }

        troubles.Should().BeGreaterThan(8, "otherwise little was compared");
        texts.Should().BeGreaterThan(2);
    }

    [Fact]
    public async Task The_hot_dry_afternoon_is_one_card_and_one_job_and_nothing_is_well()
    {
        await using var site = await Site.OpenAsync(zone: "UTC", change: s => s.Tell.Post.Url = "http://127.0.0.1:9/");
        await SettleAsync(site);
        await GoAsync(site, 5, new Weather(14, 90, 9, 70, 0, 600));
        Site.Words(await site.ReadAsync("/")).Should().Contain("Well where it is measured").And.Contain("Not known: Cellar.");
        await GoAsync(site, 40, new Weather(24, 60, 9, 70, 0, 600));
        await LookAsync(site);
        var now = Site.Words(await site.ReadAsync("/"));
        Times(now, "open door + vent").Should().Be(1, "one order of work, on top of To do");
        Site.Words(await site.ReadAsync("/report?week=" + site.Services.GetRequiredService<ReportDesk>().Running.Name))
            .Should().Contain("Put the air of Curing room right: 10F too warm (75F)").And.Contain("20% too dry (60%)");
        Times(await site.ReadAsync("/"), "class=\"alarm ").Should().Be(1, "two alarms of one room are one card");

        using var api = JsonDocument.Parse(await site.ReadAsync("/api/advice"));
        var told = api.RootElement.EnumerateArray().Single(a => a.GetProperty("place").GetString() == "curing");
        using var mqtt = JsonDocument.Parse(
            site.Services.GetRequiredService<Announcements>().Latest.Single(a => a.Topic == "rootcellar/out/curing/advice").Payload);
        mqtt.RootElement.GetProperty("state").GetString().Should().Be("alarm");
        foreach (var part in new[] { "says", "orders" })
            mqtt.RootElement.GetProperty(part).GetString().Should().Be(told.GetProperty(part).GetString());
    }

    [Fact]
    public async Task Crops_that_do_not_go_together_are_a_job_in_To_do_on_the_place_and_in_the_report()
    {
        await using var site = await Site.OpenAsync(zone: "UTC");
        var dug = site.Time.GetUtcNow().AddDays(-3).ToString("O", CultureInfo.InvariantCulture);
        await site.WriteAsync($$"""
            [{"event":"dug","at":"{{dug}}","lot":"P","crop":"potato","variety":"Kennebec"},{"event":"filled","at":"{{dug}}","lot":"P","bin":"P1","weightKg":220,"place":"cellar"},
             {"event":"dug","at":"{{dug}}","lot":"A","crop":"apple"},{"event":"filled","at":"{{dug}}","lot":"A","bin":"A1","weightKg":20,"place":"cellar"}]
            """);
        await site.Lots.AdvanceAsync(TestContext.Current.CancellationToken);
        var now = await site.ReadAsync("/");
        string[] surfaces =
        [
            Part(now, "id=\"to-do\"", "</section>"),
            Site.Words(await site.ReadAsync("/places/cellar")),
            Site.Words(await site.ReadAsync("/bins/P1")),
            Site.Words(await site.ReadAsync("/lots/P")),
            Site.Words(await site.ReadAsync("/report?week=" + site.Services.GetRequiredService<ReportDesk>().Running.Name)),
        ];
        foreach (var surface in surfaces)
        {
            surface.Should().Contain("Keep Apple and Potato").And.Contain("apart").And.Contain("48").And.Contain("lb of Potato");
            surface.Should().NotContain("Nothing to do").And.NotContain("Nothing due this week");
        }
    }

    [Fact]
    public async Task Whom_a_place_does_not_suit_and_where_alarms_begin_is_said_everywhere_alike()
    {
        await using var site = await Site.OpenAsync(zone: "UTC");
        await SettleAsync(site);
        var dug = site.Time.GetUtcNow().AddDays(-3).ToString("O", CultureInfo.InvariantCulture);
        await site.WriteAsync($$"""
            [{"event":"dug","at":"{{dug}}","lot":"B","crop":"beet"},{"event":"filled","at":"{{dug}}","lot":"B","bin":"B1","weightKg":20,"place":"cellar"},
             {"event":"dug","at":"{{dug}}","lot":"S","crop":"winter-squash"},{"event":"filled","at":"{{dug}}","lot":"S","bin":"S1","weightKg":20,"place":"cellar"}]
            """);
        await GoAsync(site, 5, new Weather(14, 90, 9, 70, 0, 600));
        await site.Lots.AdvanceAsync(TestContext.Current.CancellationToken);

        Site.Words(await site.ReadAsync("/places/cellar")).Should().Contain("Keeps best at 38 to 40 °F, 90 to 95 %")
            .And.Contain("Alarms below 34.0 °F, above 45.0 °F, drier than 80.0 %")
            .And.Contain("Does not suit Winter squash: harmed below 49.1 °F, by air damper than 85.0 %.");

        Site.Words(await site.ReadAsync("/report?week=" + site.Services.GetRequiredService<ReportDesk>().Running.Name)).Should()
            .Contain("alarms below 34 °F, above 45 °F, drier than 80 %").And.Contain("does not suit Winter squash: harmed below 49 °F");
        using var api = JsonDocument.Parse(await site.ReadAsync("/api/places/cellar"));
        var limits = api.RootElement.GetProperty("bands").GetProperty("limits");
        (limits.GetProperty("coldC").GetDouble(), limits.GetProperty("warmC").GetDouble(), limits.GetProperty("dryPercent").GetDouble())
            .Should().Be((1.1, 7.22, 80));
        limits.GetProperty("why").EnumerateArray().Select(w => w.GetProperty("crop").GetString() + " " + w.GetProperty("side").GetString())
            .Should().Equal("potato cold", "beet warm", "potato dry");
        limits.GetProperty("unsuited").EnumerateArray().Select(u => u.GetProperty("crop").GetString() + " " + u.GetProperty("at").GetDouble())
            .Should().Equal("winter-squash 9.5", "winter-squash 85");
    }

    [Fact]
    public async Task To_do_and_the_report_go_by_one_list()
    {
        await using var site = await Site.OpenAsync(zone: "UTC");
        await SettleAsync(site);
        var dug = site.Time.GetUtcNow().AddDays(-20).ToString("O", CultureInfo.InvariantCulture);
        var due = site.Time.GetUtcNow().UtcDateTime.ToString("yyyy-MM-dd", CultureInfo.InvariantCulture);
        string[] happens =
        [
            $$"""{"event":"dug","at":"{{dug}}","lot":"P","crop":"potato","variety":"Kennebec"},{"event":"filled","at":"{{dug}}","lot":"P","bin":"P10","weightKg":20,"place":"curing"}"""
            + $$""",{"event":"filled","at":"{{dug}}","lot":"P","bin":"P2","weightKg":20,"place":"cellar"}""",
            $$"""{"event":"promised","order":"Inn","crop":"potato","weightKg":5,"due":"{{due}}"}""",
            $$"""{"event":"dug","at":"{{dug}}","lot":"A","crop":"apple"},{"event":"filled","at":"{{dug}}","lot":"A","bin":"A1","weightKg":20,"place":"cellar"}""",
            $$"""{"event":"promised","order":"Market","crop":"potato","weightKg":500,"due":"{{due}}"}""",
            """{"event":"condition-seen","bin":"P2","what":"soft"}""",
        ];
        HashSet<JobKind> kinds = [];
        foreach (var (events, hot) in happens.Select(h => (h, false)).Append(("", true)))
        {
            if (events.Length > 0) await site.WriteAsync($"[{events}]");
            await GoAsync(site, hot ? 45 : 6, new Weather(hot ? 24 : 14, 90, 9, 70, 0, 600));
            await site.Lots.AdvanceAsync(TestContext.Current.CancellationToken);

            var list = site.Services.GetRequiredService<ToDo>().Of(site.Services.GetRequiredService<Pipeline>().Snapshot);
            // The desk tells of the running week once an hour; it is made here as of now.
            var desk = site.Services.GetRequiredService<ReportDesk>();
            var until = site.Time.GetUtcNow() - ReportClock.Behind;
            var made = site.Store.Read(c => site.Services.GetRequiredService<ReportMaker>()
                .Make(c, BookBuilder.Then(site.Book, until), desk.Running, until, (_, _) => ""));
            kinds.UnionWith(made.Figures.Jobs.Select(j => j.Kind));
            string Of(string? place, IEnumerable<string> bins) => $"{place}: {string.Join(' ', bins)}";
            made.Figures.Jobs.Select(j => Of(j.Place, j.Bins)).Should()
                .Equal(list.Lines.Take(3).Select(l => Of(l.Place, l.Bins)), "after {0}", events);
        }

        kinds.Should().HaveCountGreaterThan(4, "otherwise little was compared");
        Part(await site.ReadAsync("/"), "id=\"to-do\"", "</section>").Should()
            .MatchRegex("Check P2.*Curing room.*Market.*Keep Apple and Potato apart.*Inn");
    }

    [Fact]
    public async Task What_will_be_fit_to_move_within_the_week_is_coming_in_To_do_and_a_job_of_the_report()
    {
        await using var site = await Site.OpenAsync(zone: "UTC");
        var dug = site.Time.GetUtcNow().AddDays(-9).ToString("O", CultureInfo.InvariantCulture);
        await site.WriteAsync($$"""
            [{"event":"dug","at":"{{dug}}","lot":"P","crop":"potato","variety":"Kennebec"},{"event":"filled","at":"{{dug}}","lot":"P","bin":"P1","weightKg":20,"place":"curing"}]
            """);
        await site.Lots.AdvanceAsync(TestContext.Current.CancellationToken);
        var bin = site.Lots.Views.Bins["P1"];
        bin.FitNow.Should().BeFalse();
        (bin.FitToMove!.Likely!.Value - site.Time.GetUtcNow()).Should().BePositive().And.BeLessThan(TimeSpan.FromDays(7));
        var day = bin.FitToMove.Likely.Value.UtcDateTime.ToString("MMM d", CultureInfo.InvariantCulture);

        Part(await site.ReadAsync("/"), "id=\"to-do\"", "</section>").Should()
            .Contain($"Coming: fit to move from about {day}").And.Contain("P1");
        Site.Words(await site.ReadAsync("/report?week=" + site.Services.GetRequiredService<ReportDesk>().Running.Name))
            .Should().Contain($"to Cellar from about {day}").And.NotContain("Nothing due this week");
    }

    [Fact]
    public async Task Sprouts_longer_than_an_inch_are_no_food_to_use_first()
    {
        await using var site = await Site.OpenAsync(zone: "UTC");
        var dug = site.Time.GetUtcNow().AddDays(-150).ToString("O", CultureInfo.InvariantCulture);
        var seen = site.Time.GetUtcNow().AddDays(-1).ToString("O", CultureInfo.InvariantCulture);
        await site.WriteAsync($$"""
            [{"event":"dug","at":"{{dug}}","lot":"P","crop":"potato","variety":"Kennebec"},{"event":"filled","at":"{{dug}}","lot":"P","bin":"P1","weightKg":20,"place":"cellar"},
             {"event":"sprouts-seen","at":"{{seen}}","bin":"P1","share":"most","length":30}]
            """);
        await site.Lots.AdvanceAsync(TestContext.Current.CancellationToken);
        Site.Words(await site.ReadAsync("/bins/P1")).Should()
            .Contain("longer than an inch").And.NotContain("use it first").And.NotContain("Use P1 before the others");
        Part(await site.ReadAsync("/"), "id=\"to-do\"", "</section>").Should().Contain("P1").And.Contain("keep it for seed, or throw it out")
            .And.NotContain("first");
    }

    [Theory]
    [InlineData("potato", true)]
    [InlineData("apple", false)]
    public async Task Use_first_carries_the_cautions_that_are_due_and_no_other(string crop, bool due)
    {
        await using var site = await Site.OpenAsync(zone: "UTC");
        var dug = site.Time.GetUtcNow().AddDays(-120).ToString("O", CultureInfo.InvariantCulture);
        await site.WriteAsync($$"""
            [{"event":"dug","at":"{{dug}}","lot":"P","crop":"{{crop}}"},{"event":"filled","at":"{{dug}}","lot":"P","bin":"P1","weightKg":20,"place":"cellar"},
             {"event":"condition-seen","bin":"P1","what":"soft"}]
            """);
        await site.Lots.AdvanceAsync(TestContext.Current.CancellationToken);
        var bin = site.Lots.Views.Bins["P1"];
        bin.ColdSweet.Should().Be(due, "unmeasured, it stood in the middle of its band; {0} degree-days", bin.SweetDegreeDays);
        var week = site.Services.GetRequiredService<ReportDesk>().Running.Name;
        string[] surfaces =
        [
            Part(await site.ReadAsync("/"), "id=\"to-do\"", "</section>"), Site.Words(await site.ReadAsync("/bins?sort=first")),
            Site.Words(await site.ReadAsync("/bins/P1")),
            Site.Words(await site.ReadAsync("/lots/P")), Site.Words(await site.ReadAsync("/report?week=" + week)),
        ];
        foreach (var surface in surfaces)
        {
            surface.Should().Contain("P1");
            if (due) surface.Should().Contain("hold poisons that cooking doesn't take out").And.Contain("make more acrylamide");
            else surface.Should().NotContain("poisons").And.NotContain("acrylamide");
        }
    }

    [Fact]
    public async Task What_a_bin_asks_for_is_in_the_one_list_with_its_lot()
    {
        await using var site = await Site.OpenAsync(zone: "UTC");
        var dug = site.Time.GetUtcNow().AddDays(-3).ToString("O", CultureInfo.InvariantCulture);
        await site.WriteAsync($$"""
            [{"event":"dug","at":"{{dug}}","lot":"P","crop":"potato"},{"event":"filled","at":"{{dug}}","lot":"P","bin":"P10","weightKg":20,"place":"cellar"},
             {"event":"filled","at":"{{dug}}","lot":"P","bin":"P2","weightKg":20,"place":"cellar"},
             {"event":"condition-seen","bin":"P10","what":"soft"},{"event":"condition-seen","bin":"P2","what":"soft"},
             {"event":"dug","at":"{{dug}}","lot":"Q","crop":"potato"}]
            """);
        await site.Lots.AdvanceAsync(TestContext.Current.CancellationToken);
        using var api = JsonDocument.Parse(await site.ReadAsync("/api/advice"));
        var lots = api.RootElement.EnumerateArray().Where(a => a.GetProperty("lot").ValueKind == JsonValueKind.String).ToList();
        var told = lots.Should().ContainSingle("a lot without bins asks for nothing").Which;
        told.GetProperty("lot").GetString().Should().Be("P");
        var wrong = told.GetProperty("wrong").EnumerateArray().Should().ContainSingle().Which;
        wrong.GetProperty("condition").GetString().Should().Be("rot-signs");
        wrong.GetProperty("bins").EnumerateArray().Select(b => b.GetString()).Should().Equal("P2", "P10");
        using var bin = JsonDocument.Parse(await site.ReadAsync("/api/bins/P2"));
        told.GetProperty("says").GetString().Should()
            .Be(bin.RootElement.GetProperty("estimate").GetProperty("advice").GetProperty("text").GetString());
        told.GetProperty("stake").GetProperty("kg").GetDouble().Should().BePositive();
    }

    private static async Task SettleAsync(Site site)
    {
        foreach (var (sensor, place) in new[] { ("curing/door", "curing"), ("yard/porch", "yard") })
            await SayAsync(site, sensor, new Weather(14, 90, 9, 70, 0, 600), place == "yard");
    }

    private static double Within(Random random, double low, double high) => low + (random.NextDouble() * (high - low));

    private static int Times(string text, string part) => text.Split(part).Length - 1;

    private static async Task SayAsync(Site site, string sensor, Weather air, bool outdoors)
    {
        var payload = outdoors
            ? FormattableString.Invariant($$"""{"temperature_c":{{air.OutCelsius}},"humidity_pct":{{air.OutHumidity}}}""")
            : FormattableString.Invariant(
                $$"""{"temperature_c":{{air.Celsius}},"humidity_pct":{{air.Humidity}},"light_lux":{{air.Lux}},"co2_ppm":{{air.Ppm}}}""");
        await await site.Services.GetRequiredService<Pipeline>().OfferAsync(
            new Arrived("rootcellar/" + sensor, Encoding.UTF8.GetBytes(payload), WantsReceipt: true, Dup: false, Replay: false, null));
    }

    private static async Task GoAsync(Site site, int minutes, Weather air)
    {
        for (var minute = 0; minute < minutes; minute++)
        {
            await SayAsync(site, "yard/porch", air, outdoors: true);
            await SayAsync(site, "curing/door", air, outdoors: false);
            for (var second = 0; second < 60; second++) site.Time.Advance(TimeSpan.FromSeconds(1));
            await site.Services.GetRequiredService<Pipeline>().AskAsync((_, _, _) => true, TestContext.Current.CancellationToken);
            await site.Store.WriteAsync(_ => { });
        }
    }

    private static async Task<(int Findings, int Texts)> LookAsync(Site site)
    {
        site.Speak();
        var words = site.Services.GetRequiredService<JudgementWords>();
        var view = site.Services.GetRequiredService<Pipeline>().Snapshot.Place("curing")!;
        var (judged, at) = (view.Judgement, site.Time.GetUtcNow());
        var (wrong, order) = (words.Standing(judged, at), words.Order(judged.Order, judged.Decides));
        var alarmed = view.Alarms.Any(a => a.Active && a.Rule.IsOfRoomAir());

        var now = await site.ReadAsync("/");
        var (card, toDo) = (Part(now, "id=\"place-curing\"", "id=\"place-cellar\""), Part(now, "id=\"to-do\"", "</section>"));
        var place = Site.Words(await site.ReadAsync("/places/curing"));
        var alarms = Site.Words(await site.ReadAsync("/alarms"));
        var bin = site.Book.Bins.ContainsKey("B1") ? Site.Words(await site.ReadAsync("/bins/B1")) : "";
        var report = Site.Words(await site.ReadAsync("/report?week=" + site.Services.GetRequiredService<ReportDesk>().Running.Name));
        using var api = JsonDocument.Parse(await site.ReadAsync("/api/advice"));
        var told = api.RootElement.EnumerateArray().Single(a => a.GetProperty("place").GetString() == "curing");
        (told.GetProperty("says").GetString(), told.GetProperty("orders").GetString()).Should().Be((wrong, order));
        told.GetProperty("wrong").GetArrayLength().Should().Be(judged.Findings.Count);

        // The room's own sums never open what the judgement shuts, and put no work into figures where it keeps people out.
        using var room = JsonDocument.Parse(await site.ReadAsync("/api/places/curing/room"));
        var (door, floor) = (room.RootElement.GetProperty("door").GetProperty("says").GetString(),
            room.RootElement.GetProperty("floor").GetProperty("says").GetString());
        (door == "open").Should().Be(judged.Order.Any(s => s.Kind == StepKind.Open), order);
        if (judged.Order.Any(s => s.Shuts)) door.Should().BeOneOf("no-help", "would-wet", "would-freeze", "nothing");
        if (judged.Order.Any(s => s.Kind == StepKind.WetFloor)) floor.Should().Be("put", order);
        if (judged.Order.Any(s => s.Kind is StepKind.StayOut or StepKind.StayOutAndCall)) (door, floor).Should().Be(("nothing", "nothing"));
        place.Contains("Open now", StringComparison.Ordinal).Should().Be(door == "open");

        if (judged.Findings.Count > 0)
        {
            foreach (var surface in new[] { card, toDo, place })
            {
                surface.Should().Contain(wrong);
                // The place's tile on Now says what is wrong; what to do about it stands once on that page, on top.
                if (order.Length > 0 && surface != card) surface.Should().Contain(order);
                foreach (var nothing in NothingWrong) surface.Should().NotContain(nothing);
            }

            bin.Should().NotContain("Nothing to do");
        }

        if (alarmed)
        {
            alarms.Should().Contain(wrong);
            if (order.Length > 0) alarms.Should().Contain(order);
            // The report says how far it goes: to the last five minutes on disk.
            if (view.Alarms.Any(a => a.Active && at - a.RaisedAt > TimeSpan.FromMinutes(12)))
                report.Should().NotContain("Nothing due this week");
        }

        // A text that left within this last minute says the same, as far as it goes.
        var sent = site.Store.Read(c => OutboxRows.Latest(c, 20))
            .Where(t => t.Said is { Place: "curing" } && at - t.CreatedAt < TimeSpan.FromMinutes(1)).ToList();
        foreach (var text in sent)
        {
            foreach (var f in judged.Findings.Where(f => f.Calls && text.Said!.Findings.Any(s => s.Rule == f.Rule)))
            {
                text.Sms.Should().Contain(words.What(f, judged.FreezingPointC));
                text.Sms.Should().Contain(f.Since.UtcDateTime.ToString("h:mm tt", CultureInfo.InvariantCulture).ToLowerInvariant());
            }
        }

        return (judged.Findings.Count, sent.Count);
    }

    private static string Part(string html, string from, string to)
    {
        var start = html.IndexOf(from, StringComparison.Ordinal);
        if (start < 0) return "";
        var end = html.IndexOf(to, start, StringComparison.Ordinal);
        return Site.Words(html[start..(end < 0 ? html.Length : end)]);
    }
}
