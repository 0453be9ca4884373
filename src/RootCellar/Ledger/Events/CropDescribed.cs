using System.Text.Json;
using RootCellar.Science.Crops;

namespace RootCellar.Ledger.Events;

/// <summary>
/// A crop the table does not have was described: the crop it keeps like, and what the household knows better. What is said last of a
/// crop counts for all of it, whenever that came in.
/// </summary>
/// <param name="Crop">What it is called.</param>
/// <param name="Like">The crop of the table it keeps like; null, with no figures either: it is known to the book only.</param>
/// <param name="Figures">Fields of a row of the crop table, instead of that crop's.</param>
internal sealed record CropDescribed(string Crop, string? Like = null, JsonElement? Figures = null) : LedgerEvent
{
    public const string Name = "crop-described";

    public static readonly EventKind Event = new(Name, Read);

    public override EventKind Kind() => Event;

    /// <summary>The crop; null where nothing is known of it but its name.</summary>
    public Crop? Own() => OwnCrop.Read(Crop, Like, Figures?.GetRawText());

    /// <summary>Whether it says the same.</summary>
    public bool IsAs(CropDescribed other) => Like == other.Like && Written(Figures) == Written(other.Figures);

    /// <summary>The table is made before anything is posted.</summary>
    public override bool Post(WorkingBook book) => true;

    /// <summary>The crops a household knows by these.</summary>
    /// <param name="described">In the order of writing.</param>
    public static CropTable Table(IEnumerable<CropDescribed> described)
    {
        var last = new Dictionary<string, CropDescribed>(StringComparer.OrdinalIgnoreCase);
        foreach (var one in described) last[one.Crop] = one;
        if (last.Count == 0) return CropTable.Default;
        var all = last.Values.Select(one => (one.Crop, Own: one.Own())).ToList();
        return CropTable.Default.With([.. all.Select(c => c.Own).OfType<Crop>()], [.. all.Where(c => c.Own is null).Select(c => c.Crop)]);
    }

    private static string? Written(JsonElement? figures) => figures is { } f ? JsonSerializer.Serialize(f) : null;

    private static CropDescribed Read(FieldReader f)
    {
        var described = new CropDescribed(f.Name("crop"), f.OptionalName("like"), f.Object("figures"));
        f.NothingElse();
        if (f.Wrong is not null) return described;
        try
        {
            described.Own();
        }
        catch (FormatException e)
        {
            f.Say(e.Message);
        }

        return described;
    }
}
