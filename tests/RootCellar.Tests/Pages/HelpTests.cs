using System.Collections;
using System.Globalization;
using System.Net;
using System.Text;
using System.Text.RegularExpressions;
using Markdig;
using Markdig.Syntax;
using Markdig.Syntax.Inlines;
using Microsoft.Extensions.DependencyInjection;
using RootCellar.Commands;
using RootCellar.Household;
using RootCellar.Pages.Help;
using RootCellar.Readings;
using RootCellar.Tests.Entry;
using RootCellar.Tests.Storage;
using HouseLanguages = RootCellar.Household.Languages;

namespace RootCellar.Tests.Pages;

/// <summary>The guides of docs/help as the service shows them: one tap from each page, and true of the pages they speak of.</summary>
public sealed partial class HelpTests
{
    private const string Spanish = "es";

    public static TheoryData<string> Parts => [.. HelpParts.All.Select(p => p.Name)];

    public static TheoryData<string, string> Guides => [.. HelpParts.All.SelectMany(p => new[] { (p.Name, HelpText.First), (p.Name, Spanish) })];

    [Fact]
    public async Task Every_page_leads_with_one_tap_to_the_part_about_it_and_that_part_is_there()
    {
        await using var site = await Site.OpenAsync();
        await site.FillAsync();
        using var ann = await Visitor.HouseholdAsync(site);
        using var stranger = new Visitor(site);
        var seen = 0;
        foreach (var (_, pattern, asked, page, _) in (await WhoMayTests.EndpointsAsync(site)).Where(e => e.Page is not null && e.Method == "GET"))
        {
            // Two pages share their way; the one of the book answers for what is no row's.
            var path = page == "/Rows/WriteRow" ? "/log/row-planted" : asked;
            var about = HelpParts.About(page!);
            about.Should().NotBeNull($"{page} is named in HelpParts");
            if (about!.Split('#') is [var address, var anchor])
                IdsOf(address[(HelpParts.Address.Length + 1)..]).Should().Contain(anchor, $"{page} leads there");
            foreach (var who in new[] { ann, stranger })
            {
                var answer = await who.GetAsync(path);
                if (answer.Status != HttpStatusCode.OK) continue;
                seen++;
                HelpLink().Matches(answer.Html).Select(m => m.Groups["to"].Value).Should().Equal([about], pattern);
                if (who == stranger) (await who.GetAsync(about.Split('#')[0])).Status.Should().Be(HttpStatusCode.OK, $"{pattern} is open, so its help is");
            }
        }

        seen.Should().BeGreaterThan(30);
    }

    [Theory]
    [MemberData(nameof(Parts))]
    public async Task Every_link_of_it_leads_somewhere_and_every_page_it_names_is_there(string name)
    {
        await using var site = await Site.OpenAsync();
        using var ann = await Visitor.HouseholdAsync(site);
        var part = await ann.GetAsync("/help/" + name);
        part.Status.Should().Be(HttpStatusCode.OK);
        var links = Href().Matches(Article().Match(part.Html).Value).Select(m => WebUtility.HtmlDecode(m.Groups["to"].Value)).ToList();
        if (name != "cautions") links.Should().NotBeEmpty();
        foreach (var link in links)
        {
            link.Should().StartWith("/", "nothing outside the house is needed to read it");
            var answer = await ann.GetAsync(link.Split('#')[0]);
            answer.Status.Should().Be(HttpStatusCode.OK, link);
            if (link.Split('#') is [_, var anchor]) answer.Html.Should().Contain($"id=\"{anchor}\"", link);
        }
    }

    [Theory]
    [MemberData(nameof(Guides))]
    public void What_it_says_stands_on_a_page_stands_there_in_these_words(string name, string language)
    {
        var said = Values(language).ToHashSet(StringComparer.Ordinal);
        // Sentences with places for values, of which enough is said to know them by.
        var patterns = said.Where(v => Place().IsMatch(v) && Place().Replace(v, "").Count(char.IsLetter) >= 6)
            .Select(v => new Regex("^" + string.Join(".+", Place().Split(v).Select(Regex.Escape)) + "$", RegexOptions.None, TimeSpan.FromSeconds(2))).ToList();

        var bold = BoldOf(name, language);

        bold.Where(words => !said.Contains(words) && !patterns.Exists(p => p.IsMatch(words))).Should().BeEmpty();
        if (name != "cautions") bold.Should().HaveCountGreaterThan(5);
    }

    [Theory]
    [MemberData(nameof(Guides))]
    public void Its_title_is_the_pages_heading(string name, string language) =>
        HelpText.Markdown(name, language).Split('\n')[0].Should().Be("# " + HouseLanguages.Shipped.In(language, HelpParts.Find(name)!.Title));

    [Theory]
    [MemberData(nameof(Parts))]
    public void In_Spanish_it_is_the_same_guide(string name)
    {
        var (english, spanish) = (HelpDocument(name), HelpDocument(name, Spanish));

        Levels(spanish).Should().Equal(Levels(english));
        Links(spanish).Should().BeEquivalentTo(Links(english));
        Blocks(spanish).Should().Equal(Blocks(english), "commands and messages are the program's");
        BoldOf(name, Spanish).Should().HaveSameCount(BoldOf(name, HelpText.First));
        Numbers(name, Spanish).Should().BeEquivalentTo(Numbers(name, HelpText.First));
        IdsOf(name, Spanish).Should().Equal(IdsOf(name), "what leads to a part of it leads there in both");

        static IEnumerable<int> Levels(MarkdownDocument of) => of.OfType<HeadingBlock>().Select(h => h.Level);
        static IEnumerable<string?> Links(MarkdownDocument of) => of.Descendants<LinkInline>().Select(l => l.Url);
        static IEnumerable<string> Blocks(MarkdownDocument of) => of.Descendants<FencedCodeBlock>().Select(b => b.Lines.ToString());
        static IEnumerable<string> Numbers(string of, string language) => Number().Matches(HelpText.Markdown(of, language)).Select(m => m.Value);
    }

    [Fact]
    public void Every_guide_there_is_is_a_part()
    {
        foreach (var folder in new[] { "docs/help", "docs/help/es" })
            Directory.GetFiles(Repository.File(folder), "*.md").Select(Path.GetFileNameWithoutExtension).Should()
                .BeEquivalentTo(HelpParts.All.Select(p => p.Name), folder);
    }

    [Fact]
    public async Task Every_command_printed_in_it_runs_and_every_message_is_read()
    {
        var (commands, messages) = (0, 0);
        foreach (var block in HelpParts.All.SelectMany(p => HelpDocument(p.Name).Descendants<FencedCodeBlock>()))
        {
            var lines = block.Lines.ToString().Split('\n');
            if (block.Info == "payload")
            {
                messages++;
                lines.Should().HaveCount(2);
                new PayloadDecoder([]).Decode(lines[0], Encoding.UTF8.GetBytes(lines[1]), DateTimeOffset.UnixEpoch.AddYears(56)).Should()
                    .BeOfType<Decoded.Measurements>(lines[0]).Which.Values.Should().OnlyContain(v => double.IsFinite(v.Value));
                continue;
            }

            foreach (var line in lines)
            {
                commands++;
                if (Journal().Match(line) is { Success: true } journal)
                {
                    // What systemd calls the unit, and a word of the line that a first start prints.
                    File.Exists(Repository.File($"src/RootCellar/Packaging/{journal.Groups["unit"].Value}.service")).Should().BeTrue(line);
                    ServiceStart.PassphraseIs.Should().Contain(journal.Groups["word"].Value);
                    continue;
                }

                line.Should().StartWith("rootcellar ");
                using var output = new StringWriter();
                using var error = new StringWriter();
                (await CommandLine.RunAsync(line.Split(' ')[1..], output, error, TestContext.Current.CancellationToken)).Should().Be(0, $"{line}: {error}");
            }
        }

        commands.Should().BePositive();
        messages.Should().BeGreaterThan(2);
    }

    [Fact]
    public void The_limits_of_CO2_in_it_are_the_ones_texts_go_by()
    {
        var cautions = HelpText.Markdown("cautions");
        foreach (var ppm in new[]
        {
            Science.Cellar.RoomCaution.WorkingDayPpm, Science.Cellar.RoomCaution.ShortTermPpm, Science.Cellar.RoomCaution.ImmediatelyDangerousPpm,
        }) cautions.Should().Contain(ppm.ToString("N0", CultureInfo.InvariantCulture) + " ppm");
    }

    [Fact]
    public void What_looks_like_HTML_in_a_guide_is_shown_as_text() =>
        HelpText.Render("# Title\n\nHang it <script>alert(1)</script> *low*.\n\n<div onclick=\"x()\">there</div>\n", "").Should()
            .NotContain("<script").And.NotContain("<div").And.NotContain("Title").And.Contain("&lt;script&gt;").And.Contain("<em>low</em>");

    [Fact]
    public async Task What_is_needed_before_signing_in_is_open_and_the_rest_asks_for_it()
    {
        await using var site = await Site.OpenAsync();
        using var stranger = new Visitor(site);
        foreach (var part in HelpParts.All)
        {
            var answer = await stranger.GetAsync(part.Address);
            if (part.Open) answer.Html.Should().Contain("<article class=\"help\"");
            else answer.Location.Should().Contain("/sign-in?");
        }

        (await stranger.GetAsync("/help")).Html.Should().Contain("href=\"/help/first-evening\"").And.NotContain("class=\"bar\"");
        (await stranger.GetAsync("/help/nothing")).Location.Should().Contain("/sign-in?");
        (await site.LookAsync("/help/nothing")).Status.Should().Be(HttpStatusCode.NotFound);
    }

    [Fact]
    public async Task A_phone_that_has_it_is_not_sent_it_again_until_something_on_it_changes()
    {
        await using var site = await Site.OpenAsync();
        using var ann = await Visitor.HouseholdAsync(site);
        (await ann.GetAsync("/help/words")).Html.Should().Contain("<article");
        var tag = ann.Headers["ETag"].Single();
        ann.Headers["Cache-Control"].Should().Equal("no-cache, private");
        var again = await AskAsync(ann, "/help/words", tag);
        again.Status.Should().Be(HttpStatusCode.NotModified);
        again.Html.Should().BeEmpty();
        (await AskAsync(ann, "/help/season", tag)).Status.Should().Be(HttpStatusCode.OK);
        await ann.SendAsync("/language?returnUrl=%2F", (await ann.GetAsync("/language")).Html, ("code", "es"));
        (await AskAsync(ann, "/help/words", tag)).Status.Should().Be(HttpStatusCode.OK, "another language is another page");
    }

    [Fact]
    public async Task Who_reads_Spanish_reads_it_in_Spanish_and_in_a_language_without_guides_in_English()
    {
        using var folder = new TempFolder();
        Directory.CreateDirectory(Path.Combine(folder.Path, "languages"));
        await File.WriteAllTextAsync(Path.Combine(folder.Path, "languages", "de.resx"),
            """<root><data name="Language"><value>de</value></data></root>""", TestContext.Current.CancellationToken);
        await using var site = await Site.OpenAsync(record: folder, change: s => s.Household.Language = "de");
        using var luz = await Visitor.HouseholdAsync(site, "Luz");
        var german = await luz.GetAsync("/help/texts");
        german.Words.Should().Contain("in English for now");
        german.Html.Should().Contain("<article class=\"help\" lang=\"en\"").And.Contain("<h2 id=\"answer\">Answer</h2>");

        await luz.SendAsync("/language?returnUrl=%2F", (await luz.GetAsync("/language")).Html, ("code", Spanish));

        (await luz.GetAsync("/help")).Words.Should().Contain("La primera tarde").And.NotContain("inglés");
        (await luz.GetAsync("/help/texts")).Html.Should().Contain("<article class=\"help\" lang=\"es\"").And.Contain("<h2 id=\"answer\">").And.NotContain(">Answer</h2>");
    }

    private static List<string> Values(string language) => HouseLanguages.Shipped.In(language, () => Strings.ResourceManager
        .GetResourceSet(CultureInfo.InvariantCulture, true, true)!.Cast<DictionaryEntry>().Select(e => Strings.ResourceManager.GetString((string)e.Key)!).ToList());

    private static MarkdownDocument HelpDocument(string name, string language = HelpText.First) => Markdown.Parse(HelpText.Markdown(name, language));

    private static List<string> BoldOf(string name, string language) => [.. HelpDocument(name, language).Descendants<EmphasisInline>()
        .Where(e => e.DelimiterCount == 2).Select(e => string.Concat(e.Descendants<LiteralInline>().Select(l => l.Content.ToString())))];

    private static IEnumerable<string> IdsOf(string name, string language = HelpText.First) =>
        Id().Matches(HelpParts.Find(name)!.Text(language).ToString()!).Select(m => m.Groups["id"].Value);

    private static Task<Answer> AskAsync(Visitor who, string path, string tag)
    {
        var request = new HttpRequestMessage(HttpMethod.Get, path);
        request.Headers.TryAddWithoutValidation("If-None-Match", tag);
        return who.SendAsync(request);
    }

    [GeneratedRegex("class=\"round help\" href=\"(?<to>[^\"]*)\"", RegexOptions.ExplicitCapture, 2000)]
    private static partial Regex HelpLink();

    [GeneratedRegex("<article class=\"help\".*</article>", RegexOptions.Singleline | RegexOptions.ExplicitCapture, 2000)]
    private static partial Regex Article();

    [GeneratedRegex("href=\"(?<to>[^\"]*)\"", RegexOptions.ExplicitCapture, 2000)]
    private static partial Regex Href();

    [GeneratedRegex("id=\"(?<id>[^\"]*)\"", RegexOptions.ExplicitCapture, 2000)]
    private static partial Regex Id();

    [GeneratedRegex(@"[0-9][0-9.,]*[0-9]|[0-9]", RegexOptions.None, 2000)]
    private static partial Regex Number();

    [GeneratedRegex(@"\{[0-9][^}]*\}", RegexOptions.None, 2000)]
    private static partial Regex Place();

    [GeneratedRegex(@"^sudo journalctl -u (?<unit>\S+) \| grep (?<word>\S+)$", RegexOptions.ExplicitCapture, 2000)]
    private static partial Regex Journal();
}
