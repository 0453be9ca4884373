using System.Net;
using System.Text.Json;
using System.Text.RegularExpressions;
using RootCellar.Ledger;
using RootCellar.Ledger.Events;
using RootCellar.Pages.Bins;

namespace RootCellar.Tests.Pages;

/// <summary>The page for the cellar as it is served, and what forms that were sent without a network may say.</summary>
public class CellarPageTests
{
    [Fact]
    public async Task It_has_every_bin_and_the_form_of_everything_that_happens_to_one()
    {
        await using var site = await Site.OpenAsync();
        await site.FillAsync("B1");
        await site.FillAsync("B/2 \"x\"");
        await site.LogAsync("dug", null, ("lot", "S"), ("crop", "butternut"));
        await site.LogAsync("filled", "S1", ("lot", "S"), ("amount", "20"), ("unit", "lb"), ("place", "cellar"));
        await site.LogAsync("weighed", "S1", ("amount", "22"), ("tare", "2.5"));
        var page = await site.ReadAsync("/cellar");
        var html = WebUtility.HtmlDecode(page);
        foreach (var kind in LogKinds.OfBin.Append(Filled.Event))
            html.Should().ContainAll($"<template id=\"write-{kind}\">", $"action=\"/log/{kind}\"", $"data-what=\"{kind}\"");
        html.Should().ContainAll("data-bin=\"B1\"", "data-bin=\"B/2 \"x\"\"", "<span class=\"kind\">Kennebec, Curing room</span>");
        html.Should().MatchRegex("data-bin=\"S1\" data-crop=\"butternut\" data-place=\"cellar\" data-tare=\"2.5\"");
        page.Should().Contain("data-bin=\"B/2 &quot;x&quot;\"");

        // What does not sprout is not asked about sprouts: the script has it from the table of crops.
        using var crops = JsonDocument.Parse(WebUtility.HtmlDecode(page.Split("data-crops=\"")[1].Split('"')[0]));
        var squash = crops.RootElement.GetProperty("butternut");
        squash.GetProperty("what").EnumerateArray().Select(w => w.GetString()).Should().NotContain("sprouts-seen").And.Contain("weighed");
        squash.GetProperty("culled").EnumerateArray().Select(w => w.GetString()).Should().NotContain("green").And.Contain("rot");
        crops.RootElement.GetProperty("potato").GetProperty("what").EnumerateArray().Should().HaveCount(LogKinds.OfBin.Count);

        (await site.ReadAsync("/log")).Should().Contain("href=\"/cellar\"");
        (await site.ReadAsync("/more")).Should().Contain("href=\"/cellar\"");
    }

    // In New York the clocks were put back on 2 Nov 2025 at 02:00, which was 06:00 UTC, and on the like Sundays of the years before; in Lord Howe by half an hour.
    [Theory]
    [InlineData("America/New_York", """[{"from":"2023-11-05T01:00","until":"2023-11-05T02:00","first":1699160400000,"second":1699164000000},{"from":"2024-11-03T01:00","until":"2024-11-03T02:00","first":1730610000000,"second":1730613600000},{"from":"2025-11-02T01:00","until":"2025-11-02T02:00","first":1762059600000,"second":1762063200000}]""")]
    [InlineData("Australia/Lord_Howe", """[{"from":"2024-04-07T01:30","until":"2024-04-07T02:00","first":1712413800000,"second":1712415600000},{"from":"2025-04-06T01:30","until":"2025-04-06T02:00","first":1743863400000,"second":1743865200000},{"from":"2026-04-05T01:30","until":"2026-04-05T02:00","first":1775313000000,"second":1775314800000}]""")]
    [InlineData("Asia/Tokyo", "[]")]
    public async Task It_knows_which_hours_the_households_clock_shows_twice(string zone, string twice)
    {
        await using var site = await Site.OpenAsync(at: new DateTimeOffset(2025, 10, 28, 12, 0, 0, TimeSpan.Zero), zone: zone);

        WebUtility.HtmlDecode((await site.ReadAsync("/cellar")).Split("data-twice=\"")[1].Split('"')[0]).Should().Be(twice);
    }

    [Fact]
    public async Task A_weight_may_say_its_own_unit()
    {
        await using var site = await Site.OpenAsync();
        await site.FillAsync("B1");
        foreach (var (written, kg) in ((string, double)[])
        [
            ("48 lb", 48 * 0.45359237), ("21.7kg", 21.7), ("21.5 Kilos", 21.5), ("21,25 kg", 21.25), ("46.5 libras.", 46.5 * 0.45359237),
            (" 46 lbs ", 46 * 0.45359237),
        ])
        {
            await site.LogAsync("weighed", "B1", ("amount", written));
            site.Book.Bins["B1"].BookKg.Should().BeApproximately(kg, 0.0006, written);
        }

        await site.LogAsync("eaten", "B1", ("amount", "8 oz"), ("unit", "bushel"));
        site.Book.Outs.Single().Grams.Should().Be(227);
        await site.LogAsync("weighed", "B1", ("amount", "46"), ("tare", "1 kg"));
        site.Book.Bins["B1"].Weighings[^1].TareKg.Should().Be(1);
        await site.LogAsync("sorted", "B1", ("intoBin", "B1"), ("intoAmount", "15 kg"), ("intoGrade", ""), ("intoBin", "B2"),
            ("intoAmount", "10 lb"), ("intoGrade", ""));
        (site.Book.Bins["B1"].Grams, site.Book.Bins["B2"].Grams).Should().Be((15_000, 4_536));
        foreach (var (wrong, why) in ((string, string)[])
        [
            ("12 x", "'12 x'"), ("1,250 lb", "'1,250'"), ("lb", "'lb'"), ("3 bushels", "'3 bushels'"),
        ])
            (await SendAsync(site, wrong)).Words.Should().Contain(why).And.NotContain("Written down");
    }

    [Theory]
    [InlineData("46.8", true)]
    [InlineData(" 12 lb", true)]
    [InlineData("1,250", true)]
    [InlineData("3 Kilos.", true)]
    [InlineData("4l", false)]
    [InlineData("l2", false)]
    [InlineData("12 34", false)]
    [InlineData("", false)]
    public void The_page_is_given_the_shape_of_a_weight(string written, bool fits) =>
        Regex.IsMatch(written, WrittenWeight.Shape, RegexOptions.IgnoreCase | RegexOptions.ExplicitCapture, TimeSpan.FromSeconds(1))
            .Should().Be(fits);

    [Fact]
    public async Task All_that_was_left_sent_once_more_because_no_answer_came_is_the_same_entry()
    {
        await using var site = await Site.OpenAsync();
        await site.FillAsync();
        var form = await site.ReadAsync("/log/given?bin=B1");
        (string, string)[] fields = [("bin", "B1"), ("amount", ""), ("empties", "true"), ("unit", "lb")];
        var first = await site.SendAsync("/log/given", form, fields);
        first.Location.Should().Be("/bins/B1?kept=3");
        (await site.SendAsync("/log/given", form, [.. fields, ("waited", "90")])).Location.Should().Be(first.Location);
        site.Entries.Should().Equal("dug", "filled", "given");
        site.Book.Outs.Single().Grams.Should().Be(22_680);
        // As an entry of its own it makes no sense: the bin is empty.
        var again = await site.SendAsync("/log/given", form, [.. fields, ("key", "another")]);
        again.Status.Should().Be(HttpStatusCode.OK);
        again.Words.Should().Contain("The book asks");
        site.Entries.Should().HaveCount(3);
    }

    private static async Task<Answer> SendAsync(Site site, string amount) =>
        await site.SendAsync("/log/weighed", await site.ReadAsync("/log/weighed?bin=B1"), ("bin", "B1"), ("amount", amount));
}
