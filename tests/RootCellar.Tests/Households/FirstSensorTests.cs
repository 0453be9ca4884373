using System.Globalization;
using System.Text;
using Microsoft.Extensions.DependencyInjection;
using RootCellar.Monitoring;
using RootCellar.Readings;
using RootCellar.Report;
using RootCellar.Tests.Pages;

namespace RootCellar.Tests.Households;

/// <summary>The first sensor is hung in a cellar in which every crop has stood unmeasured for days, and which is warm and damp.</summary>
public sealed class FirstSensorTests
{
    private static readonly string[] Crops = ["potato", "apple", "carrot", "onion", "cabbage", "garlic", "winter-squash", "pear"];

    [Theory]
    [InlineData(12, 96)]
    [InlineData(17, 98)]
    [InlineData(7, 99)]
    public async Task Nothing_is_said_of_water_on_any_crop(double celsius, double percent)
    {
        await using var site = await Site.OpenAsync("kg", zone: "UTC", change: s => s.Household.Temperature = "C");
        var at = site.Time.GetUtcNow().AddDays(-10).ToString("O", CultureInfo.InvariantCulture);
        await site.WriteAsync("[" + string.Join(',', Crops.Select(crop =>
            $$"""
            {"event":"dug","at":"{{at}}","lot":"{{crop}}","crop":"{{crop}}"},
            {"event":"filled","at":"{{at}}","bin":"B-{{crop}}","lot":"{{crop}}","weightKg":20,"place":"cellar"}
            """)) + "]");
        await site.Lots.AdvanceAsync(TestContext.Current.CancellationToken);

        var pipeline = site.Services.GetRequiredService<Pipeline>();
        for (var i = 0; i < 12 * 30; i++)
        {
            var payload = string.Create(CultureInfo.InvariantCulture, $$"""{"temperature_c":{{celsius}},"humidity_pct":{{percent}}}""");
            await await pipeline.OfferAsync(new Arrived("rootcellar/cellar/door", Encoding.UTF8.GetBytes(payload), WantsReceipt: true,
                Dup: false, Replay: false, null));
            site.Time.Advance(TimeSpan.FromMinutes(5));
            await pipeline.AskAsync((_, _, _) => true, TestContext.Current.CancellationToken);
            if (i % 24 != 0) continue;
            await site.Lots.AdvanceAsync(TestContext.Current.CancellationToken);
            foreach (var crop in Crops)
                (crop, site.Lots.Views.Bins["B-" + crop].Advice.Code).Should().NotBe((crop, "wet"), $"after {i / 12} hours");
        }

        foreach (var crop in Crops) (await site.WordsAsync("/bins/B-" + crop)).Should().NotContainAny("ater has stood", "scurf");
        (await site.WordsAsync("/")).Should().NotContain("ater has stood");
        var desk = site.Services.GetRequiredService<ReportDesk>();
        desk.Of(desk.Running)!.Text.Should().NotContain("ater has stood");
    }
}
