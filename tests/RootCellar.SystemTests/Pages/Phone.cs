using Deque.AxeCore.Commons;
using Microsoft.Playwright;
using RootCellar.SystemTests.Running;

namespace RootCellar.SystemTests.Pages;

/// <summary>A browser of a given size that notes every console error and every request that leaves the service.</summary>
internal sealed class Phone : IAsyncDisposable
{
    private const float Patience = 30_000;

    private static readonly string Axe = new BundledAxeScriptProvider().GetScript();

    private readonly IPlaywright playwright;
    private readonly IBrowser browser;
    private readonly string name;
    private readonly Uri service;
    private readonly List<string> complaints = [];

    private Phone(IPlaywright playwright, IBrowser browser, IPage page, Uri service, string name)
    {
        this.playwright = playwright;
        this.browser = browser;
        this.name = name;
        this.service = service;
        Page = page;
        Watch(page);
    }

    public IPage Page { get; private set; }

    /// <summary>The network is being taken away, so that requests may fail.</summary>
    public bool Away { get; set; }

    public IReadOnlyList<string> Complaints => complaints;

    /// <summary>Another tab of the same browser, which is the one looked at from now on.</summary>
    public async Task<IPage> OpenTabAsync()
    {
        Page = await Page.Context.NewPageAsync();
        Page.SetDefaultTimeout(Patience);
        Watch(Page);
        return Page;
    }

    /// <param name="keeps">
    /// It may keep the page for the cellar, and takes any certificate. Else it keeps none, as a phone that comes over plain http: to browsers
    /// the loopback address is as good as https.
    /// </param>
    public static async Task<Phone> OpenAsync(
        Uri service, int width, int height, bool dark = false, string? locale = null, string? timezone = null, bool keeps = false)
    {
        var program = await Needs.ChromiumAsync();
        var driver = await Playwright.CreateAsync();
        var chromium = await driver.Chromium.LaunchAsync(new BrowserTypeLaunchOptions
        {
            ExecutablePath = program,
            Args = ["--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
                "--disable-component-update", "--disable-sync", .. keeps ? (string[])["--ignore-certificate-errors"] : []],
        });
        var context = await chromium.NewContextAsync(new BrowserNewContextOptions
        {
            BaseURL = service.ToString(),
            Locale = locale,
            IgnoreHTTPSErrors = keeps,
            ServiceWorkers = keeps ? ServiceWorkerPolicy.Allow : ServiceWorkerPolicy.Block,
            TimezoneId = timezone,
            ViewportSize = new ViewportSize { Width = width, Height = height },
            ColorScheme = dark ? ColorScheme.Dark : ColorScheme.Light,
        });
        var page = await context.NewPageAsync();
        page.SetDefaultTimeout(Patience);
        // A busy machine draws slowly; what never comes still fails.
        Assertions.SetDefaultExpectTimeout(20_000);
        return new Phone(driver, chromium, page, service, $"{width}x{height}{(dark ? "-dark" : "")}");
    }

    /// <summary>
    /// Looks the page over: nothing hangs out sideways, targets fit a thumb, axe finds nothing serious; and keeps a picture.
    /// </summary>
    public async Task LookAsync(string what)
    {
        // Also those in a closed fold, which a browser would only fetch once it is opened.
        await Page.EvaluateAsync("""
            () => Promise.all([...document.images].map(i => {
              i.loading = 'eager';
              return i.complete && i.naturalWidth ? 0 : new Promise(done => { i.onload = i.onerror = done; setTimeout(done, 10000); });
            }))
            """);
        await Page.ScreenshotAsync(new PageScreenshotOptions { Path = Path.Combine(Pictures(), $"{what}-{name}.png"), FullPage = true });
        var sideways = await Page.EvaluateAsync<int>("() => document.documentElement.scrollWidth - document.documentElement.clientWidth");
        sideways.Should().BeLessThanOrEqualTo(0, $"{what} must not scroll sideways at {name}");
        var small = await Page.EvaluateAsync<string[]>("""
            () => [...document.querySelectorAll('button, nav a, .button, summary, input:not([type=hidden]), select, .note a')]
              .map(e => e.matches('[type=checkbox], [type=radio]') ? e.closest('label') : e)
              .filter(e => e.getClientRects().length && e.getBoundingClientRect().height < 43.5)
              .map(e => e.outerHTML.slice(0, 80))
            """);
        small.Should().BeEmpty($"targets on {what} must be 44 px high");
        var cut = await Page.EvaluateAsync<string[]>("""
            () => [...document.querySelectorAll('select:not([multiple])')].filter(e => e.getClientRects().length && e.selectedOptions.length)
              .filter(e => {
                const s = getComputedStyle(e), pen = document.createElement('canvas').getContext('2d');
                pen.font = s.font;
                // Beside the words stands an arrow.
                return pen.measureText(e.selectedOptions[0].text).width > e.clientWidth - parseFloat(s.paddingLeft) - parseFloat(s.paddingRight) - 12;
              })
              .map(e => `${e.name}: ${e.selectedOptions[0].text}`)
            """);
        cut.Should().BeEmpty($"what is chosen on {what} must be readable at {name}");
        var broken = await Page.EvaluateAsync<string[]>("() => [...document.images].filter(i => !i.naturalWidth).map(i => i.src)");
        broken.Should().BeEmpty($"every picture on {what} must show");
        // In the page itself, bypassing its content policy as the debugger does: a second page for the findings took most of the time.
        await Page.EvaluateAsync(Axe);
        var found = await Page.EvaluateAsync<string[]>("""
            async () => (await axe.run(document, { resultTypes: ['violations'] })).violations
              .filter(v => v.impact === 'serious' || v.impact === 'critical')
              .flatMap(v => v.nodes.map(n => `${v.id}: ${n.html}`))
            """);
        found.Should().BeEmpty($"{what} must be usable by everybody");
    }

    /// <summary>What fits on the screen, as the README shows it.</summary>
    public Task PictureAsync(string what) => Page.ScreenshotAsync(new PageScreenshotOptions { Path = Picture(what) });

    /// <summary>The file of a picture.</summary>
    public static string Picture(string what) => Path.Combine(Pictures(), $"{what}.png");

    /// <summary>Loads the page again until it shows what is waited for.</summary>
    public async Task UntilAsync(string path, ILocator seen)
    {
        for (var i = 0; i < 40; i++)
        {
            await Page.GotoAsync(path);
            if (await seen.CountAsync() > 0) return;
            await Task.Delay(250, TestContext.Current.CancellationToken);
        }

        await Assertions.Expect(seen).ToBeVisibleAsync();
    }

    public async Task SignInAsync(string passphrase, string who)
    {
        await Page.GotoAsync("/");
        await Page.GetByLabel("Household passphrase").FillAsync(passphrase);
        await Page.GetByLabel("Your name").FillAsync(who);
        await Page.GetByRole(AriaRole.Button, new() { Name = "Sign in" }).ClickAsync();
        // The pages' own menu is there only inside; waiting for an address or a load event can miss one that is past already.
        await Assertions.Expect(Page.GetByRole(AriaRole.Navigation, new() { Name = "Pages" })).ToBeVisibleAsync(new() { Timeout = 30_000 });
    }

    public async ValueTask DisposeAsync()
    {
        await browser.CloseAsync();
        playwright.Dispose();
    }

    /// <summary>
    /// Bytes of the page and all it loads but pictures, as they go over the wire, whether this browser has some of it already or not.
    /// </summary>
    public Task<int> WeightAsync() => Page.EvaluateAsync<int>("""
        () => [...performance.getEntriesByType('navigation'), ...performance.getEntriesByType('resource')]
          .filter(e => e.initiatorType !== 'img' && !e.name.includes('icon.svg')).reduce((sum, e) => sum + e.encodedBodySize, 0)
        """);

    private void Watch(IPage page)
    {
        page.Console += (_, m) =>
        {
            // A browser complains of every request that finds no network.
            if (m.Type is "error" or "warning" && !(Away && m.Text.Contains("net::ERR_", StringComparison.Ordinal))
                && m.Text != "Service Worker registration blocked by Playwright")
                complaints.Add($"console {m.Type}: {m.Text}");
        };
        page.PageError += (_, e) => complaints.Add($"script error: {e}");
        page.Request += (_, r) =>
        {
            if (!r.Url.StartsWith(service.ToString(), StringComparison.Ordinal)) complaints.Add($"request elsewhere: {r.Url}");
        };
        page.Response += (_, r) =>
        {
            if (r.Status >= 400) complaints.Add($"{r.Status} {r.Url}");
        };
    }

    private static string Pictures()
    {
        var folder = new DirectoryInfo(AppContext.BaseDirectory);
        while (folder is not null && !File.Exists(Path.Combine(folder.FullName, "RootCellar.sln"))) folder = folder.Parent;
        return Directory.CreateDirectory(Path.Combine(folder?.FullName ?? AppContext.BaseDirectory, "artifacts", "screenshots")).FullName;
    }
}
