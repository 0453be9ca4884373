using System.Diagnostics;

namespace RootCellar.SystemTests.Running;

/// <summary>gammu-smsd with gammu's dummy phone: what is sent lands in a folder, and texts can be made to come in.</summary>
public sealed class DummyModem : IAsyncDisposable
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
        foreach (var folder in new[] { "phone", "phone/sms", "phone/sms/1", "inbox", "outbox", "sent", "error" })
            Directory.CreateDirectory(modem.scratch.File(folder));
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
            """, TestContext.Current.CancellationToken);
        modem.daemon = Process.Start(new ProcessStartInfo(program, ["-c", modem.Config]))!;
        return modem;
    }

    /// <summary>Lays a text into the phone's own inbox, from which the daemon takes it.</summary>
    public async Task ReceiveAsync(string from, string text)
    {
        var start = new ProcessStartInfo(
            await Needs.ModemToolAsync(), ["-c", Config, "savesms", "TEXT", "-unicode", "-folder", "1", "-unread", "-sender", from])
        { RedirectStandardInput = true, RedirectStandardOutput = true, UseShellExecute = false };
        using var tool = Process.Start(start)!;
        await tool.StandardInput.WriteAsync(text);
        tool.StandardInput.Close();
        var said = await tool.StandardOutput.ReadToEndAsync(TestContext.Current.CancellationToken);
        await tool.WaitForExitAsync(TestContext.Current.CancellationToken);
        said.Should().Contain("Saved in folder");
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
