using RootCellar.Tell;
using RootCellar.Tests.Storage;

namespace RootCellar.Tests.Tell;

/// <summary>Texts by a modem daemon: what its program is called with, and what comes of how it ends. The program is a shell script here.</summary>
public sealed class ModemChannelTests : IDisposable
{
    private static readonly Outgoing Text = new("id-1", null, "modem", "+15551234567", "high", "CELLAR 50F; $(date) \"x\"", "s", "b", Messages.At);

    private readonly TempFolder folder = new();

    public void Dispose() => folder.Dispose();

    [Fact]
    public async Task The_program_is_given_number_and_text_as_they_are_and_what_it_said_is_handed_on()
    {
        var program = Script("for a in \"$@\"; do echo \"[$a]\"; done; echo ' and  more' >&2; cat");
        (await SendAsync(new ModemOptions { Program = program })).Should()
            .Be("[TEXT] [+15551234567] [-len] [23] [-text] [CELLAR 50F; $(date) \"x\"] and more");
        (await SendAsync(new ModemOptions { Program = program, Config = "/etc/x" })).Should().StartWith("[-c] [/etc/x] [TEXT]");
        (await SendAsync(new ModemOptions { Program = program, Config = "" })).Should().StartWith("[TEXT]");
        (await SendAsync(new ModemOptions { Program = Script("printf '%0300d' 0") })).Should().Be(new string('0', 300));
        (await SendAsync(new ModemOptions { Program = Script("printf '%0301d' 0") })).Should().Be(new string('0', 300) + "...");
    }

    [Fact]
    public async Task What_goes_wrong_is_a_refusal_with_the_reason()
    {
        var wrong = await this.Awaiting(_ => SendAsync(new ModemOptions { Program = Script("echo no modem; exit 3", "inject") }))
            .Should().ThrowAsync<RefusedException>();
        wrong.Which.Message.Should().Be("inject ended with 3: no modem");
        var missing = await this.Awaiting(_ => SendAsync(new ModemOptions { Program = Path.Combine(folder.Path, "none") }))
            .Should().ThrowAsync<RefusedException>();
        missing.Which.Message.Should().Match("*none cannot be started (*). On Debian: apt install gammu-smsd");
        var channel = new ModemChannel(new ModemOptions { TimeoutSeconds = 7 });
        (channel.Name, channel.Timeout).Should().Be(("modem", TimeSpan.FromSeconds(7)));
    }

    [Fact]
    public async Task A_program_that_hangs_is_ended_with_the_patience()
    {
        var mark = Path.Combine(folder.Path, "pid");
        using var patience = new CancellationTokenSource();
        var sending = new ModemChannel(new ModemOptions { Program = Script($"echo $$ > {mark}; sleep 60 & wait") }).SendAsync(Text, patience.Token);
        await Sample.UntilAsync(() => File.Exists(mark) && File.ReadAllText(mark).EndsWith('\n'));
        await patience.CancelAsync();
        await sending.Awaiting(s => s).Should().ThrowAsync<OperationCanceledException>();
        var pid = File.ReadAllText(mark).Trim();
        await Sample.UntilAsync(() => !Directory.Exists($"/proc/{pid}") || File.ReadAllText($"/proc/{pid}/stat").Contains(") Z ", StringComparison.Ordinal));
    }

    private static Task<string> SendAsync(ModemOptions options) => new ModemChannel(options).SendAsync(Text, TestContext.Current.CancellationToken);

    private string Script(string body, string name = "program")
    {
        var file = Path.Combine(folder.Path, name);
        // Written by another process: a file that is open for writing in this one, which forks, cannot be started.
        File.WriteAllText(file + ".text", $"#!/bin/sh\n{body}\n");
        using var copy = System.Diagnostics.Process.Start("install", ["-m", "700", file + ".text", file]);
        copy.WaitForExit();
        return file;
    }
}
