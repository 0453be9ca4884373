using Microsoft.Playwright;
using RootCellar.Household;
using RootCellar.Places;

namespace RootCellar.SystemTests.Pages;

/// <summary>What a phone does with what it could not send at once, beyond the plain case in <see cref="SeasonStoryTests"/>.</summary>
public class WithoutTheNetworkTests
{
    [Fact]
    public async Task What_was_half_sent_asked_about_refused_or_signed_out_is_neither_lost_nor_doubled()
    {
        await using var service = await ServiceUnderPages.StartAsync(
            s => s.WriteAsync(c => PlaceRows.Save(c, new Place("cellar", "Cellar", Purpose.Storage, 40, ["potato"]))).GetAwaiter()
                .GetResult());
        await using var phone = await Phone.OpenAsync(service.Address, 360, 740);
        var page = phone.Page;
        var write = page.GetByRole(AriaRole.Button, new() { Name = "Write it down" });
        var waiting = page.GetByText("No network: 1 kept on this phone.");
        await phone.SignInAsync(service.Passphrase, "Ann");
        await page.GotoAsync("/log/dug");
        await page.GetByLabel("Name of the lot").FillAsync("L");
        await write.ClickAsync();
        await page.GetByLabel("Which bin").FillAsync("B1");
        await page.GetByLabel("How much went in?").FillAsync("50");
        await write.ClickAsync();
        await Assertions.Expect(page.GetByText("Written down: Filled: 50.0 lb")).ToBeVisibleAsync();

        // It arrives, but the answer is lost on the way back.
        await page.GotoAsync("/log/sold?bin=B1");
        await page.GetByLabel("How much was sold?").FillAsync("5");
        await page.RouteAsync("**/log/sold", async route =>
        {
            await route.FetchAsync(new() { MaxRedirects = 0 });
            await route.AbortAsync();
        });
        await write.ClickAsync();
        await Assertions.Expect(waiting).ToBeVisibleAsync();
        await page.UnrouteAllAsync();
        await page.EvaluateAsync("() => window.dispatchEvent(new Event('online'))");
        await Assertions.Expect(waiting).ToBeHiddenAsync();
        await page.GotoAsync("/bins/B1");
        await Assertions.Expect(page.Locator(".main .value")).ToHaveTextAsync("45.0\u00A0lb");

        // More than there is cannot be settled by itself: it says so and waits for its person.
        await page.GotoAsync("/log/sold?bin=B1");
        await page.GetByLabel("How much was sold?").FillAsync("90");
        await page.Context.SetOfflineAsync(true);
        await write.ClickAsync();
        await Assertions.Expect(waiting).ToBeVisibleAsync();
        await page.Context.SetOfflineAsync(false);
        await page.GetByRole(AriaRole.Button, new() { Name = "Open it" }).ClickAsync();
        await Assertions.Expect(page.GetByRole(AriaRole.Alert)).ToContainTextAsync("Bin B1 holds 45.0 lb by the book");
        await page.GetByLabel("How much was sold?").FillAsync("9");
        await write.ClickAsync();
        await Assertions.Expect(page.GetByText("Written down: Sold: 9.0 lb")).ToBeVisibleAsync();
        await Assertions.Expect(waiting).ToBeHiddenAsync();

        // What the service refuses is set aside with the reason, and the rest goes on; a page that is closed loses neither.
        var refused = page.GetByText("Could not be written down: the service answered with 400.");
        await page.RouteAsync("**/log/sold", route => route.Request.Method == "POST" ? route.FulfillAsync(new() { Status = 400 })
            : route.ContinueAsync());
        await page.GotoAsync("/log/sold?bin=B1");
        await page.GetByLabel("How much was sold?").FillAsync("3");
        await write.ClickAsync();
        await Assertions.Expect(refused).ToBeVisibleAsync();
        await page.GotoAsync("/log/eaten?bin=B1");
        await page.GetByLabel("How much was eaten?").FillAsync("1");
        await page.Context.SetOfflineAsync(true);
        await write.ClickAsync();
        await Assertions.Expect(waiting).ToBeVisibleAsync();
        await phone.LookAsync("log-set-aside");
        await page.Context.SetOfflineAsync(false);
        await Assertions.Expect(waiting).ToBeHiddenAsync();
        await Assertions.Expect(refused).ToBeVisibleAsync();
        await page.GotoAsync("about:blank");
        await page.GotoAsync("/bins/B1");
        await Assertions.Expect(page.Locator(".main .value")).ToHaveTextAsync("35.0\u00A0lb");
        await Assertions.Expect(refused).ToBeVisibleAsync();
        await page.GetByRole(AriaRole.Button, new() { Name = "Open it" }).ClickAsync();
        await Assertions.Expect(page.GetByLabel("How much was sold?")).ToHaveValueAsync("3");
        await page.UnrouteAllAsync();
        await page.GetByLabel("How much was sold?").FillAsync("2");
        await write.ClickAsync();
        await Assertions.Expect(page.GetByText("Written down: Sold: 2.0 lb")).ToBeVisibleAsync();
        await Assertions.Expect(refused).ToBeHiddenAsync();

        // Nobody is signed in any more: it is kept until somebody is. A correction waits like anything else.
        await page.GetByRole(AriaRole.Link, new() { Name = "Correct Sold: 2.0 lb" }).First.ClickAsync();
        await page.GetByLabel("How much was sold?").FillAsync("2.5");
        await page.Context.ClearCookiesAsync();
        await page.GetByRole(AriaRole.Button, new() { Name = "Correct" }).ClickAsync();
        await Assertions.Expect(page.GetByText("Kept on this phone: 1. Sign in, and they are sent.")).ToBeVisibleAsync();
        await phone.SignInAsync(service.Passphrase, "Ann");
        await Assertions.Expect(page.Locator("#waiting")).ToBeHiddenAsync();
        await page.GotoAsync("/bins/B1");
        await Assertions.Expect(page.Locator(".main .value")).ToHaveTextAsync("32.5\u00A0lb");
        await Assertions.Expect(page.GetByText("by Ann,")).ToBeVisibleAsync();

        phone.Complaints.Where(c => !c.Contains("net::ERR_", StringComparison.Ordinal) && !c.Contains("400", StringComparison.Ordinal))
            .Should().BeEmpty();
    }
}
