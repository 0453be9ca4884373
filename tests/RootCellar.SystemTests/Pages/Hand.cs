using Microsoft.Playwright;

namespace RootCellar.SystemTests.Pages;

/// <summary>How somebody gets at what is on a page: with a finger, or with the keys Tab, Enter and Space and by typing, and nothing else.</summary>
internal sealed class Hand(IPage page, bool keys)
{
    private const int MostTabs = 150;

    /// <summary>A button, a link, a fold or a mark in a list of choices.</summary>
    public async Task PressAsync(ILocator what, bool choice = false)
    {
        if (!keys)
        {
            await what.ClickAsync();
            return;
        }

        await GoToAsync(what);
        await page.Keyboard.PressAsync(choice ? "Space" : "Enter");
    }

    public async Task TypeAsync(ILocator field, string text)
    {
        if (!keys)
        {
            await field.FillAsync(text);
            return;
        }

        await GoToAsync(field);
        await page.Keyboard.PressAsync("Control+A");
        await page.Keyboard.TypeAsync(text);
    }

    /// <summary>Of a list that unfolds, by the beginning of a choice.</summary>
    public async Task ChooseAsync(ILocator list, string value, string begins)
    {
        if (!keys)
        {
            await list.SelectOptionAsync(value);
            return;
        }

        await GoToAsync(list);
        await page.Keyboard.TypeAsync(begins);
        await Assertions.Expect(list).ToHaveValueAsync(value);
    }

    /// <summary>Of a row of round marks: the keys go into it once, and arrows move within.</summary>
    public async Task MarkAsync(ILocator group, ILocator mark)
    {
        if (!keys)
        {
            await mark.CheckAsync();
            return;
        }

        await GoToAsync(group.Locator("input:checked"));
        for (var i = 0; i < 6 && !await mark.IsCheckedAsync(); i++) await page.Keyboard.PressAsync("ArrowDown");
        await Assertions.Expect(mark).ToBeCheckedAsync();
    }

    // Tab by Tab, as often as it takes; what cannot be reached so is not there for who has no mouse.
    private async Task GoToAsync(ILocator what)
    {
        await Assertions.Expect(what).ToBeVisibleAsync();
        for (var i = 0; i < MostTabs; i++)
        {
            if (await what.EvaluateAsync<bool>("e => e === document.activeElement")) return;
            await page.Keyboard.PressAsync("Tab");
        }

        throw new InvalidOperationException($"Tab does not lead to {what} on {page.Url}");
    }
}
