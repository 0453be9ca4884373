using System.Text.Json.Nodes;
using Microsoft.Playwright;
using static RootCellar.SystemTests.Pages.Account;

namespace RootCellar.SystemTests.Pages;

/// <summary>The second half: what goes out, a network that does not hold, and the sum of it all.</summary>
public sealed partial class SeasonStoryTests
{
    private async Task PromiseAndSellAsync(Grower grower)
    {
        var page = grower.Page;
        await grower.MenuAsync("Write");
        await grower.Link("Promise an order").ClickAsync();
        await grower.TypeAsync("Whose order", "Oak Street");
        await page.GetByLabel("Grade").FillAsync("table");
        await page.Locator("#amount").FillAsync("20");
        await page.GetByLabel("Due on").FillAsync(Day(dug.AddDays(24)));
        await grower.LookAsync("log-promised");
        await grower.WriteAsync();
        await grower.IsToldAsync("Written down: Promised: 20.0\u00A0lb, Potato");
        await grower.SeesAsync("It can be met");
        await grower.LookAsync("stock-promised");
        await grower.Link("Sold from it K1, Oak Street").ClickAsync();
        await grower.TypeAsync("How much was sold?", "20");
        await grower.LookAsync("log-sold");
        await grower.WriteAsync();
        await grower.SeesAsync("Filled or canceled: 1");
        await page.GetByText("Filled or canceled: 1").ClickAsync();
        await grower.SeesAsync("gone out 20\u00A0lb");
        await grower.LookAsync("stock");
    }

    /// <summary>Out of reach of the Wi-Fi, and then the service itself loses its power: what was written waits, and counts once.</summary>
    private static async Task LoseTheNetworkAsync(Grower grower, Phone phone, ServiceUnderPages service)
    {
        var page = grower.Page;
        await grower.OpenBinAsync("K2");
        await grower.HappenedAsync("Eaten");
        await grower.TypeAsync("How much was eaten?", "3");
        phone.Away = true;
        await page.Context.SetOfflineAsync(true);
        await grower.WriteAsync();
        await Assertions.Expect(grower.Waiting).ToContainTextAsync("No network: 1 kept on this phone.");
        await grower.LookAsync("log-waiting");
        await page.Context.SetOfflineAsync(false);
        await Assertions.Expect(grower.Waiting).ToBeHiddenAsync();
        await grower.OpenBinAsync("K2");
        await Assertions.Expect(grower.ByTheBook).ToHaveTextAsync("45.0\u00A0lb");

        await grower.OpenBinAsync("Y1");
        await grower.HappenedAsync("Given away");
        await grower.TypeAsync("How much was given away?", "5");
        await service.PullThePlugAsync();
        await grower.WriteAsync();
        await Assertions.Expect(grower.Waiting).ToContainTextAsync("No network: 1 kept on this phone.");
        await service.BeginAsync();
        // EntryDesk the phone out of the pocket is one of the moments at which it tries again.
        await page.EvaluateAsync("() => document.dispatchEvent(new Event('visibilitychange'))");
        await Assertions.Expect(grower.Waiting).ToBeHiddenAsync();
        phone.Away = false;
        await grower.OpenBinAsync("Y1");
        await Assertions.Expect(grower.ByTheBook).ToHaveTextAsync("50.0\u00A0lb");
        await grower.MenuAsync("Write");
        await grower.LookAsync("log-recent");
        await grower.MenuAsync("Bins");
        await grower.LookAsync("bins");
        await page.GotoAsync($"/lots/{Lot(1)}");
        await grower.LookAsync("lot");
        await page.GotoAsync("/report");
        await Assertions.Expect(page.Locator(".report")).ToContainTextAsync(Lot(1));
        await grower.LookAsync("report");
    }

    /// <summary>By hand, in grams: every pound that was dug is in a bin, loose, gone out under its reason, or dried away.</summary>
    private static async Task AllIsAccountedForAsync(Grower grower)
    {
        var bins = (await GetAsync(grower, "/api/bins")).AsArray()
            .ToDictionary(b => (string)b!["bin"]!, b => Grams(b!["bookKg"]), StringComparer.Ordinal);
        bins.Should().Equal(new Dictionary<string, long>(StringComparer.Ordinal)
        {
            ["K1"] = Lb(51.5) - Lb(20),
            ["K2"] = Lb(48) - Lb(3),
            ["K3"] = Lb(56.5) - Lb(1.5),
            ["Y1"] = Lb(55) - Lb(5),
            ["Y2"] = Lb(45.5),
        });

        var lots = (await GetAsync(grower, "/api/lots")).AsArray()
            .ToDictionary(l => (string)l!["lot"]!, l => Account.Of(l!), StringComparer.Ordinal);
        lots[Lot(1)].Should().Be(new Account(
            Dug: Lb(160),
            OnHand: bins["K1"] + bins["K2"] + bins["K3"],
            Loose: Lb(160) - Lb(52.5) - Lb(48) - Lb(57.5),
            Shrink: Lb(52.5) - Lb(51.5) + Lb(57.5) - Lb(56.5),
            Outs: $"culled-rot {Lb(1.5)}, eaten {Lb(3)}, sold {Lb(20)}"));
        lots[Lot(2)].Should()
            .Be(new Account(Dug: Lb(55) + Lb(45.5), OnHand: bins["Y1"] + bins["Y2"], Loose: 0, Shrink: 0, Outs: $"given {Lb(5)}"));

        var sent = (await GetAsync(grower, "/api/ledger")).AsArray().Select(e => (string)e!["event"]!);
        sent.Where(e => e is "eaten" or "given").Should().Equal(["eaten", "given"], "what waited was sent exactly once");
        (await GetAsync(grower, "/api/bins/K1"))["estimate"]!["healing"]!["stage"]!.ToString().Should().Be("healed");
    }

    private static async Task<JsonNode> GetAsync(Grower grower, string path) =>
        JsonNode.Parse(await grower.Page.EvaluateAsync<string>("async path => await (await fetch(path)).text()", path))!;
}
