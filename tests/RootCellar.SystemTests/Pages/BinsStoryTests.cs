using Microsoft.Playwright;
using RootCellar.Places;

namespace RootCellar.SystemTests.Pages;

public class BinsStoryTests
{
    [Fact]
    public async Task What_is_logged_without_the_network_waits_and_is_sent_once()
    {
        await using var service = await ServiceUnderPages.StartAsync(s => s.WriteAsync(c => PlaceRows.Save(c, new Place("cellar", "Cellar", Purpose.Storage, 40, ["potato"]))).GetAwaiter().GetResult());
        await using var phone = await Phone.OpenAsync(service.Address, 360, 740);
        var page = phone.Page;
        var write = page.GetByRole(AriaRole.Button, new() { Name = "Write it down" });
        var waiting = page.GetByText("Waiting on this phone for the network: 1.");
        await phone.SignInAsync(service.Passphrase, "Ann");
        await page.GotoAsync("/log/dug");
        await page.GetByLabel("Name of the lot").FillAsync("L");
        await write.ClickAsync();
        await page.GetByLabel("Which bin").FillAsync("B1");
        await page.GetByLabel("How much went in?").FillAsync("50");
        await write.ClickAsync();
        await Assertions.Expect(page.GetByText("Written down: Filled: 50.0 lb")).ToBeVisibleAsync();

        await page.GotoAsync("/log/sold?bin=B1");
        await page.GetByLabel("How much was sold?").FillAsync("10");
        await page.Context.SetOfflineAsync(true);
        await write.ClickAsync();
        await Assertions.Expect(waiting).ToBeVisibleAsync();
        await phone.LookAsync("log-waiting");
        await page.Context.SetOfflineAsync(false);
        await Assertions.Expect(waiting).ToBeHiddenAsync();
        await page.GotoAsync("/bins/B1");
        await Assertions.Expect(page.Locator(".main .value")).ToHaveTextAsync("40.0\u00A0lb");

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
        await Assertions.Expect(page.Locator(".main .value")).ToHaveTextAsync("35.0\u00A0lb");

        // More than there is cannot be settled by itself: it says so and waits for its person.
        await page.GotoAsync("/log/sold?bin=B1");
        await page.GetByLabel("How much was sold?").FillAsync("90");
        await page.Context.SetOfflineAsync(true);
        await write.ClickAsync();
        await Assertions.Expect(waiting).ToBeVisibleAsync();
        await page.Context.SetOfflineAsync(false);
        await page.GetByRole(AriaRole.Button, new() { Name = "Open it" }).ClickAsync();
        await Assertions.Expect(page.GetByRole(AriaRole.Alert)).ToContainTextAsync("Bin B1 holds 35.0 lb by the book");
        await page.GetByLabel("How much was sold?").FillAsync("9");
        await write.ClickAsync();
        await Assertions.Expect(page.GetByText("Written down: Sold: 9.0 lb")).ToBeVisibleAsync();
        await Assertions.Expect(waiting).ToBeHiddenAsync();

        // What the service refuses is set aside with the reason, and the rest goes on; a page that is closed loses neither.
        var refused = page.GetByText("Could not be written down: the service answered with 400.");
        await page.RouteAsync("**/log/sold", route => route.Request.Method == "POST" ? route.FulfillAsync(new() { Status = 400 }) : route.ContinueAsync());
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
        await Assertions.Expect(page.Locator(".main .value")).ToHaveTextAsync("25.0\u00A0lb");
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
        await Assertions.Expect(page.Locator(".main .value")).ToHaveTextAsync("22.5\u00A0lb");
        await Assertions.Expect(page.GetByText("by Ann,")).ToBeVisibleAsync();
        await phone.LookAsync("bin-corrected");
        await page.GotoAsync("/log/correct/3");
        await phone.LookAsync("log-correct");
        await page.GotoAsync("/log");
        await phone.LookAsync("log-recent");

        phone.Complaints.Where(c => !c.Contains("net::ERR_", StringComparison.Ordinal) && !c.Contains("400", StringComparison.Ordinal)).Should().BeEmpty();
    }

    [Theory]
    [InlineData(360, 740)]
    [InlineData(1280, 800)]
    public async Task A_row_is_dug_a_bin_filled_weighed_culled_sold_from_and_the_sale_undone(int width, int height)
    {
        await using var service = await ServiceUnderPages.StartAsync(s => s.WriteAsync(c =>
        {
            PlaceRows.Save(c, new Place("curing-room", "Curing room", Purpose.Curing, 25, ["potato"]));
            PlaceRows.Save(c, new Place("cellar", "Cellar", Purpose.Storage, 40, ["potato"]));
        }).GetAwaiter().GetResult());
        await using var phone = await Phone.OpenAsync(service.Address, width, height);
        var page = phone.Page;
        await phone.SignInAsync(service.Passphrase, "Ann");

        await Menu("Bins").ClickAsync();
        await Assertions.Expect(page.GetByText("It begins in the field.")).ToBeVisibleAsync();
        await phone.LookAsync("bins-empty");
        await Menu("Write down").ClickAsync();
        await phone.LookAsync("log-empty");

        await page.GetByRole(AriaRole.Link, new() { Name = "Dig a row" }).ClickAsync();
        await page.GetByLabel("Name of the lot").FillAsync("North 3");
        await page.GetByLabel("Variety").FillAsync("Kennebec");
        await page.GetByText("tender: it rubs off").ClickAsync();
        await phone.LookAsync("log-dug");
        await Write().ClickAsync();
        await Assertions.Expect(page.GetByRole(AriaRole.Status).Filter(new() { HasText = "Lot North 3 is written down" })).ToBeVisibleAsync();
        await page.GetByLabel("Which bin").FillAsync("B1");
        await page.GetByLabel("How much went in?").FillAsync("52.5");
        await page.GetByLabel("Grade").FillAsync("table");
        await phone.LookAsync("log-filled");
        await Write().ClickAsync();
        await Assertions.Expect(page.GetByText("Written down: Filled: 52.5 lb")).ToBeVisibleAsync();
        await page.GetByRole(AriaRole.Link, new() { Name = "Fill the next bin" }).ClickAsync();
        await page.GetByLabel("Which bin").FillAsync("B2");
        await page.GetByLabel("How much went in?").FillAsync("48");
        await Write().ClickAsync();
        await Assertions.Expect(page.GetByText("Written down: Filled: 48.0 lb")).ToBeVisibleAsync();

        await Menu("Write down").ClickAsync();
        await phone.LookAsync("log");
        await page.GetByLabel("Find a bin").FillAsync("b1");
        await page.GetByRole(AriaRole.Button, new() { Name = "Find" }).ClickAsync();
        await Assertions.Expect(page.GetByRole(AriaRole.Heading, new() { Name = "Bin B1" })).ToBeVisibleAsync();

        // A slip of the thumb: more than there can be.
        await Kind("Weighed").ClickAsync();
        await page.GetByLabel("What does it weigh?").FillAsync("515");
        await phone.LookAsync("log-weighed");
        await Write().ClickAsync();
        await Assertions.Expect(page.GetByRole(AriaRole.Alert)).ToContainTextAsync("Bin B1 would weigh 515.0 lb");
        await Assertions.Expect(page.GetByLabel("What does it weigh?")).ToHaveValueAsync("515");
        await phone.LookAsync("log-asked");
        await page.GetByRole(AriaRole.Link, new() { Name = "Change it" }).ClickAsync();
        await page.GetByLabel("What does it weigh?").FillAsync("51.5");
        await page.Keyboard.PressAsync("Enter");
        await Assertions.Expect(page.GetByText("Written down: Weighed: 51.5 lb")).ToBeVisibleAsync();

        await Kind("Moved").ClickAsync();
        await phone.LookAsync("log-moved");
        await page.GetByRole(AriaRole.Button, new() { Name = "Cellar" }).ClickAsync();
        await Assertions.Expect(page.GetByText("Written down: Moved: to Cellar")).ToBeVisibleAsync();
        await Kind("Culled").ClickAsync();
        await page.GetByLabel("How much was culled?").FillAsync("1.5");
        await page.GetByText("rot", new() { Exact = true }).ClickAsync();
        await phone.LookAsync("log-culled");
        await Write().ClickAsync();
        await Kind("Sold").ClickAsync();
        await page.GetByLabel("How much was sold?").FillAsync("10");
        await Write().ClickAsync();
        await Assertions.Expect(page.Locator(".main .value")).ToHaveTextAsync("40.0\u00A0lb");
        await page.GetByRole(AriaRole.Button, new() { Name = "Undo Sold" }).ClickAsync();
        await Assertions.Expect(page.GetByText("Written down: Taken back: Sold: 10.0 lb")).ToBeVisibleAsync();
        await Assertions.Expect(page.Locator(".main .value")).ToHaveTextAsync("50.0\u00A0lb");
        await phone.LookAsync("bin");
        await Kind("Sorted").ClickAsync();
        await phone.LookAsync("log-sorted");
        await page.GotoAsync("/log/sprouts-seen?bin=B1");
        await phone.LookAsync("log-sprouts");

        await Menu("Bins").ClickAsync();
        await Assertions.Expect(page.GetByText("Bins: 1 · by the book 48.0 lb")).ToBeVisibleAsync();
        await phone.LookAsync("bins");
        await page.GetByRole(AriaRole.Link, new() { Name = "Print labels" }).ClickAsync();
        await page.GetByRole(AriaRole.Checkbox, new() { Name = "B1" }).CheckAsync();
        await page.GetByRole(AriaRole.Checkbox, new() { Name = "B2" }).CheckAsync();
        await page.GetByRole(AriaRole.Button, new() { Name = "Show them" }).ClickAsync();
        await Assertions.Expect(page.GetByRole(AriaRole.Img, new() { Name = "QR code of bin B1" })).ToBeVisibleAsync();
        await phone.LookAsync("labels");
        await page.GotoAsync("/labels?bin=B1&bin=B2&sheet=paper");
        await phone.LookAsync("labels-plain");
        await page.EmulateMediaAsync(new() { Media = Media.Print });
        await phone.PictureAsync($"labels-print-{width}x{height}");

        phone.Complaints.Should().BeEmpty();

        ILocator Menu(string name) => page.GetByRole(AriaRole.Navigation, new() { Name = "Pages" }).GetByRole(AriaRole.Link, new() { Name = name });
        ILocator Kind(string name) => page.Locator(".kinds").GetByRole(AriaRole.Link, new() { Name = name });
        ILocator Write() => page.GetByRole(AriaRole.Button, new() { Name = "Write it down" });
    }
}
