using System.ComponentModel;
using System.Diagnostics;
using System.Globalization;

namespace RootCellar.Tell;

/// <summary>
/// A GSM modem on this machine, by gammu-smsd: its inject program takes each text into the daemon's own queue, which keeps it until the
/// network has it. "Sent" here means that the daemon has it.
/// </summary>
internal sealed class ModemChannel(ModemOptions options) : IChannel
{
    public const string ChannelName = "modem";

    private const int MostSaid = 300;

    public string Name => ChannelName;

    public TimeSpan? Timeout => TimeSpan.FromSeconds(options.TimeoutSeconds);

    public async Task<string> SendAsync(Outgoing message, CancellationToken cancellationToken)
    {
        // A text is GSM letters only by now; what is too long for one part is sent as several that phones put together.
        string[] config = options.Config is { Length: > 0 } file ? ["-c", file] : [];
        string[] arguments = [.. config, "TEXT", message.Recipient, "-len", message.Sms.Length.ToString(CultureInfo.InvariantCulture), "-text", message.Sms];
        var start = new ProcessStartInfo(options.Program, arguments)
        {
            UseShellExecute = false,
            RedirectStandardOutput = true,
            RedirectStandardError = true,
            RedirectStandardInput = true,
        };
        using var process = Start(start);
        try
        {
            process.StandardInput.Close();
            var said = process.StandardOutput.ReadToEndAsync(cancellationToken);
            var wrong = process.StandardError.ReadToEndAsync(cancellationToken);
            await process.WaitForExitAsync(cancellationToken);
            var words = Short(string.Join(' ', await said, await wrong));
            return process.ExitCode == 0 ? words
                : throw new RefusedException($"{Path.GetFileName(options.Program)} ended with {process.ExitCode}: {words}", null);
        }
        finally
        {
            if (!process.HasExited) process.Kill(entireProcessTree: true);
        }
    }

    private Process Start(ProcessStartInfo start)
    {
        try
        {
            return Process.Start(start)!;
        }
        catch (Win32Exception e)
        {
            throw new RefusedException($"{options.Program} cannot be started ({e.Message}). On Debian: apt install gammu-smsd", null);
        }
    }

    private static string Short(string words)
    {
        var line = string.Join(' ', words.Split((char[]?)null, StringSplitOptions.RemoveEmptyEntries));
        return line.Length <= MostSaid ? line : line[..MostSaid] + "...";
    }
}
