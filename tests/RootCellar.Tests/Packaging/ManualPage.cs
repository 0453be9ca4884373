using System.CommandLine;
using System.Text;
using RootCellar.Commands;

namespace RootCellar.Tests.Packaging;

/// <summary>rootcellar(1), in the macros of man(7), from the program's commands.</summary>
internal static class ManualPage
{
    private const string Head = """
        .\" Written by the tests from the program's commands; a change here is lost. See DEVELOPERS.md.
        .TH ROOTCELLAR 1 "" "RootCellar" "User Commands"
        .SH NAME
        rootcellar \- watch the air of a curing room and a root cellar
        .SH SYNOPSIS
        .B rootcellar
        .I COMMAND
        .RI [ OPTION ]...
        .SH DESCRIPTION
        RootCellar takes readings of cheap sensors over MQTT, holds the air of each room against the bands of the crops that lie in it,
        texts the grower in time, and keeps the book of bins.
        The service is
        .B rootcellar run
        and is started by systemd; the other commands ask about its record or work beside it.
        Each has
        .B \-\-help
        with examples.
        .PP
        Quantities carry their unit: 12.8C, 55F, 95%, 22.7kg, 50lb, 14d.
        .SH COMMANDS
        """;

    private const string Tail = """
        .SH EXIT STATUS
        .TP
        .B 0
        Done.
        .TP
        .B 1
        The answer is no.
        .TP
        .B 2
        Wrong usage or bad input; one line on the standard error says what and what would be right.
        .SH ENVIRONMENT
        .TP
        .B STATE_DIRECTORY
        The data folder where
        .B \-\-data
        is not given; /var/lib/rootcellar for an installed program.
        .TP
        .BI ROOTCELLAR__ KEY
        A setting of rootcellar.json, its groups parted by two underscores, as in ROOTCELLAR__Http__Listen.
        .SH FILES
        .TP
        .I /etc/rootcellar/rootcellar.json
        Settings of the one who installs. Places, sensors and contacts are set up on pages.
        .TP
        .I /var/lib/rootcellar
        The record and what belongs to it. Copy it with
        .B rootcellar backup
        and never as plain files.
        .SH SAFETY
        A cheap CO2 sensor is not a safety instrument: a closed cellar can lack oxygen and hold carbon dioxide.
        Nothing here says that produce is safe to eat.
        .SH SEE ALSO
        .BR systemctl (1),
        .BR journalctl (1)
        .PP
        The guides are in /usr/share/doc/rootcellar.

        """;

    public static string Of(IReadOnlyList<CommandTree.Node> nodes)
    {
        var page = new StringBuilder(Head).Append('\n');
        foreach (var node in nodes.Where(n => n.Words.Count > 0 && n.Runs))
        {
            page.Append(".SS ").Append(Text("rootcellar " + string.Join(' ', node.Words)))
                .Append(string.Concat(node.Command.Arguments.Select(a => $" {Text(Shown(a).ToUpperInvariant())}"))).Append('\n')
                .Append(Line(node.Command.Description)).Append('\n');
            foreach (var argument in node.Command.Arguments.Where(a => !string.IsNullOrEmpty(a.Description)))
                page.Append(".TP\n.I ").Append(Text(Shown(argument).ToUpperInvariant())).Append('\n').Append(Line(argument.Description)).Append('\n');
            foreach (var option in node.Options)
            {
                page.Append(".TP\n.BR ").Append(Text(option.Name));
                if (!CommandTree.IsFlag(option)) page.Append(" \" ").Append(Text(option.HelpName ?? "VALUE")).Append('"');
                page.Append('\n').Append(Line(option.Description)).Append('\n');
            }

            if (node.Command is not CommandWithExamples { Examples: { Count: > 0 } examples }) continue;
            page.Append(".PP\n.EX\n");
            foreach (var example in examples) page.Append(Line(example)).Append('\n');
            page.Append(".EE\n");
        }

        return page.Append(Tail).ToString();
    }

    private static string Shown(Argument argument) => argument.HelpName ?? argument.Name;

    /// <summary>A line of text: roff takes one that begins with a point or a quote for its own.</summary>
    private static string Line(string? text) => Text(text ?? "") is { Length: > 0 } said
        ? said[0] is '.' or '\'' ? @"\&" + said : said
        : @"\&";

    private static string Text(string text) => text.Replace(@"\", @"\e", StringComparison.Ordinal).Replace("-", @"\-", StringComparison.Ordinal)
        .Replace("\"", @"\(dq", StringComparison.Ordinal);
}
