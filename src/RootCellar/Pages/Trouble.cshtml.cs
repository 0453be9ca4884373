using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using RootCellar.Entry;
using RootCellar.Household;

namespace RootCellar.Pages;

/// <summary>What is shown where a page cannot be: in words that say what to do.</summary>
[ResponseCache(NoStore = true, Location = ResponseCacheLocation.None)]
internal sealed class TroubleModel : PageModel
{
    public string Title { get; private set; } = "";

    public string What { get; private set; } = "";

    public void OnGet(int code)
    {
        // Asked for by its own address it is as little there as any other.
        if (Response.StatusCode == StatusCodes.Status200OK) Response.StatusCode = StatusCodes.Status404NotFound;
        (Title, What) = code switch
        {
            StatusCodes.Status400BadRequest => (Strings.Trouble400, Strings.Trouble400What),
            StatusCodes.Status403Forbidden => (Strings.Trouble403, Strings.Trouble403What),
            StatusCodes.Status404NotFound => (Strings.Trouble404, Strings.Trouble404What),
            StatusCodes.Status421MisdirectedRequest => (Strings.Trouble421, HostNames.Refusal(Request.Host.Host)),
            StatusCodes.Status429TooManyRequests => (Strings.Trouble429, Strings.Trouble429What),
            >= 500 => (Strings.Trouble500, Strings.Trouble500What),
            _ => (Strings.TroubleOther, Strings.TroubleOtherWhat),
        };
    }
}
