using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using RootCellar.Household;
using RootCellar.Storage;

namespace RootCellar.Pages.Evening;

/// <summary>The steps of the first evening, with what is done of each.</summary>
internal sealed class StartModel(FirstEvening evening) : PageModel
{
    public FirstEvening Evening => evening;

    public string? Problem { get; private set; }

    public Task<IActionResult> OnPostAwayAsync() => MarkAsync(evening.PutAwayAsync);

    public Task<IActionResult> OnPostOfferAsync() => MarkAsync(evening.OfferAsync);

    private async Task<IActionResult> MarkAsync(Func<Task> mark)
    {
        try
        {
            await mark().WaitAsync(HttpContext.RequestAborted);
            return RedirectToPage();
        }
        catch (StoreProblemException e)
        {
            Problem = Strings.NotSaved.With(e.Message);
            return Page();
        }
    }
}
