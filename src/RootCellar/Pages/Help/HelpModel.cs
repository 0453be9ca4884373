using System.Globalization;
using System.Security.Cryptography;
using System.Text;
using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using Microsoft.Net.Http.Headers;
using RootCellar.Entry;
using RootCellar.Household;
using RootCellar.Monitoring;

namespace RootCellar.Pages.Help;

/// <summary>
/// A part of the help, or all of them. A browser keeps it, and asks whether it still is what stands there: in a cellar a page that does not
/// travel is a page that opens.
/// </summary>
internal abstract class HelpModel(LiveState live, Troubles troubles) : PageModel
{
    // The text is the program's, and so are the words around it: a new start may be of another program.
    private static readonly Guid Started = Guid.NewGuid();

    /// <summary>Null: the list of them.</summary>
    public HelpPart? Part { get; private set; }

    /// <summary>Of the guides: that of the page around them where they are written in it.</summary>
    public static string Language => HelpText.IsIn(Strings.Language) ? Strings.Language : HelpText.First;

    protected IActionResult Show(string? name)
    {
        Part = HelpParts.Find(name);
        if (name is not null && Part is null) return NotFound();
        var headers = Response.GetTypedHeaders();
        headers.CacheControl = new CacheControlHeaderValue { Private = true, NoCache = true };
        headers.ETag = new EntityTagHeaderValue($"\"{Tag()}\"", isWeak: true);
        if (!Request.GetTypedHeaders().IfNoneMatch.Any(t => t.Compare(headers.ETag, useStrongComparison: false))) return Page();
        return StatusCode(StatusCodes.Status304NotModified);
    }

    // All that a page of the help says: whose it is, in which language, how many alarms are open, and what is wrong with the service.
    private string Tag()
    {
        var said = string.Join('\n', (IEnumerable<string?>)
        [
            Started.ToString(), Request.Path.Value, Request.QueryString.Value, Strings.Language, User.Identity?.Name, User.Seat(),
            live.OpenAlarmCount.ToString(CultureInfo.InvariantCulture), .. User.Identity?.IsAuthenticated == true ? troubles.Now(User) : [],
        ]);
        return Convert.ToHexStringLower(SHA256.HashData(Encoding.UTF8.GetBytes(said)))[..24];
    }
}

/// <summary>What may be read before signing in.</summary>
internal sealed class OpenModel(LiveState live, Troubles troubles) : HelpModel(live, troubles)
{
    public IActionResult OnGet(string? open) => Show(open);
}

/// <summary>What whoever is signed in may read.</summary>
internal sealed class PartModel(LiveState live, Troubles troubles) : HelpModel(live, troubles)
{
    public IActionResult OnGet(string part) => Show(part);
}
