using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using RootCellar.Household;
using RootCellar.Monitoring;

namespace RootCellar.Pages.Evening;

/// <summary>How pages and texts speak to the household: zone, units, language, and whom to call.</summary>
internal sealed class HouseModel(HouseholdDesk desk, HouseholdOptions household, Languages languages, FirstEvening evening) : PageModel
{
    public FirstEvening Evening => evening;

    public Languages Languages => languages;

    /// <summary>As it holds, or as it was typed.</summary>
    public HouseholdSetUp Form { get; private set; } = new();

    public string? Problem { get; private set; }

    /// <summary>Why what was set before does not hold.</summary>
    public string? FileProblem => desk.Problem;

    public bool Done { get; private set; }

    /// <summary>Zones to choose from: those of places, and the one that holds.</summary>
    public IEnumerable<string> Zones => TimeZoneInfo.GetSystemTimeZones().Select(z => z.Id).Where(id => id.Contains('/', StringComparison.Ordinal)
        && !id.StartsWith("Etc/", StringComparison.Ordinal)).Append(household.Zone().Id).Append("UTC").Distinct(StringComparer.Ordinal)
        .Order(StringComparer.Ordinal);

    /// <summary>The installer gave it; it is set in no other place.</summary>
    public bool IsGiven(string key) => household.Given.Contains(key);

    /// <summary>Whether it is what this phone reads first.</summary>
    public bool IsPhones(Language language) => Request.GetTypedHeaders().AcceptLanguage.OrderByDescending(l => l.Quality ?? 1)
        .Select(l => l.Value.Value).FirstOrDefault() is { } first
        && (first == language.Code || first.StartsWith(language.Code + "-", StringComparison.OrdinalIgnoreCase));

    public void OnGet(bool done)
    {
        Done = done;
        Form = new HouseholdSetUp(household.Zone().Id, household.Language, household.Temperature, household.Weight, household.EmergencyNumber,
            household.DecimalMark);
    }

    public async Task<IActionResult> OnPostAsync(HouseholdSetUp form)
    {
        Form = form with { EmergencyNumber = form.EmergencyNumber?.Trim() };
        if (Form.Wrong(languages) is { } wrong)
        {
            Problem = wrong.For switch
            {
                RefusedFor.Zone => Strings.HouseholdZoneWrong.With(NameRules.Seen(Form.TimeZone!)),
                RefusedFor.Number => Strings.HouseholdEmergencyWrong.With(NameRules.Seen(Form.EmergencyNumber!)),
                _ => Strings.NotOffered,
            };
            return Page();
        }

        try
        {
            await desk.SaveAsync(Form).WaitAsync(HttpContext.RequestAborted);
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException)
        {
            Problem = Strings.NotSaved.With(e.Message);
            return Page();
        }

        return RedirectToPage(new { done = true });
    }
}
