using System.Text.Json;
using RootCellar.Tests.Pages;

namespace RootCellar.Tests.Report;

/// <summary>The report as a page and by API, in the whole service.</summary>
public class ReportPageTests
{
    [Fact]
    public async Task A_week_is_read_on_a_page_with_the_weeks_beside_it()
    {
        await using var site = await Site.OpenAsync();
        await site.FillAsync();
        site.Time.Advance(TimeSpan.FromMinutes(10));
        var last = await site.ReadAsync("/report");
        last.Should().Contain("The week before").And.Contain("/report?week=");
        Site.Words(last).Should().Contain("Week 39, 22 to 28 September 2025").And.Contain("Nothing was measured this week");

        var running = await site.WordsAsync("/report?week=2025-W40");
        running.Should().Contain("as far as").And.Contain("2025-1: Potato, Kennebec").And.NotContain("The week after");
        (await site.LookAsync("/report?week=2025-W54")).Words.Should().Contain("There is no such week").And.Contain("2025-W39");
        (await site.LookAsync("/report?week=2026-W20")).Status.Should().Be(System.Net.HttpStatusCode.NotFound);
        (await site.LookAsync("/report?week=%3Cscript%3E")).Html.Should().NotContain("<script>");

        site.Time.Advance(TimeSpan.FromHours(3));
        var picture = System.Text.RegularExpressions.Regex.Match(System.Net.WebUtility.HtmlDecode(await site.ReadAsync("/report?week=2025-W40")), "src=\"(?<at>/charts/report/[^\"]+)\"", System.Text.RegularExpressions.RegexOptions.ExplicitCapture, TimeSpan.FromSeconds(5)).Groups["at"].Value;
        picture.Should().StartWith("/charts/report/2025-W40/weight.svg?lot=2025-1");
        (await site.ReadAsync(picture)).Should().StartWith("<svg").And.Contain(">lb<");
        foreach (var none in (string[])["/charts/report/2025-W40/weight.svg?lot=nobody", "/charts/report/2025-W54/weight.svg?lot=2025-1", "/charts/report/2026-W20/weight.svg?lot=2025-1"])
            (await site.LookAsync(none)).Status.Should().Be(System.Net.HttpStatusCode.NotFound, none);

        using var json = JsonDocument.Parse(await site.ReadAsync("/api/report?week=2025-W40"));
        var lot = json.RootElement.GetProperty("lots")[0];
        lot.GetProperty("book").GetProperty("inKg").GetDouble().Should().BeApproximately(50 * Science.Pound.Kilograms, 0.001);
        (await site.LookAsync("/api/report?week=48")).Status.Should().Be(System.Net.HttpStatusCode.BadRequest);
        (await site.ReadAsync("/openapi/v1.json")).Should().Contain("/api/report");
    }

    [Fact]
    public async Task The_report_to_a_contact_is_switched_on_the_set_up_page()
    {
        await using var site = await Site.OpenAsync();
        var page = await site.ReadAsync("/set-up");
        Site.Words(page).Should().Contain("Weekly report by mail: Sunday 18:00");
        (await site.SendAsync("/set-up?handler=Contact", page, ("name", "Ann"), ("channel", "mail"), ("address", "ann@example.org"), ("wants", "all"))).Status.Should().Be(System.Net.HttpStatusCode.Found);
        page = await site.ReadAsync("/set-up");
        Site.Words(page).Should().Contain("Gets the weekly report");
        var id = System.Text.RegularExpressions.Regex.Match(page, "name=\"id\" value=\"(?<id>[^\"]+)\"", System.Text.RegularExpressions.RegexOptions.ExplicitCapture, TimeSpan.FromSeconds(5)).Groups["id"].Value;
        (await site.SendAsync("/set-up?handler=ContactReport", page, ("id", id))).Status.Should().Be(System.Net.HttpStatusCode.Found);
        (await site.WordsAsync("/set-up")).Should().Contain("No weekly report").And.NotContain("Gets the weekly report");
    }
}
