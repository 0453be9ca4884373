using System.Buffers.Binary;
using RootCellar.Charts;
using RootCellar.Report;
using RootCellar.Tests.Lots;
using RootCellar.Tests.Pages;
using static RootCellar.Tests.Lots.Cellar;

namespace RootCellar.Tests.Report;

/// <summary>A week worth telling: a dry cellar, two lots, weights in and out, a promise, a weigh-in.</summary>
internal static class TellingWeek
{
    public const string Hostile = "<script>alert(1)</script>\\\"'=cmd|' /C calc'!A0 {{ week }}";

    public static readonly DateTimeOffset Monday = new(2025, 9, 29, 4, 0, 0, TimeSpan.Zero);

    public static Settings Settings(string day = "Sunday", string zone = "America/New_York") =>
        new() { Household = { TimeZone = zone }, Report = { Day = day }, Http = { PublicUrl = "http://cellar.local:8080" } };

    /// <summary>What makes it; from here on the test's own words are the household's.</summary>
    public static ReportMaker Maker(ReportTemplates templates)
    {
        var settings = Settings();
        RootCellar.Household.Language.Of(settings.Household, ".").Speak();
        return new ReportMaker(settings.Household, settings.Watch, settings.Http, templates);
    }

    public static async Task<Cellar> OpenAsync(string lot = "N-row")
    {
        var cellar = await WithRoomsAsync();
        await cellar.AirAsync(CuringRoom, Start, Start.AddDays(30), t => (13 + Math.Sin(t.Hour / 4.0), 92));
        await cellar.AirAsync(StoreRoom, Start, Start.AddDays(30), t => (5 + (0.5 * Math.Sin(t.Hour / 4.0)), t.Day is 1 or 2 ? 45 : 75));
        cellar.Book = Weeks.Book($$"""
            [{"event":"dug","at":"2025-09-20T09:00:00Z","lot":"{{lot}}","crop":"potato","variety":"Norland","weightKg":120,"note":"{{lot}}"},
             {"event":"filled","at":"2025-09-20T10:00:00Z","bin":"b1","lot":"{{lot}}","weightKg":60,"place":"root-cellar"},
             {"event":"filled","at":"2025-09-20T10:00:00Z","bin":"b2","lot":"{{lot}}","weightKg":60,"place":"root-cellar"},
             {"event":"dug","at":"2025-09-28T09:00:00Z","lot":"K-row","crop":"potato","variety":"Kennebec","weightKg":40},
             {"event":"filled","at":"2025-09-28T10:00:00Z","bin":"k1","lot":"K-row","weightKg":40,"place":"curing-room"},
             {"event":"promised","at":"2025-09-29T09:00:00Z","order":"Market","crop":"potato","weightKg":300,"due":"2025-10-11"},
             {"event":"sold","at":"2025-09-30T15:00:00Z","bin":"b1","weightKg":10},
             {"event":"culled","at":"2025-10-01T15:00:00Z","bin":"b1","weightKg":1.5,"reason":"rot"},
             {"event":"weighed","at":"2025-10-02T15:00:00Z","bin":"b1","weightKg":47.6},
             {"event":"condition-seen","at":"2025-10-03T15:00:00Z","bin":"b2","what":"soft"}]
            """);
        return cellar;
    }

    public static MadeReport Make(Cellar cellar, string? folder = null, ReportTemplates? templates = null, DateTimeOffset? late = null)
    {
        var maker = TellingWeek.Maker(templates ?? new ReportTemplates(folder));
        var week = Week.Named("2025-W40", maker.Words.Zone)!;
        return cellar.Record.Read(
            c => maker.Make(c, cellar.Book, week, week.To, (chart, _) => "cid:" + ReportMaker.ContentId(chart), late));
    }
}

public class ReportTexts
{
    [Fact]
    public async Task Ten_questions_a_grower_asks_are_answered_by_the_text_alone()
    {
        await using var cellar = await TellingWeek.OpenAsync();
        var text = TellingWeek.Make(cellar).Text;
        (string Question, string Answer)[] questions =
        [
            ("Which week is this?", "Week 40, September 29 to October 5, 2025 (2025-W40)"),
            ("What do I do first?", "1. Sort b2 in Root cellar."),
            ("Why, and what must I mind?", "It was soft on Oct 3, and nobody has sorted it since."),
            ("What did the dry air cost me?", "Dry air cost about"),
            ("How long was the cellar too dry, and when was it worst?", "too dry for "),
            ("What was sold and what was thrown out?", "sold 22.0 lb; culled 3.3 lb (rot)"),
            ("How much is left of the lot?", "At end "),
            ("What does the book say is left?", "by the book "),
            ("When will it sprout?", "sprouts show about"),
            ("Can I keep my promise to the market?", "* Market: 661.4 lb Potato, due Oct 11:"),
        ];
        foreach (var (question, answer) in questions) text.Should().Contain(answer, question + "\n" + text);
        foreach (var more in (string[])["fit to move about", "THE WEIGHING THAT TEACHES MOST\nbin b2 of lot N-row", "USE FIRST\n* ",
            "http://cellar.local:8080/report?week=2025-W40", "Rate "])
            text.Should().Contain(more, text);
        text.Should().NotContainEquivalentOf("safe to eat").And.Contain("cannot tell whether anything is fit to eat");
        text.Should().NotContain("NaN").And.NotContain("{{");
    }

    [Fact]
    public async Task Html_says_what_the_text_says_and_its_pictures_have_words()
    {
        await using var cellar = await TellingWeek.OpenAsync();
        var made = TellingWeek.Make(cellar, late: new DateTimeOffset(2025, 10, 5, 18, 0, 0, TimeSpan.Zero));
        var words = RootCellar.Tests.Pages.Site.Words(made.Html);
        foreach (var answer in (string[])["Sort b2 in Root cellar.", "Dry air cost about", "22.0 lb", "Market", "K-row",
            "This report comes late: it was due Sun, Oct 5"]) words.Should().Contain(answer);
        made.Charts.Select(c => (c.Place, c.Lot, c.Figure)).Should().Equal(
            (null, null, "lots"), (StoreRoom, null, "temperature"), (StoreRoom, null, "humidity"), (CuringRoom, null, "temperature"),
            (CuringRoom, null, "humidity"), (null, "N-row", "weight"), (null, "K-row", "weight"));
        foreach (var chart in made.Charts) made.Html.Should().Contain($"src=\"cid:{ReportMaker.ContentId(chart)}\"");
        System.Text.RegularExpressions.Regex.Count(made.Html, "<img [^>]*alt=\"[^\"]{40,}\"",
            System.Text.RegularExpressions.RegexOptions.None, TimeSpan.FromSeconds(5)).Should().Be(7);
        made.Subject.Should().StartWith("Late: Week 40").And.Contain("Sort b2");
    }

    [Fact]
    public async Task The_week_opens_with_its_verdict_three_sums_and_a_line_a_lot()
    {
        await using var cellar = await TellingWeek.OpenAsync();
        var made = TellingWeek.Make(cellar);
        made.Verdict.Was.Should().Be(WeekWas.Soon);
        made.Verdict.Says.Should().Be("A hard week: Root cellar too dry");
        made.Verdict.Why.Should().MatchRegex("^Out of band for \\d+ hours. Dry air cost about ");
        made.Text.IndexOf("A HARD WEEK", StringComparison.Ordinal).Should().BeLessThan(made.Text.IndexOf("THIS WEEK'S JOBS", StringComparison.Ordinal));
        made.Text.Should().MatchRegex(@"\* Norland \(N-row\): [\d.]+ lb, still healing, far enough (about|early|mid|late) [\w ]+; lost \d").And.MatchRegex(
            @"\* Kennebec \(K-row\): [\d.]+ lb, healing, fit to move about Oct \d+; lost ");
        var picture = made.Charts[0].Spec;
        picture.Rows.Select(r => r.Name).Should().BeEquivalentTo("Norland", "Kennebec");
        picture.Rows.Single(r => r.Name == "Kennebec").Healed.Should().BeAfter(made.Figures.UpTo);
        // On the house's own page the top has said it, and what is not read first is folded.
        made.Html.Should().Contain("<h1").And.NotContain("<details");
    }

    [Fact]
    public async Task The_weight_of_a_lot_is_drawn_and_said_from_digging_to_the_weeks_end()
    {
        await using var cellar = await TellingWeek.OpenAsync();
        var made = TellingWeek.Make(cellar);
        var lot = made.Figures.Lots.Single(l => l.Lot == "N-row");
        var spec = made.Charts.Single(c => c.Lot == "N-row").Spec;
        (spec.From, spec.To, spec.Shade).Should().Be((lot.DugAt, made.Figures.UpTo, (made.Figures.Week.From, made.Figures.UpTo)));
        spec.Unit.Should().Be("lb");
        var last = spec.Series[0].Points[^1];
        last.At.Should().Be(made.Figures.UpTo);
        // The same figure as the lot's own line.
        new[] { last.Low!.Value, last.Value, last.High!.Value }.Select(v => v * Science.Pound.Kilograms)
            .Zip([lot.Estimate.EndKg!.Value.Low, lot.Estimate.EndKg.Value.Value, lot.Estimate.EndKg.Value.High])
            .Should().OnlyContain(p => Math.Abs(p.First - p.Second) < 1e-6);
        // 132.3 lb: 60 kg each in two bins, which are not in yet at the hour of digging.
        System.Text.RegularExpressions.Regex.IsMatch(
            made.Text, @"N-row: weight 26[0-9](\.[0-9])? lb on Sep 20, 2[0-9]{2}(\.[0-9])? lb when the week began, 2[0-9]{2}(\.[0-9])? lb \(2[0-9.]+ to 2[0-9.]+\) on Oct 6\.", System.Text.RegularExpressions.RegexOptions.ExplicitCapture, TimeSpan.FromSeconds(5))
            .Should().BeTrue(made.Text);
        // Dug in the week before on a Sunday; its season is hardly longer than the week.
        made.Charts.Single(c => c.Lot == "K-row").Spec.Shade!.Value.From.Should().Be(made.Figures.Week.From);
        Site.Words(made.Html).Should().Contain("Weight since Sep 20. Round the line: what it may be. Shaded: this week.");
    }

    [Fact]
    public async Task Of_many_lots_those_that_lost_most_are_drawn_and_the_others_named()
    {
        await using var cellar = await TellingWeek.OpenAsync();
        var lots = Enumerable.Range(1, 8).SelectMany(i => (string[])
        [
            $$"""{"event":"dug","at":"2025-09-20T09:00:00Z","lot":"L{{i}}","crop":"potato","weightKg":{{i * 10}}}""",
            $$"""{"event":"filled","at":"2025-09-20T10:00:00Z","bin":"b{{i}}","lot":"L{{i}}","weightKg":{{i * 10}},"place":"root-cellar"}""",
        ]).Append("""{"event":"eaten","at":"2025-09-30T10:00:00Z","bin":"b8","weightKg":80,"empties":true}""");
        cellar.Book = Weeks.Book($"[{string.Join(',', lots)}]");
        var made = TellingWeek.Make(cellar);
        made.Figures.Lots.Should().HaveCount(8);
        made.Charts.Select(c => c.Lot).OfType<string>().Should().Equal("L7", "L6", "L5", "L4", "L3", "L2");
        foreach (var said in (string[])[made.Text, Site.Words(made.Html)])
            said.Should().Contain("Drawn are the 6 lots that lost most. The weight of L1 is drawn on each lot's own page");
    }

    [Fact]
    public async Task A_lots_picture_in_the_mail_is_grey_small_and_of_a_phones_width()
    {
        await using var cellar = await TellingWeek.OpenAsync();
        var maker = TellingWeek.Maker(new ReportTemplates(null));
        var week = Week.Named("2025-W40", maker.Words.Zone)!;
        var (made, pictures) = cellar.Record.Read(c => maker.Mail(c, cellar.Book, week, week.To));
        pictures.Select(p => p.Id).Should().OnlyHaveUniqueItems().And.HaveCount(made.Charts.Count);
        foreach (var picture in pictures)
        {
            // PNG (ISO/IEC 15948, 11.2.2): width, height, bit depth and colour type, 0 for grey, stand in the first chunk.
            picture.Png.AsSpan(1, 3).SequenceEqual("PNG"u8).Should().BeTrue();
            (BinaryPrimitives.ReadInt32BigEndian(picture.Png.AsSpan(16)), picture.Png[24], picture.Png[25]).Should()
                .Be((2 * ChartSpec.Narrow, (byte)8, (byte)0));
            picture.Png.Length.Should().BeLessThan(25_000);
        }
    }

    [Fact]
    public async Task Hostile_names_stay_text_in_page_mail_and_subject()
    {
        await using var cellar = await TellingWeek.OpenAsync(TellingWeek.Hostile);
        var made = TellingWeek.Make(cellar);
        made.Html.Should().NotContain("<script").And.Contain("&lt;script&gt;alert(1)&lt;/script&gt;").And.Contain(
            "{{ week }}", "what a name holds is no template");
        made.Document().Should().NotContain("<script");
        ReportWords.Line("a\nSubject: b\r\u2028c\u202Ed").Should().Be("a Subject: b c d");
        made.Subject.Should().NotContain("\n");
    }

    [Fact]
    public async Task A_template_of_ones_own_cannot_let_a_name_out()
    {
        using var folder = new RootCellar.Tests.Storage.TempFolder();
        await File.WriteAllTextAsync(
            Path.Combine(folder.Path, ReportTemplates.Html),
            "<p title=\"{{ lots[1].name }}\">{{ lots[1].name }}{{ capture x }}{{ lots[1].name }}{{ end }}{{ x }}{{ lots[1] }}{{ lots | array.map 'name' | array.join ', ' }}{{ '{{ lots[1].name }}' | object.eval_template }}{{ 'lots[1].name' | object.eval }}</p>",
            TestContext.Current.CancellationToken);
        await using var cellar = await TellingWeek.OpenAsync(TellingWeek.Hostile);
        var templates = new ReportTemplates(folder.Path);
        var made = TellingWeek.Make(cellar, templates: templates);
        made.Html.Should().StartWith("<p title=", string.Join(' ', templates.Problems)).And.NotContain("<script").And.Contain("&lt;script");
        // Nothing closes the attribute.
        made.Html.Split('>')[0].Count(c => c == '"').Should().Be(2);
    }

    [Theory]
    [InlineData("{{ for i in 1..10000000 }}x{{ end }}", "loop")]
    [InlineData("{{ for a in 1..4000 }}{{ for b in 1..4000 }}{{ for c in 1..4000 }}{{ end }}{{ end }}{{ end }}x", "")]
    [InlineData("{{ include '/etc/passwd' }}", "")]
    [InlineData("{{ title.nothing.here }}", "")]
    [InlineData("{{ no_such_value }}", "no_such_value")]
    [InlineData("{{ while true }}{{ end }}", "")]
    [InlineData("{{ func f; f; end; f }}", "")]
    [InlineData("line one\n{{ if }}", "")]
    [InlineData("{{ 'x' | string.pad_left 2000000000 }}", "")]
    public async Task A_template_that_is_broken_or_does_not_end_gives_way_to_the_shipped_one(string own, string says)
    {
        using var folder = new RootCellar.Tests.Storage.TempFolder();
        await File.WriteAllTextAsync(Path.Combine(folder.Path, ReportTemplates.Text), own, TestContext.Current.CancellationToken);
        await using var cellar = await TellingWeek.OpenAsync();
        var templates = new ReportTemplates(folder.Path);
        var made = TellingWeek.Make(cellar, templates: templates);
        made.Text.Should().StartWith("THE WEEK IN THE CELLAR");
        var problem = templates.Problems.Should().ContainSingle().Subject;
        problem.File.Should().Be(ReportTemplates.Text);
        problem.Line.Should().BeGreaterThanOrEqualTo(own.StartsWith("line", StringComparison.Ordinal) ? 2 : 1);
        if (says.Length > 0) problem.Message.Should().ContainEquivalentOf(says);
        new RootCellar.Tell.TemplateSet(folder.Path).Problems.Should().BeEmpty("the alarms' templates are no part of it");
    }
}
