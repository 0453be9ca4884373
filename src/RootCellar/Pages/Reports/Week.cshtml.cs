using Microsoft.AspNetCore.Mvc.RazorPages;
using RootCellar.Report;

namespace RootCellar.Pages.Reports;

/// <summary>The weekly report as a page: the very words of the mail, with the charts of the pages.</summary>
internal sealed class WeekModel(ReportDesk desk) : PageModel
{
    public string? Html { get; private set; }

    public string Asked { get; private set; } = "";

    public string Last { get; private set; } = "";

    public string? Before { get; private set; }

    public string? After { get; private set; }

    public async Task OnGetAsync(string? week)
    {
        Asked = week ?? "";
        Last = desk.LastWhole.Name;
        var shown = string.IsNullOrEmpty(week) ? desk.LastWhole : Week.Named(week, desk.Zone);
        if (shown is null || await desk.OfAsync(shown).WaitAsync(HttpContext.RequestAborted) is not { } made)
        {
            Response.StatusCode = StatusCodes.Status404NotFound;
            return;
        }

        Html = made.Html;
        Before = shown.Before(desk.Zone).Name;
        After = shown.From < desk.Running.From ? shown.After(desk.Zone).Name : null;
    }
}
