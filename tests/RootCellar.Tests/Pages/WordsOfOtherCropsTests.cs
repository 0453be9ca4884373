using System.Globalization;
using System.Text.RegularExpressions;
using Microsoft.Extensions.DependencyInjection;
using RootCellar.Monitoring;
using RootCellar.Places;
using RootCellar.Report;
using RootCellar.Science.Crops;
using RootCellar.Tests.Storage;

namespace RootCellar.Tests.Pages;

/// <summary>A household without potatoes reads nothing of potatoes: on no page, label or form, in no report and no answer of the API.</summary>
public sealed class WordsOfOtherCropsTests
{
    // Of potatoes alone. "Dug" is what other roots are as well.
    private static readonly Regex OfPotatoes = new(@"(?i)\b(potato(es)?|tubers?|vines?|late blight|thumb|silver scurf)\b", RegexOptions.ExplicitCapture, TimeSpan.FromSeconds(5));

    public static TheoryData<string, string> Households => new()
    {
        { "apple pear quince", "dug|dig|digging|lifted|skins?|sprouts?|sprouted|cured?|curing" },
        { "cabbage brussels-sprouts leek kohlrabi", "dug|dig|digging|skins?|cured?|curing" },
        { "onion garlic shallot", "dug|dig|digging|picked|skins? set" },
        { "winter-squash pumpkin butternut", "dug|dig|digging|lifted|skins?|sprouts?" },
        { "walnut chestnut dry-bean", "dug|dig|digging|lifted|skins?|cured?" },
        { "carrot beet parsnip celeriac", "picked|skins?|cured?" },
    };

    [Theory]
    [MemberData(nameof(Households))]
    public async Task Each_crop_is_spoken_of_in_its_own_words_everywhere(string crops, string not)
    {
        var ids = crops.Split(' ');
        await using var site = await Site.OpenAsync("kg", zone: "UTC", change: s => s.Household.Temperature = "C", fill: store => store.WriteAsync(c =>
        {
            for (var i = 0; i < 6 * 24 * 12; i++)
                PlaceRows.SaveAir(c, new PlaceAir("cellar", Sample.At.AddMinutes(-10 * i), 3, 92, null, null, null, null, null, null, AirQuality.Good));
        }));
        await site.Services.GetRequiredService<Pipeline>().AskAsync(
            (house, wall, mono) =>
            {
                house.SavePlace(new Place("cellar", "Cellar", Purpose.Storage, null, ids));
                return house.RemovePlace("curing", mono, wall);
            },
            TestContext.Current.CancellationToken);
        var at = site.Time.GetUtcNow().AddDays(-9).ToString("O", CultureInfo.InvariantCulture);
        await site.WriteAsync("[" + string.Join(',', ids.Select(crop =>
            $$"""
            {"event":"dug","at":"{{at}}","lot":"L-{{crop[..2]}}","crop":"{{crop}}","weightKg":60},
            {"event":"filled","at":"{{at}}","bin":"B-{{crop[..2]}}","lot":"L-{{crop[..2]}}","weightKg":50,"place":"cellar"},
            {"event":"culled","bin":"B-{{crop[..2]}}","weightKg":1,"reason":"rot"},
            {"event":"promised","order":"O-{{crop[..2]}}","crop":"{{crop}}","weightKg":5}
            """)) + "]");
        site.Time.Advance(TimeSpan.FromMinutes(6));
        await site.Lots.AdvanceAsync(TestContext.Current.CancellationToken);
        var wrong = new Regex($@"(?i)\b({not})\b", RegexOptions.None, TimeSpan.FromSeconds(5));
        var found = new List<string>();
        foreach (var crop in ids)
        {
            var (bin, lot) = ("B-" + crop[..2], "L-" + crop[..2]);
            string[] paths =
            [
                $"/bins/{bin}", $"/lots/{lot}", $"/labels?sheet=a4&bin={bin}", $"/log/filled?lot={lot}", $"/api/bins/{bin}", $"/api/lots/{lot}",
                .. RootCellar.Ledger.LogKinds.OfBinWith(CropTable.Default.Find(crop)).Select(k => $"/log/{k.Name}?bin={bin}"),
            ];
            foreach (var path in paths) Look(path, await SeenAsync(path), wrong);
        }

        foreach (var path in (string[])["/", "/bins", "/stock", "/ahead", "/report", "/alarms", "/places/cellar", "/log", "/api/advice", "/api/stock", "/api/ahead", "/api/report"])
            Look(path, await SeenAsync(path), wrong);
        var desk = site.Services.GetRequiredService<ReportDesk>();
        var report = desk.Of(desk.Running)!;
        Look("the report as mail", report.Text, wrong);
        string.Join('\n', found).Should().BeEmpty();

        // Without what is no word to the reader: links, field names, choices that are not offered, and what the list of crops calls each.
        async Task<string> SeenAsync(string path)
        {
            var html = await site.ReadAsync(path);
            if (path.StartsWith("/api", StringComparison.Ordinal)) return Regex.Replace(html, "\"[a-zA-Z]+\":", "", RegexOptions.None, TimeSpan.FromSeconds(5));
            html = Regex.Replace(html, "(?s)<(?<tag>script|style|head|datalist)\\b.*?</\\k<tag>>|<[^>]* hidden[^>]*>.*?</|<option[^>]*>.*?</option>", " ", RegexOptions.ExplicitCapture, TimeSpan.FromSeconds(5));
            return Site.Words(html);
        }

        void Look(string where, string text, Regex others)
        {
            foreach (var match in OfPotatoes.Matches(text).Concat(others.Matches(text)))
                found.Add($"{where}: {text[Math.Max(0, match.Index - 50)..Math.Min(text.Length, match.Index + 50)].ReplaceLineEndings(" ")}");
        }
    }
}
