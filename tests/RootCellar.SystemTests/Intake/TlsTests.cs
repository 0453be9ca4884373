using System.Security.Cryptography.X509Certificates;
using System.Text.RegularExpressions;
using RootCellar.SystemTests.Running;

namespace RootCellar.SystemTests.Intake;

/// <summary>The built program with a certificate made by the very commands of docs/install.md, and sensors by the real mosquitto_pub.</summary>
public sealed partial class TlsTests : IDisposable
{
    private readonly Scratch files = new();

    public void Dispose() => files.Dispose();

    [Fact]
    public async Task A_certificate_made_as_the_guide_says_serves_pages_and_sensors_and_a_broken_one_stops_neither_on_the_plain_ports()
    {
        await MakeAsync();
        var (https, mqtts, ca) = (Ports.Free(), Ports.Free(), files.File("house-ca.pem"));
        await using var service = new RunningService(null, ("Tls:Certificate", files.File("certificate.pem")), ("Tls:Key", files.File("key.pem")),
            ("Tls:HttpListen", $"127.0.0.1:{https}"), ("Tls:MqttListen", $"127.0.0.1:{mqtts}"));
        await service.StartAsync();
        service.Process.Output.Should().Contain(l => l.Contains($"and https://127.0.0.1:{https}", StringComparison.Ordinal))
            .And.Contain(l => l.Contains($"with TLS on 127.0.0.1:{mqtts}", StringComparison.Ordinal)).And.NotContain(l => l.Contains("certificate", StringComparison.Ordinal));
        await service.AddPlaceAsync("cellar", "Cellar", "storage");

        // With the chain and the address looked at, as a sensor does that is given the house's own CA.
        foreach (var version in new[] { "mqttv311", "mqttv5" })
            await MosquittoClients.PublishAsync(mqtts, $"rootcellar/cellar/{version}/temperature_c", "4.25", "--cafile", ca, "-V", version, "-q", "1");
        ((double)(await service.LastAsync("cellar/mqttv5", "temperature"))["value"]!).Should().Be(4.25);
        ((double)(await service.LastAsync("cellar/mqttv311", "temperature"))["value"]!).Should().Be(4.25);
        await MosquittoClients.PublishAsync(service.MqttPort, "rootcellar/cellar/plain/temperature_c", "4.5", "-q", "1");
        (await MosquittoClients.TryPublishAsync(mqtts, "rootcellar/cellar/plain/temperature_c", "9")).Exit.Should().NotBe(0, "in clear nothing is heard there");
        (await AskAsync(https, ca)).Should().Be("live");
        (await BuiltProgram.RunAsync("check", "--data", service.Data)).Exit.Should().Be(0);
        await service.StopAsync();

        // The key is another's at the next start: said, and the watch goes on.
        var good = await File.ReadAllTextAsync(files.File("key.pem"), TestContext.Current.CancellationToken);
        File.Copy(files.File("house-ca.key"), files.File("key.pem"), overwrite: true);
        await service.StartAsync();
        service.Process.Output.Should().Contain(l => l.StartsWith($"The key in {files.File("key.pem")} is damaged or belongs to another certificate.", StringComparison.Ordinal));
        await MosquittoClients.PublishAsync(service.MqttPort, "rootcellar/cellar/plain/temperature_c", "5.5", "-q", "1");
        (await MosquittoClients.TryPublishAsync(mqtts, "rootcellar/cellar/door/temperature_c", "9", "--cafile", ca)).Exit.Should().NotBe(0);
        var (status, health) = await service.ReadinessAsync();
        status.Should().Be(200);
        health.Should().Contain("\"certificate\":\"degraded\"");

        // Put right, it is taken without a restart.
        await File.WriteAllTextAsync(files.File("key.pem"), good, TestContext.Current.CancellationToken);
        await Eventually.HoldsAsync(async () => (await service.ReadinessAsync()).Text.Contains("\"certificate\":\"healthy\"", StringComparison.Ordinal),
            "the certificate is taken", TimeSpan.FromSeconds(90));
        (await AskAsync(https, ca)).Should().Be("live");
        (await service.CountAsync("rootcellar_certificate_left_days")).Should().BeInRange(818, 820);
    }

    [Fact]
    public async Task A_port_that_another_program_has_is_named()
    {
        await MakeAsync();
        await using var broker = new RunningService();
        await broker.StartAsync();
        foreach (var key in new[] { "Tls:HttpListen", "Tls:MqttListen" })
        {
            await using var service = new RunningService(null, ("Tls:Certificate", files.File("certificate.pem")), ("Tls:Key", files.File("key.pem")),
                ("Tls:HttpListen", ""), ("Tls:MqttListen", ""));
            service.Set(key, $"127.0.0.1:{broker.HttpPort}");
            service.Launch();
            await Eventually.HoldsAsync(() => service.Process.HasExited, "it ends", RunningService.StartWithin);
            service.Process.ExitCode.Should().Be(2, service.Everything);
            service.Process.Error.Should().Contain(l => l.Contains($"127.0.0.1:{broker.HttpPort}", StringComparison.Ordinal) && l.Contains(key, StringComparison.Ordinal));
        }
    }

    // The block of the guide, word for word, but for the names of the box.
    private async Task MakeAsync()
    {
        await Needs.OpenSslAsync();
        var guide = await File.ReadAllTextAsync(Repository.File("docs/install.md"), TestContext.Current.CancellationToken);
        var block = Block().Match(guide).Groups["block"].Value;
        block.Should().Contain("openssl x509 -req");
        var script = block.Replace("DNS:raspberrypi.local,IP:192.168.1.20", "DNS:raspberrypi.local,IP:127.0.0.1", StringComparison.Ordinal);
        var said = await Tool.RunAsync("sh", ["-ec", $"cd '{files.Path}'\n{script}"]);
        said.Exit.Should().Be(0, said.ToString());
        FileModes.Set(files.File("key.pem"), UnixFileMode.UserRead | UnixFileMode.UserWrite | UnixFileMode.GroupRead);
    }

    private static async Task<string> AskAsync(int port, string ca)
    {
        using var root = X509CertificateLoader.LoadCertificateFromFile(ca);
        using var handler = new SocketsHttpHandler();
        handler.SslOptions.CertificateChainPolicy = new X509ChainPolicy
        {
            TrustMode = X509ChainTrustMode.CustomRootTrust,
            CustomTrustStore = { root },
            RevocationMode = X509RevocationMode.NoCheck,
        };
        using var client = new HttpClient(handler);
        return await client.GetStringAsync(new Uri($"https://127.0.0.1:{port}/health/live"), TestContext.Current.CancellationToken);
    }

    [GeneratedRegex(@"(?<block>    NAMES=.*?-out certificate\.pem\n)", RegexOptions.ExplicitCapture | RegexOptions.Singleline, 5000)]
    private static partial Regex Block();
}
