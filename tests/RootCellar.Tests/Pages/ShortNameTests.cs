using System.Net;
using System.Text;
using Microsoft.Extensions.DependencyInjection;
using RootCellar.Monitoring;
using RootCellar.Readings;
using RootCellar.Tell;

namespace RootCellar.Tests.Pages;

/// <summary>A place whose name a text message cannot carry.</summary>
public sealed class ShortNameTests
{
    [Fact]
    public async Task A_name_that_no_text_can_carry_is_given_a_short_one_and_texts_say_that()
    {
        await using var site = await Site.OpenAsync(zone: "UTC", change: s =>
        {
            (s.Watch.OnDelaySeconds, s.Watch.FreezingOnDelaySeconds) = (0, 0);
            s.Tell.Post.Url = "http://127.0.0.1:9/";
        });
        var form = await site.ReadAsync("/set-up?add=dixia");
        (string, string)[] place = [("id", "dixia"), ("name", "地下室"), ("purpose", "Storage"), ("existing", "false"), ("crops", "potato")];

        var asked = await site.SendAsync("/set-up?handler=Place", form, place);
        asked.Words.Should().Contain("A text message cannot carry the letters of 地下室");
        Site.Field(asked.Html, "shortName").Should().Be("DeXiaShi", "what a text would make of it is there to be put right");
        (await site.ReadAsync("/api/places")).Should().NotContain("dixia");
        (await site.SendAsync("/set-up?handler=Place", form, [.. place, ("shortName", "地下")])).Words.Should()
            .Contain("cannot be what texts call it. Right: at most 20 Latin letters");

        (await site.SendAsync("/set-up?handler=Place", form, [.. place, ("shortName", "Keller")])).Status.Should().Be(HttpStatusCode.Found);
        (await site.ReadAsync("/api/places/dixia")).Should().Contain("\"shortName\":\"Keller\"");
        (await site.WordsAsync("/")).Should().Contain("地下室", "pages call it by its name");
        var pipeline = site.Services.GetRequiredService<Pipeline>();
        await await pipeline.OfferAsync(new Arrived("rootcellar/dixia/door", Encoding.UTF8.GetBytes("""{"temperature_c":14}"""),
            WantsReceipt: true, Dup: false, Replay: false, null));
        site.Time.Advance(TimeSpan.FromSeconds(2));
        await pipeline.AskAsync((_, _, _) => true, TestContext.Current.CancellationToken);
        site.Store.Read(c => OutboxRows.Latest(c, 10)).Should().ContainSingle().Which.Sms.Should().StartWith("KELLER 7F too warm (57F)");
    }

    [Fact]
    public async Task A_Latin_name_is_asked_for_nothing_and_the_api_takes_a_short_one_on_and_off()
    {
        await using var site = await Site.OpenAsync();
        var form = await site.ReadAsync("/set-up?add=sklep");
        (await site.SendAsync("/set-up?handler=Place", form, ("id", "sklep"), ("name", "Sklep č. 1"), ("purpose", "Storage"),
            ("existing", "false"), ("crops", "potato"))).Status.Should().Be(HttpStatusCode.Found);
        using var wrong = await site.PostJsonAsync("/api/places", """{"place":"k","name":"Κελάρι","purpose":"storage","shortName":"Κελάρι"}""");
        wrong.StatusCode.Should().Be(HttpStatusCode.BadRequest);
        using var right = await site.PostJsonAsync("/api/places", """{"place":"k","name":"Κελάρι","purpose":"storage","shortName":"Kelari"}""");
        right.StatusCode.Should().Be(HttpStatusCode.Created);
        (await site.ReadAsync("/api/places/k")).Should().Contain("\"shortName\":\"Kelari\"");
    }
}
