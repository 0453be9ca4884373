using Microsoft.AspNetCore.Mvc;
using RootCellar.Entry;

namespace RootCellar.Pages;

/// <summary>The address of the calendar, as the Set-up page makes it and takes it back.</summary>
internal sealed partial class SetUpModel
{
    /// <summary>Whether there is an address.</summary>
    public bool CalendarIsMade { get; private set; }

    /// <summary>The address that was made just now: shown this once.</summary>
    public Uri? NewCalendar { get; private set; }

    public string? CalendarProblem { get; private set; }

    public async Task<IActionResult> OnPostCalendarAsync()
    {
        var path = "";
        CalendarProblem = await WriteAsync(c => path = CalendarLink.Make(c));
        if (CalendarProblem is null) NewCalendar = new Uri(house.Now ?? new Uri($"{Request.Scheme}://{Request.Host.Value}"), path);
        return Again();
    }

    public async Task<IActionResult> OnPostNoCalendarAsync()
    {
        CalendarProblem = await WriteAsync(CalendarLink.TakeBack);
        return CalendarProblem is null ? Finish("calendar", "calendar") : Again();
    }
}
