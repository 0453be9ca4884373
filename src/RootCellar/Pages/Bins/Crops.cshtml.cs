using System.Globalization;
using System.Text.Json.Nodes;
using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using RootCellar.Household;
using RootCellar.Ledger;
using RootCellar.Ledger.Events;
using RootCellar.Science.Crops;

namespace RootCellar.Pages.Bins;

/// <summary>A crop the table does not have, as it is typed in.</summary>
internal sealed record OwnCropForm
{
    public string? Key { get; init; }

    public string? Name { get; init; }

    public string? Like { get; init; }

    public string? Cold { get; init; }

    public string? Warm { get; init; }

    public string? Dry { get; init; }

    public string? Damp { get; init; }

    /// <summary>The band, coldest, warmest, driest, dampest; as typed.</summary>
    public IReadOnlyList<string?> Band => [Cold, Warm, Dry, Damp];
}

/// <summary>Crops of the household's own: what there is, and another.</summary>
internal sealed class CropsModel(LedgerDoor door, EntryDesk desk, Show show) : PageModel
{
    public OwnCropForm Form { get; private set; } = new() { Key = LogForm.NewKey() };

    public string? Problem { get; private set; }

    /// <summary>What one may keep like: the crops of the table.</summary>
    public static IReadOnlyList<Crop> Crops => HarvestForm.ByName(CropTable.Default);

    /// <summary>What the household has described, with what it keeps like.</summary>
    public IEnumerable<(string Name, string Says)> Own =>
        door.Book.Crops.Crops.Where(c => c.Definition is not null)
            .Select(c => (c.Name, c.Like is { } like ? Strings.CropLike.With(CropWords.Name(like)) : Strings.CropOwnFigures))
            .Concat(door.Book.Crops.BookOnly.Select(name => (name, Strings.CropBookOnly)));

    public async Task<IActionResult> OnPostAsync(OwnCropForm form)
    {
        Form = form with { Key = string.IsNullOrWhiteSpace(form.Key) ? LogForm.NewKey() : form.Key };
        if (Read() is not { } entry) return Page();
        var taken = await desk.TakeAsync(entry, Form.Key, User.Identity?.Name, HttpContext.RequestAborted);
        if (taken.Kept is not null) return LocalRedirect($"/log/dug?crop={Uri.EscapeDataString(Form.Name!.Trim())}");
        Problem = taken.Problem ?? taken.Question;
        if (taken.Later) Response.StatusCode = StatusCodes.Status503ServiceUnavailable;
        return Page();
    }

    private NewEntry? Read()
    {
        var name = Form.Name?.Trim();
        if (string.IsNullOrEmpty(name)) return No(Strings.CropNameMissing);
        if (CropTable.Default.Find(name) is { } there) return No(Strings.CropKnown.With(name, CropWords.Name(there)));
        var sent = new JsonObject { ["event"] = CropDescribed.Name, ["crop"] = name };
        if (!string.IsNullOrEmpty(Form.Like)) sent["like"] = Form.Like;
        var given = Form.Band.Count(text => !string.IsNullOrWhiteSpace(text));
        if (given is > 0 and < 4) return No(Strings.CropBandWhole);
        if (given == 4)
        {
            if (string.IsNullOrEmpty(Form.Like)) return No(Strings.CropBandLike);
            var band = new double[4];
            for (var i = 0; i < band.Length; i++)
            {
                if (!Numerals.TryRead(Form.Band[i], out band[i])) return No(Units.NotANumber(Form.Band[i]!));
            }

            sent["figures"] = new JsonObject
            {
                ["storage"] = new JsonObject
                {
                    ["temperature"] = string.Create(CultureInfo.InvariantCulture, $"{show.Celsius(band[0]):0.##} to {show.Celsius(band[1]):0.##} C"),
                    ["humidity"] = string.Create(CultureInfo.InvariantCulture, $"{band[2]:0.#} to {band[3]:0.#} %"),
                },
            };
        }

        return EventReader.Read(EventReader.Element(sent), door.Now, out _)
            ?? No(given == 4 ? Strings.CropBandWrong.With(show.InFahrenheit ? "2\u00A0°F" : "1\u00A0°C") : Strings.CropNameWrong);
    }

    private NewEntry? No(string problem)
    {
        Problem = problem;
        return null;
    }
}
