using System.Net;
using System.Net.Sockets;
using Microsoft.AspNetCore.Hosting.Server;
using Microsoft.AspNetCore.Hosting.Server.Features;
using Microsoft.Extensions.DependencyInjection;
using RootCellar.Readings;
using RootCellar.Tests.Pages;

namespace RootCellar.Tests.Readings;

/// <summary>A reader of the built-in broker that falls behind what the service publishes.</summary>
public class SlowReaderTests
{
    private static readonly byte[] Subscribe = [0x82, 21, 0, 1, 0, 16, .. "rootcellar/out/#"u8, 0];

    [Fact]
    public async Task It_is_cut_off_once_its_line_is_full_and_comes_back_to_the_newest()
    {
        await using var site = await Site.OpenAsync();
        var refusals = site.Services.GetRequiredService<Refusals>();
        var announcements = site.Services.GetRequiredService<Announcements>();
        using var slow = await ReaderAsync(site, "slow", 4_096);

        // Far more than the kernel and the web server hold of a connection.
        var body = new string('x', 60_000);
        for (var i = 0; i < 20_000 && refusals.Total(Refusal.Pending) == 0; i++)
        {
            announcements.Say("rootcellar/out/test", $"{i} {body}");
            await Task.Yield();
        }

        refusals.Total(Refusal.Pending).Should().Be(1);
        announcements.Say("rootcellar/out/test", "the newest");
        // As any client does: one that is cut off, perhaps with its former self, comes again.
        for (var tries = 1; !await ReadsTheNewestAsync(site); tries++) tries.Should().BeLessThan(20);
    }

    /// <summary>False when it was cut off before it had the newest.</summary>
    private static async Task<bool> ReadsTheNewestAsync(Site site)
    {
        try
        {
            using var again = await ReaderAsync(site, "slow", 65_536);
            var text = "";
            var part = new byte[65_536];
            while (!text.Contains("the newest", StringComparison.Ordinal))
            {
                var read = await again.ReceiveAsync(part, TestContext.Current.CancellationToken);
                if (read == 0) return false;
                text = text[^Math.Min(text.Length, 20)..] + System.Text.Encoding.ASCII.GetString(part, 0, read);
            }

            return true;
        }
        catch (SocketException)
        {
            return false;
        }
    }

    private static async Task<Socket> ReaderAsync(Site site, string id, int buffer)
    {
        var address = new Uri(site.Services.GetRequiredService<IServer>().Features.Get<IServerAddressesFeature>()!.Addresses.Last());
        var socket = new Socket(AddressFamily.InterNetwork, SocketType.Stream, ProtocolType.Tcp)
        { NoDelay = true, ReceiveBufferSize = buffer };
        await socket.ConnectAsync(IPAddress.Loopback, address.Port, TestContext.Current.CancellationToken);
        byte[] connect = [0x10, (byte)(12 + id.Length), 0, 4, .. "MQTT"u8, 4, 2, 0, 0, 0, (byte)id.Length,
            .. System.Text.Encoding.ASCII.GetBytes(id)];
        await socket.SendAsync(connect, TestContext.Current.CancellationToken);
        var answer = new byte[4];
        (await socket.ReceiveAsync(answer, TestContext.Current.CancellationToken)).Should().Be(4);
        answer[3].Should().Be(0);
        await socket.SendAsync(Subscribe, TestContext.Current.CancellationToken);
        return socket;
    }
}
