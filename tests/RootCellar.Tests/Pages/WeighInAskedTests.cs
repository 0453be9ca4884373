using System.Net;
using System.Net.Http.Json;
using System.Text.Json;

namespace RootCellar.Tests.Pages;

/// <summary>A weighing that does not fit is asked about at once; said to be right it is the weight, left open the interval holds it.</summary>
public class WeighInAskedTests
{
    [Fact]
    public async Task The_form_asks_and_what_is_left_open_is_asked_on_the_bin_and_in_the_list_until_somebody_says_it_is_right()
    {
        await using var site = await FollowedAsync();
        var form = await site.ReadAsync("/log/weighed?bin=B1");
        var asked = await site.SendAsync("/log/weighed", form, ("bin", "B1"), ("amount", "40"), ("unit", "lb"));
        asked.Status.Should().Be(HttpStatusCode.OK);
        asked.Words.Should().MatchRegex("Bin B1 at 40.* lb: 4[789].* lb to 5[01].* lb was expected").And.Contain("drying or going bad faster");
        site.Book.Bins["B1"].Weighings.Should().ContainSingle("nothing is kept before it is answered");

        (await site.SendAsync("/log/weighed", asked.Html, ("bin", "B1"), ("amount", "40"), ("unit", "lb"), ("answer", "keep"))).Status
            .Should().Be(HttpStatusCode.Found);
        site.Book.Bins["B1"].Weighings.Should().HaveCount(2, "the book has it");
        var open = (await site.Lots.AdvanceAsync(TestContext.Current.CancellationToken)).Bins["B1"];
        open.Kg.Low.Should().BeLessThan(40.1 * 0.45359237);
        open.Kg.Value.Should().BeGreaterThan(48 * 0.45359237);
        var bin = await site.ReadAsync("/bins/B1");
        Site.Words(bin).Should().Contain("A weighing that does not fit").And.Contain("Bin B1 at 40").And.Contain("It is right");
        (await site.WordsAsync("/log")).Should().Contain("1 entry needs a look");
        (await site.WordsAsync("/log/to-check")).Should().Contain("Bin B1 at 40").And.Contain("Counted, but");
        (await site.ReadAsync("/api/bins/B1")).Should().Contain("Was some taken out");

        var weighed = site.Book.Entries.Single(e => e.Entry.Event == "weighed" && e.Entry.Id == site.Book.Entries[^1].Entry.Id).Entry.Id;
        (await site.SendAsync("/log/to-check", bin, ("id", $"{weighed}"))).Status.Should().Be(HttpStatusCode.Found);
        var right = (await site.Lots.AdvanceAsync(TestContext.Current.CancellationToken)).Bins["B1"];
        right.Kg.Value.Should().BeApproximately(40 * 0.45359237, 0.1);
        right.Questions.Should().BeEmpty();
        (await site.WordsAsync("/bins/B1")).Should().NotContain("does not fit");
        (await site.WordsAsync("/log/to-check")).Should().Contain("Nothing needs a look");
    }

    [Fact]
    public async Task The_form_takes_it_at_once_when_it_is_said_to_be_right()
    {
        await using var site = await FollowedAsync();
        var form = await site.ReadAsync("/log/weighed?bin=B1");
        var asked = await site.SendAsync("/log/weighed", form, ("bin", "B1"), ("amount", "40"), ("unit", "lb"));
        (await site.SendAsync("/log/weighed", asked.Html, ("bin", "B1"), ("amount", "40"), ("unit", "lb"), ("answer", "checked"))).Status
            .Should().Be(HttpStatusCode.Found);
        var bin = (await site.Lots.AdvanceAsync(TestContext.Current.CancellationToken)).Bins["B1"];
        bin.Questions.Should().BeEmpty();
        bin.Kg.Value.Should().BeApproximately(40 * 0.45359237, 0.1);
    }

    [Fact]
    public async Task A_weigh_in_that_fits_is_not_asked_about()
    {
        await using var site = await FollowedAsync();
        await site.LogAsync("weighed", "B1", ("amount", "49"), ("unit", "lb"));
        var bin = (await site.Lots.AdvanceAsync(TestContext.Current.CancellationToken)).Bins["B1"];
        bin.Questions.Should().BeEmpty();
    }

    [Fact]
    public async Task What_was_taken_out_a_moment_ago_is_not_missed_by_the_scale()
    {
        await using var site = await FollowedAsync();
        await site.LogAsync("sold", "B1", ("amount", "10"), ("unit", "lb"));
        await site.LogAsync("weighed", "B1", ("amount", "39.5"), ("unit", "lb"));
        await site.WriteAsync("""[{"event":"sold","bin":"B1","weightKg":5},{"event":"weighed","bin":"B1","weightKg":12.85}]""");
        site.Book.Bins["B1"].Weighings.Should().HaveCount(3);
    }

    [Fact]
    public async Task The_empty_weight_of_the_last_time_is_in_the_form()
    {
        await using var site = await FollowedAsync();
        Site.Field(await site.ReadAsync("/log/weighed?bin=B1"), "tare").Should().BeEmpty("the scale was set to zero with it");
        await site.FillAsync("B2");
        await site.LogAsync("weighed", "B2", ("amount", "54.4"), ("unit", "lb"), ("tare", "4.4"));
        var form = await site.ReadAsync("/log/weighed?bin=B2");
        Site.Field(form, "tare").Should().Be("4.4");
        form.Should().MatchRegex("<details open[^>]*>");
        Site.Field(await site.ReadAsync("/log/weighed?bin=B1"), "tare").Should().BeEmpty("its own last weigh-in counts");
        await site.FillAsync("B3");
        Site.Field(await site.ReadAsync("/log/weighed?bin=B3"), "tare").Should().Be("4.4", "it is likely of the same kind");
        await site.LogAsync("weighed", "B3", ("amount", "54.4"), ("unit", "lb"), ("tare", "4.4"));
        site.Book.Bins["B2"].Weighings[^1].TareKg.Should().Be(site.Book.Bins["B3"].Weighings[^1].TareKg);
    }

    [Fact]
    public async Task A_program_is_asked_with_the_code_and_its_figures()
    {
        await using var site = await FollowedAsync();
        var events = """{"event":"weighed","bin":"B1","weightKg":18.1}""";
        using var asked = await site.PostJsonAsync("/api/ledger", events);
        asked.StatusCode.Should().Be(HttpStatusCode.Conflict);
        var body = await asked.Content.ReadFromJsonAsync<JsonElement>(TestContext.Current.CancellationToken);
        body.GetProperty("code").GetString().Should().Be("unexpected-weight");
        body.GetProperty("figures").GetProperty("weighsKg").GetDouble().Should().Be(18.1);
        body.GetProperty("figures").GetProperty("lowKg").GetDouble().Should().BeInRange(21, 22.6);
        using var taken = await site.PostJsonAsync("/api/ledger", events.Replace("}", ",\"checked\":true}", StringComparison.Ordinal));
        taken.StatusCode.Should().Be(HttpStatusCode.Created);
    }

    private static async Task<Site> FollowedAsync()
    {
        var site = await Site.OpenAsync();
        await site.FillAsync();
        await site.LogAsync("weighed", "B1", ("amount", "50"), ("unit", "lb"));
        site.Time.Advance(TimeSpan.FromDays(3));
        await site.Lots.AdvanceAsync(TestContext.Current.CancellationToken);
        return site;
    }
}
