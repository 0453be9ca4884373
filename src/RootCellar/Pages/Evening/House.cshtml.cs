using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using RootCellar.Household;
using RootCellar.Ledger;
using RootCellar.Monitoring;
using RootCellar.Pages.Bins;

namespace RootCellar.Pages.Evening;

/// <summary>How pages and texts speak to the household: zone, units, language, and whom to call.</summary>
internal sealed class HouseModel(HouseholdDesk desk, HouseholdOptions household, Languages languages, FirstEvening evening, Show show) : PageModel
{
    public FirstEvening Evening => evening;

    public Languages Languages => languages;

    /// <summary>As it holds, or as it was typed.</summary>
    public HouseholdSetUp Form { get; private set; } = new();

    /// <summary>What a crate holds, as it holds or as it was typed.</summary>
    public string Crate { get; private set; } = "";

    public string? Problem { get; private set; }

    /// <summary>Why what was set before does not hold.</summary>
    public string? FileProblem => desk.Problem;

    public bool Done { get; private set; }

    /// <summary>Zones to choose from: those of places, and the one that holds.</summary>
    public IEnumerable<string> Zones => TimeZoneInfo.GetSystemTimeZones().Select(z => z.Id).Where(id => id.Contains('/', StringComparison.Ordinal)
        && !id.StartsWith("Etc/", StringComparison.Ordinal)).Append(household.Zone().Id).Append("UTC").Distinct(StringComparer.Ordinal)
        .Order(StringComparer.Ordinal);

    private string CrateNow => show.CrateKg is { } kg ? Units.Number(show.WeightOf(kg), "0.##") : "";

    /// <summary>The installer gave it; it is set in no other place.</summary>
    public bool IsGiven(string key) => household.Given.Contains(key);

    /// <summary>Whether it is what this phone reads first.</summary>
    public bool IsPhones(Language language) => Request.GetTypedHeaders().AcceptLanguage.OrderByDescending(l => l.Quality ?? 1)
        .Select(l => l.Value.Value).FirstOrDefault() is { } first
        && (first == language.Code || first.StartsWith(language.Code + "-", StringComparison.OrdinalIgnoreCase));

    public void OnGet(bool done)
    {
        Done = done;
        Form = desk.Holds;
        Crate = CrateNow;
    }

    /// <param name="crate">What a crate holds, as typed; nothing typed: none are counted in.</param>
    public async Task<IActionResult> OnPostAsync(HouseholdSetUp form, string? crate)
    {
        // Numbers are typed: the field of that name would be read by other rules.
        Form = form with { EmergencyNumber = form.EmergencyNumber?.Trim(), CrateKg = null };
        Crate = crate?.Trim() ?? "";
        if (Crate != CrateNow && !IsGiven(nameof(form.CrateKg)))
        {
            var (number, unit) = WrittenWeight.Parts(Crate);
            var held = 0.0;
            if (Crate.Length > 0 && !Numerals.TryRead(number, out held))
            {
                Problem = Units.NotANumber(Crate);
                return Page();
            }

            // In the unit that is chosen with it, where none is written behind it.
            if (Measures.Of(unit ?? form.Weight ?? household.Weight, "", false, null, out _) is { } each) held *= each.KgPerUnit;
            Form = Form with { CrateKg = Math.Round(held, 4) };
        }

        if (Form.Wrong(languages) is { } wrong)
        {
            Problem = wrong.For switch
            {
                RefusedFor.Zone => Strings.HouseholdZoneWrong.With(NameRules.Seen(Form.TimeZone!)),
                RefusedFor.Crate => Strings.HouseholdCrateWrong,
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
