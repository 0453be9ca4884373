using System.Globalization;
using Microsoft.Playwright;
using RootCellar.SystemTests.Running;

namespace RootCellar.SystemTests.Pages;

/// <summary>A person at the pages: what a grower does there, by the words that stand on them.</summary>
internal sealed class Grower(Phone phone)
{
    public IPage Page => phone.Page;

    public ILocator Waiting => Page.Locator("#waiting");

    /// <summary>What the bin holds by the book, as its page says.</summary>
    public ILocator ByTheBook => Page.Locator(".main .value").First;

    public ILocator Said => Page.Locator(".done");

    public ILocator Link(string name, bool exact = false) => Page.GetByRole(AriaRole.Link, new() { Name = name, Exact = exact });

    public ILocator Button(string name) => Page.GetByRole(AriaRole.Button, new() { Name = name });

    /// <summary>By the bar, or by the page behind More.</summary>
    public async Task MenuAsync(string name)
    {
        var bar = Page.GetByRole(AriaRole.Navigation, new() { Name = "Pages" });
        var link = bar.GetByRole(AriaRole.Link, new() { Name = name });
        if (await link.CountAsync() > 0)
        {
            await link.ClickAsync();
            return;
        }

        await bar.GetByRole(AriaRole.Link, new() { Name = "More" }).ClickAsync();
        await Page.GetByRole(AriaRole.Main).GetByRole(AriaRole.Link, new() { Name = name }).ClickAsync();
    }

    public Task TypeAsync(string label, string text) => Page.GetByLabel(label)
        .And(Page.Locator("input:not([type=radio], [type=checkbox])")).FillAsync(text);

    public Task WriteAsync() => Button("Write it down").ClickAsync();

    /// <summary>Says what happened on another day than today, under "More to say".</summary>
    public async Task WhenAsync(DateTime when)
    {
        var field = Page.GetByLabel("When, if not now");
        if (!await field.IsVisibleAsync()) await Page.GetByText("More to say").ClickAsync();
        await field.FillAsync(when.ToString("yyyy-MM-dd'T'HH:mm", CultureInfo.InvariantCulture));
    }

    /// <summary>From a bin's page: what happened to it.</summary>
    public Task HappenedAsync(string what) => Page.Locator(".kinds").GetByRole(AriaRole.Link, new() { Name = what, Exact = true })
        .ClickAsync();

    public Task OpenBinAsync(string bin) => Page.GotoAsync($"/bins/{bin}");

    public Task SeesAsync(string text) => Assertions.Expect(Page.GetByText(text).First).ToBeVisibleAsync();

    public Task IsToldAsync(string text) => Assertions.Expect(Said).ToContainTextAsync(text);

    public Task IsAskedAsync(string text) => Assertions.Expect(Page.GetByRole(AriaRole.Alert)).ToContainTextAsync(text);

    /// <summary>Looks at what has just come, by the picture's name.</summary>
    public Task LookAsync(string what) => phone.LookAsync(what);

    /// <summary>Holds the camera before the labels on the page: where their QR codes lead, in the order of the labels.</summary>
    public async Task<IReadOnlyList<string>> ScanLabelsAsync()
    {
        var reader = await Needs.QrReaderAsync();
        var folder = Directory.CreateTempSubdirectory("rootcellar-labels-").FullName;
        try
        {
            var files = new List<string>();
            foreach (var label in await Page.Locator(".label svg").AllAsync())
            {
                files.Add(Path.Combine(folder, $"{files.Count}.png"));
                await label.ScreenshotAsync(new() { Path = files[^1] });
            }

            var said = await Tool.RunAsync(reader, ["--quiet", "--raw", "-Sdisable", "-Sqrcode.enable", .. files]);
            said.Exit.Should().Be(0, said.ToString());
            return said.Out.Split('\n', StringSplitOptions.RemoveEmptyEntries);
        }
        finally
        {
            Directory.Delete(folder, recursive: true);
        }
    }
}
