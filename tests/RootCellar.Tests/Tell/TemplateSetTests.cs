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

        var problem = new TemplateSet(folder.FullName).Problems.Single();
        problem.ToString().Should().StartWith("to-warm.sbn, line 1, column 1: there is no template of this name; the names are room.sbn, ");
        problem.Message[problem.Message.IndexOf("room.sbn", StringComparison.Ordinal)..].Split(", ").Should().Contain(
            ["room.over.sbn", "sensor-silent.sbn", "sensor-silent.over.sbn", "clock-stepped.sbn",
                "reminder.sbn", "mail.sbn", "too-warm.sbn",
                "too-warm.over.sbn", "report.subject.sbn", "report.text.sbn", "report.html.sbn"]).And.NotContain("clock-stepped.over.sbn");
    }

    [Fact]
    public void Two_sets_share_a_folder_and_each_takes_its_own()
    {
        foreach (var name in (string[])["report.subject.sbn", "too-warm.over.sbn", "nobody.sbn", "notes.txt"])
            File.WriteAllText(Path.Combine(folder.FullName, name), "{{ place }}");
        var alarms = new TemplateSet(folder.FullName);
        (alarms.HasOwn("too-warm.over.sbn"), alarms.HasOwn("report.subject.sbn")).Should().Be((true, false));
        alarms.Problems.Select(p => p.File).Should().Equal("nobody.sbn");
        var report = new TemplateSet(folder.FullName, TemplateSet.OfReport);
        (report.HasOwn("too-warm.over.sbn"), report.HasOwn("report.subject.sbn")).Should().Be((false, true));
        report.Problems.Should().BeEmpty("a name that belongs to neither is said once");
    }

    [Fact]
    public void The_end_of_a_rule_of_the_growers_own_has_words_of_its_own()
    {
        File.WriteAllText(Path.Combine(folder.FullName, "too-warm.over.sbn"),
            "{{ place }} was {{ worst }}{{ if over }} and is not{{ end }}.");
        var renderer = Renderer(templates: new TemplateSet(folder.FullName));
        renderer.Render(Change(Rule.TooWarm, Telling.Over, 25), Curing, Held).Sms.Should().Be("CURING ROOM was 74F and is not.");
        renderer.Render(Change(Rule.TooWarm, Telling.Raised, 25), Curing, Held).Sms.Should().Be(Shipped);
        renderer.Render(Change(Rule.TooDry, Telling.Over, 25), Curing, Held).Sms.Should().StartWith("CURING ROOM fine again: 88%");
    }

    [Fact]
    public void A_reminder_of_the_growers_own_has_the_text_and_the_advice()
    {
        File.WriteAllText(Path.Combine(folder.FullName, "reminder.sbn"), "Again: {{ text }}\n{{ advice }}");
        var renderer = Renderer(templates: new TemplateSet(folder.FullName));
        renderer.Render(Change(Rule.TooWarm, Telling.Reminder, 25), Curing, Held).Sms.Should()
            .Be("Again: CURING ROOM 11F too warm (71F) since 19:15; nobody is on it.");
        renderer.Render(Change(Rule.SensorSilent, Telling.Reminder, 25), Curing, Held).Sms.Should()
            .Be("Again: CURING ROOM sensor bin-4: nothing heard for 25 min. Check its battery and its signal.");
    }

    [Fact]
    public void What_the_report_writes_of_its_values_is_text_and_no_html()
    {
        File.WriteAllText(Path.Combine(folder.FullName, "report.html.sbn"), "<b>{{ name }}</b>{{ nothing }}");
        File.WriteAllText(Path.Combine(folder.FullName, "report.text.sbn"), "<{{ name }}>");
        var report = new TemplateSet(folder.FullName, TemplateSet.OfReport);
        var values = new Dictionary<string, object?> { ["name"] = "<script>&", ["nothing"] = null };
        report.Render("report.html.sbn", values).Should().Be("<b>&lt;script&gt;&amp;</b>");
        report.Render("report.text.sbn", values).Should().Be("<<script>&>");
    }

    [Fact]
    public void A_file_may_be_as_long_as_the_limit_and_no_longer()
    {
        File.WriteAllText(Path.Combine(folder.FullName, "too-warm.sbn"), "{{ place }} hot");
        var length = (int)new FileInfo(Path.Combine(folder.FullName, "too-warm.sbn")).Length;
        new TemplateSet(folder.FullName, limits: new TemplateLimits(File: length)).Problems.Should().BeEmpty();
        new TemplateSet(folder.FullName, limits: new TemplateLimits(File: length - 1)).Problems.Single().Message.Should()
            .Be($"it is empty, or longer than {length - 1} bytes");
    }

    [Fact]
    public void The_growers_own_lie_in_the_folder_templates_and_a_mail_of_one_line_is_its_subject()
    {
        var own = Directory.CreateDirectory(Path.Combine(folder.FullName, "templates")).FullName;
        File.WriteAllText(Path.Combine(own, "mail.sbn"), "{{ title }} {{ link }}");
        var renderer = TextRenderer.Of(new RootCellar.Household.HouseholdOptions { TimeZone = "UTC" },
            folder.FullName, () => new Uri("http://cellar.local/"));
        var text = renderer.Render(Change(Rule.TooWarm, Telling.Raised, 25), Curing, Held);
        (text.Subject, text.Body).Should().Be(("too warm http://cellar.local/", Shipped));
    }

    [Fact]
    public void A_place_without_a_name_is_called_as_it_is_known_and_pages_say_the_same()
    {
        var warm = Change(Rule.TooWarm, Telling.Raised, 25);
        Renderer().Render(warm, null, Held).Sms.Should().StartWith("CURING 11F too warm");
        Renderer().Render(warm with { After = warm.After with { Place = "" } }, null, Held).Sms
            .Should().StartWith("ROOTCELLAR 11F too warm");
        Renderer().Say(warm, Curing).Fact.Should().StartWith("Curing room 11F too warm");
        Renderer().Say(warm, null).Fact.Should().StartWith("RootCellar 11F too warm");
    }

    [Fact]
    public void A_template_that_does_not_end_is_broken_off()
    {
        File.WriteAllText(Path.Combine(folder.FullName, "too-warm.sbn"),
            "{{ for i in 1..150 }}{{ for j in 1..150 }}{{ for k in 1..150 }}{{ for l in 1..150 }}{{ end }}{{ end }}{{ end }}{{ end }}x");
        var renderer = Renderer(templates: new TemplateSet(folder.FullName,
            limits: new TemplateLimits { Time = TimeSpan.FromMilliseconds(50) }));
        renderer.Render(Change(Rule.TooWarm, Telling.Raised, 25), Curing, Held).Sms.Should().Be(Shipped);
        renderer.Problems.Should().ContainSingle();
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
