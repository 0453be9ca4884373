using System.Text.Json.Nodes;
using RootCellar.SystemTests.Running;

namespace RootCellar.SystemTests.Telling;

/// <summary>HTTP post, to a gateway that fails, hangs and recovers.</summary>
public sealed class GatewayTests
{
    private const string Nell = "+15550142";

    [Fact]
    public async Task A_text_arrives_after_the_gateway_failed_hung_and_asked_for_patience()
    {
        await using var gateway = await Gateway.StartAsync();
        gateway.Behave = n => n switch
        {
            0 => new Answer(500),
            1 => new Answer(429, RetryAfter: "3"),
            2 => new Answer(0, Hang: TimeSpan.FromSeconds(20)),
            _ => Answer.Taken,
        };
        await using var service = await StartAsync(gateway);

        await service.WarmUpAsync();
        await Eventually.HoldsAsync(() => gateway.Accepted.Count == 1, "the text is taken", TimeSpan.FromSeconds(60), () =>
            service.Everything);

        var calls = gateway.Calls;
        calls.Select(c => c.Answered).Should().Equal(500, 429, 0, 200);
        calls.Select(c => c.Key).Distinct(StringComparer.Ordinal).Should().ContainSingle("one text has one key, however often it is tried");
        (calls[2].At - calls[1].At).Should().BeGreaterThan(TimeSpan.FromSeconds(2.8), "Retry-After was 3 s");
        foreach (var call in calls)
        {
            call.Method.Should().Be("POST");
            call.Headers["Content-Type"].Should().StartWith("application/json");
            var body = JsonNode.Parse(call.Body)!.AsObject();
            body.Select(p => p.Key).Should().Equal("to", "text", "alarm", "priority");
            ((string?)body["to"]).Should().Be(Nell);
            ((string?)body["alarm"]).Should().StartWith("curing-room-too-warm-");
            ((string?)body["priority"]).Should().Be("high");
            call.Text().ShouldFitOneText();
        }

        calls[0].Text().Should().MatchRegex(TextRules.TooWarm);
        calls[2].Text().Should().Be(calls[0].Text(), "a refusal is no delivery, so the next is no repeat");
        calls[3].Text().Should().EndWith("(may be a repeat)", "the gateway that fell silent may have sent it");
    }

    [Fact]
    public async Task When_it_is_over_that_is_told_too()
    {
        await using var gateway = await Gateway.StartAsync();
        await using var service = await StartAsync(gateway);

        await service.WarmUpAsync();
        await service.CoolDownAsync();
        await Eventually.HoldsAsync(() => gateway.Accepted.Count == 2, "both texts are taken", details: () => service.Everything);

        var texts = gateway.Accepted.Select(c => c.Text()).ToList();
        texts.Should().ContainSingle(t => t.StartsWith("CURING ROOM 3F too warm (68F)", StringComparison.Ordinal));
        var over = texts.Single(t => t.StartsWith("CURING ROOM fine again: 60F at ", StringComparison.Ordinal));
        over.Should().Contain("worst 68F");
        over.ShouldFitOneText();
        gateway.Calls.Select(c => c.Key).Distinct(StringComparer.Ordinal).Should().HaveCount(2);
    }

    [Fact]
    public async Task Method_headers_and_body_are_the_growers()
    {
        await using var gateway = await Gateway.StartAsync();
        await using var service = await StartAsync(
            gateway,
            ("Tell:Post:Method", "PUT"),
            ("Tell:Post:Headers:Authorization", "Bearer 123"),
            ("Tell:Post:Headers:X-Sender", "cellar"),
            ("Tell:Post:ContentType", "text/plain"),
            ("Tell:Post:BodyTemplate", "{{ priority }}|{{ to }}|{{ text }}"));

        await service.WarmUpAsync();
        await Eventually.HoldsAsync(() => gateway.Accepted.Count == 1, "the text is taken", details: () => service.Everything);

        var call = gateway.Accepted[0];
        call.Method.Should().Be("PUT");
        call.Headers["Authorization"].Should().Be("Bearer 123");
        call.Headers["X-Sender"].Should().Be("cellar");
        call.Headers["Content-Type"].Should().StartWith("text/plain");
        var start = $"high|{Nell}|";
        call.Body.Should().StartWith(start);
        call.Body[start.Length..].Should().MatchRegex(TextRules.TooWarm);
    }

    [Fact]
    public async Task Killed_while_the_gateway_hangs_it_is_sent_again_and_says_so()
    {
        await using var gateway = await Gateway.StartAsync();
        gateway.Behave = _ => new Answer(0, Hang: TimeSpan.FromMinutes(1));
        await using var service = await StartAsync(gateway, ("Tell:Post:TimeoutSeconds", "30"));
        await service.WarmUpAsync();
        await Eventually.HoldsAsync(() => gateway.Calls.Count == 1, "the gateway has the text and says nothing", details: () =>
            service.Everything);

        service.Kill();
        gateway.Behave = _ => Answer.Taken;
        await service.StartAsync();

        await Eventually.HoldsAsync(() => gateway.Accepted.Count == 1, "the text is sent again", details: () => service.Everything);
        gateway.Accepted[0].Key.Should().Be(gateway.Calls[0].Key);
        gateway.Calls[0].Text().Should().NotContain("repeat");
        gateway.Accepted[0].Text().Should().Be(gateway.Calls[0].Text() + " (may be a repeat)");
        gateway.Accepted[0].Text().ShouldFitOneText();
    }

    [Fact]
    public async Task Stopped_while_the_gateway_refuses_it_is_sent_later_unmarked()
    {
        await using var gateway = await Gateway.StartAsync();
        gateway.Behave = _ => new Answer(503);
        await using var service = await StartAsync(gateway);
        await service.WarmUpAsync();
        await Eventually.HoldsAsync(() => gateway.Calls.Count >= 1, "the gateway refused once", details: () => service.Everything);

        await service.StopAsync();
        var refused = gateway.Calls.Count;
        gateway.Behave = _ => Answer.Taken;
        await service.StartAsync();

        await Eventually.HoldsAsync(() => gateway.Accepted.Count == 1, "the text is taken", details: () => service.Everything);
        gateway.Calls.Should().HaveCount(refused + 1);
        gateway.Accepted[0].Text().Should().NotContain("repeat", "a refused text was not delivered");
    }

    private static async Task<RunningService> StartAsync(Gateway gateway, params (string, string)[] more)
    {
        var service = await RunningService.StartAsync(
            [.. Air.NoDelays, ("Tell:Post:Url", gateway.Url), ("Tell:Post:TimeoutSeconds", "1"), .. more]);
        await service.AddPlaceAsync(Air.CuringRoom, "Curing room", "curing");
        await service.AddContactAsync("post", Nell);
        return service;
    }
}
