using System.Diagnostics;

namespace RootCellar.SystemTests.Running;

/// <summary>What a finished command said.</summary>
public sealed record Said(int Exit, string Out, string Error)
{
    public override string ToString() => $"exit {Exit}{Environment.NewLine}stdout: {Out}{Environment.NewLine}stderr: {Error}";
}

/// <summary>The built program, as it lies beside the tests.</summary>
public static class BuiltProgram
{
    private static readonly TimeSpan LongestCommand = TimeSpan.FromSeconds(60);

    public static string Path { get; } = Find();

    /// <summary>Runs one command of it to its end.</summary>
    public static Task<Said> RunAsync(params IReadOnlyList<string> arguments) => RunAsync(null, arguments);

    public static Task<Said> RunAsync(IReadOnlyDictionary<string, string>? environment, IReadOnlyList<string> arguments) =>
        Tool.RunAsync("dotnet", [Path, .. arguments], environment, LongestCommand);

    private static string Find()
    {
        var beside = System.IO.Path.Combine(AppContext.BaseDirectory, "rootcellar.dll");
        if (!File.Exists(beside) || !File.Exists(System.IO.Path.ChangeExtension(beside, ".runtimeconfig.json")))
            throw new FileNotFoundException("The program is not built: its project reference should have put it here.", beside);
        return beside;
    }
}

/// <summary>Any other program, run to its end within bounds.</summary>
public static class Tool
{
    public static async Task<Said> RunAsync(string program, IReadOnlyList<string> arguments, IReadOnlyDictionary<string,
        string>? environment = null, TimeSpan? longest = null, string input = "")
    {
        var start = new ProcessStartInfo(program, arguments)
        {
            RedirectStandardOutput = true,
            RedirectStandardError = true,
            RedirectStandardInput = true,
            UseShellExecute = false,
        };
        foreach (var (key, value) in environment ?? new Dictionary<string, string>(StringComparer.Ordinal)) start.Environment[key] = value;
        using var process = Process.Start(start)!;
        using var bound = CancellationTokenSource.CreateLinkedTokenSource(TestContext.Current.CancellationToken);
        bound.CancelAfter(longest ?? TimeSpan.FromSeconds(30));
        try
        {
            if (input.Length > 0) await process.StandardInput.WriteAsync(input.AsMemory(), bound.Token);
            process.StandardInput.Close();
            var output = process.StandardOutput.ReadToEndAsync(bound.Token);
            var error = process.StandardError.ReadToEndAsync(bound.Token);
            await process.WaitForExitAsync(bound.Token);
            return new Said(process.ExitCode, await output, await error);
        }
        catch (OperationCanceledException e)
        {
            process.Kill(entireProcessTree: true);
            throw new TimeoutException($"{program} {string.Join(' ', arguments)} did not end.", e);
        }
    }

    /// <summary>Where a program is: in the path, or where daemons are.</summary>
    public static string? Find(string name) =>
        (Environment.GetEnvironmentVariable("PATH") ?? "").Split(':').Append("/usr/sbin").Append("/usr/local/sbin")
            .Where(folder => folder.Length > 0)
            .Select(folder => Path.Combine(folder, name))
            .FirstOrDefault(File.Exists);
}
