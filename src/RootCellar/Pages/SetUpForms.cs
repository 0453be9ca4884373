using System.Text;
using RootCellar.Household;
using RootCellar.Monitoring;
using RootCellar.Places;
using RootCellar.Tell;

namespace RootCellar.Pages;

/// <summary>A place as typed, kept so that a mistake loses nothing.</summary>
internal sealed record PlaceForm
{
    private const int MostNames = 5;

    public bool Existing { get; init; }

    public string? Id { get; init; }

    public string? Name { get; init; }

    public string? Purpose { get; init; } = nameof(Places.Purpose.Curing);

    public string? Volume { get; init; }

    public string[] Crops { get; init; } = [];

    public bool WatchEmpty { get; init; }

    public string? ShortName { get; init; }

    public static PlaceForm Fresh(string? id) => new()
    {
        Id = id,
        Name = id is null ? null : Capital(id.Replace('-', ' ').Replace('_', ' ')),
        Crops = ["potato"],
    };

    public static PlaceForm Of(Place place, Show show) => new()
    {
        Existing = true,
        Id = place.Id,
        Name = place.Name,
        Purpose = place.Purpose.ToString(),
        Volume = place.VolumeM3 is { } m3 ? Show.Number(show.VolumeOf(m3), "0.##") : null,
        Crops = [.. place.Crops],
        WatchEmpty = place.WatchEmpty,
        ShortName = place.ShortName,
    };

    /// <summary>What to call it in topics when nothing was given: Curing room becomes curing-room.</summary>
    public static string IdFrom(string? name)
    {
        var id = new StringBuilder();
        foreach (var c in name ?? "")
        {
            if (char.IsLetterOrDigit(c)) id.Append(char.ToLowerInvariant(c));
            else if (id.Length > 0 && id[^1] != '-') id.Append('-');
        }

        return id.ToString().TrimEnd('-');
    }

    /// <summary>Why a place is not taken away, with the first of what is in it.</summary>
    public static string StillThere(string name, PlaceRemoved removed)
    {
        var there = new List<string>();
        if (removed.Sensors.Count > 0) there.Add(Strings.SensorsThere.With(removed.Sensors.Count, First(removed.Sensors, MostNames)));
        if (removed.Bins.Count > 0) there.Add(Strings.BinsThere.With(removed.Bins.Count, First(removed.Bins, MostNames)));
        return Strings.PlaceStays.With(name, string.Join(", ", there));
    }

    /// <summary>The first of some names, and that there are more.</summary>
    public static string First(IReadOnlyList<string> names, int most) => string.Join(", ", names.Take(most)) + (names.Count > most ? ", ..." : "");

    /// <summary>What is wrong with it, in the words of the form.</summary>
    public static string Words(Refused refused, PlaceForm form) => refused.For switch
    {
        RefusedFor.PlaceId => Strings.PlaceIdWrong.With(NameRules.Seen(form.Id ?? "")),
        RefusedFor.PlaceIdTaken => Strings.PlaceIdOurs.With(form.Id),
        RefusedFor.ShortName => Strings.ShortNameWrong.With(NameRules.Seen(form.ShortName ?? ""), PlaceRules.LongestShortName),
        RefusedFor.Volume => Strings.VolumeNoRoom.With(form.Volume),
        RefusedFor.Name => Strings.NameTooLong.With(80),
        RefusedFor.OddName => Strings.PlaceNameOdd.With(NameRules.Seen(form.Name ?? "")),
        _ => Strings.NotOffered,
    };

    private static string Capital(string text) => text.Length == 0 ? text : char.ToUpperInvariant(text[0]) + text[1..];
}

/// <summary>A contact as typed.</summary>
internal sealed record ContactForm
{
    /// <summary>Whom it changes; null for somebody new.</summary>
    public string? Id { get; init; }

    public string? Name { get; init; }

    public string? Channel { get; init; }

    public string? Address { get; init; }

    public string? Wants { get; init; }

    public int? WaitMinutes { get; init; }

    public string? QuietFrom { get; init; }

    public string? QuietTo { get; init; }

    public string? Wakes { get; init; }

    public bool LowInTheMorning { get; init; }

    public int? MostADay { get; init; }

    public string? AllIsWell { get; init; }

    public string? Language { get; init; }

    public GivenTimes Times => new(WaitMinutes ?? 0, QuietFrom ?? "", QuietTo ?? "", Wakes, LowInTheMorning, MostADay ?? 0, AllIsWell, Language ?? "");

    public static ContactForm Of(Contact contact) => new()
    {
        Id = contact.Id,
        Name = contact.Name,
        Channel = contact.Channel,
        Address = contact.Address,
        Wants = contact.Wants,
        WaitMinutes = contact.WaitMinutes,
        QuietFrom = contact.QuietFrom,
        QuietTo = contact.QuietTo,
        Wakes = contact.Wakes,
        LowInTheMorning = contact.LowInTheMorning,
        MostADay = contact.MostADay,
        AllIsWell = contact.AllIsWell,
        Language = contact.Language,
    };

    public static string Words(Refused refused, ContactForm form) => refused.For switch
    {
        RefusedFor.Name => Strings.NameTooLong.With(80),
        RefusedFor.MailAddress => Strings.MailAddressWrong.With(form.Address),
        RefusedFor.PostAddress => Strings.PostAddressWrong,
        RefusedFor.Number => Strings.PhoneNumberWrong.With(form.Address),
        RefusedFor.Quiet => Strings.QuietWrong,
        RefusedFor.MostADay => Strings.MostADayWrong,
        _ => Strings.NotOffered,
    };
}
