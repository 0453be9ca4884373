using System.Net;
using System.Net.Sockets;

namespace RootCellar.SystemTests.Running;

/// <summary>Ports for one test run, below the range the kernel hands out by itself, so that no outgoing connection sits on one.</summary>
public static class Ports
{
    private static readonly HashSet<int> Given = [];

    public static int Free()
    {
        lock (Given)
        {
            for (var tries = 0; tries < 1_000; tries++)
            {
                var port = Random.Shared.Next(20_000, 32_000);
                if (!Given.Add(port)) continue;
                try
                {
                    using var probe = new TcpListener(IPAddress.Loopback, port);
                    probe.Start();
                    return port;
                }
                catch (SocketException)
                {
                    // Taken by somebody else.
                }
            }
        }

        throw new InvalidOperationException("No free port on the loopback address.");
    }
}
