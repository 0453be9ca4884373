using System.CommandLine;
using System.CommandLine.Help;
using System.CommandLine.Invocation;

namespace RootCellar.Commands;

/// <summary>The commands, put together, and how they end: 0 done, 1 the answer is no, 2 wrong usage or bad input.</summary>
internal static class CommandLine
{
    public static RootCommand Build()
    {
        var root = new RootCommand("RootCellar watches a cellar's air, works out what it does to the crop, and tells the grower.")
        {
            AirCommand.Build(),
            CropsCommand.Build(),
            SaltsCommand.Build(),
        };
        var help = root.Options.OfType<HelpOption>().Single();
        help.Action = new HelpWithExamples((HelpAction)help.Action!);
        return root;
    }

    public static Task<int> RunAsync(IReadOnlyList<string> args, CancellationToken cancellation = default) =>
        RunAsync(args, Console.Out, Console.Error, cancellation);

    public static async Task<int> RunAsync(IReadOnlyList<string> args, TextWriter output, TextWriter error, CancellationToken cancellation = default)
    {
        // A file name may begin with @; it is not a response file.
        var parsed = Build().Parse(args, new ParserConfiguration { ResponseFileTokenReplacer = null });
        string command = parsed.CommandResult.Command is RootCommand ? "rootcellar" : $"rootcellar {parsed.CommandResult.Command.Name}";
        if (parsed.Errors.Count > 0 && parsed.Action is not HelpWithExamples)
        {
            await error.WriteLineAsync($"{command}: {parsed.Errors[0].Message.TrimEnd('.')}. See {command} --help.");
            return 2;
        }

        try
        {
            return await parsed.InvokeAsync(
                new InvocationConfiguration { Output = output, Error = error, EnableDefaultExceptionHandler = false }, cancellation);
        }
        catch (UsageException e)
        {
            await error.WriteLineAsync($"{command}: {e.Message}");
            return 2;
        }
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
internal sealed class CommandWithExamples(string name, string description, params IReadOnlyList<string> examples) : Command(name, description)
{
    public IReadOnlyList<string> Examples => examples;
}

/// <summary>Bad input found by a command while it works: one line on stderr, exit 2.</summary>
internal sealed class UsageException(string message) : Exception(message);
