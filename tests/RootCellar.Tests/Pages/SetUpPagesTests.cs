
namespace RootCellar.Tests.Pages;

public class SetUpPagesTests
{
    [Theory]
    [InlineData("Place", "name=Back room&id=back/room&purpose=Storage", "'back/room' cannot be a short name")]
    [InlineData("Place", "name=Back room&id=..&purpose=Storage", "'..' cannot be a short name")]
    [InlineData("Place", "name=Back room&id=\u200Broom&purpose=Storage", "'(U+200B)room' cannot be a short name")]
    [InlineData("Place", "name=\u2060\u3164&id=attic&purpose=Storage", "'(U+2060)(U+3164)' cannot be a name")]
    [InlineData("Place", "name=..&id=attic&purpose=Storage", "'..' cannot be a name")]
    [InlineData("Place", "name=Out&purpose=Storage", "'out' is what RootCellar itself sends under")]
    [InlineData("Place", "name=Back room&purpose=Storage&volume=-3", "Volume: -3 cannot be a room's")]
    [InlineData("Place", "name=Back room&purpose=Attic", "Something was chosen that the page does not offer")]
    [InlineData("Contact", "name=Ann&channel=mail&address=ann", "'ann' is not a mail address. Right: ann@example.org.")]
    [InlineData("Contact", "name=Ann&channel=post&address=", "The number or name by which the gateway knows this person is missing")]
    [InlineData("Contact", "name=&channel=mail&address=ann@example.org", "A name, please, of at most 80 letters.")]
    public async Task What_cannot_be_set_up_so_is_said_in_the_words_of_the_page(string form, string typed, string said)
    {
        await using var site = await Site.OpenAsync();
        var fields = typed.Split('&').Select(p => p.Split('=', 2)).Select(p => (p[0], p[1])).ToArray();
        var words = (await site.SendAsync($"/set-up?handler={form}", await site.ReadAsync("/set-up"), fields)).Words;
        words.Should().Contain(said).And.NotContainAny("volumeM3:", "place: '", "purpose:", "address:");
    }

    [Theory]
    [InlineData("..", null, "place: '..' cannot be a name: it reads like a path")]
    [InlineData("room\u200B", null, "place: 'room(U+200B)' cannot be a name")]
    [InlineData("attic", "\u2060\u3164", "name: '(U+2060)(U+3164)' cannot be a name")]
    public async Task By_api_a_place_is_seen_and_is_no_path_either(string place, string? name, string said)
    {
        await using var site = await Site.OpenAsync();
        using var token = await Entry.Visitor.TokenAsync(site, RootCellar.Entry.Tokens.MayAll);
        var answer = await token.JsonAsync("POST", "/api/places",
            System.Text.Json.JsonSerializer.Serialize(new { place, name, purpose = "storage" }));
        answer.Status.Should().Be(System.Net.HttpStatusCode.BadRequest);
        answer.Html.Should().Contain(said);
        (await site.LookAsync("/api/places")).Html.Should().NotContain("attic").And.NotContain("\"..\"");
        (await token.JsonAsync("PATCH", "/api/places/cellar", """{"name":".."}""")).Status.Should()
            .Be(System.Net.HttpStatusCode.BadRequest);
    }
}
