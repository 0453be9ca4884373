using RootCellar.Entry;
using RootCellar.Household;
using RootCellar.Monitoring;

namespace RootCellar.Api;

/// <summary>How pages and texts speak.</summary>
/// <param name="Temperature">F or C.</param>
/// <param name="Weight">lb or kg.</param>
/// <param name="CrateKg">What a full crate holds, kg; 0: the household counts in none.</param>
/// <param name="Given">Which of them the installer's settings say; those are set in no other place.</param>
internal sealed record HouseholdShape(
    string TimeZone, string Language, string Temperature, string Weight, string DecimalMark, string EmergencyNumber, double CrateKg,
    IReadOnlyList<string> Given)
{
    public static HouseholdShape Of(HouseholdDesk desk, HouseholdOptions household)
    {
        var h = desk.Holds;
        return new(h.TimeZone!, h.Language!, h.Temperature!, h.Weight!, h.DecimalMark!, h.EmergencyNumber!, h.CrateKg!.Value,
            [.. HouseholdApi.Keys.Select(k => k.Name).Where(household.Given.Contains)]);
    }
}

/// <summary>Zone, units, language and the number to call in danger: the same as the page Clock, units, language.</summary>
internal static class HouseholdApi
{
    public static readonly (string Name, Func<HouseholdSetUp, object?> Of)[] Keys =
    [
        ("timeZone", h => h.TimeZone), ("language", h => h.Language), ("temperature", h => h.Temperature), ("weight", h => h.Weight),
        ("decimalMark", h => h.DecimalMark), ("emergencyNumber", h => h.EmergencyNumber), ("crateKg", h => h.CrateKg),
    ];

    public static void Map(RouteGroupBuilder api)
    {
        api.MapGet("household", HouseholdShape.Of)
            .WithName("getHousehold").WithSummary("How pages and texts speak: zone, units, language, whom to call in danger.");
        api.MapPatch("household", ChangeAsync).WithName("changeHousehold").WithMetadata(new HouseholdOnly())
            .WithSummary("Changes the fields that are sent; the rest stays. It holds at once.")
            .Produces<HouseholdShape>().ProducesProblem(StatusCodes.Status409Conflict);
    }

    private static async Task<IResult> ChangeAsync(
        HouseholdSetUp body, HouseholdDesk desk, HouseholdOptions household, Languages languages, CancellationToken cancellationToken)
    {
        if (Keys.FirstOrDefault(k => k.Of(body) is not null && household.Given.Contains(k.Name)).Name is { } given)
        {
            return Results.Problem($"The service's settings (Household:{given}) say what {given} is, and they win: change it there.",
                statusCode: StatusCodes.Status409Conflict);
        }

        if (body.Wrong(languages) is { } wrong) return ApiRoutes.Wrong(wrong.Text);
        try
        {
            await desk.SaveAsync(body).WaitAsync(cancellationToken);
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException)
        {
            return ApiRoutes.NotKept(e.Message);
        }

        return Results.Ok(HouseholdShape.Of(desk, household));
    }
}
