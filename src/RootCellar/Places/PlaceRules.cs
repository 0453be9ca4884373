using RootCellar.Science.Crops;

namespace RootCellar.Places;

/// <summary>What a place may be; used by pages and API alike.</summary>
internal static class PlaceRules
{
    /// <summary>Makes a place of what was given; otherwise says what is wrong and what would be right.</summary>
    public static Refused? Read(string? id, string? name, string? purpose, double? volumeM3, IReadOnlyList<string>? crops, out Place? place)
    {
        place = null;
        id = id?.Trim();
        if (string.IsNullOrEmpty(id) || id.Length > 64 || id.AsSpan().IndexOfAny("/+#") >= 0 || id.Any(char.IsControl))
        {
            return new Refused(RefusedFor.PlaceId, $"place: '{id}' cannot be used in an MQTT topic. Right: a short name such as curing-room, without / + #.");
        }

        if (id == "out") return new Refused(RefusedFor.PlaceIdTaken, "place: 'out' is where the service itself publishes (rootcellar/out/...). Take another name.");
        if (!Enum.TryParse<Purpose>(purpose, ignoreCase: true, out var what) || !Enum.GetNames<Purpose>().Contains(purpose, StringComparer.OrdinalIgnoreCase))
        {
            return new Refused(RefusedFor.Choice, $"purpose: '{purpose}' is not one of curing, storage, outdoors.");
        }

        if (volumeM3 is { } volume && !(volume > 0 && volume < 100_000)) return new Refused(RefusedFor.Volume, $"volumeM3: {volume} is not a room's volume in cubic metres.");
        if (name?.Length > 80) return new Refused(RefusedFor.Name, "name: at most 80 letters.");
        var grown = new List<string>();
        foreach (var crop in crops ?? (what == Purpose.Outdoors ? [] : ["potato"]))
        {
            if (CropTable.Default.Find(crop) is not { } known)
            {
                var suggestion = CropTable.Default.Suggest(crop);
                return new Refused(RefusedFor.Choice, $"crops: '{crop}' is not in the crop table.{(suggestion is null ? " See them all: rootcellar crops" : $" Did you mean {suggestion}?")}");
            }

            if (!grown.Contains(known.Id)) grown.Add(known.Id);
        }

        place = new Place(id, string.IsNullOrWhiteSpace(name) ? id : name.Trim(), what, volumeM3, grown);
        return null;
    }
}
