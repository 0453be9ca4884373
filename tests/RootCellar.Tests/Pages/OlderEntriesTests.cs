using System.Globalization;
using System.Text.RegularExpressions;

namespace RootCellar.Tests.Pages;

/// <summary>A long history is read to its beginning on the pages themselves.</summary>
public class OlderEntriesTests
{
    [Theory]
    [InlineData("/bins/B1")]
    [InlineData("/lots/L")]
    public async Task Every_entry_can_be_come_to_from_the_newest_one(string address)
    {
        const int Weighings = 205;
        await using var site = await Site.OpenAsync();
        var weighed = string.Join(",\n", Enumerable.Range(0, Weighings).Select(i => string.Create(CultureInfo.InvariantCulture,
            $$"""{"event":"weighed","bin":"B1","weightKg":19.5,"at":"{{new DateTimeOffset(2025, 9, 2, 0, 0, 0, TimeSpan.Zero).AddHours(3 * i):yyyy-MM-ddTHH:mm:ssZ}}","note":"n{{i}}.","checked":true}""")));
        await site.WriteAsync($$"""
            [{"event":"dug","lot":"L","crop":"potato","at":"2025-09-01T08:00:00Z"},
             {"event":"filled","bin":"B1","lot":"L","weightKg":20,"place":"cellar","at":"2025-09-01T09:00:00Z"},
            {{weighed}}]
            """);
        var notes = new List<int>();
        string? next = address;
        for (var page = 0; next is not null && page < 5; page++)
        {
            var html = await site.ReadAsync(next);
            var words = Site.Words(html);
            notes.AddRange(Regex.Matches(words, @"“n(?<n>\d+)\.”", RegexOptions.None, TimeSpan.FromSeconds(5))
                .Select(m => int.Parse(m.Groups["n"].Value, CultureInfo.InvariantCulture)));
            words.Should().NotContain("/api/", "no page tells a grower to call the API");
            if (page > 0) words.Should().Contain("Newest again");
            if (page > 0 && address.StartsWith("/lots", StringComparison.Ordinal)) html.Should().Contain("<details id=\"history\" open");
            var older = Regex.Match(html, @"href=""(?<to>[^""]*\?older=\d+)#history"">Show (?<left>\d+) older entries", RegexOptions.None, TimeSpan.FromSeconds(5));
            next = older.Success ? older.Groups["to"].Value : null;
        }

        notes.Should().Equal(Enumerable.Range(0, Weighings).Reverse(), "each is there once, the newest first");
        // What is none of its places is its beginning.
        foreach (var none in (string[])["-1", "99999", "0"])
            (await site.WordsAsync($"{address}?older={none}")).Should().Contain($"“n{Weighings - 1}.”");
    }
}
