using RootCellar.Household;
using RootCellar.Lots;
using RootCellar.Pages.Bins;

namespace RootCellar.Pages.Foreseen;

/// <summary>
/// The air somebody asks about, as typed in the address of the page, which can be kept: a link bears its unit, so that it means the same
/// when the household counts in another.
/// </summary>
/// <param name="Temperature">As it stands in the field, in the household's unit unless it cannot be read.</param>
/// <param name="Humidity">As it stands in the field.</param>
/// <param name="Hold">Null where it cannot be read.</param>
/// <param name="Problem">What is wrong with it; null where nothing is.</param>
internal sealed record HoldAsked(string Temperature, string Humidity, Hold? Hold, string? Problem)
{
    public static HoldAsked Of(string? temperature, string? humidity, string? unit, Show show)
    {
        if (temperature is null && humidity is null) return Fields(Lots.Hold.Usual, show);
        var (typed, damp) = ((temperature ?? "").Trim(), (humidity ?? "").Trim());
        if (typed.Length == 0 || damp.Length == 0) return new(typed, damp, null, Strings.HoldBoth);
        bool fahrenheit = unit is "F" or "C" ? unit == "F" : show.InFahrenheit;
        string number = typed.Replace("°", "", StringComparison.Ordinal).TrimEnd();
        if (number.EndsWith('F') || number.EndsWith('f')) (fahrenheit, number) = (true, number[..^1]);
        else if (number.EndsWith('C') || number.EndsWith('c')) (fahrenheit, number) = (false, number[..^1]);
        if (!Numerals.TryRead(number, out double degrees)) return new(typed, damp, null, Units.NotANumber(typed));
        if (!Numerals.TryRead(damp.TrimEnd('%').TrimEnd(), out double percent))
            return new(typed, damp, null, Units.NotANumber(damp));
        return Lots.Hold.Of(fahrenheit ? Science.Fahrenheit.ToCelsius(degrees) : degrees, percent) is { } hold
            ? Fields(hold, show)
            : new(typed, damp, null, Strings.HoldOutside.With(
                show.TemperatureRange(Lots.Hold.ColdestC, Lots.Hold.WarmestC),
                Show.HumidityRange(Lots.Hold.DriestPercent, Lots.Hold.DampestPercent)));
    }

    private static HoldAsked Fields(Hold hold, Show show) =>
        new(Units.Number(show.Degrees(hold.TemperatureC), "0.#"), Units.Number(hold.HumidityPercent, "0.#"), hold, null);
}
