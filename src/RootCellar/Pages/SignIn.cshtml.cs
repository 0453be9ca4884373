using System.Globalization;
using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using RootCellar.Entry;
using RootCellar.Household;
using RootCellar.Pages.Evening;

namespace RootCellar.Pages;

/// <summary>
/// The door: the household passphrase, or a helper's name and PIN, once on each phone. Who the helpers are is not told to strangers.
/// </summary>
internal sealed class SignInModel(Doorkeeper doorkeeper, KnownBrowsers browsers, FirstEvening evening, Show show) : PageModel
{
    // Minutes are shown cut off; nobody shall come back too early.
    private static readonly TimeSpan AMinuteAtMost = TimeSpan.FromSeconds(59);

    public string? Problem { get; private set; }

    public string? Who { get; private set; }

    public bool AsHelper { get; private set; }

    public string? ReturnUrl { get; private set; }

    public IActionResult OnGet(string? returnUrl, string? @as)
    {
        ReturnUrl = returnUrl;
        AsHelper = @as == "helper";
        return User.Identity?.IsAuthenticated == true ? LocalRedirect(Back(returnUrl)) : Page();
    }

    public async Task<IActionResult> OnPostAsync(string? passphrase, string? who, string? returnUrl)
    {
        (ReturnUrl, Who) = (returnUrl, Name(who));
        if (doorkeeper.Household(browsers.Who(HttpContext), passphrase) is var answer and not SignInAnswer.Household)
            return Again(answer, Strings.WrongPassphrase);
        await EntryWiring.SignInAsHouseholdAsync(HttpContext, string.IsNullOrEmpty(Who) ? Strings.TheHousehold : Who);
        var back = Back(returnUrl);
        return LocalRedirect(back == "/" && await evening.BeginsAsync() ? FirstEvening.Address : back);
    }

    public async Task<IActionResult> OnPostHelperAsync(string? name, string? pin, string? returnUrl)
    {
        (ReturnUrl, AsHelper, Who) = (returnUrl, true, Name(name));
        var answer = await doorkeeper.HelperAsync(browsers.Who(HttpContext), Who, pin).WaitAsync(HttpContext.RequestAborted);
        if (answer is not SignInAnswer.Helper helper) return Again(answer, Strings.WrongPin);
        await EntryWiring.SignInAsHelperAsync(HttpContext, helper.Id, helper.Name);
        return LocalRedirect(Back(returnUrl));
    }

    /// <summary>Why somebody is not let in.</summary>
    /// <param name="wrong">What is said of a passphrase or PIN that was looked at and is not right.</param>
    internal static string Words(SignInAnswer answer, string wrong, Show show) => answer switch
    {
        SignInAnswer.Wait { Locked: true } => Strings.PinLocked,
        SignInAnswer.Wait wait => Strings.TooManyTries.With(
            Show.Span(TimeSpan.FromSeconds(Math.Ceiling(wait.For.TotalSeconds))), show.Time(wait.Until + AMinuteAtMost)),
        SignInAnswer.NoRecord none => Strings.NotSaved.With(none.Problem),
        _ => wrong,
    };

    private PageResult Again(SignInAnswer answer, string wrong)
    {
        Problem = Words(answer, wrong, show);
        if (answer is not SignInAnswer.Wait refused) return Page();
        Response.StatusCode = StatusCodes.Status429TooManyRequests;
        if (!refused.Locked) Response.Headers.RetryAfter = Math.Ceiling(refused.For.TotalSeconds).ToString(CultureInfo.InvariantCulture);
        return Page();
    }

    private static string? Name(string? given) => given?.Trim() is { Length: > 0 } name ? name.Length > Helpers.LongestName
        ? name[..Helpers.LongestName] : name : null;

    private string Back(string? returnUrl) => Url.IsLocalUrl(returnUrl) ? returnUrl : "/";
}
