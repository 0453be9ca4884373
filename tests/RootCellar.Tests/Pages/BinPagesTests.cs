using System.Net;
using RootCellar.Household;

namespace RootCellar.Tests.Pages;

public class BinPagesTests
{
    [Fact]
    public async Task Before_anything_is_dug_every_page_says_how_to_begin()
    {
        await using var site = await Site.OpenAsync();
        foreach (var path in (string[])["/bins", "/log"])
        {
            var page = await site.ReadAsync(path);
            Site.Words(page).Should().Contain("It begins in the field. Write down the row you dig");
            page.Should().Contain("href=\"/log/dug\"").And.Contain("href=\"/log/filled\"");
        }

        (await site.WordsAsync("/labels")).Should().Contain("Fill a first bin, then print its label.");
        (await site.WordsAsync("/bins/B1")).Should().Contain("The book knows of nothing in this bin.").And.Contain("Fill this bin");
    }

    [Fact]
    public async Task From_the_field_to_the_bin_the_pages_lead_on()
    {
        await using var site = await Site.OpenAsync();
        var dig = await site.ReadAsync("/log/dug");
        Site.Field(dig, "lot").Should().Be("2025-1", "the year and the first free number");
        var next = await site.LogAsync("dug", null, ("lot", "2025-1"), ("crop", "potato"), ("variety", "Kennebec"), ("row", "3"),
            ("skin", "tender"), ("flags", "rain"), ("pulp", "60"));
        next.Should().Be("/log/filled?lot=2025-1&kept=1");
        (await site.WordsAsync(next)).Should().Contain("Lot 2025-1 is written down. Now fill a first bin from it.");
        (await site.WordsAsync("/bins")).Should().Contain("A lot has come in. Fill a first bin from it");

        var there = await site.LogAsync("filled", "B1", ("lot", "2025-1"), ("amount", "50"), ("unit", "lb"), ("place", "curing"),
            ("grade", "seed"));
        there.Should().Be("/bins/B1?kept=2");
        (await site.WordsAsync(there)).Should().Contain(
            "Written down: Filled: 50.0 lb, lot 2025-1, grade seed, to Curing room").And.Contain("Fill the next bin from lot 2025-1");
        var lot = site.Book.Lots["2025-1"];
        (lot.Variety, lot.Skin, lot.PulpC!.Value).Should().Be(("Kennebec", "tender", 15.556));
        lot.Flags.Should().Equal("rain");
        site.Book.Bins["B1"].Grams.Should().Be(22_680);

        var list = await site.WordsAsync("/bins");
        list.Should().Contain("Curing room").And.Contain("B1 50.0 lb Kennebec · lot 2025-1 · seed · filled Oct 4");
    }

    [Fact]
    public async Task What_was_dug_and_binned_days_ago_is_written_down_without_saying_the_day_again()
    {
        await using var site = await Site.OpenAsync();
        var next = await site.LogAsync("dug", null, ("lot", "2025-1"), ("crop", "potato"), ("dugOn", "2025-10-01"));
        next.Should().Be("/log/filled?lot=2025-1&when=2025-10-01T12:00&kept=1");
        Site.Field(await site.ReadAsync(next), "when").Should().Be("2025-10-01T12:00");
        await site.LogAsync("filled", "B1", ("lot", "2025-1"), ("amount", "50"), ("unit", "lb"), ("place", "curing"),
            ("when", "2025-10-01T16:30"));
        (await site.ReadAsync("/bins/B1?kept=2")).Should().Contain("/log/filled?lot=2025-1&amp;place=curing&amp;when=2025-10-01T16:30");
        await site.LogAsync("filled", "B2", ("lot", "2025-1"), ("amount", "50"), ("unit", "lb"), ("place", "curing"));
        (await site.ReadAsync("/bins/B2?kept=3")).Should().Contain("/log/filled?lot=2025-1&amp;place=curing\"");
        (await site.WordsAsync("/lots/2025-1")).Should().Contain("3 days ago");
    }

    [Theory]
    [InlineData("kenne", true)]
    [InlineData("2025-1 curing", true)]
    [InlineData("potatoes", false)]
    [InlineData("b2", false)]
    public async Task Bins_are_found_by_what_is_known_of_them(string find, bool found)
    {
        await using var site = await Site.OpenAsync();
        await site.FillAsync();
        var words = await site.WordsAsync("/bins?find=" + Uri.EscapeDataString(find));
        words.Contains("Kennebec · lot 2025-1", StringComparison.Ordinal).Should().Be(found, words);
        words.Contains($"No bin fits '{find}'", StringComparison.Ordinal).Should().Be(!found);
    }

    [Fact]
    public async Task A_bin_says_what_it_is_estimated_to_weigh_and_how_sure_that_is()
    {
        await using var site = await Site.OpenAsync();
        await site.FillAsync();
        (await site.WordsAsync("/bins/B1")).Should().NotContain("By estimate", "nobody has followed it yet");
        site.Time.Advance(TimeSpan.FromDays(3));
        await site.Lots.AdvanceAsync(TestContext.Current.CancellationToken);
        (await site.WordsAsync("/bins/B1")).Should().Contain("What the air has done").And.Contain("By estimate").And.Contain(
            "Skins").And.Contain("Rest used")
            .And.Contain("It does not say whether a lot is fit to eat");
    }

    [Fact]
    public async Task Every_button_of_a_bin_writes_its_event_and_the_book_follows()
    {
        await using var site = await Site.OpenAsync();
        await site.FillAsync();
        site.Time.Advance(TimeSpan.FromDays(3));
        await site.LogAsync("moved", "B1", ("place", "cellar"));
        await site.LogAsync("weighed", "B1", ("amount", "51"), ("tare", "3"));
        await site.LogAsync("culled", "B1", ("amount", "1,5"), ("unit", "lb"), ("choice", "rot"));
        await site.LogAsync("sold", "B1", ("amount", "10"), ("unit", "lb"));
        await site.LogAsync("eaten", "B1", ("amount", "1"), ("unit", "peck"));
        await site.LogAsync("canned", "B1", ("amount", "2"), ("unit", "quart"));
        await site.LogAsync("given", "B1", ("amount", "1"), ("unit", "lb"));
        await site.LogAsync("planted", "B1", ("amount", "2"), ("unit", "lb"), ("note", "bed 4"));
        await site.LogAsync("sprouts-seen", "B1", ("choice", "few"), ("length", "0.25"));
        await site.LogAsync("condition-seen", "B1", ("choice", "soft"));
        site.Entries.Skip(2).Should()
            .Equal("moved", "weighed", "culled", "sold", "eaten", "canned", "given", "planted", "sprouts-seen", "condition-seen");

        var bin = site.Book.Bins["B1"];
        bin.Place.Should().Be("cellar");
        bin.Weighings.Single().NetKg.Should().BeApproximately(48 * 0.45359237, 0.001);
        bin.Weighings.Single().TareKg.Should().BeApproximately(3 * 0.45359237, 0.0001);
        bin.SproutsSeen.Single().LengthMm.Should().Be(6.4);
        var outs = site.Book.Outs.ToDictionary(o => o.Reason, o => o.Grams, StringComparer.Ordinal);
        (outs["culled-rot"], outs["sold"], outs["given"], outs["planted"]).Should().Be((680, 4536, 454, 907));
        // A quarter of the bushel of 60 lb that nearly all States have (NBS Circular C425).
        (outs["eaten"] / 453.59237).Should().BeApproximately(15, 0.1);
        site.Book.Lots["2025-1"].Balance.Gap.Should().Be(0);
        site.Book.Entries.Should().AllSatisfy(e => e.Entry.By.Should().Be("Ann"));

        var words = await site.WordsAsync("/bins/B1");
        words.Should().ContainAll("Weighed: 51.0 lb, empty bin 3.0 lb", "Culled: 1.5 lb, rot", "Eaten: 1 peck", "Canned: 2 quart jars",
            "“bed 4”", "Sprouts seen: a few, longest 0.25 in", "Moved: to Cellar", "How it looks: soft");
    }

    [Fact]
    public async Task Nothing_left_takes_what_the_book_has_and_the_bin_may_be_filled_again()
    {
        await using var site = await Site.OpenAsync();
        await site.FillAsync();
        await site.LogAsync("eaten", "B1", ("empties", "true"), ("amount", ""));
        site.Book.Outs.Single().Grams.Should().Be(22_680);
        var page = await site.ReadAsync("/bins/B1");
        Site.Words(page).Should().Contain("Empty since Oct 4").And.Contain("Fill this bin");
        page.Should().NotContain("/log/weighed?bin=B1");
        (await site.WordsAsync("/bins")).Should().Contain("No bins with anything in them yet");
    }

    [Fact]
    public async Task A_bin_is_sorted_into_others()
    {
        await using var site = await Site.OpenAsync();
        await site.FillAsync();
        var form = await site.ReadAsync("/log/sorted?bin=B1");
        Site.Field(form, "intoBin").Should().Be("B1");
        await site.LogAsync("sorted", "B1", ("intoBin", "B1"), ("intoAmount", "30"), ("intoGrade", "table"), ("intoBin", "B2"),
            ("intoAmount", "19.5"), ("intoGrade", "seed"), ("intoBin", ""), ("intoAmount", ""), ("intoGrade", ""));
        (site.Book.Bins["B1"].Grams, site.Book.Bins["B1"].Grade, site.Book.Bins["B2"].Grams, site.Book.Bins["B2"].Grade).Should()
            .Be((13_608, "table", 8_845, "seed"));
        (await site.WordsAsync("/bins/B2")).Should().Contain("Sorted: into B1 30.0 lb table, into B2 19.5 lb seed");
    }

    [Fact]
    public async Task The_same_form_sent_twice_counts_once()
    {
        await using var site = await Site.OpenAsync();
        await site.FillAsync();
        var form = await site.ReadAsync("/log/sold?bin=B1");
        var first = site.SendAsync("/log/sold", form, ("bin", "B1"), ("amount", "10"), ("unit", "lb"));
        var second = site.SendAsync("/log/sold", form, ("bin", "B1"), ("amount", "10"), ("unit", "lb"));
        var (one, two) = (await first, await second);
        (one.Location, two.Location).Should().Be(("/bins/B1?kept=3", "/bins/B1?kept=3"));
        site.Book.Outs.Should().ContainSingle();

        var changed = await site.SendAsync("/log/sold", form, ("bin", "B1"), ("amount", "12"), ("unit", "lb"));
        changed.Words.Should().Contain("This form was written down already, with other figures");
        Site.Field(changed.Html, "key").Should().NotBe(Site.Field(form, "key"));
        site.Book.Outs.Should().ContainSingle();

        await site.LogAsync("sold", "B1", ("amount", "10"), ("unit", "lb"));
        site.Book.Outs.Should().HaveCount(2, "a form opened anew is another sale");
    }

    [Fact]
    public async Task The_books_question_is_asked_in_plain_words_and_yes_counts()
    {
        await using var site = await Site.OpenAsync();
        await site.FillAsync();
        var form = await site.ReadAsync("/log/weighed?bin=B1");
        var asked = await site.SendAsync("/log/weighed", form, ("bin", "B1"), ("amount", "61.5"), ("note", "new scale"));
        asked.Status.Should().Be(HttpStatusCode.OK);
        asked.Words.Should().Contain("The book asks").And.Contain(
            "Bin B1 would weigh 61.5 lb, and by the book it cannot be more than 50.0 lb").And.Contain("Yes, it is right").And.Contain(
                "Change it");
        asked.Words.Should().NotContainAny("kg", "tareKg", "{");
        Site.Field(asked.Html, "amount").Should().Be("61.5", "what was typed is kept");
        asked.Html.Should().MatchRegex("id=\"note\"[^>]*value=\"new scale\"");
        site.Book.Entries.Should().HaveCount(2, "nothing was written down yet");

        var yes = await site.SendAsync("/log/weighed", asked.Html, ("bin", "B1"), ("amount", "61.5"), ("note", "new scale"),
            ("answer", "checked"));
        yes.Location.Should().Be("/bins/B1?kept=3");
        (await site.SendAsync("/log/weighed", asked.Html, ("bin", "B1"), ("amount", "61.5"), ("note", "new scale"),
            ("answer", "checked"))).Location.Should().Be("/bins/B1?kept=3");
        site.Book.Bins["B1"].Grams.Should().Be(27_896);
    }

    [Fact]
    public async Task What_cannot_be_counted_can_wait_to_be_checked()
    {
        await using var site = await Site.OpenAsync();
        await site.FillAsync("B1");
        await site.FillAsync("B9", lot: "2025-2", variety: "Elba");
        var form = await site.ReadAsync("/log/filled");
        (string, string)[] typed = [("bin", "B1"), ("lot", "2025-2"), ("amount", "20"), ("unit", "lb"), ("place", "curing")];
        var asked = await site.SendAsync("/log/filled", form, typed);
        asked.Words.Should().Contain("Bin B1 still holds 50.0 lb of lot 2025-1 by the book").And.Contain("Yes, it is right");
        var again = await site.SendAsync("/log/filled", asked.Html, [.. typed, ("answer", "checked")]);
        again.Words.Should().Contain("Write it down to be checked").And.NotContain("Yes, it is right");
        var kept = await site.SendAsync("/log/filled", again.Html, [.. typed, ("answer", "keep")]);
        (await site.WordsAsync(kept.Location!)).Should()
            .Contain("not counted till someone checks it").And.Contain("Needs a look, and not counted:");
        site.Book.Bins["B1"].Grams.Should().Be(22_680);
    }

    [Fact]
    public async Task Undo_takes_back_and_the_first_entry_stays_in_sight()
    {
        await using var site = await Site.OpenAsync();
        await site.FillAsync();
        var there = await site.LogAsync("sold", "B1", ("amount", "10"), ("unit", "lb"));
        var page = await site.ReadAsync(there);
        var undone = await site.SendAsync("/log/undo/3", page, ("back", "/bins/B1"));
        undone.Location.Should().Be("/bins/B1?kept=4");
        (await site.SendAsync("/log/undo/3", page, ("back", "/bins/B1"))).Location.Should()
            .Be("/bins/B1?kept=4", "a second tap changes nothing");
        site.Entries.Should().Equal("dug", "filled", "sold", "correction of 3");
        site.Book.Bins["B1"].Grams.Should().Be(22_680);
        var words = await site.WordsAsync("/bins/B1?kept=4");
        words.Should().Contain("Written down: Taken back: Sold: 10.0 lb").And.Contain("Taken back: Sold: 10.0 lb").And.Contain(
            "no. 3 · corrected in no. 4");

        await site.SendAsync("/log/undo/4", await site.ReadAsync("/bins/B1"));
        site.Book.Bins["B1"].Grams.Should().Be(22_680 - 4_536, "undoing the undo brings the sale back");
    }

    [Fact]
    public async Task Undoing_a_filling_that_was_sold_from_is_asked_about()
    {
        await using var site = await Site.OpenAsync();
        await site.FillAsync();
        await site.LogAsync("sold", "B1", ("amount", "10"), ("unit", "lb"));
        var asked = await site.SendAsync("/log/undo/2", await site.ReadAsync("/bins/B1"));
        asked.Words.Should().Contain("The book asks").And.Contain("clashes with entry 3").And.Contain("Leave it as it was");
        site.Entries.Should().HaveCount(3);
    }

    [Theory]
    [InlineData("", "How much? A number, please.")]
    [InlineData("a lot", "'a lot' is not a number")]
    [InlineData("1,250", "'1,250' is not a number that can be read for sure")]
    [InlineData("-3", "'-3' is not a number")]
    [InlineData("0", "0 is nothing that happened")]
    public async Task What_is_no_amount_is_said_and_kept(string typed, string said)
    {
        await using var site = await Site.OpenAsync();
        await site.FillAsync();
        var answer = await site.SendAsync("/log/sold", await site.ReadAsync("/log/sold?bin=B1"), ("bin", "B1"), ("amount", typed),
            ("unit", "lb"), ("note", "at the gate"));
        answer.Words.Should().Contain(said);
        Site.Field(answer.Html, "amount").Should().Be(typed);
        Site.Field(answer.Html, "note").Should().Be("at the gate");
        site.Book.Outs.Should().BeEmpty();
    }

    [Fact]
    public async Task A_household_in_kg_reads_and_writes_kg()
    {
        await using var site = await Site.OpenAsync(weight: "kg");
        await site.LogAsync("dug", null, ("lot", "L"), ("crop", "carrot"));
        await site.LogAsync("filled", "B1", ("lot", "L"), ("amount", "20,5"), ("unit", "kg"), ("place", "cellar"));
        (await site.WordsAsync("/bins")).Should().Contain("B1 20.5 kg Carrot");
        site.Book.Bins["B1"].Grams.Should().Be(20_500);
    }

    [Fact]
    public async Task What_happened_earlier_is_written_at_its_own_hour()
    {
        await using var site = await Site.OpenAsync();
        await site.FillAsync();
        site.Time.Advance(TimeSpan.FromDays(2));
        await site.LogAsync("weighed", "B1", ("amount", "49"), ("when", "2025-10-05T18:30"));
        site.Book.Entries[^1].At.Should().Be(new DateTimeOffset(2025, 10, 5, 18, 30, 0, TimeSpan.FromHours(-4)));
    }

    [Fact]
    public async Task What_waited_on_the_phone_happened_when_it_was_typed_and_counts_once()
    {
        await using var site = await Site.OpenAsync();
        await site.FillAsync();
        site.Time.Advance(TimeSpan.FromHours(5));
        var form = await site.ReadAsync("/log/sold?bin=B1");
        var typed = site.Time.GetUtcNow();
        site.Time.Advance(TimeSpan.FromHours(2));
        (await site.SendAsync("/log/sold", form, ("bin", "B1"), ("amount", "10"), ("unit", "lb"), ("waited", "7200"))).Location.Should()
            .Be("/bins/B1?kept=3");
        site.Time.Advance(TimeSpan.FromHours(1));
        (await site.SendAsync("/log/sold", form, ("bin", "B1"), ("amount", "10"), ("unit", "lb"), ("waited", "10800"))).Location.Should()
            .Be("/bins/B1?kept=3");
        site.Book.Outs.Single().At.Should().Be(typed);
    }

    [Fact]
    public async Task The_name_of_a_bin_leads_straight_to_it_and_names_are_only_text()
    {
        await using var site = await Site.OpenAsync();
        const string hostile = "<img src=x onerror=alert(1)>/\"'&";
        await site.LogAsync("dug", null, ("lot", "<script>alert(1)</script>"), ("crop", "potato"), ("variety", "</option><b>"));
        var there = await site.LogAsync("filled", hostile, ("lot", "<script>alert(1)</script>"), ("amount", "5"), ("unit", "lb"),
            ("place", "cellar"), ("grade", "<i>"), ("note", "<svg onload=alert(1)>"));
        foreach (var path in (string[])[there, "/bins", "/log", "/log/filled", "/labels?sheet=paper&bin=" + Uri.EscapeDataString(hostile),
            "/log/sold?bin=" + Uri.EscapeDataString(hostile), "/bins?find=" + Uri.EscapeDataString("<b>\"x")])
        {
            var html = await site.ReadAsync(path);
            html.Should().NotContainAny(["<img src=x", "<script>alert", "<svg onload", "</option><b>", "<i>", "<b>\"x"], path);
        }

        (await site.WordsAsync(there)).Should().Contain(hostile);
        var search = await site.GoAsync("/log?find=" + Uri.EscapeDataString(hostile.ToUpperInvariant()));
        (await site.WordsAsync(search)).Should().Contain("Bin " + hostile);
    }

    [Fact]
    public async Task One_tap_chooses_all_bins_those_just_filled_or_a_lots()
    {
        await using var site = await Site.OpenAsync(publicUrl: "http://cellar.local:8080/");
        await site.FillAsync("B1");
        site.Time.Advance(TimeSpan.FromDays(3));
        await site.WriteAsync("""[{"event":"dug","lot":"N 2","crop":"potato"},{"event":"filled","bin":"B2","lot":"N 2","weightKg":20,"place":"curing"}]""");

        Site.Words(await site.ReadAsync("/labels")).Should().ContainAll(
            "All bins (2)", "Filled today (1)", "Filled in 7 days (2)", "lot 2025-1 (1)", "lot N 2 (1)", "Choose them one by one");
        Chosen(await site.ReadAsync("/labels")).Should().BeEmpty();
        Chosen(await site.ReadAsync("/labels?of=all")).Should().Equal("B1", "B2");
        Chosen(await site.ReadAsync("/labels?of=1")).Should().Equal("B2");
        Chosen(await site.ReadAsync("/labels?lot=N%202")).Should().Equal("B2");
        Chosen(await site.ReadAsync("/labels?lot=2025-1&bin=B2")).Should().Equal("B1", "B2");
        Chosen(await site.ReadAsync("/labels?of=nobody-knows&lot=nor-this")).Should().BeEmpty();
        (await site.WordsAsync("/labels?of=7")).Should().Contain("Chosen: 2");

        site.Time.Advance(TimeSpan.FromDays(7));
        Site.Words(await site.ReadAsync("/labels")).Should().Contain("All bins (2)").And.NotContain("Filled", "nothing was, lately");

        static IEnumerable<string> Chosen(string page) =>
            page.Split("name=\"bin\" value=\"").Skip(1).Where(p => p.Split('>')[0].Contains(" checked", StringComparison.Ordinal)).Select(p => p.Split('"')[0]);
    }

    [Fact]
    public async Task Labels_say_bin_lot_variety_and_date_and_their_code_is_the_bins_page()
    {
        await using var site = await Site.OpenAsync(publicUrl: "http://cellar.local:8080/");
        await site.FillAsync("B1");
        await site.FillAsync("B2");
        (await site.WordsAsync("/labels?bin=B2")).Should()
            .Contain("opens the bin's page at http://cellar.local:8080.").And.NotContain("this machine's own name");
        var page = await site.ReadAsync("/labels?bin=B2&sheet=stickers&first=3");
        page.Split("class=\"label none\"").Should().HaveCount(3, "two stickers of the sheet are used");
        page.Split("class=\"label\"").Should().HaveCount(2);
        Site.Words(page).Should().Contain("B2 Kennebec lot 2025-1 Oct 4, 2025");
        page.Should().Contain(RootCellar.Pages.Bins.QrPicture.Of("http://cellar.local:8080/bins/B2").Path);
        (await site.ReadAsync("/labels?bin=B1&bin=B2&sheet=paper")).Should().Contain("class=\"sheet plain\"").And.NotContain("label none");
        (await site.WordsAsync("/labels?sheet=paper")).Should().Contain("No bin is chosen yet.");
        var a4 = await site.ReadAsync("/labels?bin=B2&sheet=a4&first=30");
        a4.Split("class=\"label none\"").Should().HaveCount(24, "the last of 24 is the last there is");
        a4.Should().Contain("class=\"sheet a4\"");
        (await site.ReadAsync("/labels")).Should().Contain("value=\"stickers\" checked");
        await using var metric = await Site.OpenAsync(weight: "kg");
        await metric.FillAsync("B1", pounds: "20");
        (await metric.ReadAsync("/labels")).Should().Contain("value=\"a4\" checked", "who weighs in kilograms prints on A4");
    }

    [Fact]
    public async Task Without_the_forms_token_nothing_is_written()
    {
        await using var site = await Site.OpenAsync();
        await site.FillAsync();
        (await site.SendAsync("/log/sold", "", ("bin", "B1"), ("amount", "10"))).Status.Should().Be(HttpStatusCode.BadRequest);
        (await site.SendAsync("/log/undo/2", "")).Status.Should().Be(HttpStatusCode.BadRequest);
        site.Entries.Should().HaveCount(2);
    }

    [Theory]
    [InlineData("B2", "B10", -1)]
    [InlineData("B10", "B10a", -1)]
    [InlineData("b3", "B3", 1)]
    [InlineData("A9-10", "A9-9", 1)]
    [InlineData("B02", "B2", -1)]
    [InlineData("B1", "B1", 0)]
    [InlineData("attic store", "Barn", -1)]
    [InlineData("Ärbkeller", "attic store", -1)]
    [InlineData("Ärbkeller", "Barn", -1)]
    [InlineData("Zeller", "Ärbkeller", 1)]
    [InlineData("Łan 2", "Lan 10", -1)]
    public void Names_stand_in_the_order_people_count(string one, string other, int order) =>
        Math.Sign(NameOrder.Instance.Compare(one, other)).Should().Be(order);
}
