using System.CommandLine;
using System.CommandLine.Completions;
using System.CommandLine.Help;
using RootCellar.Commands;

namespace RootCellar.Tests.Packaging;

/// <summary>The program's commands with their options, flat, as its manual page and its completion tell them.</summary>
internal static class CommandTree
{
    /// <param name="Words">The command as it is typed after <c>rootcellar</c>; none for the program itself.</param>
    /// <param name="Command">The command itself.</param>
    public sealed record Node(IReadOnlyList<string> Words, Command Command)
    {
        public IEnumerable<Option> Options => Command.Options.Where(o => !o.Hidden && o is not HelpOption).OrderBy(o => o.Name,
            StringComparer.Ordinal);

        public IEnumerable<Command> Children => Command.Subcommands.Where(c => !c.Hidden);

        /// <summary>Whether it does something by itself, and is no mere group.</summary>
        public bool Runs => Command.Action is not null;
    }

    public static IReadOnlyList<Node> Nodes { get; } = [.. Walk(new Node([], CommandLine.Build()))];

    /// <summary>The words an option takes, where it takes no others.</summary>
    public static IReadOnlyList<string> Values(Option option) => option.ValueType == typeof(bool)
        ? [] : [.. option.GetCompletions(CompletionContext.Empty).Select(c => c.Label)];

    /// <summary>Whether it stands alone, without a value.</summary>
    public static bool IsFlag(Option option) => option.Arity.MaximumNumberOfValues == 0 || option.ValueType == typeof(bool);

    private static IEnumerable<Node> Walk(Node node) =>
        node.Children.SelectMany(child => Walk(new Node([.. node.Words, child.Name], child))).Prepend(node);
}
