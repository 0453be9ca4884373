using System.Net;
using RootCellar.Entry;
using RootCellar.Tell;
using RootCellar.Tests.Pages;

namespace RootCellar.Tests.Entry;

/// <summary>Where the household is reached is the household's.</summary>
public class AddressTests
{
    private const string Address = "nell-private@farm.example";

    [Fact]
    public async Task Helpers_and_tokens_for_logging_find_no_address_of_a_contact_anywhere()
    {
        await using var site =
            await Site.OpenAsync(
                change: s => (s.Tell.Mail.Host, s.Tell.Mail.From, s.Tell.Mail.Port) = ("127.0.0.1", "cellar@farm.example", 9));
        await site.FillAsync();
        using var ann = await Visitor.HouseholdAsync(site);
        using var sam = await Visitor.HelperAsync(site);
        using var log = await Visitor.TokenAsync(site, Tokens.MayLog);
        (await ann.JsonAsync("POST", "/api/contacts",
            $$"""{"name":"Nell","channel":"mail","address":"{{Address}}","wants":"all"}""")).Status.Should().Be(HttpStatusCode.Created);
        // As the outbox leaves a text that the far side refused: such an answer names the address.
        await site.Store.WriteAsync(
            c => OutboxRows.Save(
                c, new Outgoing("t1", null, "mail", Address, "urgent", "CELLAR 29F", "Cellar", "Cellar", site.Time.GetUtcNow())
                {
                    State = OutgoingState.GivenUp,
                    Attempts = 3,
                    Error = $"550 <{Address}>: no such user",
                }));

        var shown = (await ann.GetAsync("/sent")).Html;
        shown.Should().Contain(Address, "the household sees it").And.Contain("no such user");
        var asked = 0;
        foreach (var (method, _, path, _, _) in await WhoMayTests.EndpointsAsync(site))
        {
            if (method != "GET") continue;
            foreach (var who in new[] { sam, log })
            {
                asked++;
                (await who.GetAsync(path)).Html.Should().NotContainEquivalentOf("nell-private", path);
            }
        }

        asked.Should().BeGreaterThan(60);
        (await sam.GetAsync("/sent")).Words.Should().Contain("Nell by mail").And.Contain("the household sees why");
    }
}
