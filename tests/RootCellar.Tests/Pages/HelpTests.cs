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

namespace RootCellar.Tests.Pages;

/// <summary>The guides of docs/help as the service shows them: one tap from each page, and true of the pages they speak of.</summary>
public sealed partial class HelpTests
{
    public static TheoryData<string> Parts => [.. HelpParts.All.Select(p => p.Name)];

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
    [MemberData(nameof(Parts))]
    public void What_it_says_stands_on_a_page_stands_there_in_these_words(string name)
    {
        var bold = HelpDocument(name).Descendants<EmphasisInline>().Where(e => e.DelimiterCount == 2)
            .Select(e => string.Concat(e.Descendants<LiteralInline>().Select(l => l.Content.ToString()))).ToList();
        bold.Where(words => !Said.Value.Contains(words) && !Patterns.Value.Any(p => p.IsMatch(words))).Should().BeEmpty();
        if (name != "cautions") bold.Should().HaveCountGreaterThan(5);
    }

    [Theory]
    [MemberData(nameof(Parts))]
    public void Its_title_is_the_pages_heading(string name) =>
        HelpText.Markdown(name).Split('\n')[0].Should().Be("# " + HelpParts.Find(name)!.Title());

    [Fact]
    public void Every_guide_there_is_is_a_part()
    {
        Directory.GetFiles(Repository.File("docs/help"), "*.md").Select(Path.GetFileNameWithoutExtension).Should()
            .BeEquivalentTo(HelpParts.All.Select(p => p.Name));
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
        HelpText.Render("# Title\n\nHang it <script>alert(1)</script> *low*.\n\n<div onclick=\"x()\">there</div>\n").Should()
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
    public async Task Who_reads_Spanish_is_told_that_it_is_in_English_and_finds_its_parts_by_Spanish_names()
    {
        await using var site = await Site.OpenAsync();
        using var luz = await Visitor.HouseholdAsync(site, "Luz");
        await luz.SendAsync("/language?returnUrl=%2F", (await luz.GetAsync("/language")).Html, ("code", "es"));
        (await luz.GetAsync("/help")).Words.Should().Contain("La primera tarde").And.Contain("inglés");
        var texts = await luz.GetAsync("/help/texts");
        texts.Words.Should().Contain("inglés");
        texts.Html.Should().Contain("<article class=\"help\" lang=\"en\"");
        using var ann = await Visitor.HouseholdAsync(site);
        (await ann.GetAsync("/help")).Words.Should().NotContain("in English for now");
    }

    private static readonly Lazy<HashSet<string>> Said = new(() => Values().ToHashSet(StringComparer.Ordinal));

    // Sentences with places for values, of which enough is said to know them by.
    private static readonly Lazy<IReadOnlyList<Regex>> Patterns = new(() =>
    [
        .. Values().Where(v => Place().IsMatch(v) && Place().Replace(v, "").Count(char.IsLetter) >= 6)
            .Select(v => new Regex("^" + string.Join(".+", Place().Split(v).Select(Regex.Escape)) + "$", RegexOptions.None, TimeSpan.FromSeconds(2))),
    ]);

    private static IEnumerable<string> Values() => Strings.ResourceManager.GetResourceSet(CultureInfo.InvariantCulture, true, true)!
        .Cast<DictionaryEntry>().Select(e => (string)e.Value!);

    private static MarkdownDocument HelpDocument(string name) => Markdown.Parse(HelpText.Markdown(name));

    private static IEnumerable<string> IdsOf(string name) => Id().Matches(HelpParts.Find(name)!.Text.ToString()!).Select(m => m.Groups["id"].Value);

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

    [GeneratedRegex(@"\{[0-9][^}]*\}", RegexOptions.None, 2000)]
    private static partial Regex Place();

    [GeneratedRegex(@"^sudo journalctl -u (?<unit>\S+) \| grep (?<word>\S+)$", RegexOptions.ExplicitCapture, 2000)]
    private static partial Regex Journal();
}
