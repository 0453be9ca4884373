using Microsoft.Playwright;
using RootCellar.Places;
using RootCellar.SystemTests.Running;

namespace RootCellar.SystemTests.Pages;

/// <summary>Over https the page for the cellar stays on the phone: in a real browser, with the service gone.</summary>
public sealed class CellarKeptTests : IDisposable
{
    private readonly Scratch files = new();
    private readonly OwnAuthority authority = new();

    public void Dispose()
    {
        authority.Dispose();
        files.Dispose();
    }

    [Fact]
    public async Task Once_opened_it_opens_with_no_network_at_all_and_goes_when_the_phone_is_signed_out()
    {
        var (service, address) = await StartAsync();
        await using var running = service;
        await using var phone = await Phone.OpenAsync(address, 360, 740, keeps: true);
        await phone.SignInAsync(service.Passphrase, "Ann");
        await FillAsync(phone);
        // Of a program before this one.
        await phone.Page.EvaluateAsync("async () => { await (await caches.open('rootcellar-older')).put('/cellar', new Response('old')); }");
        await phone.Page.GotoAsync("/cellar");
        await Assertions.Expect(phone.Page.GetByText("Kept on this phone: this page opens with no network.")).ToBeVisibleAsync();
        (await phone.Page.GetAttributeAsync("link[rel=manifest]", "href")).Should().Contain("cellar.webmanifest");
        await phone.LookAsync("cellar-kept");

        // What is kept: this page and what it is made of; no other page, no answer of the API, nothing of an older program.
        foreach (var path in new[] { "/bins", "/api/lots", "/cellar" }) await phone.Page.GotoAsync(path);
        await Assertions.Expect(phone.Page.Locator("#opens-again")).ToBeVisibleAsync();
        var kept = await KeptAsync(phone.Page);
        kept.Where(k => !k.StartsWith("/assets/", StringComparison.Ordinal)).Should().Equal("/cellar");
        kept.Should().HaveCount(8);

        // The service is gone, and the tab. A new one opens the page as it was, and says so.
        phone.Away = true;
        await service.PullThePlugAsync();
        var closed = phone.Page;
        await phone.OpenTabAsync();
        await closed.CloseAsync();
        await phone.Page.GotoAsync("/cellar#bin=K1");
        await Assertions.Expect(phone.Page.Locator("#at-name")).ToHaveTextAsync("K1");
        await Assertions.Expect(phone.Page.GetByText("No network since")).ToBeVisibleAsync();
        await Assertions.Expect(phone.Page.GetByText("Connected. Figures as of")).ToBeHiddenAsync();
        await phone.LookAsync("cellar-kept-away");
        await phone.Page.Locator("#verbs [data-what=eaten]").ClickAsync();
        await phone.Page.Locator("#amount").FillAsync("3");
        await phone.Page.Locator("#sheet").GetByRole(AriaRole.Button, new() { Name = "Write it down", Exact = true }).ClickAsync();
        await Assertions.Expect(phone.Page.Locator("#waiting li")).ToHaveCountAsync(1);
        (await OpensAsync(phone.Page, "/bins")).Should().BeFalse("no other page is kept");
        await phone.Page.GotoAsync("/cellar");
        await Assertions.Expect(phone.Page.Locator("#waiting li")).ToHaveCountAsync(1);

        // Of the day before yesterday, it says so.
        await phone.Page.EvaluateAsync("""
            async () => {
              for (const name of await caches.keys()) {
                const cache = await caches.open(name);
                const copy = await cache.match('/cellar', { ignoreVary: true });
                const headers = new Headers(copy.headers);
                headers.set('Last-Modified', new Date(Date.now() - 172800000).toUTCString());
                await cache.put('/cellar', new Response(await copy.blob(), { headers }));
              }
            }
            """);
        await phone.Page.GotoAsync("/cellar");
        await Assertions.Expect(phone.Page.GetByText($"No network since {DateTime.Now.AddDays(-2):ddd}")).ToBeVisibleAsync();
        await phone.LookAsync("cellar-kept-long");

        // The service is back: it is sent, once, and what is kept from then on has the new figure.
        await service.BeginAsync();
        await phone.Page.EvaluateAsync("() => window.dispatchEvent(new Event('online'))");
        await Assertions.Expect(phone.Page.Locator("#sent")).ToContainTextAsync("Sent: Eaten K1: 3 lb. The book has K1: 44.0\u00A0lb.", new() { Timeout = 60_000 });
        await Assertions.Expect(phone.Page.Locator("#shelf li[data-bin=K1] .kg")).ToHaveTextAsync("44\u00A0lb");
        (await (await phone.Page.APIRequest.GetAsync("/api/ledger")).JsonAsync())!.Value.EnumerateArray()
            .Count(e => e.GetProperty("event").GetString() == "eaten").Should().Be(1);
        await service.PullThePlugAsync();
        await phone.Page.GotoAsync("/cellar");
        await Assertions.Expect(phone.Page.Locator("#shelf li[data-bin=K1] .kg")).ToHaveTextAsync("44\u00A0lb");

        // Signed out, the phone has nothing of the book any more.
        await service.BeginAsync();
        await phone.Page.GotoAsync("/sign-out");
        await phone.Page.Locator("form.panel button").ClickAsync();
        await Assertions.Expect(phone.Page.GetByLabel("Household passphrase")).ToBeVisibleAsync();
        await Eventually.HoldsAsync(async () => !(await KeptAsync(phone.Page)).Contains("/cellar"), "the page is gone from the phone");
        await service.PullThePlugAsync();
        (await OpensAsync(phone.Page, "/cellar")).Should().BeFalse();
        phone.Complaints.Should().BeEmpty();
    }

    [Fact]
    public async Task Who_is_not_let_in_any_more_loses_it_at_the_next_look_and_a_network_that_brings_nothing_does_not_keep_it_shut()
    {
        var (service, address) = await StartAsync();
        await using var running = service;
        await using var phone = await Phone.OpenAsync(address, 360, 740, keeps: true);
        await phone.SignInAsync(service.Passphrase, "Ann");
        await FillAsync(phone);
        await phone.Page.GotoAsync("/cellar");
        await Assertions.Expect(phone.Page.Locator("#opens-again")).ToBeVisibleAsync();

        // It is there, and answers nothing.
        service.Freeze();
        await phone.Page.GotoAsync("/cellar", new() { Timeout = 15_000, WaitUntil = WaitUntilState.DOMContentLoaded });
        await Assertions.Expect(phone.Page.Locator("#shelf li[data-bin=K1]")).ToBeVisibleAsync();
        service.Thaw();

        // Somebody else took the sign-in back, while the page is open.
        await Assertions.Expect(phone.Page.Locator("#offline")).ToBeHiddenAsync(new() { Timeout = 60_000 });
        await phone.Page.Context.ClearCookiesAsync();
        await phone.Page.EvaluateAsync("() => window.dispatchEvent(new Event('online'))");
        await Eventually.HoldsAsync(async () => !(await KeptAsync(phone.Page)).Contains("/cellar"), "the page is gone from the phone");
    }

    [Fact]
    public async Task In_one_browser_somebody_is_signed_in_by_https_and_by_http()
    {
        var (service, address) = await StartAsync();
        await using var running = service;
        await using var phone = await Phone.OpenAsync(address, 360, 740, keeps: true);
        foreach (var door in new[] { address, service.Address })
        {
            await phone.Page.GotoAsync(new Uri(door, "/sign-in").ToString());
            await phone.Page.GetByLabel("Household passphrase").FillAsync(service.Passphrase);
            await phone.Page.GetByLabel("Your name").FillAsync("Ann");
            await phone.Page.GetByRole(AriaRole.Button, new() { Name = "Sign in" }).ClickAsync();
            await Assertions.Expect(phone.Page.GetByRole(AriaRole.Navigation, new() { Name = "Pages" })).ToBeVisibleAsync();
        }

        await phone.Page.GotoAsync(new Uri(address, "/bins").ToString());
        await Assertions.Expect(phone.Page.GetByText("Signed in as Ann")).ToBeVisibleAsync();
        var cookies = await phone.Page.Context.CookiesAsync();
        cookies.Where(c => c.Secure).Should().NotBeEmpty().And.AllSatisfy(c => c.Name.Should().StartWith("__Host-"));
        cookies.Where(c => !c.Secure).Should().NotBeEmpty().And.AllSatisfy(c => c.Name.Should().StartWith("rootcellar"));
    }

    private async Task<(ServiceUnderPages Service, Uri Address)> StartAsync()
    {
        var (certificate, key, port) = (files.File("certificate.pem"), files.File("key.pem"), Ports.Free());
        authority.Issue(certificate, key, names: "127.0.0.1");
        var service = await ServiceUnderPages.StartAsync(
            s => s.WriteAsync(c => PlaceRows.Save(c, new Place("cellar", "Cellar", Purpose.Storage, 40, ["potato"]))).GetAwaiter().GetResult(),
            settings: new Dictionary<string, string>
            {
                ["Tls:Certificate"] = certificate,
                ["Tls:Key"] = key,
                ["Tls:HttpListen"] = $"127.0.0.1:{port}",
                ["Tls:MqttListen"] = "",
            });
        return (service, new Uri($"https://127.0.0.1:{port}"));
    }

    private static async Task FillAsync(Phone phone)
    {
        var dug = DateTimeOffset.UtcNow.AddDays(-4);
        object[] events =
        [
            new { @event = "dug", at = dug, lot = "2026-1", crop = "potato", variety = "Kennebec" },
            new { @event = "filled", at = dug.AddHours(1), bin = "K1", lot = "2026-1", measure = new { amount = 47, unit = "lb" }, place = "cellar" },
        ];
        var answer = await phone.Page.APIRequest.PostAsync("/api/ledger", new() { DataObject = events });
        answer.Status.Should().Be(201, await answer.TextAsync());
    }

    private static Task<string[]> KeptAsync(IPage page) => page.EvaluateAsync<string[]>("""
        async () => {
          const all = [];
          for (const name of await caches.keys()) for (const r of await (await caches.open(name)).keys()) all.push(new URL(r.url).pathname);
          return all;
        }
        """);

    private static async Task<bool> OpensAsync(IPage page, string path)
    {
        var tab = await page.Context.NewPageAsync();
        try
        {
            await tab.GotoAsync(path);
            return true;
        }
        catch (PlaywrightException)
        {
            return false;
        }
        finally
        {
            await tab.CloseAsync();
        }
    }
}
