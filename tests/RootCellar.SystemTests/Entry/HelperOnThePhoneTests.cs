using Microsoft.Playwright;
using RootCellar.Entry;
using RootCellar.Places;
using RootCellar.SystemTests.Pages;

namespace RootCellar.SystemTests.Entry;

/// <summary>Two people and one phone.</summary>
public class HelperOnThePhoneTests
{
    private const string Pin = "840273";

    [Fact]
    public async Task What_a_helper_typed_without_the_network_is_not_sent_in_the_name_of_whoever_signs_in_next()
    {
        await using var service = await ServiceUnderPages.StartAsync(s => s.WriteAsync(c =>
        {
            PlaceRows.Save(c, new Place("cellar", "Cellar", Purpose.Storage, 40, ["potato"]));
            Helpers.Add(c, "Sam", Pin, DateTimeOffset.UtcNow);
        }).GetAwaiter().GetResult());
        await using var phone = await Phone.OpenAsync(service.Address, 360, 740);
        var page = phone.Page;
        var waiting = page.Locator("#waiting");

        await SignInAsSamAsync(page, phone);
        await page.GotoAsync("/log/dug");
        await page.GetByLabel("Name of the lot").FillAsync("North 3");
        await page.RouteAsync("**/log/dug", r => r.Request.Method == "POST" ? r.AbortAsync() : r.ContinueAsync());
        await page.GetByRole(AriaRole.Button, new() { Name = "Write it down" }).ClickAsync();
        await Assertions.Expect(waiting).ToBeVisibleAsync();
        await page.GotoAsync("/set-up");
        await Assertions.Expect(page.GetByRole(AriaRole.Heading, new() { Name = "Ask the household" })).ToBeVisibleAsync();
        await phone.LookAsync("ask-the-household");
        await SignOutAsync(page);

        await phone.SignInAsync(service.Passphrase, "Ann");
        await Assertions.Expect(waiting).ToContainTextAsync("typed by Sam");
        await Assertions.Expect(waiting.GetByRole(AriaRole.Button, new() { Name = "Send it as mine" })).ToBeVisibleAsync();
        await phone.LookAsync("waits-for-another");
        await page.UnrouteAsync("**/log/dug");
        // The network is back and the script asks who is signed in.
        await page.RunAndWaitForResponseAsync(
            () => page.EvaluateAsync("() => document.dispatchEvent(new Event('visibilitychange'))"),
            r => new Uri(r.Url).AbsolutePath == "/log/dug");
        (await LedgerAsync(page)).Should().BeEmpty();
        await page.GotoAsync("/set-up");
        await Assertions.Expect(page.Locator("#helpers")).ToContainTextAsync("last signed in");
        await phone.LookAsync("set-up-helpers");
        await SignOutAsync(page);

        await SignInAsSamAsync(page, phone);
        await Assertions.Expect(waiting).ToBeHiddenAsync();
        (await LedgerAsync(page)).Should().Equal("dug by Sam");
    }

    private static async Task SignInAsSamAsync(IPage page, Phone phone)
    {
        await page.GotoAsync("/sign-in?returnUrl=%2Fbins");
        await page.GetByRole(AriaRole.Link, new() { Name = "I am a helper" }).ClickAsync();
        await page.GetByLabel("Your name").FillAsync("sam");
        await page.GetByLabel("PIN", new() { Exact = true }).FillAsync(Pin);
        await phone.LookAsync("sign-in-helper");
        await page.GetByRole(AriaRole.Button, new() { Name = "Sign in" }).ClickAsync();
        await Assertions.Expect(page.GetByRole(AriaRole.Heading, new() { Name = "Bins", Exact = true })).ToBeVisibleAsync();
        await Assertions.Expect(page.GetByText("Signed in as Sam")).ToBeVisibleAsync();
    }

    private static async Task SignOutAsync(IPage page)
    {
        await page.GetByRole(AriaRole.Link, new() { Name = "Sign out" }).ClickAsync();
        await page.GetByRole(AriaRole.Button, new() { Name = "Sign out" }).ClickAsync();
        await Assertions.Expect(page.GetByRole(AriaRole.Heading, new() { Name = "Sign in" })).ToBeVisibleAsync();
    }

    private static async Task<string[]> LedgerAsync(IPage page) =>
        await page.EvaluateAsync<string[]>("async () => (await (await fetch('/api/ledger')).json()).map(e => `${e.event} by ${e.by}`)");
}
