using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using RootCellar.Household;

namespace RootCellar.Pages;

/// <summary>
/// The language of one browser, chosen by whoever holds it and kept in a cookie: in a household several are spoken. For strangers too, who
/// have to be able to read how to sign in.
/// </summary>
internal sealed class LanguageModel(Languages languages) : PageModel
{
    private const string Cookie = "rootcellar-language";

    // Browsers keep none for longer.
    private static readonly TimeSpan Kept = TimeSpan.FromDays(400);

    public IReadOnlyList<Language> All => languages.All;

    public string? ReturnUrl { get; private set; }

    /// <summary>What a browser was told to read; null where nobody chose.</summary>
    public static string? Chosen(HttpRequest request) => request.Cookies[Cookie];

    public void OnGet(string? returnUrl) => ReturnUrl = returnUrl;

    public IActionResult OnPost(string? code, string? returnUrl)
    {
        if (languages.Has(code))
        {
            Response.Cookies.Append(Cookie, code!, new CookieOptions
            {
                MaxAge = Kept,
                HttpOnly = true,
                SameSite = SameSiteMode.Lax,
                Secure = Request.IsHttps,
                IsEssential = true,
            });
        }

        return LocalRedirect(Url.IsLocalUrl(returnUrl) ? returnUrl : "/");
    }
}
