using RootCellar.Tell;
using RootCellar.Watch;
using static RootCellar.Tests.Tell.Messages;

namespace RootCellar.Tests.Tell;

public sealed class TemplateSetTests : IDisposable
{
    private const string Shipped = "CURING ROOM 11F too warm (71F) since 19:15.";
    private readonly DirectoryInfo folder = Directory.CreateTempSubdirectory("rootcellar-templates");

    public void Dispose() => folder.Delete(recursive: true);

    [Fact]
    public void A_template_of_the_growers_own_comes_before_the_shipped_one() =>
        Text("{{ place }} is hot: {{ value }}.\nRun!").Should().Be(("CURING ROOM is hot: 71F. Run!", ""));

    [Theory]
    [InlineData("{{ place }} {{ if }}", "line 1, column 19")]
    [InlineData("ok {{ place }}\n{{ tempreture }}", "line 2, column 4")]
    [InlineData("{{ for i in 1..100000 }}.{{ end }}", "line 1")]
    [InlineData("{{ while true }}.{{ end }}", "line 1")]
    [InlineData("{{ func f; f; end; f }}", "line 1")]
    [InlineData("{{ include 'passwd' }}", "line 1, column 4")]
    [InlineData("{{ 'A' * 200000000 }}", "line 1")]
    [InlineData("{{ 1..1000000 | array.size }}", "line 1")]
    [InlineData("{{ x = 'aaaaaaaa' }}{{ for i in 1..150 }}{{ x = x + x }}{{ end }}{{ x }}", "line 1")]
    [InlineData("{{ '' }}", "renders to nothing")]
    [InlineData("", "empty")]
    public void A_broken_one_gives_way_to_the_shipped_one_and_says_where(string template, string where)
    {
        var (text, problem) = Text(template);

        text.Should().Be(Shipped);
        problem.Should().StartWith("too-warm.sbn, line ").And.Contain(where);
    }

    [Fact]
    public void Deep_nesting_is_refused_and_does_not_end_the_program()
    {
        var (text, problem) = Text("{{ " + new string('(', 3000) + "1" + new string(')', 3000) + " }}");

        text.Should().Be(Shipped);
        problem.Should().StartWith("too-warm.sbn, line 1");
    }

    [Fact]
    public void One_that_cannot_fit_gives_way_too()
    {
        var (text, problem) = Text(new string('x', 200) + " {{ value }}");

        text.Should().Be(Shipped);
        problem.Should().Contain("does not fit into 160");
    }

    [Fact]
    public void A_file_that_is_no_template_is_named()
    {
        File.WriteAllText(Path.Combine(folder.FullName, "to-warm.sbn"), "x");

        new TemplateSet(folder.FullName).Problems.Single().ToString().Should().StartWith("to-warm.sbn").And.Contain("too-warm.sbn");
    }

    [Fact]
    public void A_folder_that_is_not_there_is_no_trouble() => new TemplateSet(Path.Combine(folder.FullName, "none")).Problems.Should()
        .BeEmpty();

    [Fact]
    public void The_programs_own_text_is_made_however_slow_the_machine_is_just_now()
    {
        var renderer = Renderer(templates: new TemplateSet(limits: new TemplateLimits { Time = TimeSpan.Zero }));
        renderer.Render(Change(Rule.TooWarm, Telling.Raised, 25), Curing, Held).Sms.Should().Be(Shipped);
    }

    private (string Text, string Problem) Text(string template)
    {
        File.WriteAllText(Path.Combine(folder.FullName, "too-warm.sbn"), template);
        var renderer = Renderer(templates: new TemplateSet(folder.FullName));
        var sms = renderer.Render(Change(Rule.TooWarm, Telling.Raised, 25), Curing, Held).Sms;
        return (sms, string.Join('\n', renderer.Problems));
    }
}
