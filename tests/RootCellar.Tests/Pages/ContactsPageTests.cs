using System.Net;
using System.Text.Json;

namespace RootCellar.Tests.Pages;

/// <summary>Who is told and when, on its page and by the API.</summary>
public sealed class ContactsPageTests
{
    private static readonly (string, string)[] Ann = [("name", "Ann"), ("channel", "mail"), ("address", "ann@example.org"), ("wants", "all")];

    [Fact]
    public async Task A_contact_is_changed_where_it_stands_and_both_doors_say_the_same()
    {
        await using var site = await Site.OpenAsync();
        (await SendAsync(site, "/set-up", Ann)).Status.Should().Be(HttpStatusCode.Found);
        var id = (await ContactAsync(site)).GetProperty("id").GetString()!;

        var form = Form(await site.ReadAsync("/set-up?contact=" + id));
        Site.Field(form, "id").Should().Be(id);
        Site.Field(form, "address").Should().Be("ann@example.org");
        Site.Words(form).Should().Contain("Change Ann");
        (await SendAsync(site, "/set-up?contact=" + id, [.. Ann, ("id", id), ("waitMinutes", "20"), ("quietFrom", "21:30"), ("quietTo", "06:00"),
            ("wakes", "high"), ("lowInTheMorning", "true"), ("mostADay", "8"), ("allIsWell", "daily")])).Status.Should().Be(HttpStatusCode.Found);

        (await site.WordsAsync("/set-up")).Should().Contain("if nobody answers for 20 min · quiet 9:30 pm to 6:00 am, but for what needs doing today"
            + " · what can wait in the morning · at most 8 a day · every morning's figures").And.Contain("Nobody is told at once");
        var contact = await ContactAsync(site);
        contact.GetProperty("id").GetString().Should().Be(id, "it is the same contact");
        (contact.GetProperty("waitMinutes").GetInt32(), contact.GetProperty("quietFrom").GetString(), contact.GetProperty("mostADay").GetInt32())
            .Should().Be((20, "21:30", 8));

        var patched = await site.SendJsonAsync(HttpMethod.Patch, "/api/contacts/" + id, """{"quietFrom":"","quietTo":"","mostADay":0,"waitMinutes":0}""");
        patched.Status.Should().Be(HttpStatusCode.OK);
        (await site.WordsAsync("/set-up")).Should().Contain("every alarm · Gets the weekly report what can wait in the morning · every morning's figures")
            .And.NotContain("Nobody is told at once");
        (await ContactAsync(site)).GetProperty("report").GetBoolean().Should().BeTrue("what is not given stays");
    }

    [Fact]
    public async Task What_is_wrong_is_said_and_what_was_typed_stays()
    {
        await using var site = await Site.OpenAsync();
        var again = await SendAsync(site, "/set-up", [.. Ann, ("quietFrom", "21:30"), ("quietTo", "")]);
        again.Words.Should().Contain("Quiet hours need two different times, such as 21:30 and 06:00, or none.");
        Site.Field(Form(again.Html), "quietFrom").Should().Be("21:30");
        Site.Field(Form(again.Html), "name").Should().Be("Ann");
        (await SendAsync(site, "/set-up", [.. Ann, ("mostADay", "1000")])).Words.Should().Contain("A number from 1 to 100, or nothing.");

        (await site.SendJsonAsync(HttpMethod.Post, "/api/contacts", """{"name":"Ann","channel":"mail","address":"ann@example.org","wakes":"low"}"""))
            .Words.Should().Contain("wakes: 'low' is not one of urgent, high.");
        (await site.SendJsonAsync(HttpMethod.Patch, "/api/contacts/nobody", "{}")).Status.Should().Be(HttpStatusCode.NotFound);
        using var all = JsonDocument.Parse(await site.ReadAsync("/api/contacts"));
        all.RootElement.GetArrayLength().Should().Be(0);
    }

    [Fact]
    public async Task Before_anything_was_sent_the_page_leads_to_whom_to_send_it()
    {
        await using var site = await Site.OpenAsync();
        (await site.WordsAsync("/sent")).Should().Contain("No text was sent yet.").And.Contain("Add a contact");
        (await site.ReadAsync("/alarms")).Should().Contain("href=\"/sent\"");
    }

    private static async Task<Answer> SendAsync(Site site, string page, (string, string)[] fields) =>
        await site.SendAsync("/set-up?handler=Contact", await site.ReadAsync(page), fields);

    // Other forms of the page have fields of the same names.
    private static string Form(string page) => page[page.IndexOf("id=\"contact-form\"", StringComparison.Ordinal)..];

    private static async Task<JsonElement> ContactAsync(Site site)
    {
        using var all = JsonDocument.Parse(await site.ReadAsync("/api/contacts"));
        return all.RootElement.EnumerateArray().Single().Clone();
    }
}
