using System.CommandLine;
using System.CommandLine.Help;
using System.CommandLine.Invocation;
using System.CommandLine.Parsing;
using RootCellar.Storage;

namespace RootCellar.Commands;

/// <summary>The commands, put together, and how they end: 0 done, 1 the answer is no, 2 wrong usage or bad input.</summary>
internal static class CommandLine
{
    public static RootCommand Build()
    {
        var root = new RootCommand("RootCellar watches a cellar's air, works out what it does to the crop, and tells the grower.")
        {
            RunCommand.Build(),
            DemoCommand.Build(),
            CheckCommand.Build(),
            TokenCommand.Build(),
            HelperCommand.Build(),
            AirCommand.Build(),
            CropsCommand.Build(),
            SaltsCommand.Build(),
            OutlookCommand.Build(),
            ReplayCommand.Build(),
            ReportCommand.Build(),
            ExportCommand.Build(),
            ImportCommand.Build(),
            BackupCommand.BuildBackup(),
            BackupCommand.BuildRestore(),
            MirrorCommand.Build(),
            HealthCommand.Build(),
        };
        var help = root.Options.OfType<HelpOption>().Single();
        help.Action = new HelpWithExamples((HelpAction)help.Action!);
        return root;
    }

    /// <summary>The data folder: the one systemd gives, else "data" where the command is run.</summary>
    public static Option<string> Data() => new("--data")
    {
        Description = "the data folder",
        HelpName = "DIR",
        DefaultValueFactory = _ => Environment.GetEnvironmentVariable("STATE_DIRECTORY") ?? "data",
    };

    /// <summary>The configuration of a data folder.</summary>
    /// <exception cref="UsageException">Something in it is wrong; the first of it is said.</exception>
    public static Settings Settings(string folder)
    {
        var problems = new List<string>();
        var settings = SettingsFile.Bind(SettingsFile.Load(folder, problems: problems), problems);
        settings.TakeSetUp(folder);
        return problems.Count > 0 ? throw new UsageException(problems[0]) : settings;
    }

    public static Task<int> RunAsync(IReadOnlyList<string> args, CancellationToken cancellation = default) =>
        RunAsync(args, Console.Out, Console.Error, cancellation);

    public static async Task<int> RunAsync(IReadOnlyList<string> args, TextWriter output, TextWriter error,
        CancellationToken cancellation = default)
    {
        // A file name may begin with @; it is not a response file.
        var parsed = Build().Parse(args, new ParserConfiguration { ResponseFileTokenReplacer = null });
        string command = Path(parsed.CommandResult);
        if (parsed.Errors.Count > 0 && parsed.Action is not HelpWithExamples)
        {
            await error.WriteLineAsync($"{command}: {Complaint(parsed)}");
            return 2;
        }

        try
        {
            return await parsed.InvokeAsync(
                new InvocationConfiguration
                {
                    Output = output,
                    Error = error,
                    EnableDefaultExceptionHandler = false,
                    // A service has a batch to write before it may go.
                    ProcessTerminationTimeout = TimeSpan.FromSeconds(30),
                },
                cancellation);
        }
        catch (Exception e) when (e is UsageException or StartException or StoreProblemException or DataFolderInUseException)
        {
            await error.WriteLineAsync($"{command}: {e.Message}");
            return 2;
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException)
        {
            await error.WriteLineAsync($"{command}: {e.Message} Check that the folder exists and may be written.");
            return 2;
        }
    }

    /// <summary>"rootcellar token add": the command as it is typed, however deep.</summary>
    private static string Path(CommandResult result) => result.Command is RootCommand || result.Parent is not CommandResult parent
        ? "rootcellar"
        : $"{Path(parent)} {result.Command.Name}";

    private static string Complaint(ParseResult parsed)
    {
        var command = parsed.CommandResult.Command;
        if (command.Subcommands.Count > 0)
        {
            string known = string.Join(", ", command.Subcommands.Select(sub => sub.Name));
            return parsed.UnmatchedTokens.Count == 0
                ? $"a command is missing; it may be {known}. See --help."
                : $"\"{parsed.UnmatchedTokens[0]}\" is not known here; it may be {known}. See --help.";
        }

        string example = command is CommandWithExamples { Examples: [var first, ..] } ? $"For instance: {first}" : "See --help.";
        return $"{parsed.Errors[0].Message.TrimEnd('.')}. {example}";
    }

    private sealed class HelpWithExamples(HelpAction plain) : SynchronousCommandLineAction
    {
        public override bool ClearsParseErrors => true;

        public override int Invoke(ParseResult parseResult)
        {
            int code = plain.Invoke(parseResult);
            if (parseResult.CommandResult.Command is CommandWithExamples { Examples: var examples })
            {
                var output = parseResult.InvocationConfiguration.Output;
                output.WriteLine("Examples:");
                foreach (string example in examples)
                    output.WriteLine($"  {example}");
                output.WriteLine();
            }

            return code;
        }
    }
}

/// <summary>A command whose help ends with examples.</summary>
internal sealed class CommandWithExamples(string name, string description, params IReadOnlyList<string> examples)
    : Command(name, description)
{
    public IReadOnlyList<string> Examples => examples;
}

/// <summary>Bad input found by a command while it works: one line on stderr, exit 2.</summary>
internal sealed class UsageException(string message) : Exception(message);
