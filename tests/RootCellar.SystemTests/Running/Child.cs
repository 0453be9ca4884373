using System.Collections.Concurrent;
using System.Diagnostics;

namespace RootCellar.SystemTests.Running;

/// <summary>A process that runs beside the test and is ended with it, whatever becomes of the test.</summary>
public sealed class Child : IDisposable
{
    private static readonly ConcurrentDictionary<int, Child> Alive = new();

    private readonly Process process;
    private readonly List<string> output = [];
    private readonly List<string> error = [];

    static Child() => AppDomain.CurrentDomain.ProcessExit += (_, _) =>
    {
        foreach (var child in Alive.Values) child.Kill();
    };

    public Child(string program, IReadOnlyList<string> arguments, IReadOnlyDictionary<string, string>? environment = null)
    {
        var start = new ProcessStartInfo(program, arguments)
        { RedirectStandardOutput = true, RedirectStandardError = true, UseShellExecute = false };
        foreach (var (key, value) in environment ?? new Dictionary<string, string>(StringComparer.Ordinal)) start.Environment[key] = value;
        process = new Process { StartInfo = start };
        process.OutputDataReceived += (_, e) => Keep(output, e.Data);
        process.ErrorDataReceived += (_, e) => Keep(error, e.Data);
        process.Start();
        Alive[process.Id] = this;
        process.BeginOutputReadLine();
        process.BeginErrorReadLine();
    }

    public int Id => process.Id;

    public bool HasExited => process.HasExited;

    public int ExitCode => process.ExitCode;

    public IReadOnlyList<string> Output => Copy(output);

    public IReadOnlyList<string> Error => Copy(error);

    public string Everything => string.Join(Environment.NewLine, Output.Concat(Error));

    /// <summary>SIGKILL, and gone when this returns.</summary>
    public void Kill()
    {
        try
        {
            process.Kill();
            process.WaitForExit(10_000);
        }
        catch (InvalidOperationException)
        {
            // It ended by itself.
        }

        Alive.TryRemove(process.Id, out _);
    }

    /// <summary>SIGTERM; the exit code.</summary>
    public async Task<int> TerminateAsync(TimeSpan longest)
    {
        await Tool.RunAsync("kill", ["-TERM", process.Id.ToString()]);
        return await EndAsync(longest);
    }

    public async Task<int> EndAsync(TimeSpan longest)
    {
        using var bound = new CancellationTokenSource(longest);
        try
        {
            await process.WaitForExitAsync(bound.Token);
        }
        catch (OperationCanceledException e)
        {
            Kill();
            throw new TimeoutException($"It did not end within {longest.TotalSeconds:0} s.{Environment.NewLine}{Everything}", e);
        }

        Alive.TryRemove(process.Id, out _);
        return process.ExitCode;
    }

    public void Dispose()
    {
        Kill();
        process.Dispose();
    }

    private static void Keep(List<string> lines, string? line)
    {
        if (line is null) return;
        lock (lines) lines.Add(line);
    }

    private static IReadOnlyList<string> Copy(List<string> lines)
    {
        lock (lines) return [.. lines];
    }
}
