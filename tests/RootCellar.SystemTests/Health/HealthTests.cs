using System.Text.Json.Nodes;
using RootCellar.SystemTests.Running;

namespace RootCellar.SystemTests.Health;

/// <summary>How the service says how it is doing, to programs that ask from outside.</summary>
public sealed class HealthTests
{
    [Fact]
    public async Task Every_room_answers_and_nothing_of_the_machine_is_told_to_a_stranger()
    {
        await using var service = new RunningService();
        await service.StartAsync();

        var (status, text) = await service.ReadinessAsync();

        status.Should().Be(200);
        var body = JsonNode.Parse(text)!;
        ((string?)body["status"]).Should().Be("healthy");
        body["checks"]!.AsObject().Select(c => c.Key).Should().Contain(["record", "disk", "watch", "channels", "mirror"]);
        body["checks"]!.AsObject().Select(c => (string?)c.Value).Should().AllBe("healthy");
        text.Should().NotContain(service.Data).And.NotContain("/");
    }

    [Fact]
    public async Task Figures_are_such_as_prometheus_itself_has_nothing_to_say_about()
    {
        var promtool = await Needs.PromtoolAsync();
        await using var gateway = await Gateway.StartAsync();
        await using var service = new RunningService(null, ("Tell:Post:Url", gateway.Url));
        await service.StartAsync();
        await service.AddContactAsync("post", "5550100");
        var contact = (string?)(await service.GetAsync("/api/contacts")).AsArray()[0]!["id"];
        await service.PostAsync($"/api/contacts/{contact}/test", new { });
        await Eventually.HoldsAsync(() => gateway.Accepted.Count == 1, "the test is told", details: () => service.Everything);
        await Eventually.HoldsAsync(async () => (await service.MetricsAsync())
            .Contains("rootcellar_texts_latency_seconds_count{channel=\"post\"} 1", StringComparison.Ordinal), "it is counted");

        var figures = await service.MetricsAsync();

        (await service.CountAsync("rootcellar_texts_tried_total{channel=\"post\"}")).Should().Be(1);
        (await service.CountAsync("rootcellar_record_ok")).Should().Be(1);
        (await service.CountAsync("rootcellar_disk_free_bytes")).Should().BeGreaterThan(0);
        var word = await Tool.RunAsync(promtool, ["check", "metrics"], input: figures);
        word.Exit.Should().Be(0, word.ToString());
        (word.Error + word.Out).Trim().Should().BeEmpty();
    }
}
