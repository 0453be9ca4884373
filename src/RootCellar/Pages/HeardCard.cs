using RootCellar.Household;
using RootCellar.Places;
using RootCellar.Readings;

namespace RootCellar.Pages;

/// <summary>A topic that is no sensor of ours yet, as the page offers it.</summary>
internal sealed record HeardCard(HeardTopic Heard, Recipe Recipe, IReadOnlyList<Place> Places, string? Problem = null)
{
    private const int LongestShown = 300;

    /// <summary>What a value may be said to be: quantity and unit of a mapping, and the unit as it is written.</summary>
    public static readonly IReadOnlyList<(string Value, Quantity Quantity, string Unit)> Choices =
    [
        ("temperature_c", Quantity.Temperature, "°C"), ("temperature_c F", Quantity.Temperature, "°F"), ("temperature_c K", Quantity.Temperature, "K"), ("humidity_pct", Quantity.Humidity, "%"),
        ("humidity_pct /", Quantity.Humidity, "0-1"), ("pulp_c", Quantity.Pulp, "°C"), ("pulp_c F", Quantity.Pulp, "°F"), ("pulp_c K", Quantity.Pulp, "K"), ("light_lx", Quantity.Light, "lx"),
        ("co2_ppm", Quantity.Co2, "ppm"), ("pressure_pa", Quantity.Pressure, "Pa"), ("pressure_pa hPa", Quantity.Pressure, "hPa"), ("pressure_pa kPa", Quantity.Pressure, "kPa"),
        ("pressure_pa mmHg", Quantity.Pressure, "mmHg"), ("pressure_pa inHg", Quantity.Pressure, "inHg"),
        ("weight_kg", Quantity.Weight, "kg"), ("weight_kg g", Quantity.Weight, "g"), ("weight_kg lb", Quantity.Weight, "lb"),
        ("battery_v", Quantity.BatteryVolts, "V"), ("battery_v mV", Quantity.BatteryVolts, "mV"), ("battery_pct", Quantity.BatteryPercent, "%"),
        ("rssi_dbm", Quantity.SignalStrength, "dBm"),
    ];

    public string Payload => Heard.Written is { Length: > LongestShown } text ? text[..LongestShown] + "..." : Heard.Written;

    /// <summary>Why no figure is offered; null where one is.</summary>
    public string? WhyNone => Recipe.Nothing switch
    {
        NothingFound.TooLong => Strings.HeardTooLong.With(Heard.Size, HeardTopics.MostBytes),
        NothingFound.Binary => Strings.HeardBinary.With(Heard.Size),
        NothingFound.NoFigure => Strings.HeardNoFigure,
        _ => null,
    };

    /// <summary>The place its topic or its name speaks of, else the first.</summary>
    public string? Guessed => (Places.FirstOrDefault(p => Speaks(p.Id) || Speaks(p.Name)) ?? (Places.Count > 0 ? Places[0] : null))?.Id;

    /// <summary>Values that are numbers, those with a guess first.</summary>
    public IEnumerable<RecipeValue> Numbers => Recipe.Values.Where(v => v.Found.Value is not null).OrderBy(v => v.Guess is null);

    public static string At(FoundValue found) => found.Pointer ?? $"pick:{found.Pick}";

    public static string Guess(RecipeValue value) => value.Guess is { } guess ? $"{guess.Quantity} {guess.Unit}".TrimEnd() : "";

    /// <summary>What was said to be what; what cannot be understood is left out.</summary>
    public IEnumerable<(FoundValue Found, string Quantity, string? Unit)> Said(string[]? at, string[]? what)
    {
        foreach (var (where, said) in (at ?? []).Zip(what ?? []))
        {
            if (Recipe.Values.FirstOrDefault(v => At(v.Found) == where) is not { } value || Choices.All(c => c.Value != said)) continue;
            var parts = said.Split(' ');
            yield return (value.Found, parts[0], parts.Length > 1 ? parts[1] : null);
        }
    }

    private bool Speaks(string word) => word.Length > 2 && Heard.Topic.Contains(word, StringComparison.OrdinalIgnoreCase);
}

/// <summary>How a foreign topic is read, with what undoes it.</summary>
internal sealed record MappedTopic(string Topic, string Words, IReadOnlyList<string> Ids);
