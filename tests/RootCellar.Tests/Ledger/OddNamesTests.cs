using System.Net;
using RootCellar.Household;
using RootCellar.Ledger;
using RootCellar.Tests.Entry;
using RootCellar.Tests.Pages;
using RootCellar.Tests.Storage;

namespace RootCellar.Tests.Ledger;

/// <summary>
/// Names that cannot be seen, read like a path or turn the writing round: not taken anew, and reachable where the book has them already.
/// </summary>
public sealed class OddNamesTests
{
    public static TheoryData<string> Names =>
        ["..", ".", "...", "../x", "a/../b", "/x", "a//b", @"a\b", "\u200B", "R\u200B1", "R1\u202E", "\u2066R1\u2069", "\u3164", "\u2800",
            "R\u00A01", "R\u00AD1", "\uE000", "R1 ", " R1", "\u00A0", "R\u0301\uFE0F", "R\u007F"];

    [Theory]
    [MemberData(nameof(Names))]
    public async Task An_odd_name_is_refused_and_a_right_one_is_said(string name)
    {
        await using var books = await Bookkeeping.WithTwoBinsAsync();
        var quoted = System.Text.Json.JsonSerializer.Serialize(name);
        foreach (var json in (string[])
        [
            $$"""{"event":"dug","lot":{{quoted}},"crop":"potato","checked":true}""",
            $$"""{"event":"filled","bin":{{quoted}},"lot":"R1","weightKg":5,"checked":true}""",
            $$"""{"event":"sorted","bin":"B1","into":[{"bin":{{quoted}},"weightKg":20}],"checked":true}""",
            $$"""{"event":"row-planted","row":{{quoted}},"crop":"potato","plantedOn":"2025-05-01","checked":true}""",
            $$"""{"event":"promised","order":{{quoted}},"crop":"potato","weightKg":5,"checked":true}""",
            $$"""{"event":"moved","bin":"B1","place":{{quoted}},"checked":true}""",
            $$"""{"event":"correction","of":2,"bin":{{quoted}},"checked":true}""",
        ])
        {
            var entry = EventReader.Examine(Bookkeeping.Parse(json), books.Door.Now, out var wrong);
            // Of blanks or control characters alone no event is made at all.
            var refused = entry is null ? wrong!.Text : ((await books.Door.TakeAsync([entry], null, "test")) as LedgerAnswer.Wrong)?.Detail;
            refused.Should().NotBeNull(json).And.MatchRegex("such as \"[A-Za-z0-9]|it is empty|one line", json);
            refused.Should().NotMatchRegex("[\u200B\u202E\u2066\u2069]", "what cannot be seen is shown by its number");
        }

        books.Book.Entries.Should().HaveCount(3);
    }

    [Theory]
    [InlineData("2026-R3")]
    [InlineData("b/1")]
    [InlineData("Ölrettich 粉")]
    [InlineData("North bed, 2nd row")]
    [InlineData("café\u0301")]
    [InlineData("a.b")]
    [InlineData("🥔 1")]
    public async Task An_ordinary_name_is_taken(string name)
    {
        await using var books = await Bookkeeping.WithTwoBinsAsync();
        await books.KeepAsync($$"""{"event":"dug","lot":{{System.Text.Json.JsonSerializer.Serialize(name)}},"crop":"potato"}""");
    }

    [Theory]
    [InlineData("..")]
    [InlineData(".")]
    [InlineData("\u200B")]
    [InlineData("R\u202E1")]
    [InlineData("a/../b")]
    [InlineData("%2E%2E")]
    [InlineData("50%25")]
    public async Task What_the_book_has_under_such_a_name_is_reached_and_goes_on(string name)
    {
        var quoted = System.Text.Json.JsonSerializer.Serialize(name);
        await using var site = await Site.OpenAsync(fill: store => store.WriteAsync(c =>
        {
            LedgerEntry[] old =
            [
                Entry(1, "dug", $$"""{"lot":{{quoted}},"crop":"potato","row":{{quoted}}}"""),
                Entry(2, "filled", $$"""{"bin":{{quoted}},"lot":{{quoted}},"weightKg":20,"place":"cellar"}"""),
            ];
            foreach (var entry in old) LedgerRows.Add(c, new LedgerRow(entry, null, null, null));
        }));
        site.Book.Lots.Keys.Should().Equal(name);
        await site.WriteAsync($$"""[{"event":"eaten","bin":{{quoted}},"weightKg":1}]""");
        site.Book.Bins[name].Grams.Should().Be(19_000);

        // From the list of bins to the bin and its lot, by the links that are there.
        var bins = await site.ReadAsync("/bins");
        var toBin = Link(bins, "/bins/");
        Site.Words(bins).Should().Contain(NameRules.Seen(name));
        var bin = await site.ReadAsync(toBin);
        Site.Words(bin).Should().ContainEquivalentOf("eaten").And.Contain(NameRules.Seen(name));
        var lot = await site.WordsAsync(Link(bin, "/lots/"));
        lot.Should().Contain(NameRules.Seen(name)).And.Contain("41.89");
        using var program = await Visitor.TokenAsync(site, "read");
        foreach (var address in (string[])["/api/bins/", "/api/lots/"])
        {
            var answer = await program.GetAsync(address + toBin["/bins/".Length..]);
            answer.Status.Should().Be(HttpStatusCode.OK, address);
            System.Text.Json.JsonDocument.Parse(answer.Html).RootElement.GetProperty(address == "/api/bins/" ? "bin" : "lot").GetString()
                .Should().Be(name);
        }
    }

    private static string Link(string html, string under)
    {
        var hrefs = System.Text.RegularExpressions.Regex.Matches(
            html, $"href=\"({under}[^\"?]+)\"", System.Text.RegularExpressions.RegexOptions.None, TimeSpan.FromSeconds(5))
            .Select(m => WebUtility.HtmlDecode(m.Groups[1].Value))
                .Where(h => !h.Contains("labels", StringComparison.Ordinal) && !h.Contains("moved", StringComparison.Ordinal)).ToList();
        hrefs.Should().NotBeEmpty(under);
        return hrefs[0];
    }

    private static LedgerEntry Entry(long id, string what, string body) =>
        new(id, what, Sample.At.AddDays(-1), Sample.At.AddDays(-1), "Ann", null, Bookkeeping.Parse(body), null, null);
}
