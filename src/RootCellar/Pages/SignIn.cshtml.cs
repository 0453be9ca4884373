using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using RootCellar.Entry;
using RootCellar.Storage;

namespace RootCellar.Pages;

/// <summary>The door: the household passphrase, once on each phone.</summary>
internal sealed class SignInModel(Store store, SignInTries tries) : PageModel
{
    private const int LongestName = 40;

    public string? Problem { get; private set; }

    public string? Who { get; private set; }

    public IActionResult OnGet(string? returnUrl) => User.Identity?.IsAuthenticated == true ? LocalRedirect(Back(returnUrl)) : Page();

    public async Task<IActionResult> OnPostAsync(string? passphrase, string? who, string? returnUrl)
    {
        Who = who?.Trim();
        if (Who?.Length > LongestName) Who = Who[..LongestName];
        if (!tries.Allow(HttpContext))
        {
            Problem = Strings.TooManyTries.With((int)SignInTries.Window.TotalMinutes);
            Response.Headers.RetryAfter = ((int)SignInTries.Window.TotalSeconds).ToString(System.Globalization.CultureInfo.InvariantCulture);
            Response.StatusCode = StatusCodes.Status429TooManyRequests;
            return Page();
        }

        if (string.IsNullOrWhiteSpace(passphrase) || !store.Read(c => Passphrase.IsRight(c, passphrase)))
        {
            Problem = Strings.WrongPassphrase;
            return Page();
        }

        await EntryWiring.SignInAsync(HttpContext, string.IsNullOrEmpty(Who) ? Strings.TheHousehold : Who);
        return LocalRedirect(Back(returnUrl));
    }

    private string Back(string? returnUrl) => Url.IsLocalUrl(returnUrl) ? returnUrl : "/";
}
