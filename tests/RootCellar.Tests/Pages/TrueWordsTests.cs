namespace RootCellar.Tests.Pages;

/// <summary>No page speaks of what is not there.</summary>
public sealed class TrueWordsTests
{
    [Fact]
    public async Task Apples_are_picked_and_potatoes_are_dug()
    {
        await using var site = await Site.OpenAsync();
        await site.FillAsync();
        await site.WriteAsync(
            """[{"event":"dug","lot":"Pippin","crop":"apple"},{"event":"filled","bin":"A1","lot":"Pippin","weightKg":10,"place":"cellar"}]""");
        (await site.WordsAsync("/bins/A1")).Should().Contain("Apple, picked ").And.NotContain("dug ");
        (await site.WordsAsync("/lots/Pippin")).Should().Contain("Picked: lot Pippin").And.NotContain("Dug");
        (await site.WordsAsync("/bins/B1")).Should().Contain("Potato, dug ");
        (await site.WordsAsync("/lots/2025-1")).Should().Contain("Dug: lot 2025-1").And.NotContain("Picked");
    }

    [Fact]
    public async Task A_contact_is_asked_for_only_where_something_can_be_sent()
    {
        await using (var site = await Site.OpenAsync())
            (await site.WordsAsync("/")).Should().Contain("no way to send texts or mail is set up").And.Contain(
                "Set up texts or mail").And.NotContain("Add a contact");

        await using var mails = await Site.OpenAsync(change: settings => settings.Tell.Mail.Host = "127.0.0.1");
        (await mails.WordsAsync("/")).Should().Contain("No texts go out").And.Contain("Add a contact").And.NotContain("no way to send");
    }

    [Fact]
    public async Task Places_stand_in_the_order_people_look_for_them()
    {
        await using var site = await Site.OpenAsync();
        using var token = await Entry.Visitor.TokenAsync(site, RootCellar.Entry.Tokens.MayAll);
        foreach (var (place, name) in new[] { ("p1", "Zeller"), ("p2", "Barn"), ("p3", "attic store"), ("p4", "Ärbkeller") })
            (await token.JsonAsync("POST", "/api/places",
                $$"""{"place":"{{place}}","name":"{{name}}","purpose":"storage"}""")).Status.Should().Be(System.Net.HttpStatusCode.Created);
        var words = await site.WordsAsync("/set-up");
        string[] names = ["Ärbkeller · ", "attic store · ", "Barn · ", "Cellar · ", "Zeller · "];
        names.Select(n => words.IndexOf(n, StringComparison.Ordinal)).Should().BeInAscendingOrder().And.NotContain(-1);
    }

    [Fact]
    public async Task Outdoors_nothing_is_stored()
    {
        await using var site = await Site.OpenAsync();
        (await site.WordsAsync("/set-up")).Should().Contain("Cellar · Storage · Potato").And.NotContain("Outdoors · ");
    }
}
