using RootCellar.Household;
using RootCellar.Science.Crops;

namespace RootCellar.Places;

/// <summary>What a place may be; used by pages and API alike.</summary>
internal static class PlaceRules
{
    public const int LongestShortName = 20;
    private const int LongestName = 80;

    /// <summary>Makes a place of what was given; otherwise says what is wrong and what would be right.</summary>
    /// <param name="known">The place that is changed: names it has already are taken as they are, so that it can be put right.</param>
    /// <param name="table">The crops the household knows; null: those of the table.</param>
    public static Refused? Read(
        string? id, string? name, string? purpose, double? volumeM3, IReadOnlyList<string>? crops, out Place? place, Place? known = null,
        CropTable? table = null)
    {
        place = null;
        id = id?.Trim();
        if (string.IsNullOrEmpty(id) || id.Length > 64 || id.AsSpan().IndexOfAny("/+#") >= 0 || id.Any(char.IsControl))
        {
            var given = NameRules.Seen(id ?? "");
            return new Refused(RefusedFor.PlaceId,
                $"place: '{given}' cannot be used in an MQTT topic. Right: a short name such as curing-room, without / + #.");
        }

        if (id != known?.Id && NameRules.Why(id) is { } odd)
        {
            return new Refused(RefusedFor.PlaceId,
                $"place: '{NameRules.Seen(id)}' cannot be a name: {odd}. Right: letters and digits, such as {Right(id, "curing-room")}.");
        }

        if (id == "out")
            return new Refused(RefusedFor.PlaceIdTaken,
                "place: 'out' is where the service itself publishes (rootcellar/out/...). Take another name.");
        if (!Enum.TryParse<Purpose>(purpose, ignoreCase: true, out var what) || !Enum.GetNames<Purpose>()
            .Contains(purpose, StringComparer.OrdinalIgnoreCase))
        {
            return new Refused(RefusedFor.Choice, $"purpose: '{purpose}' is not one of curing, storage, outdoors.");
        }

        if (volumeM3 is { } volume && !(volume > 0 && volume < 100_000))
            return new Refused(RefusedFor.Volume, $"volumeM3: {volume} is not a room's volume in cubic metres.");
        name = string.IsNullOrWhiteSpace(name) ? id : name.Trim();
        if (name.Length > LongestName) return new Refused(RefusedFor.Name, $"name: at most {LongestName} letters.");
        if (name != known?.Name && name != id && NameRules.Why(name) is { } why)
        {
            return new Refused(RefusedFor.OddName,
                $"name: '{NameRules.Seen(name)}' cannot be a name: {why}. Right: letters and digits, such as {Right(name, "Curing room")}.");
        }

        var grown = new List<string>();
        foreach (var crop in crops ?? (what == Purpose.Outdoors ? [] : ["potato"]))
        {
            if ((table ?? CropTable.Default).NameOf(crop) is not { } row)
            {
                var suggestion = (table ?? CropTable.Default).Suggest(crop);
                return new Refused(RefusedFor.Choice,
                    $"crops: '{crop}' is not in the crop table.{(suggestion is null ? " See them all: rootcellar crops" : $" Did you mean {suggestion}?")}");
            }

            if (!grown.Contains(row)) grown.Add(row);
        }

        place = new Place(id, name, what, volumeM3, grown);
        return null;
    }

    /// <summary>The place that a new one, or one by its new name, is taken for; null where there is none.</summary>
    /// <param name="known">The place that is changed: names it has already are taken as they are.</param>
    public static Place? TakenFor(Place place, Place? known, IEnumerable<Place> all)
    {
        var given = Names(place).Except(known is null ? [] : Names(known), StringComparer.Ordinal).ToList();
        return all.FirstOrDefault(other => other.Id != place.Id && Names(other).Any(name => given.Exists(g => LookAlike.Of(g, name))));

        static IEnumerable<string> Names(Place of) => new[] { of.Id, of.Name, of.ShortName }.OfType<string>();
    }

    /// <summary>What texts call a place: null where nothing was given; says what is wrong and what would be right.</summary>
    public static Refused? ReadShortName(string? given, out string? name)
    {
        name = string.IsNullOrWhiteSpace(given) ? null : given.Trim();
        if (name is null || (name.Length <= LongestShortName && name.All(c => char.IsAsciiLetterOrDigit(c) || c is ' ' or '-' or '.' or '\'')))
            return null;
        return new Refused(
            RefusedFor.ShortName, $"shortName: '{NameRules.Seen(name)}' cannot be what texts call it. "
            + $"Right: at most {LongestShortName} Latin letters, digits, blanks, - . '");
    }

    /// <summary>It has letters of another alphabet than the Latin one, which a text of 160 characters cannot carry.</summary>
    public static bool WantsShortName(string? name) => name is not null && name.EnumerateRunes()
        .Any(r => System.Text.Rune.IsLetter(r) && r.Value > LastLatin && r.Value is < 0x1E00 or > 0x1EFF);

    // The last letter of Latin Extended-B.
    private const int LastLatin = 0x24F;

    private static string Right(string name, string example) => NameRules.Left(name) is { Length: > 0 } left ? left : example;
}
