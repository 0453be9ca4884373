using System.Net;
using System.Net.Http.Json;
using System.Text.Json.Nodes;
using RootCellar.SystemTests.Running;

namespace RootCellar.SystemTests.Telling;

/// <summary>Ways out that are set up while the service runs, without a file and without a restart: a real mail server, a gateway, a modem daemon.</summary>
public sealed class ChannelSetUpTests
{
    private static CancellationToken Cancelled => TestContext.Current.CancellationToken;

    [Fact]
    public async Task Mail_is_set_up_tested_and_told_by_and_still_is_after_a_restart()
    {
        await using var postbox = Postbox.Start();
        await using var service = await RunningService.StartAsync(Air.NoDelays);
        await service.AddPlaceAsync(Air.CuringRoom, "Curing room", "curing");
        await service.AddContactAsync("mail", "nell@homestead.example");
        using var api = await service.ApiAsync();
        (await TestAsync(api, "mail", "nell@homestead.example")).Status.Should().Be(HttpStatusCode.Conflict, "there is no way yet");

        await SetUpAsync(api, "mail", new { host = "127.0.0.1", port = postbox.Port, tls = "off", from = "cellar@homestead.example" });
        var (status, answer) = await TestAsync(api, "mail", "nell@homestead.example");

        status.Should().Be(HttpStatusCode.OK, answer);
        answer.Should().Contain("Ok", "what the server said");
        postbox.Mails.Should().ContainSingle().Which.To.ToString().Should().Be("nell@homestead.example");
        await service.WarmUpAsync();
        await Eventually.HoldsAsync(() => postbox.Mails.Count == 2, "the alarm is told", details: () => service.Everything);
        new FileInfo(Path.Combine(service.Data, "channels.json")).UnixFileMode.Should().Be(UnixFileMode.UserRead | UnixFileMode.UserWrite);

        await service.StopAsync();
        await service.StartAsync();
        await service.CoolDownAsync();
        await Eventually.HoldsAsync(() => postbox.Mails.Count == 3, "that it is over is told", details: () => service.Everything);
    }

    [Fact]
    public async Task What_waits_for_a_server_that_was_set_up_wrongly_goes_out_at_once_when_it_is_put_right()
    {
        await using var postbox = Postbox.Start();
        var nobody = Ports.Free();
        await using var service = await RunningService.StartAsync(Air.NoDelays);
        await service.AddPlaceAsync(Air.CuringRoom, "Curing room", "curing");
        await service.AddContactAsync("mail", "nell@homestead.example");
        using var api = await service.ApiAsync();
        await SetUpAsync(api, "mail", new { host = "127.0.0.1", port = nobody, tls = "off", from = "cellar@homestead.example" });
        await service.WarmUpAsync();
        await Eventually.HoldsAsync(
            async () => (await service.GetAsync("/api/channels/mail"))["trouble"]?.GetValue<string>().Contains("refused", StringComparison.OrdinalIgnoreCase) == true,
            "the trouble is said", details: () => service.Everything);
        // By now it waits longer between tries than the mail may take below.
        await Task.Delay(TimeSpan.FromSeconds(8), Cancelled);

        await SetUpAsync(api, "mail", new { host = "127.0.0.1", port = postbox.Port, tls = "off", from = "cellar@homestead.example" });

        await Eventually.HoldsAsync(() => postbox.Mails.Count == 1, "it is told", TimeSpan.FromSeconds(3), () => service.Everything);
        postbox.Mails[0].Subject.Should().Be("CURING ROOM: too warm", "nothing took it before, so this is no repeat");
        (await service.GetAsync("/api/channels/mail"))["trouble"].Should().BeNull();
    }

    [Fact]
    public async Task A_modem_has_its_texts_from_the_real_daemon()
    {
        await using var modem = await DummyModem.StartAsync();
        await using var service = await RunningService.StartAsync([.. Air.NoDelays, ("Tell:Modem:Config", modem.Config)]);
        await service.AddPlaceAsync(Air.CuringRoom, "Curing room", "curing");
        await service.AddContactAsync("modem", "+1 (555) 123-4567");
        using var api = await service.ApiAsync();

        await SetUpAsync(api, "modem", new { on = true });
        var (status, answer) = await TestAsync(api, "modem", "+15551234567");

        status.Should().Be(HttpStatusCode.OK, answer);
        answer.Should().Contain("Written message with ID");
        await service.WarmUpAsync();
        await Eventually.HoldsAsync(
            () => modem.Sent.Any(s => s.Contains("+15551234567", StringComparison.Ordinal) && s.Contains("CURING ROOM 3F too warm", StringComparison.Ordinal)),
            "the alarm went through the modem", TimeSpan.FromSeconds(30), () => service.Everything + string.Join('\n', modem.Sent));
    }

    [Fact]
    public async Task An_alarm_is_answered_by_text_where_the_modem_hears_it_also_over_a_restart()
    {
        await using var modem = await DummyModem.StartAsync();
        await using var service = await RunningService.StartAsync(
            [.. Air.NoDelays, ("Tell:Modem:Config", modem.Config), ("Tell:Modem:On", "true")]);
        await service.AddPlaceAsync(Air.CuringRoom, "Curing room", "curing");
        await service.AddContactAsync("modem", "+1 (555) 123-4567");
        await Eventually.HoldsAsync(async () => (bool)(await AnswersAsync(service))["heard"]!, "the inbox is looked at",
            TimeSpan.FromSeconds(60), () => service.Everything);
        await service.WarmUpAsync();
        await Eventually.HoldsAsync(() => modem.Sent.Any(s => s.Contains("Reply OK 1.", StringComparison.Ordinal)), "the text says how to answer it",
            TimeSpan.FromSeconds(60), () => service.Everything + string.Join('\n', modem.Sent));

        await modem.ReceiveAsync("+15550000000", "OK 1");
        await Eventually.HoldsAsync(async () => (int)(await AnswersAsync(service))["unknown"]! == 1, "a stranger's is counted",
            TimeSpan.FromSeconds(60), () => service.Everything);
        (await AlarmAsync(service))["state"]!.GetValue<string>().Should().Be("unacknowledged");

        await modem.ReceiveAsync("+15551234567", "Ok 1, on my way – ¡ya voy!");
        await Eventually.HoldsAsync(async () => (string?)(await AlarmAsync(service))["acknowledgedBy"] == "Nell", "it is acknowledged by whom it came from",
            TimeSpan.FromSeconds(60), () => service.Everything);
        await Eventually.HoldsAsync(() => Replies(modem) == 1, "the answer is answered", TimeSpan.FromSeconds(60),
            () => service.Everything + string.Join('\n', modem.Sent));

        await service.StopAsync();
        await service.StartAsync();
        await Eventually.HoldsAsync(async () => (bool)(await AnswersAsync(service))["heard"]!, "the inbox is looked at again",
            TimeSpan.FromSeconds(60), () => service.Everything);
        await modem.ReceiveAsync("+15550000000", "hello");
        await Eventually.HoldsAsync(async () => (int)(await AnswersAsync(service))["unknown"]! == 1, "only what is new is taken",
            TimeSpan.FromSeconds(60), () => service.Everything);
        Replies(modem).Should().Be(1, "what was taken before is not taken again");
    }

    private static int Replies(DummyModem modem) =>
        modem.Sent.Count(s => s.Contains("OK, Nell, you're on it: CURING ROOM too warm.", StringComparison.Ordinal));

    private static async Task<JsonNode> AnswersAsync(RunningService service) => (await service.GetAsync("/api/channels/modem"))["answers"]!;

    private static async Task<JsonNode> AlarmAsync(RunningService service) => (await service.GetAsync("/api/alarms")).AsArray().Single()!;

    private static async Task SetUpAsync(HttpClient api, string channel, object body)
    {
        var answer = await api.PutAsJsonAsync($"/api/channels/{channel}", body, Cancelled);
        answer.StatusCode.Should().Be(HttpStatusCode.OK, await answer.Content.ReadAsStringAsync(Cancelled));
    }

    private static async Task<(HttpStatusCode Status, string Text)> TestAsync(HttpClient api, string channel, string to)
    {
        var answer = await api.PostAsJsonAsync($"/api/channels/{channel}/test", new { to }, Cancelled);
        return (answer.StatusCode, await answer.Content.ReadAsStringAsync(Cancelled));
    }
}
