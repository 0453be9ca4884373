using Microsoft.AspNetCore.Mvc.RazorPages;
using RootCellar.Household;
using RootCellar.Pages.Look;
using RootCellar.Report;

namespace RootCellar.Pages.Reports;

/// <summary>The weekly report as a page: the very words of the mail, what is not read first folded, with the charts of the pages.</summary>
internal sealed class WeekModel(ReportDesk desk, Show show) : PageModel
{
    public string? Html { get; private set; }

    /// <summary>The week in a sentence; null where there is no such week.</summary>
    public WeekVerdict? Verdict { get; private set; }

    /// <summary>Which week, and how far it is told.</summary>
    public string Title { get; private set; } = "";

    public Meaning Meaning => Verdict?.Was switch
    {
        WeekWas.Well => Meaning.Well,
        WeekWas.Soon => Meaning.Soon,
        WeekWas.Now => Meaning.Now,
        _ => Meaning.Unknown,
    };

    /// <summary>What the report said when it went out; null where it did not.</summary>
    public AsSent? Sent { get; private set; }

    public string Asked { get; private set; } = "";

    public string Last { get; private set; } = "";

    public string? Before { get; private set; }

    public string? After { get; private set; }

    public void OnGet(string? week)
    {
        Asked = week ?? "";
        Last = desk.LastWhole.Name;
        var shown = string.IsNullOrEmpty(week) ? desk.LastWhole : Week.Named(week, desk.Zone);
        if (shown is null || desk.Of(shown) is not { } made)
        {
            Response.StatusCode = StatusCodes.Status404NotFound;
            return;
        }

        Html = made.Html;
        Verdict = made.Verdict;
        Title = ReportWords.Title(shown) + (made.Figures.UpTo < shown.To ? ", " + Strings.ReportAsFar.With(show.Time(made.Figures.UpTo)) : "");
        Sent = made.Figures.Sent;
        Before = shown.Before(desk.Zone).Name;
        After = shown.From < desk.Running.From ? shown.After(desk.Zone).Name : null;
    }
}
