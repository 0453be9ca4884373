using System.Diagnostics;

namespace RootCellar.Tests.Packaging;

/// <summary>The manual page and the shell's completion in the packages are what the program's commands are.</summary>
public sealed class CommandPapersTests
{
    private const string Completion = "src/RootCellar/Packaging/rootcellar.bash-completion";

    [Fact]
    public void The_manual_page_is_that_of_the_commands() =>
        GeneratedPage.MustBe("src/RootCellar/Packaging/rootcellar.1", ManualPage.Of(CommandTree.Nodes));

    [Fact]
    public void The_completion_is_that_of_the_commands() => GeneratedPage.MustBe(Completion, BashCompletion.Of(CommandTree.Nodes));

    [Fact]
    public void Every_command_that_does_something_and_each_of_its_options_is_in_the_manual_page()
    {
        var page = File.ReadAllText(Repository.File("src/RootCellar/Packaging/rootcellar.1")).Replace(@"\-", "-", StringComparison.Ordinal);
        page.Should().Contain(".SS rootcellar run\n").And.Contain(".SS rootcellar token add NAME\n").And.Contain("--may");
    }

    [Theory]
    [InlineData("rootcellar ou", "outlook")]
    [InlineData("rootcellar token ", "add list remove --help")]
    [InlineData("rootcellar token add --may ", "all log")]
    [InlineData("rootcellar export --for s", "spreadsheet")]
    [InlineData("rootcellar run --h", "--http --help")]
    [InlineData("rootcellar run --data /us", "/usr")]
    [InlineData("rootcellar run --http ", "")]
    public void Bash_itself_finishes_what_was_begun(string typed, string offered)
    {
        Skips.Unless(File.Exists("/bin/bash"), "There is no bash here.");
        var words = typed.Split(' ');
        var start = new ProcessStartInfo("/bin/bash",
            ["-c", """source "$1"; shift; COMP_WORDS=("$@"); COMP_CWORD=$(($# - 1)); _rootcellar; echo "${COMPREPLY[*]}" """, "bash",
                Repository.File(Completion), .. words])
        { RedirectStandardOutput = true, RedirectStandardError = true, UseShellExecute = false };
        using var bash = Process.Start(start)!;
        bash.StandardOutput.ReadToEnd().Trim().Should().Be(offered);
        bash.StandardError.ReadToEnd().Should().BeEmpty();
        bash.WaitForExit();
    }
}
