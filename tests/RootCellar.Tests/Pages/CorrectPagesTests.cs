using System.Net;
using System.Text.RegularExpressions;
using RootCellar.Household;
using RootCellar.Ledger;

namespace RootCellar.Tests.Pages;

public class CorrectPagesTests
{
    [Fact]
    public async Task A_wrong_figure_is_put_right_in_its_own_form_and_both_stay_in_sight()
    {
        await using var site = await Site.OpenAsync();
        await site.FillAsync();
        await site.LogAsync("weighed", "B1", ("amount", "49"), ("note", "scale in the shed"));
        (await site.ReadAsync("/bins/B1")).Should().Contain("href=\"/log/correct/3\"");
        var page = await site.ReadAsync("/log/correct/3");
        var form = Filled(page);
        Value(form, "amount").Should().Be("49");
        Value(form, "bin").Should().Be("B1");
        Value(form, "note").Should().Be("scale in the shed");
        Value(form, "when").Should().StartWith("2025-10-04T");

        var done = await SendAsync(site, page, ("amount", "25"));
        done.Location.Should().Be("/bins/B1?kept=4");
        (await SendAsync(site, page, ("amount", "25"))).Location.Should().Be("/bins/B1?kept=4", "sent twice it counts once");
        site.Entries.Should().Equal("dug", "filled", "weighed", "correction of 3");
        site.Book.Find(4)!.Entry.Body.EnumerateObject().Select(p => p.Name).Should().Equal(["measure"], "only what was changed is said");
        site.Book.Bins["B1"].Grams.Should().Be(11_340);

        var html = await site.ReadAsync("/bins/B1?kept=4");
        Site.Words(html).Should().Contain("Written down: Put right: Weighed: 49.0 lb → Weighed: 25.0 lb").And.Contain(
            "was Weighed: 49.0 lb corrected to Weighed: 25.0 lb by Ann,").And.Contain("“scale in the shed”");
        html.Should().MatchRegex("<s>Weighed: 49.0.{0,8}lb</s>");
    }

    [Fact]
    public async Task What_was_logged_late_gets_its_own_hour_and_a_note()
    {
        await using var site = await Site.OpenAsync();
        await site.FillAsync();
        site.Time.Advance(TimeSpan.FromDays(2));
        await site.LogAsync("sold", "B1", ("amount", "10"), ("unit", "lb"));
        (await SendAsync(site, await site.ReadAsync("/log/correct/3"), ("when", "2025-10-05T18:30"),
            ("note", "yesterday evening"))).Status.Should().Be(HttpStatusCode.Found);
        var sale = site.Book.Find(3)!;
        sale.At.Should().Be(new DateTimeOffset(2025, 10, 5, 18, 30, 0, TimeSpan.FromHours(-4)));
        sale.Fields.EnumerateObject().Select(p => p.Name).Should().NotContain(["rightAt", "rightNote"]);
        (await site.WordsAsync("/bins/B1")).Should().Contain("corrected to Sold: 10.0 lb, Sun, Oct 5, 6:30 pm by Ann").And.Contain(
            "“yesterday evening”");
        Value(Filled(await site.ReadAsync("/log/correct/3")), "when").Should().Be("2025-10-05T18:30");
    }

    [Fact]
    public async Task Corrections_follow_each_other_and_undoing_one_brings_back_what_stood_before()
    {
        await using var site = await Site.OpenAsync();
        await site.FillAsync();
        await site.LogAsync("culled", "B1", ("amount", "4"), ("unit", "lb"), ("choice", "rot"));
        await SendAsync(site, await site.ReadAsync("/log/correct/3"), ("amount", "3"));
        (await site.GoAsync("/log/correct/4")).Should().Be("/log/correct/3", "a correction is corrected where it shows");
        var second = await site.ReadAsync("/log/correct/3");
        Value(Filled(second), "amount").Should().Be("3");
        await SendAsync(site, second, ("choice", "green"), ("amount", "2"));
        site.Book.Outs.Single().Should().Match<WayOut>(o => o.Reason == "culled-green" && o.Grams == 907);
        (await site.WordsAsync("/bins/B1")).Should().Contain("was Culled: 4.0 lb, rot corrected to Culled: 3.0 lb, rot by Ann").And.Contain(
            "corrected to Culled: 2.0 lb, green by Ann");

        (await UndoAsync(site, 5)).Location.Should().Be("/bins/B1?kept=6");
        site.Book.Outs.Single().Should().Match<WayOut>(o => o.Reason == "culled-rot" && o.Grams == 1_361);
        await UndoAsync(site, 6);
        site.Book.Outs.Single().Grams.Should().Be(907, "undoing the undo brings the correction back");
    }

    [Fact]
    public async Task A_form_where_nothing_was_changed_says_so_and_one_of_another_meanwhile_is_not_taken_back()
    {
        await using var site = await Site.OpenAsync();
        await site.FillAsync();
        await site.LogAsync("culled", "B1", ("amount", "4"), ("unit", "lb"), ("choice", "rot"));
        var mine = await site.ReadAsync("/log/correct/3");
        (await SendAsync(site, mine)).Words.Should().Contain("Nothing was changed");
        await SendAsync(site, await site.ReadAsync("/log/correct/3"), ("amount", "1"));
        await SendAsync(site, mine, ("choice", "green"));
        site.Book.Outs.Single().Should().Match<WayOut>(
            o => o.Reason == "culled-green" && o.Grams == 454, "my form still showed 4 lb, which I did not touch");
    }

    [Fact]
    public async Task A_correction_that_makes_no_sense_is_asked_about_and_may_wait_to_be_checked()
    {
        await using var site = await Site.OpenAsync();
        await site.FillAsync();
        await site.LogAsync("sold", "B1", ("amount", "5"), ("unit", "lb"));
        var page = await site.ReadAsync("/log/correct/3");
        var asked = await SendAsync(site, page, ("amount", "55"));
        asked.Words.Should().Contain("The book asks").And.Contain(
            "Bin B1 holds 50.0 lb by the book, and 55.0 lb would go out of it").And.Contain("Yes, it is right").And.Contain(
                "Write it down to be checked");
        site.Entries.Should().HaveCount(3);
        Value(Filled(asked.Html), "amount").Should().Be("55", "what was typed is kept");

        await SendAsync(site, asked.Html, ("answer", "keep"));
        site.Book.Outs.Single().Grams.Should().Be(2_268, "it counts for nothing yet");
        (await site.WordsAsync("/bins")).Should().Contain("1 entry needs a look");
        var list = await site.WordsAsync("/log/to-check");
        list.Should().Contain("Put right: Sold: 5.0 lb → Sold: 55.0 lb").And.Contain("Bin B1 holds 50.0 lb by the book").And.Contain(
            "Correct").And.Contain("Undo").And.Contain("It is right");

        // What waits is corrected itself, and so it counts.
        (await SendAsync(site, await site.ReadAsync("/log/correct/4"), ("amount", "15"))).Location.Should().Be("/bins/B1?kept=5");
        site.Book.Outs.Single().Grams.Should().Be(6_804);
        (await site.WordsAsync("/log/to-check")).Should().Contain("Nothing needs a look");
        (await site.WordsAsync("/bins")).Should().NotContain("to be checked");
    }

    [Fact]
    public async Task What_waits_is_said_to_be_right_or_taken_back_and_what_cannot_be_counted_says_so()
    {
        await using var site = await Site.OpenAsync();
        await site.FillAsync();
        await site.FillAsync("B9", lot: "2025-2", variety: "Elba");
        await KeepAsync(site, "weighed", ("bin", "B1"), ("amount", "61.5"));
        await KeepAsync(site, "filled", ("bin", "B1"), ("lot", "2025-2"), ("amount", "20"), ("unit", "lb"), ("place", "curing"));
        var list = await site.ReadAsync("/log/to-check");
        Site.Words(list).Should().Contain("cannot be more than 50.0 lb").And.Contain("still holds 50.0 lb of lot 2025-1");
        (await site.SendAsync("/log/to-check", list, ("id", "5"))).Location.Should().Be("/log/to-check?kept=7");
        site.Book.Bins["B1"].Grams.Should().Be(27_896);
        list = await site.ReadAsync("/log/to-check?kept=7");
        (await site.SendAsync("/log/to-check", list, ("id", "6"))).Words.Should()
            .Contain("The book cannot count it as it is. Bin B1 still holds 61.5 lb of lot 2025-1");
        (await UndoAsync(site, 6, "/log/to-check")).Location.Should().Be("/log/to-check?kept=8");
        (await site.WordsAsync("/log/to-check?kept=8")).Should()
            .Contain("Written down: Taken back").And.Contain("Nothing needs a look");
    }

    [Fact]
    public async Task A_figure_that_was_looked_at_is_doubted_anew_when_it_is_changed()
    {
        await using var site = await Site.OpenAsync();
        await site.FillAsync();
        var form = await site.ReadAsync("/log/weighed?bin=B1");
        await site.SendAsync("/log/weighed", form, ("bin", "B1"), ("amount", "61.5"), ("answer", "checked"));
        (await SendAsync(site, await site.ReadAsync("/log/correct/3"), ("amount", "615"))).Words.Should()
            .Contain("Bin B1 would weigh 615.0 lb");
        (await SendAsync(site, await site.ReadAsync("/log/correct/3"), ("note", "new scale"))).Status.Should()
            .Be(HttpStatusCode.Found, "a note changes no figure");
        site.Book.Find(3)!.Question.Should().BeNull();
    }

    [Fact]
    public async Task What_was_taken_back_cannot_be_corrected_and_nobody_corrects_what_is_not_there()
    {
        await using var site = await Site.OpenAsync();
        await site.FillAsync();
        await site.LogAsync("sold", "B1", ("amount", "5"), ("unit", "lb"));
        var page = await site.ReadAsync("/log/correct/3");
        await UndoAsync(site, 3);
        (await site.WordsAsync("/log/correct/3")).Should().Contain("This entry was taken back");
        (await SendAsync(site, page, ("amount", "6"))).Words.Should().Contain("This entry was taken back");
        site.Entries.Should().Equal("dug", "filled", "sold", "correction of 3");
        (await site.SendAsync("/log/correct/99", page, ("amount", "6"))).Status.Should().Be(HttpStatusCode.NotFound);
        (await site.SendAsync("/log/correct/3", "", ("amount", "6"))).Status.Should()
            .Be(HttpStatusCode.BadRequest, "without the form's token");
    }

    [Fact]
    public async Task What_the_form_does_not_show_stays_as_it_was_entered()
    {
        await using var site = await Site.OpenAsync();
        await site.FillAsync();
        await site.LogAsync("sorted", "B1", ("intoBin", "B1"), ("intoAmount", "30"), ("intoGrade", "table"), ("intoBin", "B2"),
            ("intoAmount", "19.5"), ("intoGrade", "seed"));
        await SendAsync(site, await site.ReadAsync("/log/correct/3"),
            f => f.Select(p => p is ("intoAmount", "19.5") ? ("intoAmount", "18.5") : p));
        (site.Book.Bins["B1"].Grams, site.Book.Bins["B2"].Grams).Should().Be((13_608, 8_391));

        await site.LogAsync("eaten", "B1", ("amount", "1"), ("unit", "peck"));
        var peck = site.Book.Outs.Single().Grams;
        var form = await site.ReadAsync("/log/correct/5");
        Value(Filled(form), "unit").Should().Be("peck");
        await SendAsync(site, form, ("amount", "0.5"));
        (site.Book.Outs.Single().Grams * 2).Should().BeCloseTo(peck, 1);
        site.Book.Find(5)!.Fields.GetProperty("measure").TryGetProperty("source", out _).Should().BeTrue();

        await SendAsync(site, await site.ReadAsync("/log/correct/5"), ("bin", "B2"));
        site.Book.Outs.Single().Bin.Should().Be("B2");
        await SendAsync(site, await site.ReadAsync("/log/correct/1"), ("variety", "Elba"), ("row", "7"));
        (site.Book.Lots["2025-1"].Variety, site.Book.Lots["2025-1"].Row).Should().Be(("Elba", "7"));
    }

    [Fact]
    public async Task A_weight_is_corrected_in_the_unit_it_was_entered_in()
    {
        await using var site = await Site.OpenAsync();
        await site.FillAsync();
        await site.LogAsync("sold", "B1", ("amount", "2"), ("unit", "kg"));
        var form = await site.ReadAsync("/log/correct/3");
        (Value(Filled(form), "amount"), Value(Filled(form), "unit")).Should().Be(("2", "kg"));
        await SendAsync(site, form, ("amount", "3"));
        site.Book.Outs.Single().Grams.Should().Be(3_000);
    }

    [Fact]
    public async Task What_nobody_weighed_is_corrected_as_the_household_counts()
    {
        await using var site = await Site.OpenAsync();
        await site.FillAsync();
        await site.LogAsync("sold", "B1", ("empties", "true"));
        site.Book.Outs.Single().Grams.Should().Be(22_680);
        var form = await site.ReadAsync("/log/correct/3");
        (Value(Filled(form), "amount"), Value(Filled(form), "unit"), Value(Filled(form), "empties")).Should().Be(("50", "lb", "true"));
        (await SendAsync(site, form)).Words.Should().Contain("Nothing was changed", "the book's weight is no change");
        await SendAsync(site, form, ("amount", "48"));
        site.Book.Outs.Single().Grams.Should().Be(21_772);
        (await site.WordsAsync("/bins/B1")).Should().Contain("corrected to Sold: 48.0 lb");
    }

    [Fact]
    public async Task A_planting_is_put_right_in_its_own_form_and_one_is_back_at_its_row()
    {
        await using var site = await Site.OpenAsync();
        await site.SendAsync("/log/row-planted", await site.ReadAsync("/log/row-planted"), ("row", "3"), ("crop", "potato"),
            ("variety", "Norland"), ("plantedOn", "2025-05-05"), ("maturity", "early"), ("length", "100"));
        (await site.ReadAsync("/rows/3")).Should().Contain("href=\"/log/correct/1?back=%2Frows%2F3\"");
        (await site.ReadAsync("/log")).Should().Contain("href=\"/log/row-planted?like=3\"");
        var page = await site.ReadAsync("/log/correct/1?back=%2Frows%2F3");
        var form = Filled(page);
        (Value(form, "row"), Value(form, "crop"), Value(form, "variety"), Value(form, "plantedOn"), Value(form, "length"),
            Value(form, "maturity")).Should().Be(("3", "potato", "Norland", "2025-05-05", "100", "early"));
        (await SendAsync(site, page)).Words.Should().Contain("Nothing was changed");
        (await SendAsync(site, page, ("length", "-5"))).Words.Should().Contain("'-5' is not a number");

        // The packet's days stand instead of the word.
        (await SendAsync(site, page, ("length", "120"), ("maturityDays", "95"))).Location.Should().Be("/rows/3?kept=2");
        site.Book.Find(2)!.Entry.Body.EnumerateObject().Select(p => p.Name).Should().BeEquivalentTo("lengthFt", "maturityDays");
        var row = site.Book.Rows.Single();
        (row.LengthM, row.MaturityDays, row.Maturity).Should().Be((120 * 0.3048, 95, null));
        (await site.WordsAsync("/rows/3?kept=2")).Should()
            .Contain("was Planted in a row: row 3, Potato, Norland, early").And.Contain("120 ft");

        // And the word instead of the days again.
        await SendAsync(site, await site.ReadAsync("/log/correct/1"), ("maturityDays", ""), ("maturity", "late"));
        (site.Book.Rows.Single().MaturityDays, site.Book.Rows.Single().Maturity).Should().Be((null, "late"));
        (await SendAsync(site, await site.ReadAsync("/log/correct/1?back=%2Frows%2F3"), ("row", "4"))).Location.Should()
            .Be("/rows/4?kept=4", "a row with another name is on that name's page");
        site.Book.Rows.Single().Row.Should().Be("4");
    }

    [Fact]
    public async Task Metres_sent_by_a_program_are_corrected_in_feet_and_dead_vines_get_their_day()
    {
        await using var site = await Site.OpenAsync();
        await site.WriteAsync("""[{"event":"row-planted","row":"3","crop":"potato","lengthM":30.48,"plantedOn":"2025-05-05"}]""");
        var planted = await site.ReadAsync("/log/correct/1");
        Value(Filled(planted), "length").Should().Be("100");
        await SendAsync(site, planted, ("length", "90"));
        site.Book.Rows.Single().LengthM.Should().BeApproximately(90 * 0.3048, 1e-9);

        await site.SendAsync("/log/vines-dead", await site.ReadAsync("/log/vines-dead?row=3"), ("row", "3"), ("how", "mown"));
        var page = await site.ReadAsync("/log/correct/3");
        (Value(Filled(page), "row"), Value(Filled(page), "how"), Value(Filled(page), "on")).Should().Be(("3", "mown", "2025-10-04"));
        (await SendAsync(site, page)).Words.Should().Contain("Nothing was changed");
        (await SendAsync(site, page, ("how", "frost"), ("on", "2025-10-01"))).Location.Should().Be("/rows/3?kept=4");
        site.Book.Row("3")!.VinesDeadOn.Should().Be(new DateOnly(2025, 10, 1));
        (await SendAsync(site, await site.ReadAsync("/log/correct/3"), ("row", "30"))).Words.Should().Contain("The book asks");
    }

    [Fact]
    public async Task A_digging_put_right_from_its_row_leads_back_to_the_row()
    {
        await using var site = await Site.OpenAsync();
        await site.LogAsync("dug", null, ("lot", "2025-9"), ("crop", "potato"), ("row", "7"), ("amount", "100"), ("unit", "lb"));
        (await site.ReadAsync("/rows/7")).Should().Contain("href=\"/log/correct/1?back=%2Frows%2F7\"");
        (await SendAsync(site, await site.ReadAsync("/log/correct/1?back=%2Frows%2F7"), ("amount", "110"))).Location.Should()
            .Be("/rows/7?kept=2");
    }

    [Fact]
    public async Task The_last_entries_of_everybody_are_on_the_page_where_one_logs()
    {
        await using var site = await Site.OpenAsync();
        await site.FillAsync("B1");
        await site.FillAsync("B2");
        await site.LogAsync("sold", "B2", ("amount", "10"), ("unit", "lb"));
        var page = await site.ReadAsync("/log");
        Site.Words(page).Should().Contain("Written down last Bin B2 Sold: 10.0 lb").And.Contain("· Ann · no. 4");
        page.Should().Contain("href=\"/log/correct/4?back=%2Flog\"").And.Contain("action=\"/log/undo/4\"");
        (await UndoAsync(site, 4, "/log")).Location.Should().Be("/log?kept=5");
        (await site.WordsAsync("/log?kept=5")).Should().Contain("Written down: Taken back: Sold: 10.0 lb");
        (await UndoAsync(site, 5, "https://elsewhere.example/")).Location.Should().Be("/bins/B2?kept=6", "the way back stays inside");
        (await site.WordsAsync("/log?find=B")).Should().NotContain("Written down last");
    }

    [Fact]
    public async Task Mistakes_in_figures_are_said_in_the_words_of_the_form()
    {
        await using var site = await Site.OpenAsync();
        await site.FillAsync();
        (await site.SendAsync("/log/weighed", await site.ReadAsync("/log/weighed?bin=B1"), ("bin", "B1"), ("amount", "40"),
            ("tare", "41"))).Words.Should().Contain("The empty bin cannot be heavier than the full one.");
        (await site.SendAsync("/log/sold", await site.ReadAsync("/log/sold?bin=B1"), ("bin", "B1"), ("amount", "999999"),
            ("unit", "lb"))).Words.Should().Contain("999999 is more than the book takes at once");
        site.Entries.Should().HaveCount(2);
    }

    [Theory]
    [InlineData("dug", "pulp=180", "The temperature inside the produce can be from 14.0 °F to 122.0 °F.")]
    [InlineData("dug", "dugOn=yesterday", "'yesterday' is not a day. Right: 2026-10-03.")]
    [InlineData("dug", "row=the long row beside the old apple tree that was struck by lightning last year",
        "'the long row beside the…' is too long: at most 64 letters.")]
    [InlineData("row-planted", "maturityDays=9", "Days to maturity can be from 20 to 365")]
    [InlineData("row-planted", "length=99999", "A row can be from 0.3 ft to 16000 ft long.")]
    [InlineData("row-planted", "crop=moonroot", "The book cannot read it as it is.")]
    [InlineData("sorted", "intoBin=B1&intoAmount=20&intoBin=B1&intoAmount=30", "Bin B1 is named twice.")]
    [InlineData("sprouts-seen", "choice=few&length=99", "Sprouts can be up to 79 in long.")]
    [InlineData("sold", "amount=90000&unit=bushel", "; the book takes at most 110231 lb at once.")]
    public async Task What_the_book_cannot_read_is_said_in_the_words_of_the_pages(string what, string typed, string said)
    {
        await using var site = await Site.OpenAsync();
        await site.FillAsync();
        (string, string)[] right = what switch
        {
            "dug" => [("lot", "2025-2"), ("crop", "potato")],
            "row-planted" => [("row", "3"), ("crop", "potato")],
            _ => [("bin", "B1")],
        };
        var wrong = typed.Split('&').Select(p => p.Split('=')).Select(p => (p[0], p[1])).ToArray();
        var page = await site.ReadAsync($"/log/{what}{(what is "dug" or "row-planted" ? "" : "?bin=B1")}");
        var answer = await site.SendAsync("/log/" + what, page,
            [.. right.Where(r => !Array.Exists(wrong, w => w.Item1 == r.Item1)), .. wrong]);
        answer.Status.Should().Be(HttpStatusCode.OK);
        answer.Words.Should().Contain(said).And.NotContainAny("right would be", "measure:", "pulpC", "lengthFt");
        site.Entries.Should().HaveCount(2);
    }

    private static async Task KeepAsync(Site site, string what, params (string, string)[] typed)
    {
        var page = await site.ReadAsync($"/log/{what}{(what == "filled" ? "" : "?bin=B1")}");
        (await site.SendAsync("/log/" + what, page, [.. typed, ("answer", "keep")])).Status.Should().Be(HttpStatusCode.Found);
    }

    private static async Task<Answer> UndoAsync(Site site, long id, string? back = null) => await site.SendAsync(
        $"/log/undo/{id}", await site.ReadAsync($"/log/undo/{id}"), back is null ? [] : [("back", back)]);

    /// <summary>Sends the form as it stands on the page, with what the person changed.</summary>
    private static Task<Answer> SendAsync(Site site, string page, params (string Name, string Value)[] changed) =>
        SendAsync(site, page, f => f.Where(p => !Array.Exists(changed, c => c.Name == p.Name)).Concat(changed));

    private static Task<Answer> SendAsync(Site site, string page, Func<IEnumerable<(string Name, string Value)>,
        IEnumerable<(string Name, string Value)>> before) =>
            site.SendAsync(Form().Match(page).Groups["action"].Value, page, [.. before(Filled(page))]);

    private static string Value(List<(string Name, string Value)> form, string name) => form.Find(f => f.Name == name).Value;

    private static List<(string Name, string Value)> Filled(string page)
    {
        var form = Form().Match(page).Groups["inner"].Value;
        var fields = new List<(string, string)>();
        foreach (var tag in Tags().Matches(form).Select(m => m.Value))
        {
            var name = Attribute(tag, "name");
            if (name.Length == 0 || name == "__RequestVerificationToken"
                || (tag.Contains("type=\"radio\"", StringComparison.Ordinal)
                    || tag.Contains("type=\"checkbox\"", StringComparison.Ordinal)) && !tag.Contains("checked", StringComparison.Ordinal))
                continue;
            if (tag.StartsWith("<input", StringComparison.Ordinal)) fields.Add((name, Attribute(tag, "value")));
            else if (Selected().Match(tag) is { Success: true } option)
                fields.Add((name, WebUtility.HtmlDecode(option.Groups["value"].Value)));
        }

        return fields;
    }

    private static string Attribute(string tag, string name) =>
        WebUtility.HtmlDecode(
            Regex.Match(tag, $" {name}=\"(?<value>[^\"]*)\"", RegexOptions.ExplicitCapture, TimeSpan.FromSeconds(5)).Groups["value"].Value);

    private static Regex Form() =>
        new("<form id=\"form\" method=\"post\" action=\"(?<action>[^\"]*)\"[^>]*>(?<inner>.*?)</form>",
            RegexOptions.Singleline | RegexOptions.ExplicitCapture, TimeSpan.FromSeconds(5));

    private static Regex Tags() => new("<input[^>]*>|<select.*?</select>", RegexOptions.Singleline, TimeSpan.FromSeconds(5));

    private static Regex Selected() =>
        new("<option value=\"(?<value>[^\"]*)\"[^>]*selected", RegexOptions.ExplicitCapture, TimeSpan.FromSeconds(5));
}
