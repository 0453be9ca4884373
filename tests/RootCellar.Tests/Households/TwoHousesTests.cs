using System.Globalization;
using System.Text;
using Microsoft.Extensions.DependencyInjection;
using RootCellar.Monitoring;
using RootCellar.Readings;
using RootCellar.Report;
using RootCellar.Tell;
using RootCellar.Tests.Languages;
using RootCellar.Tests.Pages;
using RootCellar.Tests.Storage;

namespace RootCellar.Tests.Households;

/// <summary>A house is one object: two of them in one process, of other units, zones and languages, know nothing of each other.</summary>
public sealed class TwoHousesTests
{
    [Fact]
    public async Task Two_houses_side_by_side_have_nothing_in_common()
    {
        using var folder = new TempFolder();
        PseudoLanguage.Write(folder.Path);
        var (america, europe) = (await Site.OpenAsync(zone: "America/New_York", change: s => Tell(s, "F", "en")),
            await Site.OpenAsync("kg", zone: "Europe/Berlin", record: folder, change: s => Tell(s, "C", PseudoLanguage.Code)));
        await using var first = america;
        await using var second = europe;
        await first.FillAsync("B1", "50");
        await second.LogAsync("dug", null, ("lot", "Berg"), ("crop", "potato"));
        await second.LogAsync("filled", "K1", ("lot", "Berg"), ("amount", "30"), ("unit", "kg"), ("place", "cellar"));
        // At the same time, so that whatever were shared would be overwritten now and then.
        await Task.WhenAll(Enumerable.Range(0, 40).SelectMany(
            n => new[] { SayAsync(first, 10 + (n * 0.001)), SayAsync(second, 20 + (n * 0.001)) }));

        var (one, other) = (await first.WordsAsync("/places/cellar"), await second.WordsAsync("/places/cellar"));
        one.Should().MatchRegex("50\\.[01] °F").And.NotContain("°C").And.NotContain("20.0");
        other.Should().Contain("20.0 °C").And.NotContain("°F").And.NotContain("50.");
        one.Should().Contain(Clock(first, "America/New_York", "h:mm tt").ToLowerInvariant());
        other.Should().Contain(Clock(second, "Europe/Berlin", "HH:mm"));
        (await first.WordsAsync("/bins")).Should().Contain("B1").And.Contain("50.0 lb").And.NotContain("K1");
        (await second.WordsAsync("/bins")).Should().Contain("K1").And.Contain("30.0 kg").And.NotContain("B1");
        first.Book.Lots.Keys.Should().Equal("2025-1");
        second.Book.Lots.Keys.Should().Equal("Berg");

        // Both cellars are as good as frozen at the same moment: each household is texted, shown and reported to in its own language.
        for (var minute = 0; minute < 30; minute++)
        {
            await Task.WhenAll(SayAsync(first, -5), SayAsync(second, -5));
            foreach (var site in new[] { first, second }) site.Time.Advance(TimeSpan.FromMinutes(1));
        }

        foreach (var (site, freezing, careful, bins) in new[] { (first, "near freezing", "Careful:", "Bins"),
            (second, "éééé éééééééé", "Ééééééé:", "Éééé") })
        {
            await Sample.UntilAsync(() =>
                site.Store.Read(c => OutboxRows.Latest(c, 10)).Any(t => t.Subject.Contains(freezing, StringComparison.Ordinal)));
            var report = site.Services.GetRequiredService<ReportDesk>();
            (await site.WordsAsync("/report?week=" + report.Running.Name)).Should().Contain(careful);
            (await site.WordsAsync("/alarms")).Should().Contain(freezing).And.Contain(bins);
        }
    }

    private static void Tell(Settings settings, string temperature, string language)
    {
        (settings.Household.Temperature, settings.Household.Language) = (temperature, language);
        settings.Tell.Post.Url = "http://127.0.0.1:9/";
    }

    private static string Clock(Site site, string zone, string format) =>
        TimeZoneInfo.ConvertTime(site.Time.GetUtcNow(), TimeZoneInfo.FindSystemTimeZoneById(zone))
            .ToString(format, CultureInfo.InvariantCulture);

    private static async Task SayAsync(Site site, double celsius)
    {
        var payload = string.Create(CultureInfo.InvariantCulture, $$"""{"temperature_c":{{celsius:0.000}},"humidity_pct":90}""");
        await await site.Services.GetRequiredService<Pipeline>().OfferAsync(
            new Arrived("rootcellar/cellar/door", Encoding.UTF8.GetBytes(payload), WantsReceipt: true, Dup: false, Replay: false));
    }
}
