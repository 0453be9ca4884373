using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using RootCellar.Entry;

namespace RootCellar.Pages;

/// <summary>Out again. A page of its own, so that the foot of every page needs no form: pages with one are kept by no browser.</summary>
internal sealed class SignOutModel : PageModel
{
    public async Task<IActionResult> OnPostAsync()
    {
        await EntryWiring.SignOutAsync(HttpContext);
        return LocalRedirect("/sign-in");
    }
}
