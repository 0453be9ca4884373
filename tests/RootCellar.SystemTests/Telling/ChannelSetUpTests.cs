using System.Diagnostics;
using System.Net;
using System.Net.Http.Json;
using System.Text.Json;
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

    /// <summary>gammu-smsd with gammu's dummy phone.</summary>
    private sealed class DummyModem : IAsyncDisposable
    {
        private readonly Scratch scratch = new();
        private Process? daemon;

        public string Config => scratch.File("smsdrc");

        /// <summary>What the daemon has sent, each as the text of its file.</summary>
        public IReadOnlyList<string> Sent => [.. Directory.GetFiles(scratch.File("sent")).Select(File.ReadAllText)];

        public static async Task<DummyModem> StartAsync()
        {
            var program = await Needs.ModemDaemonAsync();
            var modem = new DummyModem();
            foreach (var folder in new[] { "phone", "inbox", "outbox", "sent", "error" }) Directory.CreateDirectory(modem.scratch.File(folder));
            await File.WriteAllTextAsync(modem.Config, $"""
                [gammu]
                device = {modem.scratch.File("phone")}
                connection = none
                model = dummy
                [smsd]
                service = files
                logfile = {modem.scratch.File("log")}
                commtimeout = 1
                sendtimeout = 5
                loopsleep = 1
                inboxpath = {modem.scratch.File("inbox")}/
                outboxpath = {modem.scratch.File("outbox")}/
                sentsmspath = {modem.scratch.File("sent")}/
                errorsmspath = {modem.scratch.File("error")}/
                """, Cancelled);
            modem.daemon = Process.Start(new ProcessStartInfo(program, ["-c", modem.Config]))!;
            return modem;
        }

        public async ValueTask DisposeAsync()
        {
            if (daemon is { HasExited: false })
            {
                daemon.Kill();
                await daemon.WaitForExitAsync(CancellationToken.None);
            }

            daemon?.Dispose();
            scratch.Dispose();
        }
    }
}
