using System.Net;
using System.Net.Sockets;
using RootCellar.SystemTests.Running;

namespace RootCellar.SystemTests.Faults;

/// <summary>A start that fails on a port never says before that it is ready.</summary>
public sealed class TakenPortTests
{
    [Theory]
    [InlineData("--mqtt")]
    [InlineData("--http")]
    public async Task It_ends_with_one_line_and_was_never_ready(string which)
    {
        await using var service = new RunningService();
        using var other = new TcpListener(IPAddress.Loopback, which == "--mqtt" ? service.MqttPort : service.HttpPort);
        other.Start();
        service.Launch();
        var answers = new List<int>();
        while (!service.Process.HasExited)
        {
            // Another program that listens and says nothing would hold the question for long.
            if (which == "--http") break;
            try
            {
                answers.Add((await service.ReadinessAsync()).Status);
            }
            catch (HttpRequestException)
            {
                // Not there yet, or not any more.
            }
        }

        (await service.Process.EndAsync(RunningService.StartWithin)).Should().Be(2, service.Everything);
        answers.Should().NotContain(200);
        service.Process.Output.Should().NotContain("Ready.");
        service.Process.Error.Where(l => l.StartsWith("rootcellar run:", StringComparison.Ordinal)).Should().ContainSingle().Which.Should()
            .Contain(which);
    }
}
