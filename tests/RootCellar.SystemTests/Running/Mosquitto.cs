namespace RootCellar.SystemTests.Running;

/// <summary>A real Mosquitto on a port of its own; knows nothing after it is killed (persistence off).</summary>
public sealed class Mosquitto : IDisposable
{
    private readonly Scratch scratch = new();
    private readonly string program;
    private Child? child;

    private Mosquitto(string program) => this.program = program;

    public int Port { get; } = Ports.Free();

    /// <param name="user">With a user, nobody else may come in.</param>
    public static async Task<Mosquitto> StartAsync(string? user = null, string? password = null)
    {
        var broker = new Mosquitto(await Needs.MosquittoAsync());
        var who = "allow_anonymous true";
        if (user is not null)
        {
            var file = broker.scratch.File("passwords");
            var said = await Tool.RunAsync(await Needs.MosquittoPasswdAsync(), ["-b", "-c", file, user, password!]);
            said.Exit.Should().Be(0, said.ToString());
            who = $"allow_anonymous false\npassword_file {file}";
        }

        // As root it would change to a user who may not read the folder.
        var stay = Environment.UserName == "root" ? "user root" : "";
        await File.WriteAllTextAsync(broker.scratch.File("mosquitto.conf"),
            $"listener {broker.Port} 127.0.0.1\npersistence false\nmax_queued_messages 0\n{who}\n{stay}\n");
        await broker.StartAsync();
        return broker;
    }

    public async Task StartAsync()
    {
        child?.Dispose();
        child = new Child(program, ["-c", scratch.File("mosquitto.conf")]);
        await Eventually.HoldsAsync(
            () => child.HasExited ? throw new InvalidOperationException(child.Everything) : child.Error.Any(
                l => l.Contains("running", StringComparison.Ordinal)),
            "Mosquitto runs",
            details: () => child.Everything);
    }

    public void Kill() => child!.Kill();

    public void Dispose()
    {
        child?.Dispose();
        scratch.Dispose();
    }
}

/// <summary>The real command-line clients.</summary>
public static class MosquittoClients
{
    public static async Task<Said> TryPublishAsync(int port, string topic, string payload, params IEnumerable<string> more) =>
        await Tool.RunAsync(await Needs.MosquittoPubAsync(),
            ["-h", "127.0.0.1", "-p", port.ToString(), "-t", topic, "-m", payload, .. more]);

    public static async Task PublishAsync(int port, string topic, string payload, params IEnumerable<string> more)
    {
        var said = await TryPublishAsync(port, topic, payload, more);
        said.Exit.Should().Be(0, said.ToString());
        said.Error.Should().BeEmpty();
    }

    /// <summary>Whatever bytes stand in a file, as one message that was received.</summary>
    public static async Task PublishFileAsync(int port, string topic, string file)
    {
        var said = await Tool.RunAsync(await Needs.MosquittoPubAsync(), ["-h", "127.0.0.1", "-p", port.ToString(), "-t", topic, "-f", file, "-q", "1"]);
        said.Exit.Should().Be(0, said.ToString());
    }

    /// <summary>The retained message of a topic, or null when none comes within a second.</summary>
    public static async Task<string?> RetainedAsync(int port, string topic, params IEnumerable<string> more)
    {
        var said = await Tool.RunAsync(await Needs.MosquittoSubAsync(),
            ["-h", "127.0.0.1", "-p", port.ToString(), "-t", topic, "--retained-only", "-C", "1", "-W", "1", .. more]);
        return said.Exit == 0 ? said.Out.TrimEnd('\n') : null;
    }
}
