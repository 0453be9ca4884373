
namespace RootCellar.Pages.Bins;

/// <summary>
/// What was typed, kept so that a question or a mistake loses nothing. Amounts are in <see cref="Unit"/>, times on the household's clock.
/// </summary>
internal sealed record LogForm
{
    /// <summary>Made when the form is shown: the same under it counts once, however often it is sent.</summary>
    public string? Key { get; init; }

    /// <summary>What the person says to a question: checked or keep; empty before there was one.</summary>
    public string? Answer { get; init; }

    public string? Bin { get; init; }

    public string? Amount { get; init; }

    public string? Unit { get; init; }

    /// <summary>Nothing is left in the bin, whatever the book has.</summary>
    public bool Empties { get; init; }

    public string? Tare { get; init; }

    /// <summary>A reason, how many sprouts, or what it looks like.</summary>
    public string? Choice { get; init; }

    /// <summary>Of the sprouts, or of the row.</summary>
    public string? Length { get; init; }

    public string? Place { get; init; }

    public string? Order { get; init; }

    /// <summary>The day an order is due.</summary>
    public string? Due { get; init; }

    /// <summary>Where to go on when it is written down: stock, or empty for the bin.</summary>
    public string? Back { get; init; }

    public string? Lot { get; init; }

    public string? Grade { get; init; }

    /// <summary>How it lies in the bin.</summary>
    public string? Lies { get; init; }

    /// <summary>What one piece weighs, in the household's unit for small things.</summary>
    public string? Piece { get; init; }

    public string? Crop { get; init; }

    public string? Variety { get; init; }

    public string? Row { get; init; }

    public string? PlantedOn { get; init; }

    public string? DugOn { get; init; }

    public string? Skin { get; init; }

    public string? Pulp { get; init; }

    public string[] Flags { get; init; } = [];

    /// <summary>What a bin was sorted into, one of each a line.</summary>
    public string[] IntoBin { get; init; } = [];

    public string[] IntoGrade { get; init; } = [];

    public string[] IntoAmount { get; init; } = [];

    /// <summary>When a row is ripe: a word, or the packet's days.</summary>
    public string? Maturity { get; init; }

    public string? MaturityDays { get; init; }

    /// <summary>The day the vines died, and how.</summary>
    public string? On { get; init; }

    public string? How { get; init; }

    public string? Note { get; init; }

    /// <summary>When it happened; empty: now.</summary>
    public string? When { get; init; }

    /// <summary>Where the clock showed the time twice: <see cref="FirstTime"/> or <see cref="SecondTime"/>.</summary>
    public string? Again { get; init; }

    public const string FirstTime = "first";
    public const string SecondTime = "second";

    /// <summary>Whether the clock on the wall showed the time typed twice.</summary>
    public bool WhenTwice(Household.HouseholdCalendar calendar) => DateTime.TryParse(
        When, System.Globalization.CultureInfo.InvariantCulture, out var local) && calendar.Moments(local).Count == 2;

    /// <summary>
    /// Seconds since it was typed, put in by the page's script: what waited for the Wi-Fi did not happen when it came through. A phone's
    /// own clock is not asked.
    /// </summary>
    public string? Waited { get; init; }

    public static string NewKey() => "page-" + Guid.NewGuid().ToString("N");

    /// <summary>All that was typed as fields of a form, for asking "is it right" about exactly that.</summary>
    public IEnumerable<(string Name, string Value)> Fields()
    {
        (string, string?)[] single =
        [
            ("key", Key), ("bin", Bin), ("amount", Amount), ("unit", Unit), ("empties", Empties ? "true" : null), ("tare", Tare),
            ("choice", Choice), ("length", Length),
            ("place", Place), ("order", Order), ("due", Due), ("back", Back), ("lot", Lot), ("grade", Grade), ("lies", Lies), ("piece", Piece), ("crop", Crop),
            ("variety", Variety), ("row", Row), ("plantedOn", PlantedOn),
            ("dugOn", DugOn), ("skin", Skin), ("pulp", Pulp), ("maturity", Maturity), ("maturityDays", MaturityDays), ("on", On),
            ("how", How), ("note", Note), ("when", When), ("again", Again), ("waited", Waited),
        ];
        foreach (var (name, value) in single)
        {
            if (value is not null) yield return (name, value);
        }

        foreach (var (name, values) in new[] { ("flags", Flags), ("intoBin", IntoBin), ("intoGrade", IntoGrade),
            ("intoAmount", IntoAmount) })
        {
            foreach (var value in values) yield return (name, value ?? "");
        }
    }
}
