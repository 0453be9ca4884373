using System.Globalization;
using System.Text.Json.Serialization;

namespace RootCellar.Tell;

/// <summary>
/// Who is told. <see cref="Wants"/> is "all" or "urgent"; <see cref="Report"/>: whether the weekly report comes too, by mail.
/// </summary>
internal sealed record Contact(string Id, string Name, string Channel, string Address, string Wants, bool Report = true)
{
    /// <summary>Told only once nobody has acknowledged the alarm for so long; 0: at once.</summary>
    public int WaitMinutes { get; init; }

    /// <summary>The hours in which only what may wake goes out, by the household's clock, "21:30"; both or neither are set.</summary>
    public string? QuietFrom { get; init; }

    public string? QuietTo { get; init; }

    /// <summary>What goes out in those hours too: "urgent", or "high": all that cannot wait for a day.</summary>
    public string Wakes { get; init; } = "urgent";

    /// <summary>What can wait comes in one text in the morning.</summary>
    public bool LowInTheMorning { get; init; }

    /// <summary>So many texts a day, urgent ones apart; null: however many there are.</summary>
    public int? MostADay { get; init; }

    /// <summary>Whether the figures come in the morning also when nothing is wrong: "never", "daily" or "weekly".</summary>
    public string AllIsWell { get; init; } = "never";

    /// <summary>The tag of the language of the texts, "es"; null: the household's.</summary>
    public string? Language { get; init; }

    /// <summary>When the day begins for this contact: at the end of the quiet hours, else at six (assumed).</summary>
    [JsonIgnore]
    public TimeOnly Morning => QuietTo is { } to ? ClockTime.Of(to) : new TimeOnly(6, 0);

    /// <summary>Whether a time of the clock lies in the quiet hours, which may run over midnight.</summary>
    public bool IsQuietAt(TimeOnly time) => QuietFrom is { } from && QuietTo is { } to
        && time.IsBetween(ClockTime.Of(from), ClockTime.Of(to));
}

/// <summary>A time of the household's clock as it is kept: "21:30".</summary>
internal static class ClockTime
{
    private const string Format = "HH:mm";

    /// <exception cref="FormatException">It is none.</exception>
    public static TimeOnly Of(string text) => TimeOnly.ParseExact(text, Format, CultureInfo.InvariantCulture);

    /// <summary>As a person or a form writes it: "21:30", "9:30 pm", "21".</summary>
    /// <param name="text">As given.</param>
    /// <param name="time">As it is kept.</param>
    public static bool TryRead(string? text, out string time)
    {
        var read = TimeOnly.TryParseExact(
            text?.Trim(), ["HH:mm", "H:mm", "HH:mm:ss", "h:mm tt", "h tt", "h:mmtt", "htt", "%H"], CultureInfo.InvariantCulture,
            DateTimeStyles.AllowInnerWhite, out var clock);
        time = clock.ToString(Format, CultureInfo.InvariantCulture);
        return read;
    }
}
